package pathway

import (
	"context"
	"errors"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/followup"
	"linn/unit"
)

// RoundRow is one operated eye on the round.
type RoundRow struct {
	Case, Patient string
	Who           casebook.Identity
	Age           unit.Reading[unit.Year]
	Side          eye.Side
	Bed           string
	On            unit.Date // of the operation
	Day           int       // days since, when On is known
	Technique     string
	Torn          bool // the capsule ruptured
	Model         string
	Status        followup.Status
	Next          followup.Next
	Last          *followup.Visit // the newest that stands
	Findings      []finding.Finding
	Revision      int
	Lost          *followup.Lost
}

// Round is the morning round and what is due.
type Round struct {
	Today unit.Date
	Beds  []RoundRow // operated today or yesterday, or lying in a bed, by bed
	Due   []RoundRow // due, overdue, lost: who is to be seen or traced
}

// roundDays is how long ago an operation may be for its eye to stand on the
// morning round by itself.
const roundDays = 1

// roundLimit bounds a page.
const roundLimit = 400

// Round lists the operated eyes of the morning round by bed, and beside them
// every eye whose visit is due, overdue or lost.
func (p *Pathway) Round(ctx context.Context, by casebook.Actor) (r Round, err error) {
	err = p.look(ctx, by, VerbRound, func(t *turn) error {
		r.Today = t.today()
		t.touch(casebook.AccessRead, casebook.WardChain, "")
		list, err := t.tx.Operated(casebook.OperatedQuery{Since: r.Today.AddDays(-roundDays), Expected: r.Today, Limit: roundLimit})
		if err != nil {
			return err
		}
		for _, o := range list {
			row, shown, err := t.roundRow(o, r.Today)
			switch {
			case err != nil:
				return err
			case !shown:
			case row.onRound(r.Today):
				r.Beds = append(r.Beds, row)
			case row.Status == followup.Due || row.Status == followup.Overdue || row.Status == followup.Missing:
				r.Due = append(r.Due, row)
			}
		}
		return nil
	})
	return r, err
}

func (w *RoundRow) onRound(today unit.Date) bool {
	return w.On.Known() && w.Day <= roundDays
}

// roundRow fills one row; shown is false for an erased patient.
func (t *turn) roundRow(o casebook.OperatedRow, today unit.Date) (row RoundRow, shown bool, err error) {
	row = RoundRow{Case: o.Case, Side: o.Side, Bed: o.Bed, On: o.On}
	if row.Patient, err = casebook.Resolve(t.tx, o.Patient); err != nil {
		return row, false, err
	}
	if row.Who, err = casebook.Identify(t.tx, row.Patient); errors.Is(err, ErrErased) {
		return row, false, nil
	}
	if err != nil {
		return row, false, err
	}
	c, err := t.load(o.Case, Newest)
	if err != nil {
		return row, false, err
	}
	if age, ok := row.Who.AgeOn(today); ok {
		row.Age = unit.Known(age)
	}
	e := c.FollowUp()
	row.Revision, row.Lost = c.number, c.Lost
	row.Status, row.Next = e.StatusOn(today)
	row.Day, _ = e.On.DaysUntil(today)
	if r := c.Operation; r != nil {
		row.Technique, row.Model = string(r.Ended()), r.Values["lens_model"]
		row.Torn, _ = r.CapsuleRupture()
	}
	if seen := followup.Standing(c.Visits); len(seen) > 0 {
		last := seen[len(seen)-1]
		row.Last, row.Findings = &last, followup.Check(last, e, today)
	}
	return row, true, nil
}

// DueCount is how many eyes wait for a visit.
type DueCount struct{ Due, Overdue, Lost int }

// countDue counts the visits that are due, from the projection alone. The count
// is remembered: on a large record it is the longest part of the Ward.
func (t *turn) countDue() (n DueCount, err error) {
	today := t.today()
	sequence, err := t.register.seen(t.tx)
	if err != nil {
		return n, err
	}
	if n, ok := t.register.dueCount(sequence, today); ok {
		return n, nil
	}
	list, err := t.tx.Operated(casebook.OperatedQuery{Expected: today})
	for _, o := range list {
		late, _ := o.Until.DaysUntil(today)
		switch {
		case late <= 0:
			n.Due++
		case late <= followup.LostAfter:
			n.Overdue++
		default:
			n.Lost++
		}
	}
	if err == nil {
		t.register.keepDue(dueMade{n, sequence, today})
	}
	return n, err
}

// Waiting counts the operated eyes that wait for a visit.
func (p *Pathway) Waiting(ctx context.Context, by casebook.Actor) (n DueCount, err error) {
	err = p.look(ctx, by, VerbRound, func(t *turn) error {
		n, err = t.countDue()
		return err
	})
	return n, err
}
