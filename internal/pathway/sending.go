package pathway

import (
	"context"
	"slices"
	"strings"
)

// Sending says how a browser sends what was typed. Once is the key of this one
// piece: a second arrival under it changes nothing. After are the keys, with
// commas, of pieces of the same page that were sent before without an answer:
// this one was made from the newest revision that holds one of them, whatever
// revision the page knew of when its server was away.
type Sending struct{ Once, After string }

type sendingKey struct{}

// WithSending hands a sending on to the verbs.
func WithSending(ctx context.Context, s Sending) context.Context {
	return context.WithValue(ctx, sendingKey{}, s)
}

func sendingOf(ctx context.Context) Sending {
	s, _ := ctx.Value(sendingKey{}).(Sending)
	return s
}

// sentBefore looks for the keys of the sending in a case. stored is true when
// this person's piece is in the record already; from is the revision that the
// piece was made from.
func (t *turn) sentBefore(id string, seen int) (from int, stored bool, err error) {
	from = seen
	if t.sent == (Sending{}) {
		return from, false, nil
	}
	after := strings.Split(t.sent.After, ",")
	versions, err := t.history(id)
	for _, v := range versions {
		switch {
		case v.Revision.Actor != t.by.ID || v.State.Once == "":
		case v.State.Once == t.sent.Once:
			return from, true, err
		case slices.Contains(after, v.State.Once):
			from = v.Revision.Number
		}
	}
	return from, false, absentIsNone(err)
}
