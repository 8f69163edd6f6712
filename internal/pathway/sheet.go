package pathway

import (
	"context"
	"slices"
	"time"

	"linn/calc/technique"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/internal/care/sheet"
)

// TheatreSheet is the sheet of one eye, with why it may not be used.
type TheatreSheet struct {
	sheet.Sheet
	Case     string
	Revision int
	Printed  time.Time // in the ward's zone

	// Valid says that the plan is signed, in force, and for a day that has
	// not passed. Without it the sheet carries no number.
	Valid   bool
	Past    bool              // the day of its list has passed
	Reopens []finding.Finding // why the signed plan no longer holds
}

// printedAt is how an act's moment is printed.
const printedAt = "2006-01-02 15:04"

// Sheet makes the theatre sheet. Only a plan that is signed and in force, for
// a list that is not past, has a number; every other print says NOT SIGNED.
func (p *Pathway) Sheet(ctx context.Context, by casebook.Actor, id string) (out TheatreSheet, err error) {
	err = p.look(ctx, by, VerbSheet, func(t *turn) error {
		c, err := t.load(id, Newest)
		if err != nil {
			return err
		}
		if c.State() == casebook.StateClosed {
			return refuse("case-closed", "", value("why", c.Closed))
		}
		if err := t.identified(&c); err != nil {
			return err
		}
		s, err := t.gather(c)
		if err != nil {
			return err
		}
		out, err = t.sheet(&s)
		t.touch(casebook.AccessPrint, s.patient, id)
		return err
	})
	return out, err
}

func (t *turn) sheet(s *situation) (out TheatreSheet, err error) {
	m, err := t.made(s)
	if err != nil {
		return out, err
	}
	if m.plan == nil {
		return out, m.refused
	}
	out = TheatreSheet{Case: s.id, Revision: s.head.Number, Printed: t.now}
	if s.State() == casebook.StateSigned {
		if out.Reopens, err = t.reopensOf(s); err != nil {
			return out, err
		}
		out.Past = s.Signed.ListDate.Before(t.today())
		out.Valid = len(out.Reopens) == 0 && !out.Past && !t.stopped(s)
	}
	in, err := t.sheetInput(s, &m, out.Valid)
	out.Sheet = sheet.New(in)
	return out, err
}

// sheetInput gathers what the sheet says beside the plan.
func (t *turn) sheetInput(s *situation, m *made, valid bool) (sheet.Input, error) {
	in := sheet.Input{Plan: m.plan, PlanNumber: 1, Lone: s.LoneReason, Person: sheet.Person{Name: s.who.Name, Identifier: s.who.Identifier,
		Sex: s.who.Sex, Born: s.who.BirthDate, Age: m.plan.Input.Eye.Age, Allergies: sheet.Stated(s.who.Allergies)}}
	in.Phases = phasesPrinted(s.Phases)
	if s.List != nil {
		in.List, in.Place, in.Order = s.List.Date, s.List.Place, s.List.Order
	}
	if s.Signed != nil {
		in.PlanNumber = s.Signed.PlanNumber + 1
	}
	in.Care = t.care(s)
	if c := in.Care; c != nil && c.Input.Technique != "" && c.Input.Technique != technique.TowardPhaco {
		in.Procedure = c.Input.Technique + "-lens"
	}
	measured, err := t.measuredBy(s)
	if err != nil {
		return in, err
	}
	in.Measured = measured
	if r := s.ReadBack; r != nil {
		in.Second = t.printed(r.By, r.At, "")
	}
	for _, f := range m.findings() {
		if p := passOf(s.Passes, f); f.Gate && p != nil {
			in.Passes = append(in.Passes, sheet.Pass{Finding: f, Act: *t.printed(p.By, p.At, p.Reason)})
		}
	}
	if !valid {
		in.Blockers = plan.Ready(m.plan, s.readiness(m))
		return in, nil
	}
	in.PlanNumber, in.Number, in.List = s.Signed.PlanNumber, s.Signed.Sheet, s.Signed.ListDate
	in.Signed = t.printed(s.Signed.By, s.Signed.At, "")
	if s.Signed.Supervisor != "" {
		in.Senior = t.printed(s.Signed.Supervisor, s.Signed.At, "")
	}
	return in, nil
}

func (t *turn) printed(by string, at time.Time, reason string) *sheet.Act {
	return &sheet.Act{Name: nameOf(t.tx, by), When: at.In(t.now.Location()).Format(printedAt), Reason: reason}
}

// measuredBy is who last entered readings.
func (t *turn) measuredBy(s *situation) (sheet.Act, error) {
	entered := []casebook.Verb{casebook.VerbMeasure, casebook.VerbRepeat, casebook.VerbCorrect, casebook.VerbMoveHere}
	versions, err := t.history(s.id)
	for _, v := range slices.Backward(versions) {
		if slices.Contains(entered, v.State.Verb) {
			return *t.printed(v.Revision.Actor, v.Revision.At, ""), err
		}
	}
	return sheet.Act{}, err
}
