package optics

import (
	"math"

	"linn/unit"
)

// Mode names a Zernike polynomial as OSA and ANSI do: radial order N and
// angular frequency M of the same parity, |M| ≤ N.
type Mode struct{ N, M int }

// Number is the single index j = (N·(N + 2) + M)/2, from 0.
func (m Mode) Number() int { return (m.N*(m.N+2) + m.M) / 2 }

// ModeNumbered undoes [Mode.Number].
func ModeNumbered(j int) Mode {
	n := int(math.Ceil((-3 + math.Sqrt(9+8*float64(j))) / 2))
	return Mode{n, 2*j - n*(n+2)}
}

// modesTo is how many modes there are up to an order.
func modesTo(order int) int { return (order + 1) * (order + 2) / 2 }

// At is the value of the normalised polynomial at a point of the unit disc: its
// mean square over the disc is 1. Angles count from x towards y; sine terms
// have negative M.
func (m Mode) At(p [2]float64) float64 {
	x, y := p[0], p[1]
	a := m.M
	if a < 0 {
		a = -a
	}
	rho2 := x*x + y*y
	radial := 0.0
	power := 1.0
	for k := (m.N - a) / 2; k >= 0; k-- { // term rho^(N−2k), in rising order
		radial += m.coefficient(k, a) * power
		power *= rho2
	}
	re, im := 1.0, 0.0 // (x + iy)^a carries rho^a and the angle
	for range a {
		re, im = re*x-im*y, re*y+im*x
	}
	norm := math.Sqrt(float64(2 * (m.N + 1)))
	switch {
	case m.M == 0:
		return math.Sqrt(float64(m.N+1)) * radial
	case m.M > 0:
		return norm * radial * re
	}
	return norm * radial * im
}

// coefficient of rho^(N−2k) in the radial polynomial.
func (m Mode) coefficient(k, a int) float64 {
	sign := 1.0
	if k%2 == 1 {
		sign = -1
	}
	return sign * factorial(m.N-k) / (factorial(k) * factorial((m.N+a)/2-k) * factorial((m.N-a)/2-k))
}

func factorial(n int) float64 {
	f := 1.0
	for i := 2; i <= n; i++ {
		f *= float64(i)
	}
	return f
}

// Wavefront is the error of a wave over a pupil as OSA/ANSI coefficients in
// micrometres, by single index.
type Wavefront struct {
	Pupil        unit.Millimetre
	Coefficients []float64
	Centre       unit.Millimetre // z of the centre of its reference sphere
}

// Of is the coefficient of a mode, 0 where it was not fitted.
func (w Wavefront) Of(m Mode) unit.Micrometre {
	if j := m.Number(); j < len(w.Coefficients) {
		return unit.Micrometre(w.Coefficients[j])
	}
	return 0
}

// At is the error in µm at a point of the pupil given as a fraction of its
// radius.
func (w Wavefront) At(p [2]float64) float64 {
	sum := 0.0
	for j, c := range w.Coefficients {
		if c != 0 {
			sum += c * ModeNumbered(j).At(p)
		}
	}
	return sum
}

// RMS is the root mean square error from a radial order upwards: 2 leaves out
// piston and tilt, 3 also defocus and astigmatism.
func (w Wavefront) RMS(from int) unit.Micrometre {
	sum := 0.0
	for j, c := range w.Coefficients {
		if ModeNumbered(j).N >= from {
			sum += c * c
		}
	}
	return unit.Micrometre(math.Sqrt(sum))
}

// Criterion is how a refraction is read off a wavefront.
type Criterion int

// The criteria.
const (
	LeastSquares Criterion = iota // the sphere and cylinder nearest over the whole pupil
	Paraxial                      // the curvature in the middle of the pupil
)

// Refraction is the refraction in the pupil plane of a wavefront whose
// reference sphere is centred on the retina: M = −4√3·c₂⁰/r² by least squares,
// M = (−4√3·c₂⁰ + 12√5·c₄⁰ − 24√7·c₆⁰)/r² by curvature, and the cylinder from
// c₂^±2 alike. The cylinder's meridian is that of the highest power of the
// correcting lens.
func (w Wavefront) Refraction(by Criterion) Parts {
	r := float64(w.Pupil) / 2
	c := func(n, m int) float64 { return float64(w.Of(Mode{n, m})) }
	mean := -4 * math.Sqrt(3) * c(2, 0)
	j0, j45 := -2*math.Sqrt(6)*c(2, 2), -2*math.Sqrt(6)*c(2, -2)
	if by == Paraxial {
		mean += 12*math.Sqrt(5)*c(4, 0) - 24*math.Sqrt(7)*c(6, 0)
		j0 += 6 * math.Sqrt(10) * c(4, 2)
		j45 += 6 * math.Sqrt(10) * c(4, -2)
	}
	return Astigmatic{(mean + j0) / r / r, j45 / r / r, (mean - j0) / r / r}.Parts()
}

// Eye is a refraction that is left, seen through a pupil.
type Eye struct {
	Residual Parts // the correction the eye would need, in the pupil plane
	Pupil    unit.Millimetre
}

// Wavefront is the wave of a residual refraction alone, without higher
// aberrations: it undoes [Wavefront.Refraction].
func (e Eye) Wavefront() Wavefront {
	r := float64(e.Pupil) / 2
	m := e.Residual.Matrix()
	w := Wavefront{Pupil: e.Pupil, Coefficients: make([]float64, modesTo(2))}
	w.Coefficients[Mode{2, 0}.Number()] = -float64(e.Residual.Mean) * r * r / (4 * math.Sqrt(3))
	w.Coefficients[Mode{2, 2}.Number()] = -(m.XX - m.YY) / 2 * r * r / (2 * math.Sqrt(6))
	w.Coefficients[Mode{2, -2}.Number()] = -m.XY * r * r / (2 * math.Sqrt(6))
	return w
}
