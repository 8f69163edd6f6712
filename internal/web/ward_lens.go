package web

import (
	"slices"

	"linn/internal/pathway"
	"linn/source"
	"linn/unit"
)

// lensPart is the ladder of one model: the one asked for, else the chosen one,
// else the first that has a power for this eye.
func (a *ward) lensPart(j *pathway.Journey, shelf []pathway.ShelfLens, model string) LensPart {
	own := j.Eyes[j.Side]
	l := LensPart{Editable: j.May[pathway.VerbChoose], Target: own.Eye.Target, TargetText: own.Texts["target_d"],
		Placement: own.Texts["placement"]}
	if bad, is := own.Refused["target_d"]; is {
		l.TargetBad = &bad
	}
	for i := range shelf {
		chosen := j.Chosen != nil && j.Chosen.Lens == shelf[i].ID
		if shelf[i].Withdrawn == "" || chosen {
			l.Models = append(l.Models, ModelName{shelf[i].ID, shelf[i].Model})
		}
	}
	shown := shownLens(j, l.Models, model)
	if shown == nil {
		return l
	}
	l.Model = shown.ID
	if j.Plan == nil {
		return l
	}
	l.Second = j.Plan.SecondEye
	for i := range j.Plan.Lenses {
		if j.Plan.Lenses[i].Model == shown.Name {
			a.ladderOf(&l, j, &j.Plan.Lenses[i], shown.ID)
		}
	}
	return l
}

func shownLens(j *pathway.Journey, models []ModelName, wanted string) *ModelName {
	if len(models) == 0 {
		return nil
	}
	for _, id := range []string{wanted, chosenID(j)} {
		for i := range models {
			if id != "" && models[i].ID == id {
				return &models[i]
			}
		}
	}
	if j.Plan != nil {
		for i := range models {
			for k := range j.Plan.Lenses {
				if p := &j.Plan.Lenses[k]; p.Model == models[i].Name && p.Recommended != nil && p.Recommended.Reason == "nearest" {
					return &models[i]
				}
			}
		}
	}
	return &models[0]
}

func chosenID(j *pathway.Journey) string {
	if j.Chosen == nil {
		return ""
	}
	return j.Chosen.Lens
}

func chosenOf(j *pathway.Journey, met map[string]bool) *ChosenLens {
	if j.Chosen == nil {
		return nil
	}
	return &ChosenLens{Model: j.Chosen.Lens, Name: j.Chosen.Model, Power: j.Chosen.Power, Reason: j.Chosen.Reason, NeedReason: !met[pathway.NeedLensReason]}
}

// ladderOf fills powers, methods and what they say of one model.
func (a *ward) ladderOf(l *LensPart, j *pathway.Journey, p *pathway.LensPlan, id string) {
	for i := range p.Powers {
		x := &p.Powers[i]
		l.Powers = append(l.Powers, ShelfPower{unit.Dioptre(x.Power.Value), x.Stock.Known, int(x.Stock.Value)})
		if x.Predicted.Known && x.TwoOf.Known {
			l.Band = append(l.Band, BandPoint{unit.Dioptre(x.Power.Value), unit.Dioptre(x.Predicted.Value - x.TwoOf.Value), unit.Dioptre(x.Predicted.Value + x.TwoOf.Value)})
		}
	}
	if r := p.Recommended; r != nil {
		l.Recommended = &Recommended{unit.Dioptre(r.Power.Value), unit.Dioptre(r.Predicted.Value), unit.Dioptre(r.Nearest.Value), r.Reason, r.Methods}
	}
	l.Operated, l.Rescue, l.Lengths, l.Children = p.AfterSurgery, p.Rescue, p.Lengths, p.Children
	var preferred []string
	for _, g := range p.Guidance {
		l.Advice = append(l.Advice, Advice{Ref: source.Ref{Key: g.Source, Where: g.Where, Grade: g.Grade}, Prefers: g.Prefers, Mean: g.Mean, Others: g.Others})
		preferred = append(preferred, g.Counts...)
	}
	steps := a.steps(j, p, id)
	for i := range p.Methods {
		m := a.method(p, &p.Methods[i])
		m.Preferred, m.Steps = slices.Contains(preferred, m.ID), steps[m.ID]
		l.Methods = append(l.Methods, m)
	}
	chosen := chosenID(j) == id
	for _, f := range p.Findings {
		switch {
		case f.Code == "method-absent":
			l.Absent = append(l.Absent, Absent{f.Method, f.Field})
		case !chosen: // of a chosen lens the journey says them, with what can be done
			l.Findings = append(l.Findings, FindingItem{Finding: f})
		}
	}
	if d := j.Plan.Decision; chosen && d != nil {
		l.Power, l.Basis = known(d.Power), p.Agreement.Methods
		l.Predicted, l.Within50, l.Within100 = known(d.Predicted), percentOf(d.Target50), percentOf(d.Target100)
		l.Predicted.SD = unit.Dioptre(d.SD.Value)
		for _, sh := range d.Shares {
			l.Shares = append(l.Shares, Share{sh.Kind, unit.Percent(sh.Share.Value)})
		}
	}
}

// method is one method's line: its answer for the target and the refraction it
// predicts for every power shown.
func (a *ward) method(p *pathway.LensPlan, m *pathway.MethodPlan) MethodAnswer {
	out := MethodAnswer{ID: m.Method, Version: m.Version, LensPosition: millimetresOf(m.LensPosition), Power: known(m.Power), Emmetropia: known(m.Emmetropia),
		Findings: m.Findings, Origin: m.Constant.Origin, Apart: !m.Counts}
	if m.Constant.Value.Known {
		out.Constant = a.constantLine(m.Constant.Key, m.Constant.Value.Value)
	}
	for i := range p.Powers {
		for _, r := range p.Powers[i].Refractions {
			if r.Method == m.Method && r.Refraction.Known {
				out.Choices = append(out.Choices, PowerChoice{unit.Dioptre(p.Powers[i].Power.Value), unit.Dioptre(r.Refraction.Value)})
			}
		}
	}
	return out
}

// steps are how every method came to its power for the target: with the chosen
// power, else with the one that comes nearest.
func (a *ward) steps(j *pathway.Journey, p *pathway.LensPlan, id string) map[string][]source.Step {
	var power pathway.Number
	switch {
	case j.Plan.Decision != nil && chosenID(j) == id:
		power = j.Plan.Decision.Power
	case p.Recommended != nil:
		power = p.Recommended.Power
	case len(p.Powers) > 0:
		power = p.Powers[0].Power
	}
	out := map[string][]source.Step{}
	for _, w := range pathway.WorkingOf(j.Plan, p.Model, power) {
		for _, s := range w.Power {
			out[w.Method] = append(out[w.Method], source.Step{Name: s.Name, Symbol: s.Symbol, Value: s.Value.Value, Unit: s.Unit, Ref: source.Ref{Key: s.Source, Where: s.Where, Grade: s.Grade}})
		}
	}
	return out
}
