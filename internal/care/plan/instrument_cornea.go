package plan

import (
	"linn/calc/refraction"
	"linn/finding"
	"linn/unit"
)

var (
	seenAsPlanned = finding.Declare(finding.Rule{Code: "seen-with-planned-cornea", Severity: finding.Note, Ref: ours,
		Limit: "what the patient will see takes the astigmatism that incision and chosen toric lens are expected to leave"})
	seenWithoutToric = finding.Declare(finding.Rule{Code: "seen-without-toric", Severity: finding.Caution, Ref: ours,
		Limit: "a toric cylinder is advised and not chosen: what the patient will see is shown without it"})
)

// planned takes, for what the patient will see, the astigmatism that the plan
// leaves instead of the cornea's own: after the incision, or with the toric
// lens that was chosen. An advised lens that nobody chose does not count.
func (b *builder) planned() {
	c := b.p.Cornea
	if c == nil || c.After == nil {
		return
	}
	b.cylinder, b.flat = unit.Dioptre(c.After.Magnitude.Value), unit.NewAxis(unit.Degree(c.After.Steep.Value)+90)
	t := c.Toric
	switch {
	case t != nil && t.Chosen != nil:
		left := refraction.AtSpectacle{Sphere: unit.Dioptre(t.Chosen.Sphere.Value), Cylinder: unit.Dioptre(t.Chosen.Residual.Value), Axis: unit.Axis(t.Chosen.Axis.Value), Vertex: b.p.Input.Eye.Vertex.Or(defaultVertex)}
		at, err := left.ToCornea()
		if err != nil {
			return
		}
		b.cylinder, b.flat = -at.Cylinder, at.Axis
	case t != nil && t.Best.Value > 0:
		b.findings = append(b.findings, seenWithoutToric.On("toric_cylinder_d"))
	}
	b.findings = append(b.findings, seenAsPlanned.On(""))
}
