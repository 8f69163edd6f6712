package lenspower

import (
	"linn/calc/optics"
	"linn/eye"
	"linn/source"
	"linn/unit"
)

// OperatedStepNames lists the step names that only workings after corneal
// surgery carry; the rest are those of [StepNames].
var OperatedStepNames = []string{
	"after.k-now", "after.k-flat", "after.k-true-measured", "after.radius-now", "after.radius-before", "after.radius-corrected", "after.factor",
	"after.refraction-before", "after.refraction-after", "after.refraction-before-cornea", "after.refraction-after-cornea",
	"after.change-cornea", "after.change-spectacle", "after.k-before-assumed", "after.posterior", "after.k-true", "after.added",
	"after.shammas-constant", "after.power", "after.refraction",
}

// notes collects the steps of a correction; a nil notes collects nothing.
type notes struct {
	steps []source.Step
	ref   source.Ref
}

func (n *notes) add(name, symbol string, value float64, unitName string) {
	if n != nil {
		n.steps = append(n.steps, source.Step{Name: name, Symbol: symbol, Value: value, Unit: unitName, Ref: n.ref})
	}
}

// reading adds a step that was entered and not computed.
func (n *notes) reading(name, symbol string, value float64, unitName string) {
	if n != nil {
		n.steps = append(n.steps, source.Step{Name: name, Symbol: symbol, Value: value, Unit: unitName, Ref: readingRef})
	}
}

// Working returns the steps from the readings to the lens power for a target.
// A working that does not end in "after.power" is not an answer.
func (m *OperatedMethod) Working(in OperatedInput, target unit.Dioptre) []source.Step {
	n := &notes{ref: m.Ref}
	s, through, base, err := m.solve(&in, n)
	if err != nil {
		return n.steps
	}
	if base != nil {
		n.steps = append(n.steps, base.Working(through, target)...)
	} else {
		n.thin(s, in)
		n.reading("input.target", "Ref", float64(target), "D")
		if rc, err := optics.ToCornea(target, in.Vertex); err == nil {
			n.add("thin-eye.corneal-refraction", "R", float64(rc), "D")
		}
	}
	if p, err := s.Power(target); err == nil {
		n.add("after.power", "P", float64(p), "D")
	}
	return n.steps
}

// WorkingRefraction returns the steps from the readings to the refraction a
// chosen lens leaves, ending in "after.refraction" when there is an answer.
func (m *OperatedMethod) WorkingRefraction(in OperatedInput, power unit.Dioptre) []source.Step {
	n := &notes{ref: m.Ref}
	s, through, base, err := m.solve(&in, n)
	if err != nil {
		return n.steps
	}
	if base != nil {
		n.steps = append(n.steps, base.WorkingRefraction(through, power-s.Added)...)
	} else {
		n.thin(s, in)
		n.reading("input.power", "P", float64(power), "D")
	}
	if r, err := s.Refraction(power); err == nil {
		n.add("after.refraction", "Ref", float64(r), "D")
	}
	return n.steps
}

// thin adds the eye of a method that has no ordinary method behind it.
func (n *notes) thin(s OperatedSolution, in OperatedInput) {
	n.reading("input.axial-length", "AL", float64(in.AxialLength), "mm")
	n.add("thin-eye.lens-position", "d", float64(s.Position), "mm")
	n.add("thin-eye.optical-length", "L", float64(s.eye.Length), "mm")
	n.add("thin-eye.corneal-power", "Kc/1.0125", float64(s.eye.Cornea), "D")
}

// change is what the surgery did to the refraction: before − after, negative
// after myopic treatment.
type change struct{ cornea, spectacle unit.Dioptre }

// laserChange carries both refractions to the cornea at the vertex distance of
// the input and refuses a history that contradicts the kind of surgery.
func (in *OperatedInput) laserChange(n *notes) (change, error) {
	before, err := optics.ToCornea(in.RefractionBefore.Value, in.Vertex)
	if err != nil {
		return change{}, err
	}
	after, err := optics.ToCornea(in.RefractionAfter.Value, in.Vertex)
	if err != nil {
		return change{}, err
	}
	c := change{cornea: before - after, spectacle: in.RefractionBefore.Value - in.RefractionAfter.Value}
	low, high := historyBounds.Low, historyBounds.High
	switch in.Surgery {
	case eye.MyopicLaser:
		high = 0
	case eye.HyperopicLaser:
		low = 0
	}
	if !within(float64(c.cornea), unit.Bounds{Low: low, High: high}) {
		return change{}, outside("refraction-change", float64(c.cornea), unit.Bounds{Low: low, High: high}, "D")
	}
	n.reading("after.refraction-before", "SEpre", float64(in.RefractionBefore.Value), "D")
	n.reading("after.refraction-after", "SEpost", float64(in.RefractionAfter.Value), "D")
	n.add("after.refraction-before-cornea", "SEpre,c", float64(before), "D")
	n.add("after.refraction-after-cornea", "SEpost,c", float64(after), "D")
	n.add("after.change-cornea", "dSE,c", float64(c.cornea), "D")
	return c, nil
}
