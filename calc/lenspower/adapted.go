package lenspower

import (
	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// Adapted is an eye settled by an ordinary method with a length corrected for
// its state, and with a power added for what stays in it (silicone oil); the
// zero Added adds nothing.
type Adapted struct {
	Solution
	Added unit.Dioptre
}

// Power returns the lens power for a target, the addition included. Errors are
// those of [Solution.Power].
func (a Adapted) Power(target unit.Dioptre) (unit.Dioptre, error) {
	p, err := a.Solution.Power(target)
	return p + a.Added, err
}

// Refraction returns what a lens leaves; of its power the addition is used up
// by what stays in the eye. Errors are those of [Solution.Refraction].
func (a Adapted) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	return a.Solution.Refraction(power - a.Added)
}

func (a Adapted) forward(by unit.Millimetre) BagEye {
	a.Solution = a.Solution.forward(by).(Solution)
	return a
}

// SecondSolution is an eye of known refraction that gets another lens, with the
// place of that lens settled.
type SecondSolution struct {
	in  SecondLens
	all unit.Dioptre // vergence at the lens now, and the power taken out
}

// SolveSecond settles an eye of known refraction for a lens put in; out is the
// power of a lens taken out of the same place, 0 for none. The target of the
// input is not used. Errors are those of [RefractiveVergence].
func SolveSecond(in SecondLens, out unit.Dioptre) (SecondSolution, error) {
	in.Target = in.Before
	if _, err := RefractiveVergence(in); err != nil {
		return SecondSolution{}, err
	}
	if b := (unit.Bounds{Low: -40, High: 60}); !within(float64(out), b) {
		return SecondSolution{}, outside("implant_d", float64(out), b, "D")
	}
	now, err := in.atLens("refraction_now_d", in.Before)
	return SecondSolution{in: in, all: now + out}, err
}

// Position is where the new lens will stand.
func (s SecondSolution) Position() unit.Millimetre { return s.in.Position }

// Power returns the power for a target. Errors are those of
// [RefractiveVergence].
func (s SecondSolution) Power(target unit.Dioptre) (unit.Dioptre, error) {
	at, err := s.in.atLens("target_d", target)
	return s.all - at, err
}

// Refraction returns what a lens of the power leaves: [SecondSolution.Power]
// the other way round. A power at which the eye would have no refraction in the
// domain is a *unit.RangeError.
func (s SecondSolution) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	before := float64(s.all - power) // what the cornea with its correction has to bring to the lens
	most := unit.Bounds{Low: float64(s.all) - 200, High: float64(s.all)}
	if !(before > 0) || !within(float64(power), unit.Bounds{Low: -60, High: 80}) {
		return 0, outside("power_d", float64(power), most, "D")
	}
	at, err := optics.Gap{Distance: s.in.Position, Index: optics.Aqueous}.Back(unit.Dioptre(before))
	if err != nil {
		return 0, err
	}
	return optics.ToSpectacle(at-s.in.K, s.in.Vertex)
}

func (s SecondSolution) forward(by unit.Millimetre) BagEye {
	s.in.Position -= by
	return s
}

// SecondStepNames lists the names of the steps of [SecondSolution.Working].
var SecondStepNames = []string{"second.refraction-now", "second.vergence-now", "second.taken-out", "second.vergence-target", "second.power", "second.refraction", "second.added", "second.forward"}

// Working returns the steps to the power for a target, ending in "second.power"
// when there is an answer.
func (s SecondSolution) Working(target unit.Dioptre) []source.Step {
	ref := source.Ref{Key: source.Holladay1993, Where: "refractive vergence", Grade: source.Memory}
	var list []source.Step
	add := func(name, symbol string, v float64, u string) {
		list = append(list, source.Step{Name: name, Symbol: symbol, Value: v, Unit: u, Ref: ref})
	}
	now, err := s.in.atLens("refraction_now_d", s.in.Before)
	if err != nil {
		return nil
	}
	add("input.k", "K", float64(s.in.K), "D")
	add("second.refraction-now", "Pre", float64(s.in.Before), "D")
	add("thin-eye.lens-position", "d", float64(s.in.Position), "mm")
	add("second.vergence-now", "1336/(1336/(K + Pre,c) - d)", float64(now), "D")
	if out := s.all - now; out != 0 {
		add("second.taken-out", "Pold", float64(out), "D")
	}
	add("input.target", "Post", float64(target), "D")
	if at, err := s.in.atLens("target_d", target); err == nil {
		add("second.vergence-target", "1336/(1336/(K + Post,c) - d)", float64(at), "D")
		add("second.power", "P", float64(s.all-at), "D")
	}
	return list
}

// WorkingRefraction returns the steps to the refraction a lens leaves, ending
// in "second.refraction" when there is an answer.
func (s SecondSolution) WorkingRefraction(power unit.Dioptre) []source.Step {
	list := s.Working(s.in.Before)
	if len(list) == 0 {
		return nil
	}
	ref := list[0].Ref
	list = append(list[:4:4], source.Step{Name: "input.power", Symbol: "P", Value: float64(power), Unit: "D", Ref: ref})
	if r, err := s.Refraction(power); err == nil {
		list = append(list, source.Step{Name: "second.refraction", Symbol: "Ref", Value: float64(r), Unit: "D", Ref: ref})
	}
	return list
}
