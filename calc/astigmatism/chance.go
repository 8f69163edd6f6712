package astigmatism

import (
	"math"

	"linn/unit"
)

// Spread is an astigmatism that scatters alike in both components.
type Spread struct {
	Middle Vector
	SD     unit.Dioptre // of each component
}

// Mean is the expected magnitude |r|, the mean of a Rice distribution. It is
// never below the magnitude of the middle.
func (s Spread) Mean() unit.Dioptre {
	d, sd := float64(s.Middle.Magnitude()), float64(s.SD)
	if !(sd > 0) {
		return unit.Dioptre(d)
	}
	return unit.Dioptre(s.integrate(math.Inf(1), func(r float64) float64 { return r }))
}

// Within is the chance, 0 to 1, that the magnitude is at most limit.
func (s Spread) Within(limit unit.Dioptre) float64 {
	switch {
	case !(limit >= 0):
		return 0
	case s.SD > 0:
		return min(1, s.integrate(float64(limit), func(float64) float64 { return 1 }))
	case s.Middle.Magnitude() <= limit:
		return 1
	}
	return 0
}

// panels of the quadrature; its error is below 1e-9 of the answer.
const panels = 400

// integrate is ∫ g(r)·(r/σ²)·exp(−(r²+δ²)/2σ²)·I₀(rδ/σ²) dr by Simpson's rule
// over the part of [0, limit] that carries weight.
func (s Spread) integrate(limit float64, g func(float64) float64) float64 {
	d, sd := float64(s.Middle.Magnitude()), float64(s.SD)
	low, high := max(0, d-10*sd), min(limit, d+10*sd)
	if high <= low {
		return 0
	}
	h, sum := (high-low)/panels, 0.0
	for i := range panels + 1 {
		r, w := low+h*float64(i), 2.0
		if i == 0 || i == panels {
			w = 1
		} else if i%2 == 1 {
			w = 4
		}
		z := r * d / (sd * sd)
		sum += w * g(r) * r / (sd * sd) * math.Exp(-(r-d)*(r-d)/(2*sd*sd)) * scaledI0(z)
	}
	return sum * h / 3
}

// scaledI0 is exp(−z)·I₀(z), z ≥ 0: the power series, and from 20 upwards the
// asymptotic one, whose smallest term lies below 1e-16 there.
func scaledI0(z float64) float64 {
	term, sum := 1.0, 1.0
	if z < 20 {
		for k := 1.0; term > 1e-17*sum; k++ {
			term *= z * z / (4 * k * k)
			sum += term
		}
		return math.Exp(-z) * sum
	}
	for k := 1.0; term > 1e-17 && k < 2*z; k++ {
		term *= (2*k - 1) * (2*k - 1) / (8 * k * z)
		sum += term
	}
	return sum / math.Sqrt(2*math.Pi*z)
}
