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

// The reasons for which there is no method here yet.
func withoutLens(e *eye.Eye) bool { return e.LensStatus != "" && e.LensStatus != eye.Phakic }
func filled(e *eye.Eye) bool      { return e.Vitreous == eye.Oil || e.Vitreous == eye.Gas }
func child(e *eye.Eye) bool       { return e.Age.Known && e.Age.Value < adult }

// isUnusual reports whether no method holds. Corneal surgery alone is not such
// a reason: methods of its own answer. An age that is not recorded is not a
// child's.
func isUnusual(e *eye.Eye) bool { return withoutLens(e) || filled(e) || child(e) }

// unusual names every reason why no method holds, and what is known about such
// eyes. The stop of an operated cornea that nothing answers for is the
// answer's: it depends on the readings and on the constants.
func unusual(e *eye.Eye) (list []finding.Finding) {
	if !isUnusual(e) {
		return nil
	}
	add := func(is bool, field, got string) {
		if is {
			list = append(list, unusualEye.On(field, finding.Value{Name: "got", Text: got}))
		}
	}
	add(operated(e), "corneal_surgery", string(e.CornealSurgery))
	add(withoutLens(e), "lens_status", string(e.LensStatus))
	add(filled(e), "vitreous", string(e.Vitreous))
	add(child(e), "age_years", e.Age.Value.String())
	if withoutLens(e) {
		list = append(list, unusualNoLens.On("lens_status"))
	}
	list = append(list, filledFindings(e)...)
	return append(list, childFindings(e)...)
}

// filledFindings say what oil or gas does to the length and what has to be
// settled before a method could be given.
func filledFindings(e *eye.Eye) (list []finding.Finding) {
	switch e.Vitreous {
	case eye.Gas:
		return append(list, unusualGas.On("vitreous"))
	case eye.Oil:
		list = append(list, unusualOil.On("vitreous"))
	default:
		return nil
	}
	if a, err := biometry.CorrectLength(biometry.LengthInput{Measured: e.AxialLength.Value, Method: e.AxialLengthMethod, Velocity: e.Velocity,
		LensStatus: e.LensStatus, Vitreous: e.Vitreous, ACD: e.ACD, LensThickness: e.LensThickness}); err == nil {
		list = append(list, a.Findings...)
	}
	return list
}

// childFindings are what holds for a child and every published target that
// speaks of its age, side by side: none is the correct one.
func childFindings(e *eye.Eye) []finding.Finding {
	if !child(e) {
		return nil
	}
	c := lenspower.Child{AgeMonths: unit.Constant(12 * e.Age.Value), AxialLength: e.AxialLength}
	list := lenspower.ChildFindings(c)
	targets, err := lenspower.ChildTargets(c)
	if err != nil { // an age outside the tables: they say nothing
		return list
	}
	for _, t := range targets {
		list = append(list, childTarget(t))
	}
	return list
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
