package optics

import (
	"math"

	"linn/unit"
)

// where a ray crosses a plane.
func (r Ray) where(z float64) (x, y float64) {
	t := (z - r.At.Z) / r.Along.Z
	return r.At.X + t*r.Along.X, r.At.Y + t*r.Along.Y
}

// Spot is how a bundle falls on a plane.
type Spot struct {
	X, Y unit.Millimetre // its centroid
	RMS  unit.Millimetre // root mean square distance from the centroid
	Far  unit.Millimetre // distance of the farthest ray from the centroid
}

// SpotAt is the spot on the plane at z.
func (b *Traced) SpotAt(z unit.Millimetre) Spot {
	n := float64(len(b.Rays))
	var sx, sy, sq float64
	for _, r := range b.Rays {
		x, y := r.where(float64(z))
		sx, sy = sx+x, sy+y
	}
	sx, sy = sx/n, sy/n
	far := 0.0
	for _, r := range b.Rays {
		x, y := r.where(float64(z))
		d := (x-sx)*(x-sx) + (y-sy)*(y-sy)
		sq += d
		far = max(far, d)
	}
	return Spot{unit.Millimetre(sx), unit.Millimetre(sy), unit.Millimetre(math.Sqrt(sq / n)), unit.Millimetre(math.Sqrt(far))}
}

// SmallestSpot is the plane of the least root-mean-square spot: the distance
// from the centroid is linear in z for each ray, so the sum of squares is a
// parabola.
func (b *Traced) SmallestSpot() unit.Millimetre {
	n := float64(len(b.Rays))
	const z0 = 24 // any plane near the retina: only rounding depends on it
	var mx, my, ux, uy float64
	for _, r := range b.Rays {
		x, y := r.where(z0)
		mx, my = mx+x/n, my+y/n
		ux, uy = ux+r.Along.X/r.Along.Z/n, uy+r.Along.Y/r.Along.Z/n
	}
	var cross, square float64
	for _, r := range b.Rays {
		x, y := r.where(z0)
		dx, dy := r.Along.X/r.Along.Z-ux, r.Along.Y/r.Along.Z-uy
		cross += (x-mx)*dx + (y-my)*dy
		square += dx*dx + dy*dy
	}
	return unit.Millimetre(z0 - cross/square)
}

// Fan is the meridional fan of a train in the plane of y: what the textbook
// measures of spherical aberration are taken from.
type Fan struct {
	Marginal unit.Millimetre // where the ray at the pupil's edge crosses the axis
	Least    unit.Millimetre // plane of the circle of least confusion
	Diameter unit.Millimetre // of that circle
}

// fanRays is how many rays make the fan; the circle of least confusion is the
// narrowest place of its envelope.
const fanRays = 2000

// FanOf traces the fan of an axial object far away through a pupil. A ray of it
// that does not come through is a *unit.RangeError.
func (t *Train) FanOf(pupil unit.Millimetre) (Fan, error) {
	b := Bundle{Pupil: pupil, Rays: 1}
	if err := b.check(); err != nil {
		return Fan{}, err
	}
	rays := make([]Ray, fanRays)
	for i := range rays {
		r, fate := t.Trace(b.ray(0, float64(pupil)/2*float64(i+1)/fanRays))
		if fate != Through {
			return Fan{}, &unit.RangeError{What: "ray", Got: float64(fate), Low: 0, High: 0}
		}
		rays[i] = r
	}
	edge := rays[fanRays-1]
	f := Fan{Marginal: unit.Millimetre(edge.At.Z - edge.At.Y/edge.Along.Y*edge.Along.Z)}
	inner := rays[0]
	axial := inner.At.Z - inner.At.Y/inner.Along.Y*inner.Along.Z
	width := func(z float64) (w float64) {
		for _, r := range rays {
			_, y := r.where(z)
			w = max(w, math.Abs(y))
		}
		return w
	}
	z := narrowest(width, float64(f.Marginal), axial)
	f.Least, f.Diameter = unit.Millimetre(z), unit.Millimetre(2*width(z))
	return f, nil
}

// narrowest finds the least of a function with one minimum by golden section.
func narrowest(f func(float64) float64, low, high float64) float64 {
	const golden = 0.6180339887498949 // (√5 − 1)/2
	if low > high {
		low, high = high, low
	}
	a, b := high-golden*(high-low), low+golden*(high-low)
	fa, fb := f(a), f(b)
	for high-low > 1e-9 {
		if fa < fb {
			high, b, fb = b, a, fa
			a = high - golden*(high-low)
			fa = f(a)
		} else {
			low, a, fa = a, b, fb
			b = low + golden*(high-low)
			fb = f(b)
		}
	}
	return (low + high) / 2
}
