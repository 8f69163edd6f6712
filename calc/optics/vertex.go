package optics

import (
	"math"

	"linn/unit"
)

// ToCornea carries a refraction from the spectacle plane to the cornea,
// Rc = R/(1 − 0.001·V·R). A *unit.RangeError says that the lens would focus at
// or in front of the cornea.
func ToCornea(r unit.Dioptre, vertex unit.Millimetre) (unit.Dioptre, error) {
	if err := checkVertex(vertex); err != nil {
		return 0, err
	}
	q := 1 - 0.001*float64(vertex)*float64(r)
	if !(q > 0) || !unit.Finite(r) {
		return 0, &unit.RangeError{What: "refraction_d", Got: float64(r), Low: math.Inf(-1), High: 1000 / float64(vertex), Unit: "D"}
	}
	return r / unit.Dioptre(q), nil
}

// ToSpectacle carries a refraction from the cornea to the spectacle plane,
// R = Rc/(1 + 0.001·V·Rc). A *unit.RangeError says that the far point lies
// between the two planes.
func ToSpectacle(rc unit.Dioptre, vertex unit.Millimetre) (unit.Dioptre, error) {
	if err := checkVertex(vertex); err != nil {
		return 0, err
	}
	q := 1 + 0.001*float64(vertex)*float64(rc)
	if !(q > 0) || !unit.Finite(rc) {
		return 0, &unit.RangeError{What: "refraction_d", Got: float64(rc), Low: -1000 / float64(vertex), High: math.Inf(1), Unit: "D"}
	}
	return rc / unit.Dioptre(q), nil
}

// checkVertex refuses a spectacle plane behind the cornea or farther from it
// than any trial frame; 0 is the cornea itself. The bound is our own.
func checkVertex(v unit.Millimetre) error {
	if !(v >= 0 && v <= 30) {
		return &unit.RangeError{What: "vertex_mm", Got: float64(v), Low: 0, High: 30, Unit: "mm"}
	}
	return nil
}
