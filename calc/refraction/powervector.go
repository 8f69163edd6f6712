package refraction

import (
	"math"

	"linn/unit"
)

// PowerVector is a refraction as three independent numbers: the spherical
// equivalent and two crossed cylinders of thibos2001. J0 is positive when the
// axis of the minus cylinder is at 180, with the rule.
type PowerVector struct {
	M   unit.Dioptre // spherical equivalent, S + C/2
	J0  unit.Dioptre // −(C/2)·cos 2α, crossed cylinder at 180/90
	J45 unit.Dioptre // −(C/2)·sin 2α, crossed cylinder at 45/135
}

// Vector writes the refraction as a power vector, at its own plane. Both forms
// of a sphero-cylinder have the same one.
func (r AtSpectacle) Vector() PowerVector { return vector(r.Sphere, r.Cylinder, r.Axis) }

// Vector writes the refraction as a power vector, at its own plane.
func (r AtCornea) Vector() PowerVector { return vector(r.Sphere, r.Cylinder, r.Axis) }

func vector(s, c unit.Dioptre, axis unit.Axis) PowerVector {
	sin, cos := math.Sincos(float64(axis) * math.Pi / 90)
	return PowerVector{s + c/2, -c / 2 * unit.Dioptre(cos), -c / 2 * unit.Dioptre(sin)}
}

// Blur is B = √(M² + J0² + J45²), the length of the power vector in D.
func (v PowerVector) Blur() unit.Dioptre {
	return unit.Dioptre(math.Sqrt(float64(v.M*v.M + v.J0*v.J0 + v.J45*v.J45)))
}

// AtCornea writes the vector as sphere, minus cylinder and axis.
func (v PowerVector) AtCornea() AtCornea {
	j := unit.Dioptre(math.Hypot(float64(v.J0), float64(v.J45)))
	axis := math.Atan2(float64(v.J45), float64(v.J0)) * 90 / math.Pi
	return AtCornea{v.M + j, -2 * j, unit.NewAxis(unit.Degree(axis))}
}
