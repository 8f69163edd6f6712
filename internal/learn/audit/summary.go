package audit

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Steps are the bounds, in D, of which [Summary.Within] tells the share.
var Steps = []float64{0.25, 0.50, 0.75, 1.00, 2.00}

// guard lets an error that is a step on paper count as within it.
const guard = 1e-9

// Interval is a lower and an upper bound.
type Interval struct{ Low, High float64 }

// Summary describes the errors of one method, in D.
type Summary struct {
	N                   int
	Mean, SD, RMS       float64 // SD is NaN for one eye
	MAE, MedAE          float64
	Trimmed, TrimmedAbs float64 // means without the lowest and highest fifth
	Median, Q05, Q95    float64 // of the signed errors
	MaxAbs              float64
	Within              []int    // eyes within each of Steps, the bound included
	MeanCI, SDCI        Interval // normal theory; NaN for one eye
}

// ErrNoEyes is returned where no eye is left to describe.
var ErrNoEyes = fmt.Errorf("audit: no eyes")

// Describe summarises errors in D. It refuses an empty list and a number that
// is not finite.
func Describe(pe []float64) (Summary, error) {
	if err := usable(pe); err != nil {
		return Summary{}, err
	}
	sorted, abs := slices.Sorted(slices.Values(pe)), absolutes(pe)
	slices.Sort(abs)
	s := Summary{
		N: len(pe), Mean: mean(pe), SD: sd(pe), RMS: math.Sqrt(meanSquare(pe)),
		MAE: mean(abs), MedAE: quantile(abs, 0.5), Trimmed: trimmed(sorted), TrimmedAbs: trimmed(abs),
		Median: quantile(sorted, 0.5), Q05: quantile(sorted, 0.05), Q95: quantile(sorted, 0.95),
		MaxAbs: abs[len(abs)-1],
	}
	for _, step := range Steps {
		n, _ := slices.BinarySearchFunc(abs, step+guard, func(a, b float64) int {
			if a <= b {
				return -1
			}
			return 1
		})
		s.Within = append(s.Within, n)
	}
	s.MeanCI, s.SDCI = normalIntervals(s)
	return s, nil
}

// Zeroed subtracts the mean from every error: the way to compare methods, not
// to change a constant.
func Zeroed(pe []float64) []float64 {
	m := mean(pe)
	out := make([]float64, len(pe))
	for i, e := range pe {
		out[i] = e - m
	}
	return out
}

func usable(pe []float64) error {
	if len(pe) == 0 {
		return ErrNoEyes
	}
	for i, e := range pe {
		if math.IsNaN(e) || math.IsInf(e, 0) {
			return fmt.Errorf("audit: error %d is not a finite number", i+1)
		}
	}
	return nil
}

func normalIntervals(s Summary) (m, d Interval) {
	if s.N < 2 {
		nan := Interval{math.NaN(), math.NaN()}
		return nan, nan
	}
	df := float64(s.N - 1)
	half := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(0.975) * s.SD / math.Sqrt(float64(s.N))
	chi := distuv.ChiSquared{K: df}
	return Interval{s.Mean - half, s.Mean + half},
		Interval{s.SD * math.Sqrt(df/chi.Quantile(0.975)), s.SD * math.Sqrt(df/chi.Quantile(0.025))}
}

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func meanSquare(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return sum / float64(len(x))
}

// squares is the sum of squares around the mean.
func squares(x []float64) float64 {
	m, sum := mean(x), 0.0
	for _, v := range x {
		sum += (v - m) * (v - m)
	}
	return sum
}

// sd divides by n − 1; of one number it is NaN.
func sd(x []float64) float64 { return math.Sqrt(squares(x) / float64(len(x)-1)) }

func absolutes(x []float64) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Abs(v)
	}
	return out
}

// quantile is of type 7, of a sorted list.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	i := int(at)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// fifth is how many are dropped at each end for a 20 % trimmed mean.
func fifth(n int) int { return n / 5 }

func trimmed(sorted []float64) float64 {
	g := fifth(len(sorted))
	return mean(sorted[g : len(sorted)-g])
}
