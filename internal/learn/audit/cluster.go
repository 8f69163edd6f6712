package audit

import (
	"math"
	"math/rand/v2"
	"slices"
)

// Eye is an error with the patient it belongs to: both eyes of a patient are
// not two independent eyes.
type Eye struct {
	Patient string
	Error   float64
}

// Grouped gathers the errors by patient, in the order of their first eye.
func Grouped(eyes []Eye) (groups [][]float64) {
	at := map[string]int{}
	for _, e := range eyes {
		i, ok := at[e.Patient]
		if !ok {
			i = len(groups)
			at[e.Patient] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], e.Error)
	}
	return groups
}

// MeanSE is the standard error of the mean error that knows patients: CR1 and
// CR2 after the usual sandwich. With one patient both are NaN.
func MeanSE(eyes []Eye) (cr1, cr2 float64) {
	groups, n, total := Grouped(eyes), float64(len(eyes)), 0.0
	for _, e := range eyes {
		total += e.Error
	}
	m, plain, corrected := total/n, 0.0, 0.0
	for _, g := range groups {
		r := 0.0
		for _, e := range g {
			r += e - m
		}
		plain += r * r
		corrected += r * r / (1 - float64(len(g))/n)
	}
	k := float64(len(groups))
	if k < 2 {
		return math.NaN(), math.NaN()
	}
	return math.Sqrt(plain*k/(k-1)) / n, math.Sqrt(corrected) / n
}

// Resample is how a bootstrap draws.
type Resample struct {
	Times int         // at least 2000 for an interval that is shown
	Draw  rand.Source // seeded by the caller
}

// Bootstrap is the percentile interval of a statistic of the errors, patients
// being drawn with all their eyes.
func Bootstrap(groups [][]float64, of func([]float64) float64, r Resample) Interval {
	draw := rand.New(r.Draw)
	values := make([]float64, r.Times)
	var sample []float64
	for i := range values {
		sample = sample[:0]
		for range groups {
			sample = append(sample, groups[draw.IntN(len(groups))]...)
		}
		values[i] = of(sample)
	}
	slices.Sort(values)
	return Interval{quantile(values, 0.025), quantile(values, 0.975)}
}

// MAE is the mean absolute error of a sample, for [Bootstrap].
func MAE(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += math.Abs(v)
	}
	return sum / float64(len(x))
}

// SD is the standard deviation of a sample, for [Bootstrap].
func SD(x []float64) float64 { return sd(x) }
