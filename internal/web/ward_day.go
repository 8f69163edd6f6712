package web

import (
	"context"
	"errors"
	"io"

	"linn/internal/paper"
	"linn/internal/pathway"
)

func (a *ward) Day(ctx context.Context, by Actor, day string) (Day, error) {
	l, err := a.DayList(ctx, actorOf(by), day)
	return dayOf(&l), said(err)
}

func (a *ward) LockDay(ctx context.Context, by Actor, day string) (Day, error) {
	l, err := a.LockList(ctx, actorOf(by), day)
	return dayOf(&l), said(err)
}

func dayOf(l *pathway.DayList) Day {
	d := Day{Date: l.Date, AsOf: l.AsOf, Hospital: l.Hospital}
	for _, e := range l.Eyes {
		line := DayEye{Confirmed: e.Confirmed, Identity: Identity{CaseID: e.Case, Side: e.Side, Name: e.Who.Name, Identifier: e.Who.Identifier,
			Sex: e.Who.Sex, Age: e.Age, Born: e.Who.BirthDate, List: e.List.Date, Place: e.List.Order}}
		if e.Sheet != nil {
			s := sheetOf(e.Sheet)
			line.Allergies, line.Asked = s.Allergies, s.Asked
			if e.Confirmed {
				line.Number, line.Model, line.Power, line.Target = s.Number, s.Model, s.Power, s.Target
			}
		}
		d.Eyes = append(d.Eyes, line)
	}
	return d
}

func (a *ward) PrintDay(ctx context.Context, by Actor, day string, w io.Writer) error {
	l, err := a.LockList(ctx, actorOf(by), day)
	if err != nil {
		return said(err)
	}
	list := paper.List{Date: a.date(l.Date), AsOf: a.moment(l.AsOf), Hospital: l.Hospital, By: by.Name}
	for i := range l.Eyes {
		e := &l.Eyes[i]
		row := paper.ListRow{Order: e.List.Order, Name: e.Who.Name, Identifier: e.Who.Identifier, Side: a.side(e.Side), State: a.t("pack.open")}
		if e.Sheet != nil {
			row.Sheet = &e.Sheet.Sheet
		}
		if e.Confirmed {
			row.Number = e.Sheet.Number
		}
		list.Rows = append(list.Rows, row)
	}
	err = paper.Pack(w, &list, printWords{a.words})
	if e := (*paper.UncoveredError)(nil); errors.As(err, &e) {
		return Refused("letters", "", valueOf("got", e.Text), valueOf("letter", string(e.Letter)))
	}
	return err
}
