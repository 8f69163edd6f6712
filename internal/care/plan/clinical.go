package plan

import (
	"maps"
	"slices"

	"linn/calc/dose"
	"linn/calc/risk"
	"linn/calc/technique"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Clinical is what is recorded of an eye beside its readings: the answers the
// rules of technique read, the drugs as drawn up, and who says which eye and
// which operation. Texts are as typed; names of people are not in it.
type Clinical struct {
	Answers     map[string]string `json:"answers,omitempty"` // by question
	Technique   string            `json:"technique,omitempty"`
	Reason      string            `json:"reason,omitempty"` // when the choice stands against the leans
	Anaesthesia string            `json:"anaesthesia,omitempty"`

	Weight         string              `json:"weight_kg,omitempty"`
	AllergiesAsked bool                `json:"allergies_asked,omitempty"`
	Allergies      []string            `json:"allergies,omitempty"` // words of dose.AllergyWords, never free text
	Drugs          []map[string]string `json:"drugs,omitempty"`     // lines, by the keys of linn.dose/1
	Limits         map[string]float64  `json:"limits,omitempty"`    // of this unit, by setting

	Statements []Statement `json:"statements,omitempty"`
	Refused    bool        `json:"refused,omitempty"` // the patient refused

	OwnRisk map[string]float64 `json:"own_risk,omitempty"` // the unit's own intercepts by technique: shifts of the log odds
}

// own is the unit's intercept for a technique, nil when it has none.
func (c *Clinical) own(planned string) *risk.Own {
	if planned == "" {
		planned = risk.Narendran.Technique
	}
	shift, has := c.OwnRisk[planned]
	if !has {
		return nil
	}
	return &risk.Own{Technique: planned, Shift: shift}
}

// ClinicalPlan is what follows from them.
type ClinicalPlan struct {
	Decision technique.Decision `json:"decision"`
	Risks    []Risk             `json:"risks"`
	Dose     *DoseCheck         `json:"dose,omitempty"`
	Findings []finding.Finding  `json:"findings"`
}

// DoseCheck is the check of the drugs as it is printed.
type DoseCheck struct {
	Lines    []DoseLine        `json:"lines"`
	Total    *DoseTotal        `json:"local_anaesthetic"` // null without one that has a limit
	Findings []finding.Finding `json:"findings"`
}

// DoseLine is one drug's arithmetic.
type DoseLine struct {
	Drug          string        `json:"drug"`
	Route         string        `json:"route"`
	Concentration Number        `json:"concentration_mg_ml"`
	Volume        Number        `json:"volume_ml"`
	Dose          Number        `json:"dose_mg"`
	Target        Number        `json:"target"`
	TargetUnit    string        `json:"target_unit,omitempty"`
	Share         Number        `json:"times_target"`
	TopUp         bool          `json:"top_up,omitempty"`
	PreparedBy    string        `json:"prepared_by,omitempty"`
	CheckedBy     string        `json:"checked_by,omitempty"`
	Working       []source.Step `json:"-"`

	Findings []finding.Finding `json:"findings"`
}

// DosePart is one local anaesthetic's share.
type DosePart struct {
	Drug     string `json:"drug"`
	Dose     Number `json:"dose_mg"`
	PerKg    Number `json:"mg_per_kg"` // null without a weight
	Limit    Number `json:"limit_mg"`
	Fraction Number `json:"of_limit"`
}

// DoseTotal is the local anaesthetics together.
type DoseTotal struct {
	Parts    []DosePart `json:"parts"`
	Fraction Number     `json:"of_limit"`
}

// Answered reads the answers and what the eye itself answers: age, sex,
// length, chamber, thickness. What cannot be read is left out: whoever
// records it refuses it first.
func (c *Clinical) Answered(e *eye.Eye) technique.Answers {
	a := technique.Answers{}
	for _, key := range slices.Sorted(maps.Keys(c.Answers)) {
		a.Set(technique.Typed{Key: key, Text: c.Answers[key]})
	}
	if c.Technique != "" {
		a.Set(technique.Typed{Key: "planned_technique", Text: c.Technique})
	}
	if e == nil {
		return a
	}
	for _, key := range []string{"age_years", "sex", "axial_length_mm", "acd_mm", "corneal_thickness_um"} {
		if text := eye.FieldNamed(key).Get(e); text != "" {
			a.Set(technique.Typed{Key: key, Text: text})
		}
	}
	return a
}

// Decide is what follows from what is recorded beside the readings.
func (c *Clinical) Decide(e *eye.Eye) *ClinicalPlan {
	a := c.Answered(e)
	out := &ClinicalPlan{Decision: technique.Decide(a), Risks: Risks(a, c.own(a["planned_technique"].Word))}
	out.Findings = append(out.Decision.Findings(), Agree(c.Statements)...)
	if c.Refused {
		out.Findings = append(out.Findings, consentRefused.On("consent"))
	}
	if c.Technique != "" && c.Reason == "" && out.Decision.Differs(c.Technique) {
		out.Findings = append(out.Findings, reasonMissing.On("technique", finding.Value{Name: "technique", Text: c.Technique}))
	}
	if m := c.Anaesthesia; m != "" && slices.ContainsFunc(out.Decision.Anaesthesia, func(x technique.Choice) bool { return x.Method == m && x.Barred }) {
		out.Findings = append(out.Findings, anaesthesiaBarred.On("anaesthesia", finding.Value{Name: "method", Text: m}))
	}
	if len(c.Drugs) > 0 {
		out.Dose = c.dose()
		out.Findings = append(out.Findings, out.Dose.All()...)
	}
	if out.Findings = worstFirst(out.Findings); out.Findings == nil {
		out.Findings = []finding.Finding{}
	}
	return out
}

// All lists the findings of the lines and of the whole.
func (d *DoseCheck) All() (list []finding.Finding) {
	for i := range d.Lines {
		list = append(list, d.Lines[i].Findings...)
	}
	return append(list, d.Findings...)
}

func (c *Clinical) dose() *DoseCheck {
	in := dose.Input{AllergiesAsked: c.AllergiesAsked, Allergies: c.Allergies, Limits: dose.Limits{}}
	if c.Weight != "" {
		if w, refused := dose.ReadWeight(c.Weight, false); refused == nil {
			in.Weight = w
		}
	}
	for _, texts := range c.Drugs {
		if l, refused := dose.ReadLine(texts); len(refused) == 0 {
			in.Lines = append(in.Lines, l)
		}
	}
	for key, v := range c.Limits {
		in.Limits[key] = dose.Local{Value: v}
	}
	d := Doses(in)
	return &d
}

// Doses checks the drugs and brings the answer into the form that is printed.
func Doses(in dose.Input) DoseCheck {
	a := dose.Check(in)
	d := DoseCheck{Lines: []DoseLine{}, Findings: a.Findings}
	for _, l := range a.Lines {
		d.Lines = append(d.Lines, DoseLine{Drug: l.Line.Drug, Route: string(l.Line.Route), Concentration: number(l.Concentration), Volume: number(l.Line.Volume.Value),
			Dose: number(l.Dose), Target: Number(l.Target), TargetUnit: l.TargetUnit, Share: Number(l.Share), TopUp: l.Line.TopUp,
			PreparedBy: l.Line.PreparedBy, CheckedBy: l.Line.CheckedBy, Working: l.Working, Findings: append([]finding.Finding{}, l.Findings...)})
	}
	if t := a.Anaesthetic; t != nil {
		d.Total = &DoseTotal{Fraction: number(t.Fraction)}
		for _, p := range t.Parts {
			d.Total.Parts = append(d.Total.Parts, DosePart{p.Drug, number(p.Dose), Number(p.PerKg), number(p.Limit), number(p.Fraction)})
		}
	}
	return d
}

// AmountText writes an amount with its unit: mg, mg/ml or g/kg.
func AmountText(n Number, u string) string {
	switch {
	case !n.Known:
		return ""
	case u == "mg/ml":
		return unit.MilligramPerMillilitre(n.Value).String()
	case u == "g/kg":
		return unit.Fixed(n.Value, 2) + unit.Thin + u
	}
	return unit.Milligram(n.Value).String()
}
