package pathway

import (
	"errors"

	"linn/calc/optics"
	"linn/calc/refraction"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/unit"
)

// Instrument is one eye with its lens as optics: drawn, seen through, and how
// sure its result is.
type Instrument = plan.Instrument

// The parts of an instrument, for those who draw or print it.
type (
	LensStep    = plan.LensStep
	StepOutcome = plan.StepOutcome
	Buy         = plan.Buy
)

// ConstantKey names the lens constant among what can be bought.
const ConstantKey = plan.ConstantKey

// InstrumentFile answers the file of the command `linn eye`: the file of
// `linn plan`, as optics.
func InstrumentFile(data []byte, program string) (Instrument, finding.Refusals) {
	p, refused := PlanFile(data, program)
	if len(refused) > 0 {
		return Instrument{}, refused
	}
	return InstrumentOf(&p.Plan)
}

// InstrumentFileWith is InstrumentFile with what is tried.
func InstrumentFileWith(data []byte, w WhatIf) (Instrument, finding.Refusals) {
	p, refused := PlanFile(data, "")
	if len(refused) > 0 {
		return Instrument{}, refused
	}
	return InstrumentWith(&p.Plan, w)
}

// InstrumentOf is the eye of a plan as optics, or why there is none.
func InstrumentOf(p *plan.Plan) (Instrument, finding.Refusals) { return InstrumentWith(p, WhatIf{}) }

// WhatIf is another pupil or pose of the lens, tried and not recorded.
type WhatIf = plan.WhatIf

// InstrumentWith is InstrumentOf with what is tried.
func InstrumentWith(p *plan.Plan, w WhatIf) (Instrument, finding.Refusals) {
	in, err := p.InstrumentWith(w)
	switch r := (*unit.RangeError)(nil); {
	case errors.As(err, &r):
		return Instrument{}, finding.Refusals{{Code: "lens-not-drawn", Values: finding.Values{value("what", r.What), value("got", unit.Fixed(r.Got, 2))}}}
	case err != nil:
		return Instrument{}, finding.Refusals{{Code: "no-power-to-draw"}}
	}
	return in, nil
}

// Look is what is looked at and through which eye.
type Look struct {
	Sphere, Cylinder unit.Dioptre // residual refraction at the cornea; the cylinder is minus or nothing
	Axis             unit.Axis
	Object           unit.Dioptre // vergence of the scene, 0 far away
	Pupil            unit.Millimetre
	Pixel            float64 // arcmin on a side of a pixel of the scene
}

// lookLight is the wavelength of simulated images, in µm: the middle of what
// an eye sees by day.
const lookLight unit.Micrometre = 0.555

// LookThrough is a square scene of grey values as the eye images it: one
// wavelength, the residual sphere and cylinder alone, at the pupil. A scene
// whose side is not a power of two, or a value no eye has, is a
// *unit.RangeError.
func LookThrough(scene []float64, l Look) ([]float64, error) {
	grid := 1
	for grid*grid < len(scene) {
		grid *= 2
	}
	if err := l.check(); err != nil {
		return nil, err
	}
	left := refraction.AtCornea{Sphere: l.Sphere - l.Object, Cylinder: l.Cylinder, Axis: l.Axis}
	e := optics.Eye{Pupil: l.Pupil, Residual: optics.Parts{Mean: left.Equivalent(), Cylinder: -l.Cylinder, Highest: unit.Degree(l.Axis)}}
	join, pixel := 1, l.Pixel
	for limit := float64(lookLight) / 1000 / (float64(l.Pupil) * arcminute); pixel > limit; pixel /= 2 {
		join *= 2 // the spread is finer than the scene's pixels: joined below
	}
	p, err := e.Wavefront().PointSpread(optics.Imaging{Pixel: pixel, Grid: grid, Light: lookLight})
	if err != nil {
		return nil, err
	}
	if join > 1 {
		p = p.Binned(join)
	}
	return p.Blur(scene, grid)
}

const arcminute = 3.14159265358979323846 / 180 / 60

func (l *Look) check() error {
	for _, c := range [...]struct {
		what           string
		got, low, high float64
	}{
		{"sphere_d", float64(l.Sphere), -10, 10}, {"cylinder_d", float64(l.Cylinder), -6, 0}, {"axis_deg", float64(l.Axis), 0, 180},
		{"vergence_d", float64(l.Object), -10, 0}, {"pupil_mm", float64(l.Pupil), 1.5, 7}, {"pixel_arcmin", l.Pixel, 0.05, 5},
	} {
		if !(c.got >= c.low && c.got <= c.high) {
			return &unit.RangeError{What: c.what, Got: c.got, Low: c.low, High: c.high}
		}
	}
	return nil
}
