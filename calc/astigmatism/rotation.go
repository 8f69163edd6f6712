package astigmatism

import (
	"math"

	"linn/calc/refraction"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

var (
	rotationHelps = finding.Declare(finding.Rule{Code: "rotation-helps", Severity: finding.Note, Ref: own,
		Limit: "turning the lens is expected to take 0.25 D or more"})
	rotationVain = finding.Declare(finding.Rule{Code: "rotation-does-not-help", Severity: finding.Caution, Ref: own,
		Limit: "turning the lens is expected to take less than 0.25 D: the cylinder is wrong, not the axis"})
	rotationFine = finding.Declare(finding.Rule{Code: "rotation-not-needed", Severity: finding.Note, Ref: own,
		Limit: "0.50 D or less is left and turning would take less than 0.25 D"})
	corneaOdd = finding.Declare(finding.Rule{Code: "rotation-cornea-unlikely", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "the mean corneal power behind refraction and lens more than 1.5 D from the measured one, or outside 38 to 50 D where none is", Grade: source.Own},
		Limit: "refraction, lens, length and position do not belong together: the sphere after turning is not to be relied on"})
)

// Lying is an implanted toric lens with the refraction it leaves.
type Lying struct {
	Lens       ToricLens // Mark: where it lies now
	Refraction refraction.AtSpectacle
	Length     unit.Millimetre
	Position   unit.Millimetre
	K          unit.Reading[unit.Dioptre] // mean of the measured corneal powers
}

// Rotation is where the lens should lie and what to expect of it.
type Rotation struct {
	Eye      Pseudophakic           // with the cornea behind the refraction
	Best     unit.Axis              // of the mark
	By       unit.Degree            // the shorter way, counter-clockwise positive
	Now      refraction.AtSpectacle // in minus form
	After    refraction.AtSpectacle
	Approx   unit.Axis // of the mark by vectors at the corneal plane, as a second opinion
	Gain     unit.Dioptre
	Findings []finding.Finding
}

// Best finds the mark that leaves the least cylinder: the cornea is solved back
// from the refraction and the lens as it lies, then the mark is searched over
// half a circle and narrowed by golden section. The cylinder has one minimum
// in half a circle.
func (l Lying) Best() (Rotation, error) {
	e, err := Pseudophakic{Mean: 43, Length: l.Length, Position: l.Position, Vertex: l.Refraction.Vertex}.WithCornea(l.Lens, l.Refraction)
	if err != nil {
		return Rotation{}, err
	}
	out := Rotation{Eye: e}
	if out.Now, err = e.Refraction(l.Lens); err != nil {
		return out, err
	}
	mark, err := e.search(l.Lens)
	if err != nil {
		return out, err
	}
	best := l.Lens
	best.Mark = unit.NewAxis(unit.Degree(mark))
	if out.After, err = e.Refraction(best); err != nil {
		return out, err
	}
	out.Best, out.By = best.Mark, unit.Degree(math.Remainder(float64(best.Mark-l.Lens.Mark), 180))
	out.Gain = out.After.Cylinder - out.Now.Cylinder // both are minus
	out.Approx = e.approx(l)
	out.judge(l.K)
	return out, nil
}

// approx is the same by vectors at the corneal plane.
func (e Pseudophakic) approx(l Lying) unit.Axis {
	at, err := l.Refraction.ToCornea()
	if err != nil {
		return 180
	}
	e.Mean = l.K.Or(e.Mean)
	atCornea := l.Lens.Cylinder / unit.Dioptre(e.Ratio())
	return OfRefraction(at).Add(Cylinder{atCornea, l.Lens.Mark}.Vector()).Cylinder().Steep
}

// search is the mark of least cylinder, in degrees.
func (e Pseudophakic) search(l ToricLens) (float64, error) {
	var failed error
	left := func(mark float64) float64 {
		l.Mark = unit.NewAxis(unit.Degree(mark))
		r, err := e.Refraction(l)
		if err != nil {
			failed = err
		}
		return -float64(r.Cylinder)
	}
	best, least := 0.0, math.Inf(1)
	for mark := 0.0; mark < 180; mark += 3 {
		if c := left(mark); c < least {
			best, least = mark, c
		}
	}
	const golden = 0.6180339887498949
	low, high := best-3, best+3
	for high-low > 1e-7 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		if left(a) < left(b) {
			high = b
		} else {
			low = a
		}
	}
	return (low + high) / 2, failed
}

// judge says whether turning is worth it.
func (r *Rotation) judge(measured unit.Reading[unit.Dioptre]) {
	now, after, gain := -r.Now.Cylinder, -r.After.Cylinder, r.Gain
	values := []finding.Value{value("axis", r.Best.String()), value("now", now.Unsigned()), value("after", after.Unsigned()), value("gain", gain.Unsigned())}
	switch {
	case gain >= worthIt:
		r.Findings = append(r.Findings, rotationHelps.On("lens_axis_deg", values...))
	case now <= halfDioptre:
		r.Findings = append(r.Findings, rotationFine.On("lens_axis_deg", values...))
	default:
		r.Findings = append(r.Findings, rotationVain.On("lens_cylinder_d", values...))
	}
	k := r.Eye.Mean
	if off := k - measured.Value; measured.Known && (off < -1.5 || off > 1.5) || !measured.Known && (k < 38 || k > 50) {
		r.Findings = append(r.Findings, corneaOdd.On("axial_length_mm", value("got", k.Unsigned())))
	}
}
