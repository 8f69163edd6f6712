package plan

import (
	"math"
	"slices"

	"linn/calc/astigmatism"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// ToricChoice is the cylinder and axis that the surgeon chose, and what they
// are expected to leave at the spectacle plane, minus form.
type ToricChoice struct {
	Cylinder Number `json:"lens_cylinder_d"` // 0: none
	Mark     Number `json:"lens_axis_deg"`   // null without a cylinder
	Sphere   Number `json:"sphere_d"`
	Residual Number `json:"cylinder_d"`
	Axis     Number `json:"axis_deg"`
	Differs  bool   `json:"differs"` // from the advised cylinder, or from its axis by more than 1°
	Reason   string `json:"reason,omitempty"`
}

var (
	toricNotMade = finding.Declare(finding.Rule{Code: "toric-cylinder-not-made", Severity: finding.Stop, Ref: ours,
		Limit: "the chosen cylinder is none that the lens model is made in"})
	toricHalf = finding.Declare(finding.Rule{Code: "toric-choice-incomplete", Severity: finding.Stop, Ref: ours,
		Limit: "of cylinder and axis of a toric lens one was chosen without the other"})
	toricUnchecked = finding.Declare(finding.Rule{Code: "toric-choice-unchecked", Severity: finding.Caution, Ref: ours,
		Limit: "a toric cylinder was chosen, and no toric lens with a steep meridian, a power and a method that counts stands beside it"})
)

// axisAlike is how far a chosen axis may lie from the advised one and still be
// the same: advice is printed to whole degrees.
const axisAlike unit.Degree = 1

// chooseToric answers for the surgeon's own cylinder and axis.
func (p *CorneaPlan) chooseToric(e *eye.Eye, about astigmatism.Pseudophakic, made []unit.Dioptre) {
	c := e.ToricCylinder
	switch {
	case !c.Known && !e.ToricAxis.Known:
		return
	case !c.Known:
		p.Findings = append(p.Findings, toricHalf.On("toric_cylinder_d"))
		return
	case c.Value > 0 && !e.ToricAxis.Known:
		p.Findings = append(p.Findings, toricHalf.On("toric_axis_deg"))
		return
	case c.Value > 0 && !slices.ContainsFunc(made, func(m unit.Dioptre) bool { return same(float64(m), float64(c.Value)) }):
		p.Findings = append(p.Findings, toricNotMade.On("toric_cylinder_d", value("got", c.Value.Unsigned()), value("model", p.Toric.Model)))
		return
	}
	l := astigmatism.ToricLens{Equivalent: unit.Dioptre(p.Toric.Equivalent.Value), Cylinder: c.Value, Mark: e.ToricAxis.Value}
	r, err := about.Refraction(l)
	if err != nil {
		p.unchecked(e)
		return
	}
	x := &ToricChoice{Cylinder: number(c.Value), Sphere: number(r.Sphere), Residual: number(r.Cylinder), Axis: number(r.Axis), Reason: e.ToricReason}
	x.Differs = !same(p.Toric.Best.Value, x.Cylinder.Value)
	if c.Value > 0 {
		x.Mark = number(l.Mark)
		turned := math.Remainder(float64(l.Mark)-math.Round(p.Toric.Axis.Value), 180)
		x.Differs = x.Differs || math.Abs(turned) > float64(axisAlike)+1e-9
	}
	p.Toric.Chosen = x
}

// unchecked says that a choice stands without anything it could be held
// against.
func (p *CorneaPlan) unchecked(e *eye.Eye) {
	if c := e.ToricCylinder; c.Known && c.Value > 0 || e.ToricAxis.Known {
		p.Findings = append(p.Findings, toricUnchecked.On("toric_cylinder_d"))
	}
}

// unreasoned reports whether a toric lens other than the advised one was
// chosen without a reason.
func (p *Plan) unreasoned() bool {
	return p.Cornea != nil && p.Cornea.Toric != nil && p.Cornea.Toric.Chosen != nil && p.Cornea.Toric.Chosen.Differs && p.Cornea.Toric.Chosen.Reason == ""
}
