package plan

import (
	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// adult is the age in years from which the ordinary methods hold, grown the
// age over which a hyperopic target is not a child's.
const (
	adult unit.Year = 18
	grown unit.Year = 12

	mostHyperopic unit.Dioptre = 0.50
)

// operated reports surgery of the cornea, known in kind or not.
func operated(e *eye.Eye) bool { return e.CornealSurgery != "" && e.CornealSurgery != eye.NoSurgery }

// The other reasons for which the ordinary methods do not hold.
func withoutLens(e *eye.Eye) bool { return e.LensStatus != "" && e.LensStatus != eye.Phakic }
func filled(e *eye.Eye) bool      { return e.Vitreous == eye.Oil || e.Vitreous == eye.Gas }
func child(e *eye.Eye) bool       { a := years(e); return a.Known && a.Value < adult }

// isUnusual reports whether the ordinary methods do not hold for another reason
// than corneal surgery. An age that is not recorded is not a child's.
func isUnusual(e *eye.Eye) bool { return withoutLens(e) || filled(e) || child(e) }

// unusual names why the ordinary methods do not hold, with a stop where no
// other answers and what is lacking for one, and what is known about such eyes.
// The stop of an operated cornea that nothing answers for is the answer's: it
// depends on the readings and on the constants.
func (q *question) unusual() (list []finding.Finding) {
	e := q.eye
	if !isUnusual(e) {
		return nil
	}
	add := func(is bool, field, got string) {
		if is && !q.adapted.answers() {
			list = append(list, unusualEye.On(field, value("got", got)))
		}
	}
	add(operated(e), "corneal_surgery", string(e.CornealSurgery))
	add(withoutLens(e), "lens_status", string(e.LensStatus))
	add(filled(e), "vitreous", string(e.Vitreous))
	add(child(e), ageField(e), ageText(e))
	switch {
	case operated(e):
		list = append(list, unusualTogether.On("corneal_surgery", value("got", string(e.CornealSurgery))))
	case q.adapted.answers():
		list = append(list, unusualAdapted.On(q.adapted.reason(e)))
	default:
		for _, key := range q.adapted.lacks() {
			list = append(list, unusualNeeds.On(key))
		}
	}
	if q.adapted != nil {
		list = append(list, q.adapted.findings...)
	}
	if e.Vitreous == eye.Gas {
		list = append(list, unusualGas.On("vitreous"))
	}
	return append(list, childFindings(e)...)
}

// reason is the field that makes the eye unusual, the first of them.
func (a *adaptation) reason(e *eye.Eye) string {
	switch {
	case withoutLens(e):
		return "lens_status"
	case filled(e):
		return "vitreous"
	}
	return ageField(e)
}

// years is the age, from the months where only they are known.
func years(e *eye.Eye) unit.Reading[unit.Year] {
	if !e.Age.Known && e.Unusual.AgeMonths.Known {
		return unit.Known(unit.Year(e.Unusual.AgeMonths.Value / 12))
	}
	return e.Age
}

func ageField(e *eye.Eye) string {
	if e.Age.Known {
		return "age_years"
	}
	return "age_months"
}

func ageText(e *eye.Eye) string {
	if e.Age.Known {
		return e.Age.Value.String()
	}
	return unit.Fixed(float64(e.Unusual.AgeMonths.Value), 0) + unit.Thin + "months"
}

// childFindings are what holds for a child and every published target that
// speaks of its age, side by side: none is the correct one.
func childFindings(e *eye.Eye) []finding.Finding {
	if !child(e) {
		return nil
	}
	c := lenspower.Child{AgeMonths: unit.Constant(12 * e.Age.Value), AxialLength: e.AxialLength}
	if e.Unusual.AgeMonths.Known {
		c.AgeMonths = e.Unusual.AgeMonths.Value
	}
	list := lenspower.ChildFindings(c)
	targets, err := lenspower.ChildTargets(c)
	if err != nil { // an age outside the tables: they say nothing
		return list
	}
	for _, t := range targets {
		list = append(list, childTarget(t))
	}
	if e.Target.Known && c.AgeMonths < growthMonths {
		list = append(list, growth(c.AgeMonths, e.Target.Value)...)
	}
	return list
}

// growthMonths is the age up to which the infant trial saw eyes grow.
const growthMonths unit.Constant = 60

// growth is where the target is expected to have gone at five years.
func growth(months unit.Constant, target unit.Dioptre) []finding.Finding {
	mean, one, err := lenspower.GrowthLens.Expected(lenspower.Span{From: unit.Year(months / 12), To: unit.Year(growthMonths / 12)})
	if err != nil {
		return nil
	}
	return []finding.Finding{childGrowth.On("target_d", value("got", target.String()), value("expected", (target+mean).String()),
		value("low", (target+one.Low).String()), value("high", (target+one.High).String()))}
}

// childTarget is one table's line.
func childTarget(t lenspower.ChildTarget) finding.Finding {
	rule, text := childAim, func(v float64) string { return unit.Dioptre(v).String() }
	switch t.Kind {
	case lenspower.ReducePercent:
		rule, text = childPercent, func(v float64) string { return unit.Percent(v).String() }
	case lenspower.ReducePower:
		rule, text = childLess, func(v float64) string { return unit.Dioptre(v).Unsigned() }
	case lenspower.FixedPower:
		rule = childPower
	}
	got := text(t.Low)
	if t.High != t.Low {
		got += " … " + text(t.High)
	}
	f := rule.On("target_d", value("got", got))
	f.Method, f.Source = t.Table, t.Ref.Key
	return f
}

// suspicions are what the readings say about surgery nobody reported, and what
// the method of measuring does to the length.
func suspicions(e *eye.Eye) []finding.Finding {
	list := biometry.LengthOffsets(e)
	if operated(e) {
		return list
	}
	s := biometry.Suspicion{AxialLength: e.AxialLength, Refraction: e.RefractionAfter, Posterior: lenspower.MeanPosterior(e)}
	if !s.Refraction.Known {
		s.Refraction = e.RefractionBefore
	}
	if k, err := biometry.MeanK(e); err == nil {
		s.K = unit.Known(k)
	}
	return append(list, biometry.SuspectSurgery(s)...)
}

// suspicions of a plan belong to the newer rules.
func (q *question) suspicions() []finding.Finding {
	if q.rules < 1 {
		return nil
	}
	return suspicions(q.eye)
}
