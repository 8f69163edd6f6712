package lenspower

import (
	"math"

	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// BackSolved is the lens position that explains an outcome.
type BackSolved struct {
	Position unit.Millimetre
	// Usable is false when the lens is weaker than 10 D or the position lies
	// outside 3 to 8 mm: a weak lens says little about where it stands, and a
	// fit should drop or down-weight the eye.
	Usable bool
}

// The limits of a usable back-solved position, from memory of the practice of
// fitting Haigis constants.
const (
	usablePower = 10.0 // D
	usableLow   = 3.0  // mm
	usableHigh  = 8.0  // mm
)

var _ = declare(source.Haigis2000, source.Memory,
	coefficient{"back-solved.least-power", usablePower, "D", "fitting of constants"},
	coefficient{"back-solved.least-position", usableLow, "mm", "fitting of constants"},
	coefficient{"back-solved.greatest-position", usableHigh, "mm", "fitting of constants"},
)

// BackSolve returns the position at which the method's own optics turn the
// implanted power into the achieved refraction. The constant of the input is
// not used and may be missing. Errors are *unit.RangeError and those of Solve.
func (m *Method) BackSolve(in Input, achieved optics.Achieved) (BackSolved, error) {
	in.Constant = Resolved{method: m}
	if err := m.check(&in); err != nil {
		return BackSolved{}, err
	}
	eye := m.thin(float64(in.AxialLength), float64(in.K))
	eye.Vertex = in.Vertex
	d, err := eye.PositionFor(achieved)
	if err != nil {
		return BackSolved{}, err
	}
	return BackSolved{d, math.Abs(float64(achieved.Power)) >= usablePower && d >= usableLow && d <= usableHigh}, nil
}

// Personal is the constant at which a method would have predicted an outcome.
type Personal struct {
	Key      string        // contract key: a, sf_mm, pacd_mm, a0
	Value    unit.Constant // A, or millimetres
	Position BackSolved
}

// PersonalConstant returns the constant that makes the method's prediction for
// one case equal to what was achieved. For haigis it is a0 with the a1 and a2
// of the input's constant; the other methods do not use that constant. A case
// whose position is not usable still has a constant; averaging is the caller's
// part. Errors are *unit.RangeError and those of Solve.
func (m *Method) PersonalConstant(in Input, achieved optics.Achieved) (Personal, error) {
	rest := in.Constant // a1 and a2
	if m.kind == haigis && rest.method != m {
		return Personal{}, &MissingError{m.ID, "a1"}
	}
	back, err := m.BackSolve(in, achieved)
	if err != nil {
		return Personal{}, err
	}
	rest.offset = 0
	d, ok := m.position(float64(in.AxialLength), float64(m.positionK(&in)), float64(in.ACD.Value), rest)
	if !ok {
		return Personal{}, m.cusp(&in)
	}
	value := float64(back.Position) - d
	if m.Key == "a" {
		value = srktA(value)
	}
	return Personal{m.Key, unit.Constant(value), back}, nil
}
