package fluidics

import (
	"math"

	"linn/unit"
)

// inside refuses a value that is no number or lies outside bounds.
func inside(what string, v float64, bounds unit.Bounds, name string) error {
	if v >= bounds.Low && v <= bounds.High && !math.IsInf(v, 0) {
		return nil
	}
	return &unit.RangeError{What: what, Got: v, Low: bounds.Low, High: bounds.High, Unit: name}
}
