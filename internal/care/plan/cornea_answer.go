package plan

import (
	"linn/calc/astigmatism"
	"linn/calc/lenspower"
	"linn/calc/refraction"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// CorneaFormat is the name and version of the answer about a cornea.
const CorneaFormat = "linn.cornea/1"

// After is what was found after surgery; any part of it may be missing.
type After struct {
	Sphere, Cylinder        unit.Reading[unit.Dioptre] // refraction at the spectacle plane
	Axis                    unit.Reading[unit.Axis]
	LensPower, LensCylinder unit.Reading[unit.Dioptre]    // implanted, at the lens plane
	LensAxis                unit.Reading[unit.Axis]       // where its mark lies
	Position                unit.Reading[unit.Millimetre] // cornea to thin lens, where no method gives it
	KFlat, KSteep           unit.Reading[unit.Dioptre]    // at the index of the powers before
	KSteepAxis              unit.Reading[unit.Axis]
}

// CorneaAnswer is what is expected of a cornea and, afterwards, what happened.
type CorneaAnswer struct {
	Format string   `json:"format"`
	Side   eye.Side `json:"side"`
	CorneaPlan
	Induced  *InducedAnswer  `json:"induced"`  // null without K after surgery
	Rotation *RotationAnswer `json:"rotation"` // null without refraction and lens
}

// InducedAnswer is what the surgery did to the cornea, after minus before.
type InducedAnswer struct {
	Vector *Astigmatism `json:"induced"`
	X      Number       `json:"x_d"`              // of the double-angle vector: against the rule
	Y      Number       `json:"y_d"`              // steep at 45
	Along  Number       `json:"along_incision_d"` // below 0: the incision flattened
	Torque Number       `json:"torque_d"`

	// By alpins1993, with an aim of no astigmatism: above 0 is too much and
	// counter-clockwise.
	MagnitudeError Number `json:"magnitude_error_d"`
	AngleError     Number `json:"angle_error_deg"`
	Correction     Number `json:"correction_index"`

	vector astigmatism.Vector
}

// RotationAnswer is where an implanted toric lens should lie.
type RotationAnswer struct {
	Best     Number             `json:"lens_axis_deg"`
	By       Number             `json:"turn_deg"` // counter-clockwise above 0
	Approx   Number             `json:"by_vectors_deg"`
	Now      *RefractionNumbers `json:"now"`
	After    *RefractionNumbers `json:"after"`
	Position Number             `json:"lens_position_mm"`
}

// RefractionNumbers is a refraction at the spectacle plane, minus form.
type RefractionNumbers struct {
	Sphere   Number `json:"sphere_d"`
	Cylinder Number `json:"cylinder_d"`
	Axis     Number `json:"axis_deg"`
}

func refractionNumbers(r refraction.AtSpectacle) *RefractionNumbers {
	return &RefractionNumbers{number(r.Sphere), number(r.Cylinder), number(r.Axis)}
}

// CorneaInput is one eye, the lens it may get and what was found afterwards.
type CorneaInput struct {
	Eye   eye.Eye
	Lens  lenspower.Lens
	Power unit.Reading[unit.Dioptre] // of the lens; else the recommended one
	After After
}

// RefuseCornea says why a cornea cannot be answered.
func RefuseCornea(in *CorneaInput) (refused finding.Refusals) {
	e, a := &in.Eye, &in.After
	for _, x := range []struct {
		known bool
		key   string
	}{{e.Side != "", "side"}, {e.KFlat.Known, "k_flat_d"}, {e.KSteep.Known, "k_steep_d"}} {
		if !x.known {
			refused = append(refused, finding.Refusal{Code: "missing", Field: x.key})
		}
	}
	refused = append(append(refused, steepBelowFlat(e, "")...), refuseIncision(e)...)
	if a.KFlat.Known && a.KSteep.Known && a.KSteep.Value < a.KFlat.Value {
		refused = append(refused, finding.Refusal{Code: "steep-below-flat", Field: "k_steep_after_d", Values: finding.Values{value("got", a.KSteep.Value.Unsigned()), value("flat", a.KFlat.Value.Unsigned())}})
	}
	return refused
}

// Cornea answers. The input must have passed [RefuseCornea].
func Cornea(in CorneaInput) CorneaAnswer {
	e := &in.Eye
	t, power := in.thin()
	a := CorneaAnswer{Format: CorneaFormat, Side: e.Side, CorneaPlan: *corneaOf(e, t, true)}
	a.toric(e, &in.Lens, t, power)
	a.Induced = in.induced(&a)
	a.rotate(&in, t)
	a.Findings = worstFirst(a.Findings)
	return a
}

// thin is the eye of the method that carries the prediction, where lens and
// length are known.
func (in *CorneaInput) thin() (*thin, unit.Reading[unit.Dioptre]) {
	if len(Refuse(&in.Eye, &in.Lens)) > 0 {
		return nil, in.Power
	}
	made := Input{Eye: in.Eye, Shelf: []Shelved{{Lens: in.Lens}}, Rules: Rules}
	if in.Power.Known {
		made.Chosen = &Pick{Model: in.Lens.Model, Power: in.Power.Value}
	}
	p := Make(made)
	return p.Lenses[0].thinEye(made.Chosen)
}

// induced is after minus before.
func (in *CorneaInput) induced(a *CorneaAnswer) *InducedAnswer {
	x := &in.After
	if !x.KFlat.Known || !x.KSteep.Known {
		return nil
	}
	later := in.Eye
	later.KFlat, later.KSteep, later.KSteepAxis, later.KFlatAxis = x.KFlat, x.KSteep, x.KSteepAxis, unit.Reading[unit.Axis]{}
	before, ok1, err1 := keratometry(&in.Eye).Vector()
	after, ok2, err2 := keratometry(&later).Vector()
	if err1 != nil || err2 != nil || !ok1 || !ok2 {
		a.Findings = append(a.Findings, inducedLacks.On("k_steep_axis_after_deg"))
		return nil
	}
	change := astigmatism.Change{Before: before, After: after}
	v, al := change.Induced(), change.Alpins()
	out := &InducedAnswer{Vector: astigmatismOf(v), X: number(v.X), Y: number(v.Y), MagnitudeError: number(al.Magnitude), AngleError: number(al.Angle), Correction: number(al.Correction), vector: v}
	if at, ok := incisionAt(&in.Eye); ok {
		p := v.Polar(at)
		out.Along, out.Torque = number(p.Along), number(p.Torque)
	}
	return out
}

var (
	inducedLacks = finding.Declare(finding.Rule{Code: "induced-lacks", Severity: finding.Caution, Ref: ours,
		Limit: "induced astigmatism: a steep meridian before or after surgery is missing"})
	rotationLacks = finding.Declare(finding.Rule{Code: "rotation-lacks", Severity: finding.Caution, Ref: ours,
		Limit: "the best axis of an implanted toric lens: refraction, lens power, cylinder, mark, axial length and a lens position are all needed"})
)

// rotate answers where an implanted lens should lie.
func (a *CorneaAnswer) rotate(in *CorneaInput, t *thin) {
	x, e := &in.After, &in.Eye
	if !x.LensAxis.Known && !x.LensCylinder.Known {
		return
	}
	l := astigmatism.Lying{Lens: astigmatism.ToricLens{Equivalent: x.LensPower.Value, Cylinder: x.LensCylinder.Value, Mark: x.LensAxis.Value}, Length: e.AxialLength.Value, Position: x.Position.Value,
		Refraction: refraction.AtSpectacle{Sphere: x.Sphere.Value, Cylinder: x.Cylinder.Value, Axis: x.Axis.Value, Vertex: e.Vertex.Or(defaultVertex)}}
	l.K = unit.Known(keratometry(e).Mean())
	if !x.Position.Known && t != nil {
		l.Length, l.Position, l.K = t.Length, t.Position, unit.Known(t.Cornea)
	}
	for _, need := range []struct {
		known bool
		field string
	}{{x.Sphere.Known, "sphere_d"}, {x.Cylinder.Known, "cylinder_d"}, {x.Axis.Known || x.Cylinder.Value == 0, "axis_deg"}, {x.LensPower.Known, "lens_d"}, {x.LensCylinder.Known, "lens_cylinder_d"},
		{x.LensAxis.Known, "lens_axis_deg"}, {l.Length > 0, "axial_length_mm"}, {l.Position > 0, "lens_position_mm"}} {
		if !need.known {
			a.Findings = append(a.Findings, rotationLacks.On(need.field))
			return
		}
	}
	r, err := l.Best()
	if err != nil {
		a.Findings = append(a.Findings, rotationLacks.On("lens_position_mm"))
		return
	}
	a.Rotation = &RotationAnswer{Best: number(r.Best), By: number(r.By), Approx: number(r.Approx), Now: refractionNumbers(r.Now), After: refractionNumbers(r.After), Position: number(l.Position)}
	a.Findings = append(a.Findings, r.Findings...)
}

// InducedEye is what the surgery did to one eye of a series.
type InducedEye struct {
	Side  eye.Side
	Type  astigmatism.IncisionType
	Place astigmatism.Place // "" when not recorded
	ID    string

	vector astigmatism.Vector
}

// Induced is the eye of a series behind an answer; ok is false without K after
// surgery.
func (in *CorneaInput) Induced(a *CorneaAnswer, id string) (x InducedEye, ok bool) {
	if a.Induced == nil {
		return x, false
	}
	x = InducedEye{Side: in.Eye.Side, Type: astigmatism.IncisionType(in.Eye.Incision), ID: id, vector: a.Induced.vector}
	if at, known := incisionAt(&in.Eye); known {
		x.Place = astigmatism.PlaceOf(at, in.Eye.Side)
	}
	return x, true
}
