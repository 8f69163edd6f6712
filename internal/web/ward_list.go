package web

import (
	"context"
	"errors"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

func (a *ward) Ward(ctx context.Context, by Actor) (Ward, error) {
	today, rows, err := a.Pathway.Ward(ctx, actorOf(by), pathway.WardQuery{})
	w := Ward{Today: today}
	for i := range rows {
		w.Rows = append(w.Rows, wardRowOf(&rows[i]))
	}
	if w.Round = pathway.May(pathway.Role(by.Role), pathway.VerbRound); w.Round && err == nil {
		w.Waiting, err = a.Pathway.Waiting(ctx, actorOf(by))
	}
	return w, said(err)
}

func wardRowOf(r *pathway.WardRow) WardRow {
	row := WardRow{Identity: Identity{CaseID: r.Case, Side: r.Side, Name: r.Who.Name, Identifier: r.Who.Identifier, Sex: r.Who.Sex, Age: r.Age,
		Born: r.Who.BirthDate, List: r.List.Date, Place: r.List.Order, Plan: r.PlanNumber, Signed: r.State == pathway.StateSigned, Revision: r.Revision},
		Model: r.Model, Power: r.Power, Progress: Progress{Measured: r.Progress.Measured, Checked: r.Progress.Checked, Lens: r.Progress.Lens, Sheet: r.Progress.Sheet}}
	if m := r.Missing; m != nil {
		row.Missing = &Missing{Need: m.Need}
		if m.Finding != nil {
			row.Missing.Finding = *m.Finding
		}
	}
	return row
}

// StartCase opens a case and returns its id.
func (a *ward) StartCase(ctx context.Context, by Actor, c NewCase) (string, error) {
	form := pathway.NewPatient{Name: c.Name, Identifier: c.Identifier, Sex: c.Sex, Born: c.Born}
	var err error
	if form.Allergies, err = allergies(c); err != nil {
		return "", err
	}
	id, err := a.Admit(ctx, actorOf(by), pathway.Admission{NewPatient: form, Side: c.Side, List: c.List})
	return id, said(err)
}

// allergies reads the answer: nil when nobody asked, empty for none known. A
// name beside "none known" is one of two slips, and nobody here guesses which.
func allergies(c NewCase) (list []string, err error) {
	for item := range strings.SplitSeq(c.Allergies, ",") {
		if item = strings.TrimSpace(item); item != "" {
			list = append(list, item)
		}
	}
	switch {
	case c.NoAllergies && len(list) > 0:
		return nil, Refused("allergies-both", "allergies")
	case c.NoAllergies:
		return []string{}, nil
	}
	return list, nil
}

// inForce reports that the plan is signed, or was when the eye was operated on.
func inForce(j *pathway.Journey) bool {
	return j.State == pathway.StateSigned || j.State == pathway.StateClosed && j.Signed != nil && j.Reopened == ""
}

// identityOf is what stands at the top of an eye's pages.
func identityOf(j *pathway.Journey) Identity {
	id := Identity{CaseID: j.Case, Side: j.Side, Name: j.Who.Name, Identifier: j.Who.Identifier, Sex: j.Who.Sex, Age: j.Age, Born: j.Who.BirthDate,
		List: j.List.Date, Place: j.List.Order, Plan: j.PlanNumber, Signed: inForce(j), Revision: j.Revision}
	if !id.Signed && j.Plan != nil {
		id.Plan++
	}
	return id
}

// conflictOf shows both versions to the one who came second. mine are the
// readings that were being stored, nil when another form came late: then there
// is nothing to choose, and what stands is carried so that nothing is blanked.
func (a *ward) conflictOf(ctx context.Context, by Actor, id string, err error, mine *Measurement) error {
	var c *pathway.Conflict
	if !errors.As(err, &c) {
		return said(err)
	}
	j, err := a.Check(ctx, actorOf(by), id)
	if err != nil {
		return said(err)
	}
	out := &Conflict{CaseID: id, Revision: j.Revision, Fellow: j.FellowRevision, By: c.By, At: clock(c.At.In(a.Clock().Location()))}
	now := Measurement{CaseID: id, Eyes: map[eye.Side]map[string]string{}}
	for _, side := range bothSides {
		now.Eyes[side] = j.Eyes[side].Texts
	}
	if out.Mine = now; mine == nil {
		return out
	}
	out.Mine = *mine
	for _, side := range bothSides {
		for _, key := range entryKeys {
			text, typed := mine.Eyes[side][key]
			theirs := j.Eyes[side].Texts[key]
			if base, is := c.BaseText(side, key); is && strings.TrimSpace(text) == base {
				delete(out.Mine.Eyes[side], key) // not touched: what stands, stands
				continue
			}
			if text = strings.TrimSpace(text); typed && text != theirs {
				out.Rows = append(out.Rows, Difference{Side: side, Field: key, Mine: text, Theirs: theirs})
			}
		}
	}
	return out
}

func known(n pathway.Number) unit.Reading[unit.Dioptre] {
	return unit.Reading[unit.Dioptre]{Value: unit.Dioptre(n.Value), Known: n.Known}
}

func percentOf(n pathway.Number) unit.Reading[unit.Percent] {
	return unit.Reading[unit.Percent]{Value: unit.Percent(n.Value), Known: n.Known}
}

func millimetresOf(n pathway.Number) unit.Reading[unit.Millimetre] {
	return unit.Reading[unit.Millimetre]{Value: unit.Millimetre(n.Value), Known: n.Known}
}

func sameFinding(a, b finding.Finding) bool {
	return a.Code == b.Code && a.Field == b.Field && a.Method == b.Method
}
