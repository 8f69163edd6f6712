package optics

import "math"

// Vec is a point in mm or a direction: X to the right of who faces the eye, Y
// up, Z along the axis into the eye.
type Vec struct{ X, Y, Z float64 }

func (a Vec) plus(b Vec) Vec             { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }
func (a Vec) minus(b Vec) Vec            { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }
func (a Vec) times(k float64) Vec        { return Vec{a.X * k, a.Y * k, a.Z * k} }
func (a Vec) dot(b Vec) float64          { return a.X*b.X + a.Y*b.Y + a.Z*b.Z }
func (a Vec) along(d Vec, t float64) Vec { return Vec{a.X + t*d.X, a.Y + t*d.Y, a.Z + t*d.Z} }
func (a Vec) length() float64            { return math.Sqrt(a.dot(a)) }
func (a Vec) unit() Vec                  { return a.times(1 / a.length()) }

// frame carries points between the axis of the eye and a surface's own axes.
// turned says that the axes differ; where they do not, only the origin moves.
type frame struct {
	origin Vec
	rows   [3]Vec // the surface's axes, in the eye's
	turned bool
}

func (f *frame) in(p Vec) Vec {
	p = p.minus(f.origin)
	return f.inDirection(p)
}

func (f *frame) inDirection(d Vec) Vec {
	if !f.turned {
		return d
	}
	return Vec{f.rows[0].dot(d), f.rows[1].dot(d), f.rows[2].dot(d)}
}

func (f *frame) out(p Vec) Vec { return f.outDirection(p).plus(f.origin) }

func (f *frame) outDirection(d Vec) Vec {
	if !f.turned {
		return d
	}
	return f.rows[0].times(d.X).plus(f.rows[1].times(d.Y)).plus(f.rows[2].times(d.Z))
}

const radianPerDegree = math.Pi / 180

// newFrame places the axes of a surface: turned about its own axis, tilted
// about the eye's x and then y through the pivot, shifted.
func newFrame(f Face) frame {
	a, b := float64(f.Pose.Tilt[0])*radianPerDegree, float64(f.Pose.Tilt[1])*radianPerDegree
	sa, ca := math.Sincos(a)
	sb, cb := math.Sincos(b)
	tilt := func(v Vec) Vec {
		v = Vec{v.X, ca*v.Y - sa*v.Z, sa*v.Y + ca*v.Z}
		return Vec{cb*v.X + sb*v.Z, v.Y, -sb*v.X + cb*v.Z}
	}
	st, ct := math.Sincos(float64(f.Turn) * radianPerDegree)
	pivot := float64(f.Pose.Pivot)
	arm := tilt(Vec{0, 0, float64(f.Vertex) - pivot})
	shift := Vec{float64(f.Pose.Shift[0]), float64(f.Pose.Shift[1]), pivot}
	round := f.X == f.Y // turning a surface of revolution changes nothing
	if round {
		st, ct = 0, 1
	}
	return frame{origin: arm.plus(shift), rows: [3]Vec{tilt(Vec{ct, st, 0}), tilt(Vec{-st, ct, 0}), tilt(Vec{0, 0, 1})},
		turned: a != 0 || b != 0 || st != 0}
}
