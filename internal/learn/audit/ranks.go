package audit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Ranked is the result of Friedman's test of k methods on the same eyes.
type Ranked struct {
	ChiSquared float64
	DF         int
	P          float64
	MeanRanks  []float64
	W          float64 // Kendall's concordance
}

// midranks gives ranks from 1, ties sharing their mean, and Σ(t³ − t).
func midranks(x []float64) (ranks []float64, ties float64) {
	at := make([]int, len(x))
	for i := range at {
		at[i] = i
	}
	slices.SortFunc(at, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	ranks = make([]float64, len(x))
	for i := 0; i < len(at); {
		j := i
		for j < len(at) && x[at[j]] == x[at[i]] {
			j++
		}
		for _, k := range at[i:j] {
			ranks[k] = float64(i+j+1) / 2
		}
		t := float64(j - i)
		ties += t*t*t - t
		i = j
	}
	return ranks, ties
}

// Friedman compares k ≥ 2 methods by rank within each eye. rows has one eye a
// row, the same length each. When all methods tie on every eye, P is 1.
func Friedman(rows [][]float64) Ranked {
	n, k := float64(len(rows)), float64(len(rows[0]))
	sums := make([]float64, len(rows[0]))
	allTies := 0.0
	for _, row := range rows {
		r, t := midranks(row)
		allTies += t
		for j, v := range r {
			sums[j] += v
		}
	}
	out := Ranked{DF: len(sums) - 1, P: 1}
	q := 0.0
	for _, s := range sums {
		out.MeanRanks = append(out.MeanRanks, s/n)
		q += s * s
	}
	if c := 1 - allTies/(n*k*(k*k-1)); c > 0 {
		out.ChiSquared = (12/(n*k*(k+1))*q - 3*n*(k+1)) / c
		out.P = distuv.ChiSquared{K: k - 1}.Survival(out.ChiSquared)
	}
	out.W = out.ChiSquared / (n * (k - 1))
	return out
}

// Signed is the result of Wilcoxon's signed-rank test.
type Signed struct {
	N     int     // differences other than 0
	V     float64 // sum of the ranks of the positive ones
	P     float64
	Exact bool // fewer than 50 and no ties; otherwise normal with continuity correction
}

// Wilcoxon tests whether differences lie evenly around 0. Differences are
// rounded to 1e-9 first; zeros are dropped; with none left P is 1.
func Wilcoxon(d []float64) Signed {
	var kept, size []float64
	for _, v := range d {
		if v = math.Round(v*1e9) / 1e9; v != 0 {
			kept, size = append(kept, v), append(size, math.Abs(v))
		}
	}
	s := Signed{N: len(kept), P: 1}
	if s.N == 0 {
		return s
	}
	ranks, ties := midranks(size)
	for i, v := range kept {
		if v > 0 {
			s.V += ranks[i]
		}
	}
	if s.Exact = s.N < 50 && ties == 0 && s.N == len(d); s.Exact {
		s.P = exactSigned(s.N, int(s.V))
		return s
	}
	m := float64(s.N)
	off := math.Max(0, math.Abs(s.V-m*(m+1)/4)-0.5)
	s.P = 2 * distuv.UnitNormal.Survival(off/math.Sqrt(m*(m+1)*(2*m+1)/24-ties/48))
	s.P = math.Min(1, s.P)
	return s
}

// exactSigned counts the subsets of ranks 1…n whose sum is as far out as v.
func exactSigned(n, v int) float64 {
	top := n * (n + 1) / 2
	ways := make([]float64, top+1)
	ways[0] = 1
	for r := 1; r <= n; r++ {
		for s := top; s >= r; s-- {
			ways[s] += ways[s-r]
		}
	}
	v = min(v, top-v)
	sum := 0.0
	for s := 0; s <= v; s++ {
		sum += ways[s]
	}
	return math.Min(1, 2*sum/math.Exp2(float64(n)))
}

// Holm corrects p values for their number, keeping their order.
func Holm(p []float64) []float64 {
	at := make([]int, len(p))
	for i := range at {
		at[i] = i
	}
	slices.SortFunc(at, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	out, worst := make([]float64, len(p)), 0.0
	for i, k := range at {
		worst = math.Max(worst, math.Min(1, float64(len(p)-i)*p[k]))
		out[k] = worst
	}
	return out
}
