package pathway

import (
	"context"
	"slices"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
)

// Correct changes readings with a reason, also those of a signed plan, which
// it reopens: the sheet in the theatre no longer holds.
func (p *Pathway) Correct(ctx context.Context, by casebook.Actor, m Measurement, reason string) (j Journey, err error) {
	if err := m.check(); err != nil {
		return j, err
	}
	err = p.do(ctx, by, VerbCorrect, func(t *turn) error {
		c, err := t.load(m.Case, Newest)
		if err != nil {
			return err
		}
		reason, err := t.reason(c.Patient, reason)
		if err != nil {
			return err
		}
		if err := t.measure(m, casebook.VerbCorrect, reason); err != nil {
			return err
		}
		j, err = t.journey(m.Case)
		return err
	})
	return j, err
}

// Moving takes readings that were entered on the wrong case to the right one.
type Moving struct {
	From, To         string // cases
	FromSeen, ToSeen int
	Fields           []string
	Reason           string
}

// MoveReadings takes readings that belong to another eye or person where they
// belong. They are masked in the case they came from; a signed plan there is
// reopened. Both cases lose their second person and are to be read again.
func (p *Pathway) MoveReadings(ctx context.Context, by casebook.Actor, m Moving) error {
	return p.do(ctx, by, VerbMove, func(t *turn) error {
		from, to, err := t.movable(m)
		if err != nil {
			return err
		}
		reason, err := t.reason(from.Patient, m.Reason)
		if err == nil {
			err = t.plain(to.Patient, reason)
		}
		if err != nil {
			return err
		}
		left, right, err := casebook.Move(casebook.Version[casebook.Case]{Revision: from.head, State: from.Case},
			casebook.Version[casebook.Case]{Revision: to.head, State: to.Case}, m.Fields, t.stamp, reason)
		if err != nil {
			return err
		}
		if left.State() == casebook.StateSigned {
			reopen(&left, "moved-away")
		}
		for _, c := range []*casebook.Case{&left, &right} {
			c.ReadBack = nil
			if c.Chosen != nil {
				c.Chosen.Reason = ""
			}
			c.Eye.ToricReason = ""
		}
		if err := t.store(from, caseAt{left, from.id, from.number, from.head}, casebook.VerbMoveAway, reason); err != nil {
			return err
		}
		return t.store(to, caseAt{right, to.id, to.number, to.head}, casebook.VerbMoveHere, reason)
	})
}

// movable loads both cases and says what keeps the fields from being moved.
func (t *turn) movable(m Moving) (from, to caseAt, err error) {
	if m.From == m.To || len(m.Fields) == 0 {
		return from, to, refuse("move-nothing", "")
	}
	if from, err = t.load(m.From, m.FromSeen); err != nil {
		return from, to, err
	}
	if to, err = t.load(m.To, m.ToSeen); err != nil {
		return from, to, err
	}
	for _, c := range []caseAt{from, to} {
		if c.number != c.head.Number {
			return from, to, refuse("moved-on", "", value("by", nameOf(t.tx, c.head.Actor)))
		}
	}
	if err := t.writable(&to); err != nil {
		return from, to, err
	}
	if from.State() == casebook.StateClosed {
		return from, to, refuse("case-closed", "", value("why", from.Closed))
	}
	var bad finding.Refusals
	for _, key := range m.Fields {
		switch {
		case !slices.Contains(Measured(), key):
			bad = append(bad, eye.UnknownKey(key))
		case textOf(&from, "", key) == "":
			bad = append(bad, finding.Refusal{Code: "move-empty", Field: key})
		case textOf(&to, "", key) != "":
			bad = append(bad, finding.Refusal{Code: "move-onto", Field: key})
		}
	}
	return from, to, bad.Err()
}
