package unit

import "math"

// The quantities. Each counts the unit it is named after.
type (
	Dioptre        float64 // vergence or refractive power, 1/m
	Millimetre     float64
	Micrometre     float64
	Degree         float64 // a rotation; may be negative
	MetrePerSecond float64 // velocity of sound
	Year           float64 // age in completed or fractional years
	Index          float64 // refractive index, no unit
	Percent        float64
	Hour           float64 // of a clock face, 12 above
	Constant       float64 // an A constant: a pure number by custom
)

// Quantity is any unit type of this package.
type Quantity interface {
	~float64
}

// Axis is the orientation of a meridian in degrees, always in (0, 180].
// Build it with [NewAxis]; 0 and 180 are the same axis and both read 180.
type Axis float64

// NewAxis wraps any finite angle in degrees into (0, 180].
func NewAxis(deg Degree) Axis {
	a := math.Mod(float64(deg), 180)
	if a <= 0 {
		a += 180
	}
	return Axis(a)
}

// Micrometre converts with 1 mm = 1000 µm (SI).
func (m Millimetre) Micrometre() Micrometre { return Micrometre(m * 1000) }

// Millimetre converts with 1000 µm = 1 mm (SI).
func (m Micrometre) Millimetre() Millimetre { return Millimetre(m / 1000) }

// Finite reports whether q is neither NaN nor infinite.
func Finite[U Quantity](q U) bool {
	return !math.IsNaN(float64(q)) && !math.IsInf(float64(q), 0)
}

// LogMAR is the decimal logarithm of the least angle that is resolved, in
// minutes of arc: 0 at 6/6, greater is worse.
type LogMAR float64
