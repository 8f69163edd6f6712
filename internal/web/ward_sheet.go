package web

import (
	"context"
	"errors"
	"fmt"
	"io"

	"linn/finding"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/unit"
)

// sheetNumber is a sheet's number as printed.
func sheetNumber(n int) string { return fmt.Sprintf("%05d", n) }

func valueOf(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

func (a *ward) Sheet(ctx context.Context, by Actor, id string) (Sheet, error) {
	t, err := a.Pathway.Sheet(ctx, actorOf(by), id)
	if err != nil {
		return Sheet{}, said(err)
	}
	return sheetOf(&t), nil
}

// Print writes the sheet as PDF. A name that no typeface can set is refused:
// letters are never left out.
func (a *ward) Print(ctx context.Context, by Actor, id string, w io.Writer) error {
	t, err := a.Pathway.Sheet(ctx, actorOf(by), id)
	if err != nil {
		return said(err)
	}
	err = paper.Sheet(w, &t.Sheet, printWords{a.words})
	if e := (*paper.UncoveredError)(nil); errors.As(err, &e) {
		return Refused("letters", "", valueOf("got", e.Text), valueOf("letter", string(e.Letter)))
	}
	return err
}

func sheetOf(t *pathway.TheatreSheet) Sheet {
	p, l := &t.Person, &t.Lens
	s := Sheet{Identity: Identity{CaseID: t.Case, Side: t.Side, Name: p.Name, Identifier: p.Identifier, Sex: p.Sex, Age: p.Age, Born: p.Born, List: t.List,
		Place: t.Order, Plan: t.PlanNumber, Signed: t.Signed, Revision: t.Revision},
		Number: t.Number, Mark: t.Mark, Past: t.Past, Theatre: t.Place, Procedure: t.Procedure, Placement: t.Placement, Model: l.Model, Power: known(l.Power), Target: known(l.Target),
		Assumed: l.Assumed, Predicted: known(l.Predicted), Basis: l.Methods, Asked: p.Allergies.Asked, Allergies: p.Allergies.Items,
		Measured: Signature{t.Measured.Name, t.Measured.When}, Alone: t.Lone, WriteDown: t.WriteDown, Printed: t.Printed, Program: t.Program}
	s.Clock = t.Clock
	s.Rescue = t.Rescue
	s.Predicted.SD = unit.Dioptre(l.SD.Value)
	if l.Predicted.Known && l.TwoOf.Known {
		s.Low, s.High = unit.Known(unit.Dioptre(l.Predicted.Value-l.TwoOf.Value)), unit.Known(unit.Dioptre(l.Predicted.Value+l.TwoOf.Value))
	}
	for i, r := range t.Readings {
		line := SheetLine{Field: r.Field, Text: r.Text, Detail: r.Detail}
		if i < len(t.Fellow) {
			line.Fellow = t.Fellow[i].Text
		}
		s.Readings = append(s.Readings, line)
	}
	for _, c := range t.Checks {
		s.Checks = append(s.Checks, SheetCheck{c.Moment, c.Key})
	}
	for _, b := range t.Blockers {
		s.Open = append(s.Open, Blocker{b.Code, b.Field})
	}
	for _, ph := range t.Phases {
		one := SheetPhase{Phase: ph.Phase}
		for _, set := range ph.Settings {
			one.Settings = append(one.Settings, PhaseSetting{set.Key, set.Text})
		}
		s.Phases = append(s.Phases, one)
	}
	sheetPeople(&s, t)
	return s
}

// sheetPeople are who stands for the sheet, and the gates they let pass.
func sheetPeople(s *Sheet, t *pathway.TheatreSheet) {
	if t.Second != nil {
		s.Confirmed = &Signature{t.Second.Name, t.Second.When}
	}
	if t.SignedBy != nil {
		s.Signed = &Signature{t.SignedBy.Name, t.SignedBy.When}
	}
	if t.Senior != nil {
		s.Senior = &Signature{t.Senior.Name, t.Senior.When}
	}
	for _, f := range t.Alerts {
		item := FindingItem{Finding: f}
		for _, p := range t.Passes {
			if sameFinding(p.Finding, f) {
				item.PassedOn = &Signature{p.Name, p.When}
				item.Because = p.Reason
			}
		}
		s.Alerts = append(s.Alerts, item)
	}
}
