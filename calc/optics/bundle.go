package optics

import (
	"math"

	"linn/unit"
)

// Bundle is the light of one object point through the pupil. The pupil is
// measured in the plane of the corneal vertex, z = 0, where a parallel bundle
// has the width it has in front of the eye.
type Bundle struct {
	Pupil    unit.Millimetre // diameter
	Rays     int             // spread evenly over the area
	Vergence unit.Dioptre    // at z = 0: 0 from far away, −3 from a third of a metre
	Field    [2]unit.Degree  // how far the object lies off the axis, along x and y
}

// the golden angle spreads points evenly over a disc.
var goldenAngle = math.Pi * (3 - math.Sqrt(5))

// point is where ray i crosses the pupil, as a fraction of its radius.
func (b Bundle) point(i int) (x, y float64) {
	r := math.Sqrt((float64(i) + 0.5) / float64(b.Rays))
	s, c := math.Sincos(float64(i) * goldenAngle)
	return r * c, r * s
}

// ray is the ray through a point of the pupil plane. Its path is counted from
// the wavefront that passes the corneal vertex.
func (b Bundle) ray(x, y float64) Ray {
	tx, ty := math.Tan(float64(b.Field[0])*radianPerDegree), math.Tan(float64(b.Field[1])*radianPerDegree)
	axis := Vec{-tx, -ty, 1}
	axis = axis.unit()
	at := Vec{X: x, Y: y}
	if b.Vergence == 0 {
		return Ray{At: at, Along: axis, Path: at.dot(axis)}
	}
	far := 1000 / float64(b.Vergence) // mm; the object is at −far along the axis of the bundle
	object := axis.times(far)
	way := at.minus(object)
	length := way.length()
	path := length - math.Abs(far)
	if far > 0 { // the light aims at a point behind the cornea
		way, path = way.times(-1), -path
	}
	return Ray{At: at, Along: way.times(1 / length), Path: path}
}

// check refuses an empty bundle.
func (b Bundle) check() error {
	if !(b.Pupil > 0 && b.Pupil <= 12) {
		return &unit.RangeError{What: "pupil_mm", Got: float64(b.Pupil), Low: 0, High: 12, Unit: "mm"}
	}
	if b.Rays < 1 {
		return &unit.RangeError{What: "rays", Got: float64(b.Rays), Low: 1, High: math.Inf(1)}
	}
	return nil
}

// Traced is a bundle behind the last face.
type Traced struct {
	Rays  []Ray        // that came through
	At    [][2]float64 // where each crossed the pupil, as a fraction of its radius
	Lost  int          // rays that missed or were reflected
	Chief Ray          // through the middle of the pupil
	Pupil unit.Millimetre
	index float64
}

// Trace sends a bundle through the train. A chief ray that does not come
// through is a *unit.RangeError: there is no image to speak of.
func (t *Train) TraceBundle(b Bundle) (*Traced, error) {
	if err := b.check(); err != nil {
		return nil, err
	}
	out := &Traced{Pupil: b.Pupil, index: t.indexAfter(), Rays: make([]Ray, 0, b.Rays), At: make([][2]float64, 0, b.Rays)}
	chief, fate := t.Trace(b.ray(0, 0))
	if fate != Through {
		return nil, &unit.RangeError{What: "chief_ray", Got: float64(fate), Low: 0, High: 0}
	}
	out.Chief = chief
	half := float64(b.Pupil) / 2
	for i := range b.Rays {
		x, y := b.point(i)
		r, fate := t.Trace(b.ray(x*half, y*half))
		if fate != Through {
			out.Lost++
			continue
		}
		out.Rays = append(out.Rays, r)
		out.At = append(out.At, [2]float64{x, y})
	}
	if len(out.Rays) == 0 {
		return nil, &unit.RangeError{What: "rays", Got: 0, Low: 1, High: float64(b.Rays)}
	}
	return out, nil
}
