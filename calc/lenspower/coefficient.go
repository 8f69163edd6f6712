package lenspower

import (
	"linn/source"
	"linn/unit"
)

// coefficient is one published number of a formula; the constant it is given
// as stands beside it and is used in the arithmetic.
type coefficient struct {
	name  string
	value float64
	unit  string
	where string
}

// declare enters the coefficients of one publication into the registry.
func declare(key source.Key, grade source.Grade, list ...coefficient) bool {
	for _, c := range list {
		source.Declare(source.Constant{Name: c.name, Value: c.value, Unit: c.unit, Ref: source.Ref{Key: key, Where: c.where, Grade: grade}})
	}
	return true
}

// keratometric turns corneal power at index 1.3375 into a radius: r = 337.5/K.
// Every method takes the radius so, whatever index it then uses itself.
const keratometric = 337.5

var _ = source.Declare(source.Constant{Name: "keratometry.power-times-radius", Value: keratometric, Unit: "D·mm",
	Ref: source.Ref{Key: source.CommonPractice, Where: "keratometric index 1.3375", Grade: source.Memory}})

// radius is the corneal radius in mm of a power at 1.3375.
func radius(k float64) float64 { return keratometric / k }

// The input rules of the file format, and for K a margin for corneal powers
// that were corrected after surgery.
var (
	lengthBounds = unit.Bounds{Low: 15, High: 38}
	kBounds      = unit.Bounds{Low: 25, High: 65}
	acdBounds    = unit.Bounds{Low: 1.5, High: 5.5}
	vertexBounds = unit.Bounds{Low: 8, High: 16}
)
