package lenspower

import (
	"math"

	"linn/source"
)

// The tangent is Lambert's continued fraction x/(1 − x²/(3 − x²/(5 − …))) cut
// after the 11 and cleared of fractions. What is cut off is about
// x¹³/(10395²·13): 2e-17 at 15 degrees (K of 30 and 60, counted from 45) and
// 8e-16 at 20, the end of its range; Hoffer Q's second tangent stays below
// 9.03 degrees. It costs a third of the library's tangent.
var _ = source.Declare(source.Constant{Name: "tangent.continued-fraction", Value: 10395, Ref: source.Ref{Key: source.Lambert1761, Where: "sixth convergent", Grade: source.Memory}})

const degree = math.Pi / 180

// tanParts gives the tangent as numerator over denominator.
func tanParts(deg float64) (num, den float64) {
	x := deg * degree
	y := x * x
	return x * (10395 + y*(21*y-1260)), 10395 + y*(y*(210-y)-4725)
}

// tanSmall is the tangent of an angle within 20 degrees.
func tanSmall(deg float64) float64 {
	num, den := tanParts(deg)
	return num / den
}

// tanSquared is tan² of an angle from 25 to 65 degrees, by
// tan(45° + u) = (1 + tan u)/(1 − tan u).
func tanSquared(deg float64) float64 {
	num, den := tanParts(deg - 45)
	t := (den + num) / (den - num)
	return t * t
}
