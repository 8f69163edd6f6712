package risk

import (
	"errors"
	"fmt"
	"math"

	"linn/source"
	"linn/unit"
)

// z95 is the two-sided 95 % point of the normal distribution.
const z95 = 1.959963984540054

// Count is events among operations, or eyes.
type Count struct{ Events, Of int }

// Interval is a rate with a 95 % interval.
type Interval struct{ Rate, Low, High float64 }

// ErrCount says that a count cannot be.
var ErrCount = errors.New("no such count")

func (c Count) check() error {
	if c.Of < 1 || c.Events < 0 || c.Events > c.Of {
		return fmt.Errorf("risk: %w: %d of %d", ErrCount, c.Events, c.Of)
	}
	return nil
}

// Wilson is the 95 % score interval of a proportion.
func Wilson(c Count) (Interval, error) {
	if err := c.check(); err != nil {
		return Interval{}, err
	}
	n, p := float64(c.Of), float64(c.Events)/float64(c.Of)
	d := 1 + z95*z95/n
	mid := (p + z95*z95/(2*n)) / d
	half := z95 / d * math.Sqrt(p*(1-p)/n+z95*z95/(4*n*n))
	return Interval{p, math.Max(0, mid-half), math.Min(1, mid+half)}, nil
}

// UpperAfterNone is the one-sided 95 % upper bound of a rate after no event in
// n operations: 1 − 0.05^(1/n).
func UpperAfterNone(n int) (float64, error) {
	if n < 1 {
		return 0, fmt.Errorf("risk: %w: none of %d", ErrCount, n)
	}
	return 1 - math.Pow(0.05, 1/float64(n)), nil
}

// LeastForShift is how many operations a unit needs before its rate moves a
// model; FewExpected the expected events below which nothing is judged.
var (
	LeastForShift = source.Declare(source.Constant{Name: "risk.least-for-shift", Value: 200, Unit: "eyes", Ref: source.Ref{Key: source.OwnChoice, Where: "calibration to the unit", Grade: source.Own}})
	FewExpected   = source.Declare(source.Constant{Name: "risk.few-expected", Value: 10, Unit: "events", Ref: source.Ref{Key: source.OwnChoice, Where: "observed against expected", Grade: source.Own}})
)

// ErrFew says that there are too few operations, or events, to judge.
var ErrFew = errors.New("too few to judge")

// Calibrate finds the shift of the log odds that makes the mean of the
// predicted probabilities the observed rate, by bisection. It needs at least
// LeastForShift operations and one event that did and one that did not happen.
func Calibrate(predicted []float64, observed Count) (shift float64, err error) {
	if err := observed.check(); err != nil {
		return 0, err
	}
	if len(predicted) != observed.Of || float64(observed.Of) < LeastForShift || observed.Events == 0 || observed.Events == observed.Of {
		return 0, fmt.Errorf("risk: %w: %d events in %d operations", ErrFew, observed.Events, observed.Of)
	}
	return Shift(predicted, Interval{Rate: float64(observed.Events) / float64(observed.Of)})
}

// Shift solves logit(p') = logit(p) + a for the a whose mean p' is the rate of
// the target; the interval's bounds are not used. Probabilities must lie
// inside (0, 1), else the error is a *unit.RangeError.
func Shift(predicted []float64, target Interval) (float64, error) {
	for _, p := range append([]float64{target.Rate}, predicted...) {
		if !(p > 0 && p < 1) {
			return 0, &unit.RangeError{What: "probability", Got: p, Low: 0, High: 1}
		}
	}
	if len(predicted) == 0 {
		return 0, fmt.Errorf("risk: %w: no predictions", ErrFew)
	}
	low, high := -60.0, 60.0
	for range 200 {
		mid := (low + high) / 2
		if meanShifted(predicted, mid) < target.Rate {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, nil
}

func meanShifted(predicted []float64, shift float64) float64 {
	sum := 0.0
	for _, p := range predicted {
		sum += probability(logit(p) + shift)
	}
	return sum / float64(len(predicted))
}

// Shifted moves one probability by the unit's own shift.
func (o Own) Shifted(p float64) float64 { return probability(logit(p) + o.Shift) }

// Against is observed over expected with the exact 95 % Poisson interval.
// Below FewExpected expected events the error wraps ErrFew, with the numbers
// filled all the same.
func Against(observed int, expected float64) (ratio Interval, err error) {
	if observed < 0 || !(expected > 0) || math.IsInf(expected, 0) {
		return ratio, fmt.Errorf("risk: %w: %d against %g", ErrCount, observed, expected)
	}
	ratio = Interval{float64(observed) / expected, poissonLow(observed) / expected, poissonHigh(observed) / expected}
	if expected < FewExpected {
		return ratio, fmt.Errorf("risk: %w: %.1f expected", ErrFew, expected)
	}
	return ratio, nil
}

// poissonHigh is the mean under which n or fewer events have 2.5 %.
func poissonHigh(n int) float64 { return solvePoisson(n, 0.025) }

// poissonLow is the mean under which n or more events have 2.5 %.
func poissonLow(n int) float64 {
	if n == 0 {
		return 0
	}
	return solvePoisson(n-1, 0.975)
}

// solvePoisson finds the mean at which P(X ≤ n) is p.
func solvePoisson(n int, p float64) float64 {
	low, high := 0.0, 10+3*float64(n)
	for range 200 {
		mid := (low + high) / 2
		if poissonAtMost(mid, n) > p {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

func poissonAtMost(mean float64, n int) float64 {
	sum, term := 0.0, -mean
	for k := 0; k <= n; k++ {
		if k > 0 {
			term += math.Log(mean / float64(k))
		}
		sum += math.Exp(term)
	}
	return sum
}

// Rates are a rate without and one with a measure.
type Rates struct{ Without, With float64 }

// NumberNeeded is how many are treated for one event less: 1/(without − with).
// Without a benefit the error is a *unit.RangeError.
func NumberNeeded(r Rates) (float64, error) {
	if !(r.Without <= 1 && r.With >= 0 && r.Without > r.With) {
		return 0, &unit.RangeError{What: "rate with the measure", Got: r.With, Low: 0, High: r.Without}
	}
	return 1 / (r.Without - r.With), nil
}

// TwoOrMore is the chance of two or more events in n operations at a rate, by
// the binomial distribution: a cluster that chance alone would make.
func TwoOrMore(n int, rate float64) (float64, error) {
	if n < 1 || !(rate >= 0 && rate <= 1) {
		return 0, &unit.RangeError{What: "rate", Got: rate, Low: 0, High: 1}
	}
	if rate == 1 {
		if n > 1 {
			return 1, nil
		}
		return 0, nil
	}
	// The terms of two and more are summed: 1 minus the first two would lose
	// every digit of a rare cluster.
	term := math.Exp(float64(n) * math.Log1p(-rate))
	sum := 0.0
	for k := 1; k <= n; k++ {
		term *= float64(n-k+1) / float64(k) * rate / (1 - rate)
		if k >= 2 {
			sum += term
		}
	}
	return math.Min(sum, 1), nil
}

// InThousand is a probability as people count: the nearest whole number in
// 1000, and whether it is under one.
func InThousand(p float64) (n int, under bool) { return int(math.Round(p * 1000)), p > 0 && p*1000 < 1 }
