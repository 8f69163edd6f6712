package constants

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

func sd(x []float64) float64 {
	m, sum := mean(x), 0.0
	for _, v := range x {
		sum += (v - m) * (v - m)
	}
	return math.Sqrt(sum / float64(len(x)-1))
}

func rms(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return math.Sqrt(sum / float64(len(x)))
}

func mae(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += math.Abs(v)
	}
	return sum / float64(len(x))
}

func median(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// Winsorising: errors further than this many robust SDs from the median count
// as if they lay there. Our own choice, of the usual size; 1.4826 makes the
// median absolute deviation the SD of a normal distribution.
const (
	winsorAt = 3.5
	madToSD  = 1.4826
)

// winsorised returns the errors drawn in and which were.
func winsorised(x []float64) (drawn []float64, far []int) {
	m := median(x)
	dev := make([]float64, len(x))
	for i, v := range x {
		dev[i] = math.Abs(v - m)
	}
	limit := winsorAt * madToSD * median(dev)
	drawn = slices.Clone(x)
	for i, v := range x {
		if dev[i] > limit && limit > 0 {
			drawn[i] = m + math.Copysign(limit, v-m)
			far = append(far, i)
		}
	}
	return drawn, far
}

// t975 is the quantile that bounds the middle 95 % of Student's t.
func t975(df int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(df)}.Quantile(0.975)
}

// root finds where f changes sign, by halving, to the last bits.
func root(low, high float64, f func(float64) float64) (float64, bool) {
	a, b := f(low), f(high)
	if !(a*b <= 0) {
		return 0, false
	}
	for range 60 {
		mid := (low + high) / 2
		if v := f(mid); v*a > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, true
}

// least finds the least value of a valley by the golden section.
func least(low, high float64, f func(float64) float64) float64 {
	ratio := (math.Sqrt(5) - 1) / 2
	x1, x2 := high-ratio*(high-low), low+ratio*(high-low)
	f1, f2 := f(x1), f(x2)
	for high-low > 1e-9 {
		if f1 < f2 {
			high, x2, f2 = x2, x1, f1
			x1 = high - ratio*(high-low)
			f1 = f(x1)
		} else {
			low, x1, f1 = x1, x2, f2
			x2 = low + ratio*(high-low)
			f2 = f(x2)
		}
	}
	return (low + high) / 2
}
