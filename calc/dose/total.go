package dose

import (
	"math"
	"slices"

	"linn/unit"
)

// total adds the local anaesthetics of every route and top-up as fractions of
// their limits. What reaches the blood is not asked: all of it counts.
func (a *Answer) total(in *Input) {
	var t Total
	var without []string
	missing, unapproved := false, false
	for _, drug := range caines(a.Lines) {
		p, ok, approved := a.part(in, drug)
		if !ok {
			without = append(without, drug)
			continue
		}
		unapproved = unapproved || !approved
		missing = missing || !in.Weight.Known
		t.Parts, t.Fraction = append(t.Parts, p), t.Fraction+p.Fraction
	}
	for _, drug := range without {
		a.Findings = append(a.Findings, noLimit.On("drug", value("drug", drug)))
	}
	if len(t.Parts) == 0 {
		return
	}
	a.Anaesthetic = &t
	if missing {
		a.Findings = append(a.Findings, weightMissing.On("weight_kg"))
	}
	v := value("share", unit.Fixed(t.Fraction, 2))
	switch {
	case t.Fraction > 1+margin:
		a.Findings = append(a.Findings, totalOver.On("volume_ml", v))
	case t.Fraction >= nearLimit-margin:
		a.Findings = append(a.Findings, totalNear.On("volume_ml", v))
	}
	if unapproved {
		a.Findings = append(a.Findings, notApproved.On("drug", value("drug", "local-anaesthetic")))
	}
}

// caines lists the local anaesthetics among the lines, in order.
func caines(lines []Checked) (list []string) {
	for i := range lines {
		if d := lines[i].Line.Drug; DrugNamed(d).Class == LocalAnaesthetic && !slices.Contains(list, d) {
			list = append(list, d)
		}
	}
	return list
}

// part is one drug's fraction: its lines with and without adrenaline each
// against their own limit, the lower of mg/kg and the fixed ceiling.
func (a *Answer) part(in *Input, drug string) (p Part, ok, approved bool) {
	p.Drug, approved = drug, true
	for i := range a.Lines {
		c := &a.Lines[i]
		if c.Line.Drug != drug {
			continue
		}
		limit, byWeight, known, own := in.limit(drug, c.Line.Adrenaline)
		if !known {
			return p, false, false
		}
		p.Dose += c.Dose
		p.Fraction += float64(c.Dose) / limit
		p.Limit, p.ByWeight, approved = unit.Milligram(limit), byWeight, approved && own
	}
	p.Limit = unit.Milligram(float64(p.Dose) / p.Fraction) // of the mixture as given
	if in.Weight.Known {
		p.PerKg = Number{float64(p.Dose) / float64(in.Weight.Value), true}
	}
	return p, true, approved
}

// limit is the lower of the local limit per kg and the fixed one, in mg.
// Without a weight only the fixed one stands.
func (in *Input) limit(drug string, adrenaline bool) (mg float64, byWeight, known, approved bool) {
	name := drug
	if adrenaline {
		name += ".with_adrenaline"
	}
	perKg, hasPerKg, ownPerKg := in.Limits.of(name + ".mg_per_kg")
	most, hasMost, ownMost := in.Limits.of(name + ".mg")
	mg, approved = math.Inf(1), true
	if hasMost {
		mg, known, approved = most, true, ownMost
	}
	if hasPerKg && in.Weight.Known {
		if v := perKg * float64(in.Weight.Value); v < mg {
			mg, byWeight = v, true
		}
		known, approved = true, approved && ownPerKg
	}
	return mg, byWeight, known, approved
}

// MostVolume is the volume of one local anaesthetic that reaches its limit in
// this person: for the teaching of the arithmetic.
func MostVolume(in Input, l Line) (unit.Millilitre, bool) {
	limit, _, known, _ := in.limit(l.Drug, l.Adrenaline)
	c := Checked{Line: l}
	if !known || !l.Stock.Known {
		return 0, false
	}
	c.concentration()
	return unit.Millilitre(limit / float64(c.Concentration)), true
}
