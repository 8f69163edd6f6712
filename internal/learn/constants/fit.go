package constants

import (
	"math"

	"linn/unit"
)

// Criterion is what a fitted constant makes right.
type Criterion string

// The criteria. Robust is the one proposals rest on.
const (
	Robust     Criterion = "robust"      // mean of the winsorised errors is 0
	ZeroMean   Criterion = "zero-mean"   // mean error is 0
	ZeroMedian Criterion = "zero-median" // median error is 0
	LeastRMS   Criterion = "least-rms"   // root mean square error is least
	LeastMAE   Criterion = "least-mae"   // mean absolute error is least
)

// Fit is a constant fitted to a set.
type Fit struct {
	Criterion Criterion
	Value     unit.Constant
	N         int
	SE        unit.Constant // SD of the errors/(√n · mean gradient); of the mean whatever the criterion
	Low, High unit.Constant // 95 % by Student's t
	Gradient  unit.Dioptre  // change of the mean prediction per unit of the constant
	Before    Errors        // at the constant in force
	After     Errors        // at Value
	Refused   []string      // IDs the method has no prediction for
	Far       []string      // IDs whose error lies beyond the winsorising limit: review the chart
}

// Errors sums up prediction errors, in D; SD is with n−1.
type Errors struct {
	Mean, SD, RMS, MAE unit.Dioptre
	WithinHalf         int // eyes within 0.50 D, inclusive
}

// leastEyes is the fewest eyes a fit is made from, and leastGradient the
// weakest mean gradient; both our own choice. A lens of 5 D has about 0.3 D/mm.
const (
	leastEyes     = 5
	leastGradient = 0.10 // D per unit
)

// Fit fits one constant. Errors: ErrReach, ErrTooFew below five eyes, ErrWeak,
// ErrOutOfReach.
func (s Set) Fit(by Criterion) (Fit, error) {
	if !(s.Reach > 0) || math.IsNaN(float64(s.InForce)) {
		return Fit{}, ErrReach
	}
	s, refused := s.split()
	if len(s.Cases) < leastEyes {
		return Fit{Refused: refused, N: len(s.Cases)}, ErrTooFew
	}
	value, err := s.value(by)
	if err != nil {
		return Fit{Refused: refused, N: len(s.Cases)}, err
	}
	f := s.describe(value)
	f.Criterion, f.Refused = by, refused
	return f, nil
}

// value finds the constant within reach.
func (s Set) value(by Criterion) (float64, error) {
	low, high := float64(s.InForce-s.Reach), float64(s.InForce+s.Reach)
	if math.Abs(s.gradient(float64(s.InForce))) < leastGradient {
		return 0, ErrWeak
	}
	if sum := map[Criterion]func([]float64) float64{LeastRMS: rms, LeastMAE: mae}[by]; sum != nil {
		at := least(low, high, func(c float64) float64 { return sum(s.errors(c)) })
		if margin := float64(s.Reach) * 1e-3; at < low+margin || at > high-margin {
			return 0, ErrOutOfReach
		}
		return at, nil
	}
	middle := mean
	switch by {
	case ZeroMedian:
		middle = median
	case Robust:
		middle = func(x []float64) float64 { drawn, _ := winsorised(x); return mean(drawn) }
	}
	at, ok := root(low, high, func(c float64) float64 { return middle(s.errors(c)) })
	if !ok {
		return 0, ErrOutOfReach
	}
	return at, nil
}

// describe says what a constant makes of the set.
func (s Set) describe(value float64) Fit {
	after := s.errors(value)
	n, g := len(after), s.gradient(value)
	se := sd(after) / (math.Sqrt(float64(n)) * math.Abs(g))
	half := t975(n-1) * se
	f := Fit{Value: unit.Constant(value), N: n, SE: unit.Constant(se), Low: unit.Constant(value - half), High: unit.Constant(value + half),
		Gradient: unit.Dioptre(g), Before: summed(s.errors(float64(s.InForce))), After: summed(after)}
	_, far := winsorised(after)
	for _, i := range far {
		f.Far = append(f.Far, s.Cases[i].ID)
	}
	return f
}

// halfDioptre is the band, with room for the binary rounding of eighths.
const halfDioptre = 0.5 + 1e-9

func summed(x []float64) Errors {
	e := Errors{Mean: unit.Dioptre(mean(x)), RMS: unit.Dioptre(rms(x)), MAE: unit.Dioptre(mae(x))}
	if len(x) > 1 {
		e.SD = unit.Dioptre(sd(x))
	}
	for _, v := range x {
		if math.Abs(v) <= halfDioptre {
			e.WithinHalf++
		}
	}
	return e
}
