package optics

import (
	"math"

	"linn/unit"
)

// Face is one refracting surface for exact rays.
type Face struct {
	Vertex unit.Millimetre // where it stands on the axis before its pose
	X, Y   Profile         // along its own two meridians; alike in a surface of revolution
	Turn   unit.Degree     // where its x meridian lies, counter-clockwise seen from in front
	Pose   Pose
	After  Medium
}

// Profile is the curve of a surface along one meridian: a conic with sag
// c·r²/(1 + √(1 − (1 + Q)·c²·r²)), c the reciprocal radius.
type Profile struct {
	Radius unit.Millimetre // positive when the centre lies behind it; Plane when flat
	Q      unit.Constant   // asphericity: 0 a sphere, −1 a parabola
}

// Pose is how a part stands off the axis. The faces of one lens share one pose,
// so that the lens moves as a whole.
type Pose struct {
	Pivot unit.Millimetre    // the point of the axis it tilts about
	Shift [2]unit.Millimetre // along x and y
	Tilt  [2]unit.Degree     // about x, then about y
}

// Medium is what lies behind a face. Its index is Index + Z·z + ZZ·z² + RR·r²
// with z from the plane of its face and r from its axis; a medium without
// gradient has only Index.
type Medium struct {
	Index     unit.Index
	Z, ZZ, RR float64 // per mm, per mm², per mm²
}

func (m Medium) graded() bool { return m.Z != 0 || m.ZZ != 0 || m.RR != 0 }

func (m Medium) at(p Vec) float64 {
	return float64(m.Index) + m.Z*p.Z + m.ZZ*p.Z*p.Z + m.RR*(p.X*p.X+p.Y*p.Y)
}

// slope is n·∇n.
func (m Medium) slope(p Vec) Vec {
	n := m.at(p)
	return Vec{2 * n * m.RR * p.X, 2 * n * m.RR * p.Y, n * (m.Z + 2*m.ZZ*p.Z)}
}

// Sphere is a profile without asphericity.
func Sphere(r unit.Millimetre) Profile { return Profile{Radius: r} }

// Round is a face of revolution, centred.
func Round(at unit.Millimetre, p Profile, after Medium) Face {
	return Face{Vertex: at, X: p, Y: p, After: after}
}

func (p Profile) curvature() float64 { return 1 / float64(p.Radius) } // 0 for Plane

// Sag is how far the curve lies behind its vertex at a height off its axis. A
// *unit.RangeError says that the curve does not reach so far out.
func (p Profile) Sag(height unit.Millimetre) (unit.Millimetre, error) {
	c, r := p.curvature(), float64(height)
	root := 1 - (1+float64(p.Q))*c*c*r*r
	if !(root >= 0) {
		limit := math.Abs(float64(p.Radius)) / math.Sqrt(1+float64(p.Q))
		return 0, &unit.RangeError{What: "height_mm", Got: r, Low: -limit, High: limit, Unit: "mm"}
	}
	return unit.Millimetre(c * r * r / (1 + math.Sqrt(root))), nil
}

// conic is a face of revolution ready for rays.
type conic struct{ c, k float64 } // curvature, 1 + Q

// meet finds where a ray in the surface's axes meets the sheet of the conic
// that holds its vertex: the root nearest the vertex of
// c·(x² + y² + k·z²) − 2z = 0.
func (s conic) meet(p, d Vec) (t float64, ok bool) {
	if s.c == 0 {
		if d.Z == 0 {
			return 0, false
		}
		return -p.Z / d.Z, true
	}
	a := s.c * (d.X*d.X + d.Y*d.Y + s.k*d.Z*d.Z)
	b := s.c*(d.X*p.X+d.Y*p.Y+s.k*d.Z*p.Z) - d.Z
	g := s.c*(p.X*p.X+p.Y*p.Y+s.k*p.Z*p.Z) - 2*p.Z
	root := b*b - a*g
	if root < 0 {
		return 0, false
	}
	q := -b - math.Copysign(math.Sqrt(root), b)
	t, ok = s.better(p, d, g/q, q/a)
	return t, ok
}

// better picks the root on the vertex sheet, the nearer to the vertex if both
// lie on it.
func (s conic) better(p, d Vec, t1, t2 float64) (float64, bool) {
	z1, z2 := p.Z+t1*d.Z, p.Z+t2*d.Z
	on1, on2 := s.k*s.c*z1 < 1 && !math.IsNaN(t1) && !math.IsInf(t1, 0), s.k*s.c*z2 < 1 && !math.IsNaN(t2) && !math.IsInf(t2, 0)
	switch {
	case on1 && (!on2 || math.Abs(z1) <= math.Abs(z2)):
		return t1, true
	case on2:
		return t2, true
	}
	return 0, false
}

func (s conic) normal(p Vec) Vec {
	n := Vec{-s.c * p.X, -s.c * p.Y, 1 - s.k*s.c*p.Z}
	return n.unit()
}

// biconic is a face with two different meridians ready for rays:
// z = (cx·x² + cy·y²)/(1 + √(1 − kx·cx²·x² − ky·cy²·y²)).
type biconic struct{ x, y conic }

// sag returns z and its slopes.
func (s biconic) sag(x, y float64) (z, zx, zy float64, ok bool) {
	n := s.x.c*x*x + s.y.c*y*y
	root := 1 - s.x.k*s.x.c*s.x.c*x*x - s.y.k*s.y.c*s.y.c*y*y
	if !(root > 0) {
		return 0, 0, 0, false
	}
	w := math.Sqrt(root)
	f := 1 / (1 + w)
	g := n * f * f / w
	return n * f, x * s.x.c * (2*f + g*s.x.k*s.x.c), y * s.y.c * (2*f + g*s.y.k*s.y.c), true
}

const (
	newtonSteps = 50
	closeEnough = 1e-14 // mm: below the rounding of an eye's length
)

// meet solves by Newton's method from the tangent plane.
func (s biconic) meet(p, d Vec) (float64, bool) {
	if d.Z == 0 {
		return 0, false
	}
	t := -p.Z / d.Z
	for range newtonSteps {
		at := p.along(d, t)
		z, zx, zy, ok := s.sag(at.X, at.Y)
		if !ok {
			return 0, false
		}
		step := (at.Z - z) / (d.Z - zx*d.X - zy*d.Y)
		t -= step
		if math.Abs(step) < closeEnough*(1+math.Abs(t)) {
			return t, true
		}
	}
	return 0, false
}

func (s biconic) normal(p Vec) Vec {
	_, zx, zy, _ := s.sag(p.X, p.Y)
	n := Vec{-zx, -zy, 1}
	return n.unit()
}
