package pathway

import (
	"context"
	"time"

	"linn/internal/care/casebook"
)

// Zone is the ward's time zone as its protocol settles it, nil when it does
// not, or names one that this machine does not know.
func (p *Pathway) Zone(ctx context.Context) (zone *time.Location, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		state, _, err := casebook.Load[casebook.Protocol](tx, casebook.ProtocolChain)
		if err != nil || state.Zone == "" {
			return absentIsNone(err)
		}
		if found, err := time.LoadLocation(state.Zone); err == nil {
			zone = found
		}
		return nil
	})
	return zone, err
}
