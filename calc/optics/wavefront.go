package optics

import (
	"math"

	"linn/unit"
)

// fittedOrder is the radial order of the fit. With order 8 the neglected rest
// of the schematic eyes at 6 mm is below 0.001 µm.
const fittedOrder = 8

// WavefrontAt is the error of the wave behind the train against a reference
// sphere that is centred where the chief ray meets the plane at z and passes
// through the corneal vertex. Positive where the wave runs ahead of the sphere:
// the edge of a pupil with positive spherical aberration.
func (b *Traced) WavefrontAt(z unit.Millimetre) (Wavefront, error) {
	fit, err := b.fit()
	if err != nil {
		return Wavefront{}, err
	}
	return b.wavefront(fit, float64(z)), nil
}

// BestWavefront is the error against the reference sphere centred where the
// wave fits best: where the root mean square of its error, piston and tilt
// apart, is least. That is the definition of spherical aberration used
// throughout.
func (b *Traced) BestWavefront() (Wavefront, error) {
	fit, err := b.fit()
	if err != nil {
		return Wavefront{}, err
	}
	const nudge = 0.001 // mm: the error is linear in so small a shift
	z := float64(b.SmallestSpot())
	for range 20 {
		here, there := b.wavefront(fit, z), b.wavefront(fit, z+nudge)
		var cross, square float64
		for j := modesTo(1); j < len(here.Coefficients); j++ {
			d := there.Coefficients[j] - here.Coefficients[j]
			cross += here.Coefficients[j] * d
			square += d * d
		}
		step := -cross / square * nudge
		if z += step; math.Abs(step) < 1e-9 {
			break
		}
	}
	if !unit.Finite(unit.Dioptre(z)) {
		return Wavefront{}, &unit.RangeError{What: "focus_mm", Got: z, Low: math.Inf(-1), High: math.Inf(1), Unit: "mm"}
	}
	return b.wavefront(fit, z), nil
}

// fitting is the least-squares fit of modes to the rays of one bundle: the
// values of the modes and the factor of their normal matrix.
type fitting struct {
	modes  [][]float64 // by mode, by ray
	factor [][]float64 // Cholesky
}

// fit refuses a bundle with too few rays for its modes.
func (b *Traced) fit() (*fitting, error) {
	n := modesTo(fittedOrder)
	if len(b.Rays) < 4*n {
		return nil, &unit.RangeError{What: "rays", Got: float64(len(b.Rays)), Low: float64(4 * n), High: math.Inf(1)}
	}
	f := &fitting{modes: make([][]float64, n), factor: make([][]float64, n)}
	for j := range n {
		f.modes[j] = make([]float64, len(b.At))
		m := ModeNumbered(j)
		for i, p := range b.At {
			f.modes[j][i] = m.At(p)
		}
		f.factor[j] = make([]float64, n)
	}
	for i := range n {
		for j := 0; j <= i; j++ {
			sum := inner(f.modes[i], f.modes[j])
			for k := range j {
				sum -= f.factor[i][k] * f.factor[j][k]
			}
			if i == j {
				f.factor[i][i] = math.Sqrt(sum)
			} else {
				f.factor[i][j] = sum / f.factor[j][j]
			}
		}
	}
	return f, nil
}

func inner(a, b []float64) (sum float64) {
	for i := range a {
		sum += a[i] * b[i]
	}
	return sum
}

func (f *fitting) solve(values []float64) []float64 {
	n := len(f.modes)
	x := make([]float64, n)
	for i := range n {
		x[i] = inner(f.modes[i], values)
		for k := range i {
			x[i] -= f.factor[i][k] * x[k]
		}
		x[i] /= f.factor[i][i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			x[i] -= f.factor[k][i] * x[k]
		}
		x[i] /= f.factor[i][i]
	}
	return x
}

func (b *Traced) wavefront(f *fitting, z float64) Wavefront {
	cx, cy := b.Chief.where(z)
	centre := Vec{cx, cy, z}
	radius := centre.length()
	chief := b.pathTo(b.Chief, centre, radius)
	errors := make([]float64, len(b.Rays))
	for i, r := range b.Rays {
		errors[i] = 1000 * (chief - b.pathTo(r, centre, radius)) // µm
	}
	return Wavefront{Pupil: b.Pupil, Coefficients: f.solve(errors), Centre: unit.Millimetre(z)}
}

// pathTo is the optical path of a ray, followed back to the reference sphere.
func (b *Traced) pathTo(r Ray, centre Vec, radius float64) float64 {
	p := r.At.minus(centre)
	half := p.dot(r.Along)
	t := -half - math.Sqrt(max(half*half-p.dot(p)+radius*radius, 0))
	return r.Path + b.index*t
}
