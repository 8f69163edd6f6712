package uncertainty

import (
	"errors"
	"fmt"
	"math"

	"linn/source"
	"linn/unit"
)

// ErrBudget is what every error about a budget itself wraps.
var ErrBudget = errors.New("uncertainty: the budget is not one")

// Source is what one input contributes.
type Source struct {
	Kind       Kind
	SD         float64 // in the unit of its kind
	Derivative float64 // D per unit of its kind
	Spread     unit.Dioptre
	Share      float64 // of the variance, correlations split evenly; all add to 1
	Ref        source.Ref
}

// Result is how a refraction spreads around its prediction.
type Result struct {
	SD      unit.Dioptre
	Offset  unit.Dioptre
	Sources []Source // in the order of the inputs
}

// step is the half-width of the finite differences, in mm or D: small enough
// that curvature adds less than 1e-6, large enough that rounding adds less
// than 1e-10.
const step = 1e-3

// Propagate carries the spreads of b through f to the spread of the
// refraction, to first order: SD² = Σ ∂i·∂j·SDi·SDj·Rij, with central
// differences of f. Errors of f, values that are not finite and budgets that
// are not one (unknown or repeated kinds, negative spreads, correlations that
// contradict each other) are returned, never bridged.
func Propagate(f Eye, b Budget) (Result, error) {
	corr, err := b.matrix()
	if err != nil {
		return Result{}, err
	}
	r := Result{Offset: b.Offset, Sources: make([]Source, len(b.Inputs))}
	for i, in := range b.Inputs {
		d, err := derivative(f, b.At, in.Kind)
		if err != nil {
			return Result{}, err
		}
		r.Sources[i] = Source{Kind: in.Kind, SD: in.SD, Derivative: d, Spread: unit.Dioptre(math.Abs(d) * in.SD), Ref: in.Ref}
	}
	r.share(corr)
	return r, nil
}

// share fills the total and the shares: of each covariance, half goes to
// either side.
func (r *Result) share(corr matrix) {
	parts := make([]float64, len(r.Sources))
	total := 0.0
	for i, a := range r.Sources {
		for j, b := range r.Sources {
			parts[i] += a.Derivative * a.SD * b.Derivative * b.SD * corr[i][j]
		}
		total += parts[i]
	}
	r.SD = unit.Dioptre(math.Sqrt(max(total, 0)))
	for i := range parts {
		if total > 0 {
			r.Sources[i].Share = parts[i] / total
		}
	}
}

func derivative(f Eye, at Point, k Kind) (float64, error) {
	if k.additive() {
		return 1, nil
	}
	up, err := f(at.moved(k, step))
	if err != nil {
		return 0, fmt.Errorf("uncertainty: %s: %w", k, err)
	}
	down, err := f(at.moved(k, -step))
	if err != nil {
		return 0, fmt.Errorf("uncertainty: %s: %w", k, err)
	}
	d := float64(up-down) / (2 * step)
	if math.IsNaN(d) || math.IsInf(d, 0) {
		return 0, &unit.RangeError{What: k.String(), Got: d, Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	return d, nil
}

// matrix is a correlation matrix, as large as the budget has inputs.
type matrix [kinds][kinds]float64

// matrix checks the budget and returns its correlations in input order.
func (b *Budget) matrix() (corr matrix, err error) {
	if len(b.Inputs) == 0 {
		return corr, fmt.Errorf("%w: no inputs", ErrBudget)
	}
	var at [kinds]int // place + 1
	for i, in := range b.Inputs {
		switch {
		case !in.Kind.known():
			return corr, fmt.Errorf("%w: %s", ErrBudget, in.Kind)
		case at[in.Kind] != 0:
			return corr, fmt.Errorf("%w: %s twice", ErrBudget, in.Kind)
		case !(in.SD >= 0) || math.IsInf(in.SD, 0) || !(in.Fixed >= 0 && in.Fixed <= in.SD):
			return corr, fmt.Errorf("%w: %s has the spread %g, %g of it fixed", ErrBudget, in.Kind, in.SD, in.Fixed)
		}
		at[in.Kind] = i + 1
		corr[i][i] = 1
	}
	if !unit.Finite(b.Offset) {
		return corr, fmt.Errorf("%w: offset", ErrBudget)
	}
	for _, c := range b.Correlations {
		i, j := place(at, c.Between[0]), place(at, c.Between[1])
		if i < 0 || j < 0 || i == j || !(c.R >= -1 && c.R <= 1) {
			return corr, fmt.Errorf("%w: correlation %g of %s and %s", ErrBudget, c.R, c.Between[0], c.Between[1])
		}
		corr[i][j], corr[j][i] = c.R, c.R
	}
	if !corr.possible(len(b.Inputs)) {
		return corr, fmt.Errorf("%w: the correlations contradict each other", ErrBudget)
	}
	return corr, nil
}

func place(at [kinds]int, k Kind) int {
	if !k.known() {
		return -1
	}
	return at[k] - 1
}

// nothing is what elimination may leave by rounding where it should leave
// zero: the matrix is at most 9 by 9 and its entries at most 1.
const nothing = 1e-12

// possible reports whether the leading n by n part is positive semidefinite,
// by symmetric elimination: no pivot may be negative, and where one is zero
// (correlation ±1) nothing may be left beside it.
func (m matrix) possible(n int) bool {
	for p := range n {
		if m[p][p] < -nothing {
			return false
		}
		for i := p + 1; i < n; i++ {
			if m[p][p] <= nothing {
				if math.Abs(m[i][p]) > math.Sqrt(nothing) {
					return false
				}
				continue
			}
			f := m[i][p] / m[p][p]
			for j := p + 1; j < n; j++ {
				m[i][j] -= f * m[p][j]
			}
		}
	}
	return true
}

// Within is the chance that the refraction lands within half of the
// prediction, on either side: ±0.50 D is half 0.5. The offset counts.
func (r Result) Within(half unit.Dioptre) unit.Percent {
	m, s, h := float64(r.Offset), float64(r.SD), float64(half)
	if !(h >= 0) {
		return 0
	}
	if s == 0 {
		if math.Abs(m) <= h {
			return 100
		}
		return 0
	}
	return unit.Percent(50 * (math.Erfc((m-h)/(s*math.Sqrt2)) - math.Erfc((m+h)/(s*math.Sqrt2))))
}

// Band is the half-width around the mean (prediction plus offset) inside which
// the given share of such eyes lands: 68.27 % gives one SD, 66.67 % the band
// of two in three. A share outside 0–100 is a *unit.RangeError.
func (r Result) Band(share unit.Percent) (unit.Dioptre, error) {
	if !(share > 0 && share < 100) {
		return 0, &unit.RangeError{What: "share", Got: float64(share), Low: 0, High: 100, Unit: "%"}
	}
	return r.SD * unit.Dioptre(math.Sqrt2*math.Erfinv(float64(share)/100)), nil
}
