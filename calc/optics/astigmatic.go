package optics

import (
	"math"

	"linn/unit"
)

// Astigmatic is a power or a vergence that differs between meridians: the
// symmetric matrix [[XX, XY], [XY, YY]] in D.
type Astigmatic struct{ XX, XY, YY float64 }

// Parts are the same in the words of the trade.
type Parts struct {
	Mean     unit.Dioptre
	Cylinder unit.Dioptre // never negative
	Highest  unit.Degree  // the meridian of the highest power, 0 to below 180
}

// Matrix writes the parts as a matrix: M·I + (C/2)·[[cos 2θ, sin 2θ],[sin 2θ, −cos 2θ]].
func (p Parts) Matrix() Astigmatic {
	s, c := math.Sincos(2 * float64(p.Highest) * radianPerDegree)
	m, h := float64(p.Mean), float64(p.Cylinder)/2
	return Astigmatic{m + h*c, h * s, m - h*c}
}

// Parts undoes [Parts.Matrix]. Without a cylinder the meridian is 0.
func (a Astigmatic) Parts() Parts {
	x, y := a.XX-a.YY, 2*a.XY
	angle := math.Mod(math.Atan2(y, x)/2/radianPerDegree+180, 180)
	if x == 0 && y == 0 {
		angle = 0
	}
	return Parts{unit.Dioptre((a.XX + a.YY) / 2), unit.Dioptre(math.Hypot(x, y)), unit.Degree(angle)}
}

// Plus adds two vergences in one plane.
func (a Astigmatic) Plus(b Astigmatic) Astigmatic {
	return Astigmatic{a.XX + b.XX, a.XY + b.XY, a.YY + b.YY}
}

// Minus takes one away.
func (a Astigmatic) Minus(b Astigmatic) Astigmatic {
	return Astigmatic{a.XX - b.XX, a.XY - b.XY, a.YY - b.YY}
}

// Step carries a vergence across a gap, V′ = V·(I − (d/n)·V)⁻¹. A
// *unit.RangeError says that one meridian comes to its focus exactly there.
func (a Astigmatic) Step(g Gap) (Astigmatic, error) {
	t := g.reduced()
	det := a.XX*a.YY - a.XY*a.XY
	below := 1 - t*(a.XX+a.YY) + t*t*det
	out := Astigmatic{(a.XX - t*det) / below, a.XY / below, (a.YY - t*det) / below}
	if below == 0 || !unit.Finite(unit.Dioptre(out.XX+out.YY+out.XY)) {
		return Astigmatic{}, &unit.RangeError{What: "vergence_d", Got: a.XX, Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	return out, nil
}

// Back undoes [Astigmatic.Step].
func (a Astigmatic) Back(g Gap) (Astigmatic, error) {
	g.Distance = -g.Distance
	return a.Step(g)
}

// even is a vergence alike in all meridians.
func even(v float64) Astigmatic { return Astigmatic{v, 0, v} }

// power is the paraxial power of a face between two indices.
func (f Face) power(m Media) Astigmatic {
	dn := 1000 * float64(m.After-m.Before)
	x, y := dn*f.X.curvature(), dn*f.Y.curvature()
	s, c := math.Sincos(float64(f.Turn) * radianPerDegree)
	return Astigmatic{x*c*c + y*s*s, (x - y) * s * c, x*s*s + y*c*c}
}

// Retina is where the light should come to its focus, on the axis.
type Retina struct{ At unit.Millimetre }

// Needs returns the vergence that must reach z = 0 for a sharp image on the
// retina, close to the axis: the astigmatic refraction at the cornea. It steps
// backwards through the faces; poses and gradients have no place in it and are
// refused with a *unit.RangeError.
func (t *Train) Needs(r Retina) (Astigmatic, error) {
	last := len(t.faces) - 1
	for _, f := range t.faces {
		if f.After.graded() || f.Pose.Shift != ([2]unit.Millimetre{}) || f.Pose.Tilt != ([2]unit.Degree{}) {
			return Astigmatic{}, &unit.RangeError{What: "centred", Got: 0, Low: 1, High: 1}
		}
	}
	distance := r.At - t.faces[last].Vertex
	if !(distance > 0) {
		return Astigmatic{}, &unit.RangeError{What: "retina_mm", Got: float64(r.At), Low: float64(t.faces[last].Vertex), High: math.Inf(1), Unit: "mm"}
	}
	v := even(1000 * t.indexAfter() / float64(distance))
	for i := last; i >= 0; i-- {
		f := t.faces[i]
		if i < last {
			var err error
			if v, err = v.Back(Gap{t.faces[i+1].Vertex - f.Vertex, f.After.Index}); err != nil {
				return v, err
			}
		}
		before := unit.Index(t.before)
		if i > 0 {
			before = t.faces[i-1].After.Index
		}
		v = v.Minus(f.power(Media{before, f.After.Index}))
	}
	return v.Back(Gap{t.faces[0].Vertex, unit.Index(t.before)})
}
