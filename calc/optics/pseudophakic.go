package optics

import (
	"math"
	"slices"

	"linn/unit"
)

// Pseudophakic is an eye with a lens of known form.
type Pseudophakic struct {
	Cornea [2]Face // its front at z = 0
	Lens   Lens
	At     Placed
	Length unit.Millimetre // corneal vertex to retina
}

// ToricCornea describes a cornea by what is measured of it.
type ToricCornea struct {
	Flat, Steep  unit.Millimetre // radii of the front
	SteepAt      unit.Degree     // steep meridian of the front
	BackFlat     unit.Millimetre
	BackSteep    unit.Millimetre
	BackSteepAt  unit.Degree
	Thickness    unit.Millimetre
	Q, BackQ     unit.Constant
	Stroma, Back unit.Index // indices of the stroma and of what lies behind; 0 takes 1.376 and 1.336
}

// Faces are the two faces of the cornea, front at z = 0.
func (c ToricCornea) Faces() [2]Face {
	stroma, back := c.Stroma, c.Back
	if stroma == 0 {
		stroma = CornealStroma
	}
	if back == 0 {
		back = Aqueous
	}
	return [2]Face{
		{X: Profile{c.Steep, c.Q}, Y: Profile{c.Flat, c.Q}, Turn: c.SteepAt, After: Medium{Index: stroma}},
		{Vertex: c.Thickness, X: Profile{c.BackSteep, c.BackQ}, Y: Profile{c.BackFlat, c.BackQ}, Turn: c.BackSteepAt, After: Medium{Index: back}},
	}
}

// Train makes the eye ready for rays. A lens that touches the cornea or the
// retina is a *unit.RangeError.
func (e Pseudophakic) Train() (*Train, error) {
	f := e.Lens.Faces(e.At)
	low, high := e.Cornea[1].Vertex, e.Length
	if !(f[0].Vertex > low && f[1].Vertex < high) {
		return nil, &unit.RangeError{What: "lens_position_mm", Got: float64(e.At.EdgePlane), Low: float64(low), High: float64(high), Unit: "mm"}
	}
	return NewTrain(1, []Face{e.Cornea[0], e.Cornea[1], f[0], f[1]})
}

// Refraction is the astigmatic refraction at the spectacle plane, close to the
// axis, of the lens as it would be without tilt and shift.
func (e Pseudophakic) Refraction(vertex unit.Millimetre) (Parts, error) {
	if err := checkVertex(vertex); err != nil {
		return Parts{}, err
	}
	e.At.Pose = Pose{}
	f := e.Lens.Faces(e.At)
	t, err := NewTrain(1, []Face{e.Cornea[0], e.Cornea[1], f[0], f[1]})
	if err != nil {
		return Parts{}, err
	}
	need, err := t.Needs(Retina{e.Length})
	if err != nil {
		return Parts{}, err
	}
	out, err := need.Back(Gap{vertex, 1})
	return out.Parts(), err
}

// Residual is the refraction, at the cornea, of the eye as it lies, with tilt
// and shift, over a pupil: read off the wave against a sphere centred on the
// retina where the chief ray meets it.
func (e Pseudophakic) Residual(b Bundle) (Parts, error) {
	t, err := e.Train()
	if err != nil {
		return Parts{}, err
	}
	traced, err := t.TraceBundle(b)
	if err != nil {
		return Parts{}, err
	}
	w, err := traced.WavefrontAt(e.Length)
	return w.Refraction(Paraxial), err
}

// FocusDepth is the span of vergences of objects, in dioptres, over which the
// image on the retina keeps some quality.
type FocusDepth struct {
	Vergence []unit.Dioptre
	Strehl   []float64
}

// ThroughFocus is the Strehl ratio of the image on the retina of objects from
// far away to near, for light of one wavelength.
func (e Pseudophakic) ThroughFocus(b Bundle, im Imaging, vergences []unit.Dioptre) (FocusDepth, error) {
	t, err := e.Train()
	if err != nil {
		return FocusDepth{}, err
	}
	field := newSquare(im.Grid)
	var modes *fitting
	var at [][2]float64
	out := FocusDepth{Vergence: vergences, Strehl: make([]float64, len(vergences))}
	for i, v := range vergences {
		b.Vergence = v
		traced, err := t.TraceBundle(b)
		if err != nil {
			return FocusDepth{}, err
		}
		if modes == nil || !slices.Equal(at, traced.At) { // the same places in the pupil have the same modes
			if modes, err = traced.fit(); err != nil {
				return FocusDepth{}, err
			}
			at = traced.At
		}
		w := traced.wavefront(modes, float64(e.Length))
		strehl, err := w.strehl(im, field)
		if err != nil {
			return FocusDepth{}, err
		}
		out.Strehl[i] = math.Min(strehl, 1)
	}
	return out, nil
}
