package uncertainty

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"linn/unit"
)

// Draws says how often a simulation draws, and from which stream. The same
// stream gives the same numbers.
type Draws struct {
	N      int
	Source rand.Source
}

// mostDraws bounds what one call may keep in memory.
const mostDraws = 5_000_000

// Sample are the refractions that simulated eyes got, in D.
type Sample struct {
	Predicted unit.Dioptre // without any error
	Values    []float64    // in the order of the draws
	Failed    int          // draws for which the calculation had no answer
}

// Simulate draws eyes around b.At and computes each by every calculation, the
// same draws for all, so that what differs between them is not chance. Errors
// may hang together as b says. It returns one sample per calculation. A
// calculation that has no answer at b.At is an error; one that has none for a
// draw is counted in Failed and no value is made up.
func Simulate(eyes []Eye, b Budget, d Draws) ([]Sample, error) {
	corr, err := b.matrix()
	if err != nil {
		return nil, err
	}
	if !(d.N >= 1 && d.N <= mostDraws) || d.Source == nil {
		return nil, fmt.Errorf("%w: %d draws", ErrBudget, d.N)
	}
	out := make([]Sample, len(eyes))
	for i, f := range eyes {
		r, err := f(b.At)
		if err != nil {
			return nil, fmt.Errorf("uncertainty: %w", err)
		}
		if !unit.Finite(r) {
			return nil, &unit.RangeError{What: "refraction_d", Got: float64(r), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
		}
		out[i] = Sample{Predicted: r, Values: make([]float64, 0, d.N)}
	}
	s := newSampler(b, corr, d.Source)
	for range d.N {
		p, added := s.next()
		for i, f := range eyes {
			r, err := f(p)
			if v := float64(r) + added; err == nil && !math.IsNaN(v) && !math.IsInf(v, 0) {
				out[i].Values = append(out[i].Values, v)
			} else {
				out[i].Failed++
			}
		}
	}
	for i := range out {
		if len(out[i].Values) == 0 {
			return nil, fmt.Errorf("%w: no draw has an answer", ErrBudget)
		}
	}
	return out, nil
}

// sampler draws errors that hang together.
type sampler struct {
	b      Budget
	n      int
	plain  bool // nothing hangs together
	factor matrix
	rand   *rand.Rand
}

func newSampler(b Budget, corr matrix, source rand.Source) *sampler {
	s := &sampler{b: b, n: len(b.Inputs), plain: len(b.Correlations) == 0, rand: rand.New(source)}
	for i := range s.n { // Cholesky; a pivot of nothing is a correlation of ±1
		for j := range i + 1 {
			sum := corr[i][j]
			for k := range j {
				sum -= s.factor[i][k] * s.factor[j][k]
			}
			switch {
			case i == j:
				s.factor[i][i] = math.Sqrt(max(sum, 0))
			case s.factor[j][j] > math.Sqrt(nothing):
				s.factor[i][j] = sum / s.factor[j][j]
			}
		}
	}
	return s
}

// next draws one eye, and what is added to its refraction.
func (s *sampler) next() (Point, float64) {
	var z, mixed [kinds]float64
	for i := range s.n {
		z[i] = s.rand.NormFloat64()
	}
	mixed = z
	if !s.plain {
		for i := range s.n {
			mixed[i] = 0
			for k := range i + 1 {
				mixed[i] += s.factor[i][k] * z[k]
			}
		}
	}
	p, added := s.b.At, float64(s.b.Offset)
	for i := range s.n {
		in := &s.b.Inputs[i]
		e := mixed[i]
		if in.Uniform { // the same rank in a uniform distribution
			e = math.Sqrt(3) * math.Erf(e/math.Sqrt2)
		}
		if e *= in.SD; in.Kind.additive() {
			added += e
		} else {
			p = p.moved(in.Kind, e)
		}
	}
	return p, added
}

// Mean of the refractions.
func (s Sample) Mean() unit.Dioptre {
	sum := 0.0
	for _, v := range s.Values {
		sum += v
	}
	return unit.Dioptre(sum / float64(len(s.Values)))
}

// SD of the refractions around their mean.
func (s Sample) SD() unit.Dioptre {
	m, sum := float64(s.Mean()), 0.0
	for _, v := range s.Values {
		sum += (v - m) * (v - m)
	}
	return unit.Dioptre(math.Sqrt(sum / float64(max(len(s.Values)-1, 1))))
}

// Within is the share of all draws, failed ones among them, that land within
// half of the target, on either side.
func (s Sample) Within(l Landing) unit.Percent {
	low, high := float64(l.Target-l.Half), float64(l.Target+l.Half)
	n := 0
	for _, v := range s.Values {
		if v >= low && v <= high {
			n++
		}
	}
	return unit.Percent(100 * float64(n) / float64(len(s.Values)+s.Failed))
}

// Landing is a target and how far from it still counts.
type Landing struct{ Target, Half unit.Dioptre }

// Quantile is the refraction below which the share of eyes lands that came out.
// A share outside 0–100 is a *unit.RangeError.
func (s Sample) Quantile(share unit.Percent) (unit.Dioptre, error) {
	if !(share >= 0 && share <= 100) {
		return 0, &unit.RangeError{What: "share", Got: float64(share), Low: 0, High: 100, Unit: "%"}
	}
	v := slices.Clone(s.Values)
	slices.Sort(v)
	at := share.Fraction() * float64(len(v)-1)
	i := min(int(at), len(v)-1)
	j := min(i+1, len(v)-1)
	return unit.Dioptre(v[i] + (at-float64(i))*(v[j]-v[i])), nil
}
