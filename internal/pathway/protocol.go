package pathway

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"linn/calc/biometry"
	"linn/finding"
	"linn/internal/care/casebook"
)

// DefaultLoneDelay is how long a lone worker waits between the last change
// and signing when the protocol says nothing: long enough to look with fresh
// eyes, our own choice.
const DefaultLoneDelay = 15 * time.Minute

// recalledSetting names method and program versions that are not to be used
// any more: "srk-t 1, program 0.2.0".
const recalledSetting = "recalled"

// phoneSetting is whom a patient rings after the operation, as printed on the
// leaflet.
const phoneSetting = "phone"

// LocalProtocol is the ward's protocol with the defaults filled in.
type LocalProtocol struct {
	casebook.Protocol
	Number int // of the newest revision, 0 when nothing was ever settled
}

// MaxAgeDays is the age at which readings are stale.
func (l LocalProtocol) MaxAgeDays() int {
	if l.ReadingAgeDays > 0 {
		return l.ReadingAgeDays
	}
	return biometry.DefaultMaxAgeDays
}

// LoneDelay is how long a lone worker waits before signing.
func (l LocalProtocol) LoneDelay() time.Duration {
	if l.LoneDelayMinutes > 0 {
		return time.Duration(l.LoneDelayMinutes) * time.Minute
	}
	return DefaultLoneDelay
}

// Recalled reports whether a version of a method, or of "program", was
// recalled.
func (l LocalProtocol) Recalled(name, version string) bool {
	return slices.ContainsFunc(strings.Split(l.Settings[recalledSetting], ","), func(s string) bool { return line(s) == name+" "+version })
}

// Recall is the recalled versions as typed.
func (l LocalProtocol) Recall() string { return l.Settings[recalledSetting] }

// Phone is whom a patient rings after the operation, "" when nobody settled it.
func (l LocalProtocol) Phone() string { return l.Settings[phoneSetting] }

func (t *turn) protocol() (LocalProtocol, error) {
	if t.settled != nil {
		return *t.settled, nil
	}
	state, head, err := casebook.Load[casebook.Protocol](t.tx, casebook.ProtocolChain)
	t.settled = &LocalProtocol{state, head.Number}
	return *t.settled, absentIsNone(err)
}

// Protocol reads the ward's protocol.
func (p *Pathway) Protocol(ctx context.Context, by casebook.Actor) (l LocalProtocol, err error) {
	err = p.look(ctx, by, VerbDesk, func(t *turn) error {
		l, err = t.protocol()
		return err
	})
	return l, err
}

// ProtocolForm is the protocol as typed; an empty number is "not set".
type ProtocolForm struct {
	Seen             int
	Hospital, Zone   string
	Places           []string
	ReadingAgeDays   string
	LoneDelayMinutes string
	Recalled         string
	Phone            string
	Reason           string
}

// SetProtocol settles the ward's protocol.
func (p *Pathway) SetProtocol(ctx context.Context, by casebook.Actor, form ProtocolForm) error {
	return p.do(ctx, by, VerbProtocol, func(t *turn) error {
		was, err := t.protocol()
		if err != nil {
			return err
		}
		is, err := form.protocol(was.Protocol)
		if err != nil {
			return err
		}
		if form.Seen != Newest && form.Seen != was.Number {
			return refuse("moved-on", "")
		}
		return t.revise(casebook.ProtocolChain, Newest, casebook.Revision{Number: was.Number}, is)
	})
}

// protocol reads the form over what was settled before.
func (f ProtocolForm) protocol(p casebook.Protocol) (casebook.Protocol, error) {
	var bad finding.Refusals
	p.Verb, p.Reason = casebook.VerbSettle, line(f.Reason)
	p.Hospital, p.Zone, p.Places = line(f.Hospital), line(f.Zone), nil
	for _, place := range f.Places {
		if place = line(place); place != "" {
			p.Places = append(p.Places, place)
		}
	}
	if _, err := time.LoadLocation(p.Zone); err != nil {
		bad = append(bad, finding.Refusal{Code: "zone-unknown", Field: "zone", Values: finding.Values{value("got", clip(p.Zone))}})
	}
	p.ReadingAgeDays = whole(f.ReadingAgeDays, "reading_age_days", 3650, &bad)
	p.LoneDelayMinutes = whole(f.LoneDelayMinutes, "lone_delay_minutes", 24*60, &bad)
	for key, text := range map[string]string{recalledSetting: line(f.Recalled), phoneSetting: line(f.Phone)} {
		p.Settings = without(p.Settings, key)
		if text != "" {
			p.Settings = with(p.Settings, key, text)
		}
	}
	return p, bad.Err()
}

// whole reads a whole number from 1 to most; "" is 0, not set.
func whole(text, field string, most int, bad *finding.Refusals) int {
	text = strings.TrimSpace(text)
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > most {
		*bad = append(*bad, finding.Refusal{Code: "whole-number", Field: field,
			Values: finding.Values{value("got", clip(text)), value("most", strconv.Itoa(most))}})
		return 0
	}
	return n
}

// settling is which revision of the protocol somebody saw, and why it changes.
type settling struct {
	seen   int
	reason string
}

// settle changes the local protocol as one revision.
func (p *Pathway) settle(ctx context.Context, by casebook.Actor, s settling, change func(t *turn, was LocalProtocol, is *casebook.Protocol) error) error {
	return p.do(ctx, by, VerbProtocol, func(t *turn) error {
		was, err := t.protocol()
		if err != nil {
			return err
		}
		if s.seen != Newest && s.seen != was.Number {
			return refuse("moved-on", "")
		}
		is := was.Protocol
		is.Verb, is.Reason = casebook.VerbSettle, line(s.reason)
		if err := change(t, was, &is); err != nil {
			return err
		}
		return t.revise(casebook.ProtocolChain, Newest, casebook.Revision{Number: was.Number}, is)
	})
}
