package ultrasound

import (
	"math"

	"linn/source"
	"linn/unit"
)

func declare(name string, value float64, u string, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "ultrasound." + name, Value: value, Unit: u, Ref: ref})
}

// inside refuses a value that is no number or lies outside [low, high].
func inside(what string, v float64, bounds unit.Bounds, name string) error {
	if v >= bounds.Low && v <= bounds.High && !math.IsInf(v, 0) {
		return nil
	}
	return &unit.RangeError{What: what, Got: v, Low: bounds.Low, High: bounds.High, Unit: name}
}

// bound is the domain of one input.
type bound struct {
	what      string
	value     float64
	low, high float64
	unit      string
}

func within(list ...bound) error {
	for _, b := range list {
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return err
		}
	}
	return nil
}

// percent bounds a power or duty.
func percent(what string, p unit.Percent) bound { return bound{what, float64(p), 0, 100, "%"} }
