package audit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// CochranQ compares k shares on the same eyes: hits has one eye a row, true
// where the method was within the bound. When no eye tells methods apart, P is 1.
func CochranQ(hits [][]bool) (q, p float64) {
	k := float64(len(hits[0]))
	columns := make([]float64, len(hits[0]))
	n, rows := 0.0, 0.0
	for _, eye := range hits {
		l := 0.0
		for j, hit := range eye {
			if hit {
				columns[j]++
				l++
			}
		}
		n, rows = n+l, rows+l*l
	}
	if k*n == rows {
		return 0, 1
	}
	q = (k - 1) * (k*k*meanSquare(columns) - n*n) / (k*n - rows)
	return q, distuv.ChiSquared{K: k - 1}.Survival(q)
}

// McNemar is the comparison of two shares on the same eyes, by the eyes that
// only one of them hits.
type McNemar struct{ OnlyFirst, OnlySecond int }

// Exact is the two-sided binomial p value.
func (m McNemar) Exact() float64 {
	return math.Min(1, 2*atMost(min(m.OnlyFirst, m.OnlySecond), m.OnlyFirst+m.OnlySecond, 0.5))
}

// MidP is the exact p value with half the chance of what was seen, in each
// tail; 1 when the methods never differ.
func (m McNemar) MidP() float64 {
	k, n := min(m.OnlyFirst, m.OnlySecond), m.OnlyFirst+m.OnlySecond
	switch {
	case n == 0:
		return 1
	case m.OnlyFirst == m.OnlySecond: // the tails share what was seen
		return 1 - chance(k, n, 0.5)/2
	}
	return 2*atMost(k, n, 0.5) - chance(k, n, 0.5)
}

// Against is a test statistic with its p value.
type Against struct{ T, P float64 }

// Spread compares the standard deviations of two methods on the same n ≥ 3
// eyes by the slope of their difference on their sum: Classic after Pitman and
// Morgan, Robust with the HC4 variance, which stands fat tails.
type Spread struct{ Classic, Robust Against }

// CompareSpread compares the spread of x and y, of the same length. ok is
// false when either cannot be compared: fewer than 3 eyes or the same errors.
func CompareSpread(x, y []float64) (s Spread, ok bool) {
	sum, diff := make([]float64, len(x)), make([]float64, len(x))
	for i := range x {
		sum[i], diff[i] = x[i]+y[i], x[i]-y[i]
	}
	n, sxx, sdd := float64(len(x)), squares(sum), squares(diff)
	if n < 3 || sxx <= 0 || sdd <= 0 {
		return s, false
	}
	ms, md, cross := mean(sum), mean(diff), 0.0
	for i := range sum {
		cross += (sum[i] - ms) * (diff[i] - md)
	}
	r := cross / math.Sqrt(sxx*sdd)
	s.Classic = student(r*math.Sqrt((n-2)/(1-r*r)), n-2)
	slope, v := cross/sxx, 0.0
	for i := range sum {
		c := sum[i] - ms
		e, h := diff[i]-md-slope*c, 1/n+c*c/sxx
		v += c * c * e * e / math.Pow(1-h, math.Min(4, n*h/2))
	}
	s.Robust = student(slope*sxx/math.Sqrt(v), n-2)
	return s, true
}

func student(t, df float64) Against {
	return Against{t, 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Survival(math.Abs(t))}
}

// Yuen is the comparison of two 20 % trimmed means on the same eyes.
type Yuen struct{ Difference, SE, DF, P float64 }

// CompareTrimmed compares x with y, of the same length; ok is false when
// nothing varies or fewer than 2 eyes are left after trimming.
func CompareTrimmed(x, y []float64) (u Yuen, ok bool) {
	n := len(x)
	h := n - 2*fifth(n)
	if h < 2 {
		return u, false
	}
	wx, wy := winsorised(x), winsorised(y)
	mx, my, cross := mean(wx), mean(wy), 0.0
	for i := range wx {
		cross += (wx[i] - mx) * (wy[i] - my)
	}
	u.SE = math.Sqrt((squares(wx) + squares(wy) - 2*cross) / float64(h*(h-1)))
	u.Difference = trimmed(slices.Sorted(slices.Values(x))) - trimmed(slices.Sorted(slices.Values(y)))
	u.DF = float64(h - 1)
	if u.SE <= 0 {
		return u, false
	}
	u.P = student(u.Difference/u.SE, u.DF).P
	return u, true
}

func winsorised(x []float64) []float64 {
	s := slices.Sorted(slices.Values(x))
	g := fifth(len(x))
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = math.Min(math.Max(v, s[g]), s[len(s)-1-g])
	}
	return out
}
