package refraction

import (
	"linn/calc/optics"
	"linn/unit"
)

// AtSpectacle is a refraction at the spectacle plane: the correction that makes
// the eye see sharp from there.
type AtSpectacle struct {
	Sphere   unit.Dioptre
	Cylinder unit.Dioptre    // of either sign; 0 has no axis
	Axis     unit.Axis       // of the cylinder
	Vertex   unit.Millimetre // spectacle plane to cornea
}

// AtCornea is a refraction at the corneal plane.
type AtCornea struct {
	Sphere   unit.Dioptre
	Cylinder unit.Dioptre
	Axis     unit.Axis
}

// Equivalent is the spherical equivalent, sphere plus half the cylinder.
func (r AtSpectacle) Equivalent() unit.Dioptre { return r.Sphere + r.Cylinder/2 }

// Equivalent is the spherical equivalent at the corneal plane. It is not the
// spectacle plane's carried over: the two meridians move apart unequally.
func (r AtCornea) Equivalent() unit.Dioptre { return r.Sphere + r.Cylinder/2 }

// Transpose writes the same refraction with a cylinder of the other sign.
func (r AtSpectacle) Transpose() AtSpectacle {
	r.Sphere, r.Cylinder, r.Axis = transpose(r.Sphere, r.Cylinder, r.Axis)
	return r
}

// Transpose writes the same refraction with a cylinder of the other sign.
func (r AtCornea) Transpose() AtCornea {
	r.Sphere, r.Cylinder, r.Axis = transpose(r.Sphere, r.Cylinder, r.Axis)
	return r
}

func transpose(sphere, cylinder unit.Dioptre, axis unit.Axis) (unit.Dioptre, unit.Dioptre, unit.Axis) {
	if cylinder == 0 {
		return sphere, 0, axis
	}
	return sphere + cylinder, -cylinder, unit.NewAxis(unit.Degree(axis) + 90)
}

// ToCornea carries the refraction to the cornea, each principal meridian by
// itself: F/(1 − 0.001·V·F). The axis stays. A *unit.RangeError says that a
// meridian would focus at or in front of the cornea, or that the vertex is
// outside 0 to 30 mm.
func (r AtSpectacle) ToCornea() (AtCornea, error) {
	along, err := optics.ToCornea(r.Sphere, r.Vertex)
	if err != nil {
		return AtCornea{}, err
	}
	across, err := optics.ToCornea(r.Sphere+r.Cylinder, r.Vertex)
	if err != nil {
		return AtCornea{}, err
	}
	return AtCornea{along, across - along, r.Axis}, nil
}

// ToSpectacle carries the refraction to a spectacle plane, each principal
// meridian by itself: F/(1 + 0.001·V·F). A *unit.RangeError says that a far
// point lies between the planes, or that the vertex is outside 0 to 30 mm.
func (r AtCornea) ToSpectacle(vertex unit.Millimetre) (AtSpectacle, error) {
	along, err := optics.ToSpectacle(r.Sphere, vertex)
	if err != nil {
		return AtSpectacle{}, err
	}
	across, err := optics.ToSpectacle(r.Sphere+r.Cylinder, vertex)
	if err != nil {
		return AtSpectacle{}, err
	}
	return AtSpectacle{along, across - along, r.Axis, vertex}, nil
}

// EquivalentToCornea carries a spherical equivalent to the cornea, as the lens
// formulas do with a target.
func EquivalentToCornea(r unit.Dioptre, vertex unit.Millimetre) (unit.Dioptre, error) {
	return optics.ToCornea(r, vertex)
}

// EquivalentToSpectacle carries a spherical equivalent to the spectacle plane.
func EquivalentToSpectacle(r unit.Dioptre, vertex unit.Millimetre) (unit.Dioptre, error) {
	return optics.ToSpectacle(r, vertex)
}
