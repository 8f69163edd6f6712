package web

import (
	"context"
	"errors"
	"strconv"
	"strings"

	"linn/internal/pathway"
)

func (a *ward) Measure(ctx context.Context, by Actor, m Measurement) (EyeCase, error) {
	j, err := a.Pathway.Measure(ctx, actorOf(by), measurementOf(m))
	eye, err := a.stored(ctx, by, m.CaseID, &j, err, &m)
	if c := (*Conflict)(nil); errors.As(err, &c) && len(c.Rows) == 0 {
		return a.Eye(ctx, by, m.CaseID, "") // sent twice: all that was typed stands already
	}
	return eye, err
}

func (a *ward) Repeat(ctx context.Context, by Actor, m Measurement) (EyeCase, error) {
	j, err := a.Pathway.Repeat(ctx, actorOf(by), measurementOf(m))
	return a.stored(ctx, by, m.CaseID, &j, err, nil)
}

// measurementOf never says that a value was imported: a form is typed.
func measurementOf(m Measurement) pathway.Measurement {
	return pathway.Measurement{Case: m.CaseID, Seen: m.Revision, FellowSeen: m.Fellow, Eyes: m.Eyes}
}

// stored shows the eye as it now stands, or what kept the change out.
func (a *ward) stored(ctx context.Context, by Actor, id string, j *pathway.Journey, err error, mine *Measurement) (EyeCase, error) {
	if err != nil {
		return EyeCase{}, a.conflictOf(ctx, by, id, err, mine)
	}
	return a.eyeCase(ctx, by, j, "", nil)
}

func (a *ward) Pass(ctx context.Context, by Actor, p Pass) (EyeCase, error) {
	j, err := a.Pathway.Pass(ctx, actorOf(by), pathway.GatePass{Case: p.CaseID, Seen: p.Revision, Code: p.Code, Field: p.Field, Reason: p.Reason})
	return a.stored(ctx, by, p.CaseID, &j, err, nil)
}

// Choose stores target, lens and power. Another model than the one shown is
// looked at first: its ladder comes back, and nothing is chosen.
func (a *ward) Choose(ctx context.Context, by Actor, c Choice) (EyeCase, error) {
	choice := pathway.Choice{Case: c.CaseID, Seen: c.Revision, Target: c.Target, Placement: c.Place, Reason: c.Reason}
	if c.Model == c.Shown && strings.TrimSpace(c.Power) != "" {
		choice.Lens, choice.Power = c.Model, c.Power
	}
	j, err := a.Pathway.Choose(ctx, actorOf(by), choice)
	if err != nil {
		return EyeCase{}, a.conflictOf(ctx, by, c.CaseID, err, nil)
	}
	return a.eyeCase(ctx, by, &j, c.Model, nil)
}

func (a *ward) List(ctx context.Context, by Actor, l Listing) (EyeCase, error) {
	order := 0
	if text := strings.TrimSpace(l.Order); text != "" {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > mostOnList {
			return EyeCase{}, Refused("whole-number", "order", valueOf("got", text), valueOf("most", strconv.Itoa(mostOnList)))
		}
		order = n
	}
	j, err := a.Pathway.List(ctx, actorOf(by), pathway.Listing{Case: l.CaseID, Seen: l.Revision, Date: l.Date, Place: l.Place, Order: order})
	return a.stored(ctx, by, l.CaseID, &j, err, nil)
}

// mostOnList is more than any theatre does in a day.
const mostOnList = 200

func (a *ward) Confirm(ctx context.Context, by Actor, c Confirmation) (EyeCase, error) {
	j, err := a.ReadBack(ctx, actorOf(by), pathway.Reading{Case: c.CaseID, Seen: c.Revision, Read: c.Read})
	return a.stored(ctx, by, c.CaseID, &j, err, nil)
}

func (a *ward) Sign(ctx context.Context, by Actor, s Signing) (EyeCase, error) {
	j, err := a.Pathway.Sign(ctx, actorOf(by), pathway.Signing{Case: s.CaseID, Seen: s.Revision, Alone: s.Alone, Supervisor: actorOf(s.Supervisor)})
	return a.stored(ctx, by, s.CaseID, &j, err, nil)
}

func (a *ward) Reopen(ctx context.Context, by Actor, r Reopening) (EyeCase, error) {
	j, err := a.Pathway.Reopen(ctx, actorOf(by), r.CaseID, r.Revision, r.Reason)
	return a.stored(ctx, by, r.CaseID, &j, err, nil)
}

func (a *ward) Close(ctx context.Context, by Actor, c Closing) error {
	err := a.Pathway.Close(ctx, actorOf(by), c.CaseID, c.Revision, c.Why, c.Reason)
	if err != nil {
		return a.conflictOf(ctx, by, c.CaseID, err, nil)
	}
	return nil
}
