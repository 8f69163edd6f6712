package pathway

import (
	"context"
	"errors"
	"time"

	"linn/internal/care/casebook"
	"linn/unit"
)

// DayList is a theatre list as it stood at one moment.
type DayList struct {
	Date     unit.Date
	AsOf     time.Time // in the ward's zone
	Hospital string
	Eyes     []DayEye
}

// DayEye is one eye of a list. Sheet is nil where no plan can be made. An eye
// is confirmed when its plan was signed and in force at that moment: only then
// has its sheet a number.
type DayEye struct {
	WardRow
	Sheet     *TheatreSheet
	Confirmed bool
}

// DayList reads the list of a day, without locking it.
func (p *Pathway) DayList(ctx context.Context, by casebook.Actor, day string) (l DayList, err error) {
	err = p.look(ctx, by, VerbLock, func(t *turn) error {
		l, err = t.dayList(day, casebook.AccessRead)
		return err
	})
	return l, err
}

// LockList takes the list of a day out of the record as it stands, with every
// sheet, so that the theatre can go on without the record. What was taken, and
// at which revision, is written down. Locking keeps nobody from changing an
// eye afterwards: whoever works from the lock holds it against the paper.
func (p *Pathway) LockList(ctx context.Context, by casebook.Actor, day string) (l DayList, err error) {
	err = p.do(ctx, by, VerbLock, func(t *turn) error {
		if l, err = t.dayList(day, casebook.AccessExport); err != nil {
			return err
		}
		if len(l.Eyes) == 0 {
			return refuse("list-empty", "list", value("date", l.Date.String()))
		}
		state := casebook.List{Verb: casebook.VerbLock, Date: l.Date}
		for _, e := range l.Eyes {
			locked := casebook.Locked{Case: e.Case, Number: e.Revision}
			if e.Confirmed {
				locked.Sheet = e.WardRow.Sheet
			}
			state.Eyes = append(state.Eyes, locked)
		}
		chain := casebook.ListChain(l.Date)
		_, head, err := casebook.Load[casebook.List](t.tx, chain)
		if absentIsNone(err) != nil {
			return err
		}
		_, err = casebook.Revise(t.tx, t.stamp, chain, head.Number, state)
		return err
	})
	return l, err
}

func (t *turn) dayList(text, access string) (l DayList, err error) {
	day, err := unit.ParseDate(text)
	if err != nil || !day.Exact() {
		return l, refuse("not-a-date", "list", value("got", clip(text)))
	}
	l = DayList{Date: day, AsOf: t.now}
	settled, err := t.protocol()
	if err != nil {
		return l, err
	}
	l.Hospital = settled.Hospital
	rows, err := t.tx.Ward(casebook.WardQuery{List: day})
	if err != nil {
		return l, err
	}
	for _, w := range rows {
		if w.State == casebook.StateClosed {
			continue
		}
		e, shown, err := t.dayEye(w)
		if err != nil {
			return l, err
		}
		if shown {
			t.touch(access, e.Patient, e.Case)
			l.Eyes = append(l.Eyes, e)
		}
	}
	return l, nil
}

// dayEye is one row with its sheet; an erased person's eye is not shown.
func (t *turn) dayEye(w casebook.WardRow) (e DayEye, shown bool, err error) {
	if e.WardRow, shown, err = t.wardRow(w, "", madeAnew); err != nil || !shown {
		return e, false, err
	}
	c, err := t.load(w.Case, Newest)
	if err != nil {
		return e, false, err
	}
	s, err := t.gather(c)
	if err != nil {
		return e, false, err
	}
	made, err := t.sheet(&s)
	if _, refused := answer(err); refused || errors.Is(err, ErrAbsent) {
		return e, true, nil // no plan can be made: the eye is listed without a sheet
	}
	if err != nil {
		return e, false, err
	}
	e.Sheet, e.Confirmed = &made, made.Valid
	return e, true, nil
}
