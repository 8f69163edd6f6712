package audit

import "math"

// chance is the binomial probability of k events among n at rate p.
func chance(k, n int, p float64) float64 {
	switch {
	case k < 0 || k > n:
		return 0
	case p <= 0:
		return boolean(k == 0)
	case p >= 1:
		return boolean(k == n)
	}
	return math.Exp(logFactorial(n) - logFactorial(k) - logFactorial(n-k) + float64(k)*math.Log(p) + float64(n-k)*math.Log1p(-p))
}

func boolean(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func logFactorial(n int) float64 {
	v, _ := math.Lgamma(float64(n) + 1)
	return v
}

// atMost is the binomial probability of at most k events.
func atMost(k, n int, p float64) float64 {
	sum := 0.0
	for i := 0; i <= k; i++ {
		sum += chance(i, n, p)
	}
	return math.Min(1, sum)
}

// AtLeast is the exact chance of k or more events among n at rate p.
func AtLeast(t Tally, p float64) float64 {
	sum := 0.0
	for i := t.Events; i <= t.N; i++ {
		sum += chance(i, t.N, p)
	}
	return math.Min(1, sum)
}

// Funnel is the limits of a funnel plot: 95 % and 99.8 %.
type Funnel struct{ Inner, Outer Interval }

// FunnelLimits are the exact interpolated limits of the rate of n operations
// when the true rate is target (spiegelhalter2005, from memory).
func FunnelLimits(n int, target float64) Funnel {
	limit := func(q float64) float64 {
		r, below := 0, chance(0, n, target)
		for below < q && r < n {
			r++
			below += chance(r, n, target)
		}
		alpha := (below - q) / chance(r, n, target)
		return math.Min(1, math.Max(0, (float64(r)-alpha)/float64(n)))
	}
	return Funnel{Interval{limit(0.025), limit(0.975)}, Interval{limit(0.001), limit(0.999)}}
}
