package lenspower

import (
	"linn/calc/optics"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// The thick-lens method is ours: a paraxial eye of four surfaces, with the lens
// centre where the published C constant puts it. It is not its author's
// program. Its level needs an offset fitted to outcomes: until then it is shown
// apart and never counted.
const (
	ThickLensID      = "thick-lens"
	ThickLensVersion = "1"

	thickRatio    = 0.83 // posterior over anterior radius
	thickThinness = 0.5  // mm of cornea
)

// ThickLensRef is the publication behind the position.
var ThickLensRef = source.Ref{Key: source.Olsen2007, Where: "C constant; paraxial four-surface eye of our own", Grade: source.Secondary}

var _ = source.Declare(source.Constant{Name: "thick-lens.ratio", Value: thickRatio, Ref: source.Ref{Key: source.Olsen2024, Where: "posterior over anterior radius", Grade: source.Read}})
var _ = source.Declare(source.Constant{Name: "thick-lens.corneal-thickness", Value: thickThinness, Unit: "mm", Ref: source.Ref{Key: source.Gullstrand1909, Where: "exact eye No. 1", Grade: source.Memory}})

var (
	thickNotFitted = finding.Declare(finding.Rule{Code: "thick-lens-not-fitted", Severity: finding.Note,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "no offset fitted to outcomes", Grade: source.Own},
		Limit: "every answer of thick-lens: shown apart, never counted"})
	thickPosterior = finding.Declare(finding.Rule{Code: "posterior-cornea-assumed", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Olsen2024, Where: "ratio 0.83", Grade: source.Read},
		Limit: "back radii not measured: 0.83 of the front; refused after corneal surgery"})
	thickThickness = finding.Declare(finding.Rule{Code: "corneal-thickness-assumed", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Gullstrand1909, Where: "0.5 mm", Grade: source.Memory},
		Limit: "corneal thickness not measured: 0.50 mm"})
)

// ThickInput is an eye and a lens of known form.
type ThickInput struct {
	AxialLength      unit.Millimetre
	K                unit.Dioptre                  // mean now, at 1.3375: gives the front radius
	Posterior        unit.Reading[unit.Millimetre] // mean back radius
	CornealThickness unit.Reading[unit.Micrometre]
	ACD              unit.Reading[unit.Millimetre]
	LensThickness    unit.Reading[unit.Millimetre]
	Vertex           unit.Millimetre
	Surgery          eye.CornealSurgery

	C           unit.Reading[unit.Constant] // never defaulted
	Index       unit.Reading[unit.Index]
	Thickness   unit.Reading[unit.Millimetre]
	ShapeFactor unit.Reading[unit.Constant]
}

// ThickSolution is a four-surface eye with its lens centre settled.
type ThickSolution struct {
	Position unit.Millimetre // corneal front to the centre of the lens
	Findings []finding.Finding
	eye      optics.Thick
}

// MeanPosterior is the mean back radius: the radius of the mean power of both
// meridians. Not known unless both are.
func MeanPosterior(e *eye.Eye) unit.Reading[unit.Millimetre] {
	f, s := e.PosteriorRFlat, e.PosteriorRSteep
	if !f.Known || !s.Known || !(f.Value+s.Value > 0) {
		return unit.Reading[unit.Millimetre]{}
	}
	return unit.Known(2 * f.Value * s.Value / (f.Value + s.Value))
}

// ThickOf collects the readings of an eye and its lens; k is its mean K.
func ThickOf(e *eye.Eye, l *Lens, k unit.Dioptre) ThickInput {
	return ThickInput{AxialLength: e.AxialLength.Value, K: k, Posterior: MeanPosterior(e), CornealThickness: e.CornealThickness, ACD: e.ACD, LensThickness: e.LensThickness,
		Vertex: e.Vertex.Or(defaultVertex), Surgery: e.CornealSurgery, C: l.Constants.C, Index: l.Index, Thickness: l.Thickness, ShapeFactor: l.ShapeFactor}
}

const defaultVertex unit.Millimetre = 12 // of the file format

// Missing returns the contract key of what the method needs and the input
// lacks, "" when it has all. After corneal surgery the back radius must be
// measured: the ratio no longer holds.
func (in ThickInput) Missing() string {
	operated := in.Surgery != "" && in.Surgery != eye.NoSurgery
	for _, r := range [...]struct {
		key  string
		lack bool
	}{
		{"c", !in.C.Known}, {"acd_mm", !in.ACD.Known}, {"lens_thickness_mm", !in.LensThickness.Known}, {"index", !in.Index.Known},
		{"thickness_mm", !in.Thickness.Known}, {"shape_factor", !in.ShapeFactor.Known}, {"posterior_r_flat_mm", operated && !in.Posterior.Known},
	} {
		if r.lack {
			return r.key
		}
	}
	return ""
}

// SolveThick settles the lens centre at ACD + C·LT. Errors: *MissingError with
// the contract key, *unit.RangeError outside the input rules or where the lens
// does not fit into the eye.
func SolveThick(in ThickInput) (ThickSolution, error) {
	if key := in.Missing(); key != "" {
		return ThickSolution{}, &MissingError{ThickLensID, key}
	}
	if err := in.check(); err != nil {
		return ThickSolution{}, err
	}
	front := unit.Millimetre(radius(float64(in.K)))
	cornea := optics.Cornea{Anterior: front, Posterior: in.Posterior.Or(thickRatio * front), Thickness: thickThinness}
	if in.CornealThickness.Known {
		cornea.Thickness = in.CornealThickness.Value.Millimetre()
	}
	s := ThickSolution{Position: in.ACD.Value + unit.Millimetre(in.C.Value)*in.LensThickness.Value, Findings: in.findings()}
	s.eye = optics.Thick{Cornea: cornea, Lens: optics.Shape{Index: in.Index.Value, Thickness: in.Thickness.Value, Factor: in.ShapeFactor.Value},
		Centre: s.Position, Length: in.AxialLength, Vertex: in.Vertex}
	if _, err := s.eye.Power(0); err != nil { // a lens that does not fit is refused here, not later
		return ThickSolution{}, err
	}
	return s, nil
}

func (in ThickInput) findings() []finding.Finding {
	say := func(r finding.Rule, field string, values ...finding.Value) finding.Finding {
		f := r.On(field, values...)
		f.Method = ThickLensID
		return f
	}
	list := []finding.Finding{say(thickNotFitted, "c")}
	if !in.Posterior.Known {
		list = append(list, say(thickPosterior, "posterior_r_flat_mm", finding.Value{Name: "assumed", Text: unit.Ratio(thickRatio).String()}))
	}
	if !in.CornealThickness.Known {
		list = append(list, say(thickThickness, "corneal_thickness_um", finding.Value{Name: "assumed", Text: unit.Micrometre(1000 * thickThinness).String()}))
	}
	return list
}

func (in ThickInput) check() error {
	for _, r := range [...]struct {
		key    string
		v      float64
		known  bool
		bounds unit.Bounds
		unit   string
	}{
		{"axial_length_mm", float64(in.AxialLength), true, lengthBounds, "mm"},
		{"k_flat_d", float64(in.K), true, kBounds, "D"},
		{"acd_mm", float64(in.ACD.Value), true, acdBounds, "mm"},
		{"lens_thickness_mm", float64(in.LensThickness.Value), true, unit.Bounds{Low: 2.5, High: 6.5}, "mm"},
		{"posterior_r_flat_mm", float64(in.Posterior.Value), in.Posterior.Known, unit.Bounds{Low: 3, High: 12}, "mm"},
		{"corneal_thickness_um", float64(in.CornealThickness.Value), in.CornealThickness.Known, unit.Bounds{Low: 300, High: 800}, "µm"},
		{"vertex_mm", float64(in.Vertex), true, vertexBounds, "mm"},
		{"c", float64(in.C.Value), true, unit.Bounds{Low: 0, High: 1}, ""},
	} {
		if r.known && !within(r.v, r.bounds) {
			return outside(r.key, r.v, r.bounds, r.unit)
		}
	}
	return nil
}

// Power returns the unrounded lens power for a target refraction at the
// spectacle plane. Errors are *unit.RangeError.
func (s ThickSolution) Power(target unit.Dioptre) (unit.Dioptre, error) { return s.eye.Power(target) }

// Refraction returns the refraction at the spectacle plane that a lens leaves.
// Errors are *unit.RangeError.
func (s ThickSolution) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	return s.eye.Refraction(power)
}

// ThickStepNames lists the names of the steps of [WorkingThick].
var ThickStepNames = []string{"thick-lens.front-radius", "thick-lens.back-radius", "thick-lens.corneal-thickness", "thick-lens.corneal-power", "thick-lens.centre", "thick-lens.power"}

// WorkingThick returns the steps from the readings to the lens power for a
// target. A working that does not end in "thick-lens.power" is not an answer.
func WorkingThick(in ThickInput, target unit.Dioptre) []source.Step {
	n := &notes{ref: ThickLensRef}
	n.reading("input.axial-length", "AL", float64(in.AxialLength), "mm")
	n.reading("input.k", "K", float64(in.K), "D")
	s, err := SolveThick(in)
	if err != nil {
		return n.steps
	}
	n.reading("input.acd", "ACD", float64(in.ACD.Value), "mm")
	n.reading("input.constant", "C", float64(in.C.Value), "")
	c := s.eye.Cornea
	n.add("thick-lens.front-radius", "R1", float64(c.Anterior), "mm")
	n.add("thick-lens.back-radius", "R2", float64(c.Posterior), "mm")
	n.add("thick-lens.corneal-thickness", "t", float64(c.Thickness), "mm")
	if p, err := c.Power(); err == nil {
		n.add("thick-lens.corneal-power", "F1 + F2 - (t/n)F1F2", float64(p), "D")
	}
	n.add("thick-lens.centre", "ACD + C LT", float64(s.Position), "mm")
	n.reading("input.target", "Ref", float64(target), "D")
	if p, err := s.Power(target); err == nil {
		n.add("thick-lens.power", "P", float64(p), "D")
	}
	return n.steps
}
