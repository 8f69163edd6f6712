package astigmatism

import (
	"math"

	"linn/calc/refraction"
	"linn/unit"
)

// Cylinder is astigmatism as the trade writes it: how much, and where steep.
type Cylinder struct {
	Magnitude unit.Dioptre // 0 or more
	Steep     unit.Axis    // meridian of the highest power; of no meaning at 0 D
}

// Vector is astigmatism in the double-angle plane: X = C·cos 2θ is positive
// against the rule (steep at 180), Y = C·sin 2θ is positive steep at 45.
type Vector struct{ X, Y unit.Dioptre }

// Vector turns a cylinder into its double-angle vector.
func (c Cylinder) Vector() Vector { return along(unit.Degree(c.Steep)).Scale(float64(c.Magnitude)) }

// along is the unit vector of a meridian in degrees; 0 and 180 are one.
func along(meridian unit.Degree) Vector {
	sin, cos := math.Sincos(math.Remainder(float64(meridian), 180) * math.Pi / 90)
	return Vector{unit.Dioptre(cos), unit.Dioptre(sin)}
}

// Cylinder turns a vector back; no astigmatism is steep at 180. A meridian
// that rounding alone lifts above 0 is 180.
func (v Vector) Cylinder() Cylinder {
	axis := unit.NewAxis(unit.Degree(math.Atan2(float64(v.Y), float64(v.X)) * 90 / math.Pi))
	if axis < roundOff {
		axis = 180
	}
	return Cylinder{v.Magnitude(), axis}
}

// roundOff is far below any meridian that is printed, in degrees.
const roundOff = 1e-10

// Magnitude is the length of the vector, in D.
func (v Vector) Magnitude() unit.Dioptre {
	return unit.Dioptre(math.Hypot(float64(v.X), float64(v.Y)))
}

// Add adds two astigmatisms at one plane.
func (v Vector) Add(o Vector) Vector { return Vector{v.X + o.X, v.Y + o.Y} }

// Sub takes one from the other.
func (v Vector) Sub(o Vector) Vector { return Vector{v.X - o.X, v.Y - o.Y} }

// Scale multiplies the magnitude.
func (v Vector) Scale(k float64) Vector { return Vector{v.X * unit.Dioptre(k), v.Y * unit.Dioptre(k)} }

// Turn turns the meridian counter-clockwise by an angle.
func (v Vector) Turn(by unit.Degree) Vector {
	t := along(by)
	return Vector{v.X*t.X - v.Y*t.Y, v.X*t.Y + v.Y*t.X}
}

// Mirror is the same astigmatism in the fellow eye: θ becomes 180 − θ.
func (v Vector) Mirror() Vector { return Vector{v.X, -v.Y} }

// Polar is an astigmatism seen from one meridian: Along is positive when that
// meridian is steeper, Torque when the meridian 45 degrees counter-clockwise
// of it is. They are the polar values KP(φ) and KP(φ+45) of naeser1994.
type Polar struct{ Along, Torque unit.Dioptre }

// Polar is M·cos 2(α − φ) and M·sin 2(α − φ). For an induced vector and the
// meridian of its incision Along is the effect with the wound, negative when
// the incision flattens, and Torque the part that only turns.
func (v Vector) Polar(meridian unit.Degree) Polar {
	u := along(meridian)
	return Polar{v.X*u.X + v.Y*u.Y, v.Y*u.X - v.X*u.Y}
}

// Vector turns polar values back.
func (p Polar) Vector(meridian unit.Degree) Vector {
	u := along(meridian)
	return Vector{p.Along*u.X - p.Torque*u.Y, p.Along*u.Y + p.Torque*u.X}
}

// Rule names where an astigmatism is steep.
type Rule string

// The rules: steep within 30 degrees of the vertical, of the horizontal, or
// between.
const (
	WithTheRule    Rule = "with-the-rule"
	AgainstTheRule Rule = "against-the-rule"
	Oblique        Rule = "oblique"
)

// Rule says whether the cylinder is with or against the rule.
func (c Cylinder) Rule() Rule {
	switch off := math.Abs(float64(c.Steep) - 90); {
	case off <= 30:
		return WithTheRule
	case off >= 60:
		return AgainstTheRule
	}
	return Oblique
}

// OfRefraction is the astigmatism of the eye behind a refraction at the
// cornea: steep where the minus cylinder has its power, 90 degrees from its
// axis. Both forms of the refraction give the same.
func OfRefraction(r refraction.AtCornea) Vector {
	v := r.Vector()
	return Vector{-2 * v.J0, -2 * v.J45}
}

// Correction is the sphero-cylinder, in minus form, that corrects an eye of
// this astigmatism and the spherical equivalent equivalent.
func (v Vector) Correction(equivalent unit.Dioptre) refraction.AtCornea {
	return refraction.PowerVector{M: equivalent, J0: -v.X / 2, J45: -v.Y / 2}.AtCornea()
}
