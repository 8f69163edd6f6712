package constants

import (
	"math"

	"linn/unit"
)

// Eyes is one patient's pair of errors under the same method and constant.
type Eyes struct{ First, Second unit.Dioptre }

// Fellow is how much of the first eye's error the second shares.
type Fellow struct {
	N             int
	Correlation   unit.Ratio
	Slope         unit.Ratio   // of second on first
	ThroughOrigin unit.Ratio   // without an intercept
	SE            unit.Ratio   // of ThroughOrigin
	Weight        unit.Ratio   // ThroughOrigin drawn towards one half, held to 0 to 1
	Unchanged     unit.Dioptre // mean absolute error of the second eyes
	ByHalf        unit.Dioptre // with half of the first error taken off
	ByWeight      unit.Dioptre // with Weight; from the eyes it was made from
}

// The published weight, one half, and how far apart weights of methods and
// series lie (0.30 to 0.56 by method; Turnbull and Barrett 2019, from memory),
// taken as the SD of the prior.
const (
	halfWeight  = 0.5
	weightPrior = 0.1
)

// OwnWeight learns the second-eye weight from own pairs. ErrTooFew below ten
// pairs, ErrWeak when the first eyes do not differ.
func OwnWeight(pairs []Eyes) (Fellow, error) {
	if len(pairs) < 10 {
		return Fellow{N: len(pairs)}, ErrTooFew
	}
	x, y := make([]float64, len(pairs)), make([]float64, len(pairs))
	var xx, xy float64
	for i, p := range pairs {
		x[i], y[i] = float64(p.First), float64(p.Second)
		xx, xy = xx+x[i]*x[i], xy+x[i]*y[i]
	}
	sxx, syy := cross(x, x), cross(y, y)
	if !(sxx > 0 && syy > 0) {
		return Fellow{N: len(pairs)}, ErrWeak
	}
	b, left := xy/xx, 0.0
	for i := range x {
		left += (y[i] - b*x[i]) * (y[i] - b*x[i])
	}
	v := left / float64(len(x)-1) / xx
	w := b
	if v > 0 {
		w = (b/v + halfWeight/(weightPrior*weightPrior)) / (1/v + 1/(weightPrior*weightPrior))
	}
	w = min(1, max(0, w))
	return Fellow{N: len(x), Correlation: unit.Ratio(cross(x, y) / math.Sqrt(sxx*syy)), Slope: unit.Ratio(cross(x, y) / sxx),
		ThroughOrigin: unit.Ratio(b), SE: unit.Ratio(math.Sqrt(v)), Weight: unit.Ratio(w),
		Unchanged: taken(pairs, 0), ByHalf: taken(pairs, halfWeight), ByWeight: taken(pairs, w)}, nil
}

// taken is the mean absolute error of the second eyes with a share of the first
// eyes' errors taken off.
func taken(pairs []Eyes, share float64) unit.Dioptre {
	e := make([]float64, len(pairs))
	for i, p := range pairs {
		e[i] = float64(p.Second) - share*float64(p.First)
	}
	return unit.Dioptre(mae(e))
}
