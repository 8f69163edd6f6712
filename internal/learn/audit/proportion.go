package audit

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// z975 is the normal quantile of a two-sided 95 % interval.
var z975 = distuv.UnitNormal.Quantile(0.975)

// Tally is events among n; 0 ≤ Events ≤ N and N ≥ 1, which [Tally.Valid] says.
type Tally struct{ Events, N int }

// Valid says whether the counts can be counts.
func (t Tally) Valid() bool { return t.N >= 1 && t.Events >= 0 && t.Events <= t.N }

// Rate is the share of events.
func (t Tally) Rate() float64 { return float64(t.Events) / float64(t.N) }

// Wilson is the interval to show (newcombe1998).
func (t Tally) Wilson() Interval {
	n, p := float64(t.N), t.Rate()
	z2 := z975 * z975
	mid, half := p+z2/(2*n), z975*math.Sqrt(p*(1-p)/n+z2/(4*n*n))
	i := Interval{(mid - half) / (1 + z2/n), (mid + half) / (1 + z2/n)}
	if t.Events == 0 {
		i.Low = 0
	}
	if t.Events == t.N {
		i.High = 1
	}
	return i
}

// Exact is the interval of Clopper and Pearson: what the count cannot exclude.
func (t Tally) Exact() Interval {
	x, n := float64(t.Events), float64(t.N)
	i := Interval{0, 1}
	if t.Events > 0 {
		i.Low = mathext.InvRegIncBeta(x, n-x+1, 0.025)
	}
	if t.Events < t.N {
		i.High = mathext.InvRegIncBeta(x+1, n-x, 0.975)
	}
	return i
}

// UpTo is the highest true rate the count is compatible with, one-sided 95 %:
// none in 20 is compatible with a rate up to 14 %.
func (t Tally) UpTo() float64 {
	if t.Events == t.N {
		return 1
	}
	return mathext.InvRegIncBeta(float64(t.Events)+1, float64(t.N-t.Events), 0.95)
}

// Jeffreys is the interval by the prior Beta(½, ½).
func (t Tally) Jeffreys() Interval {
	a, b := float64(t.Events)+0.5, float64(t.N-t.Events)+0.5
	i := Interval{mathext.InvRegIncBeta(a, b, 0.025), mathext.InvRegIncBeta(a, b, 0.975)}
	if t.Events == 0 {
		i.Low = 0
	}
	if t.Events == t.N {
		i.High = 1
	}
	return i
}

// Less is the difference t − u of two independent rates with Newcombe's
// interval (method 10).
func (t Tally) Less(u Tally) (difference float64, i Interval) {
	p, q := t.Rate(), u.Rate()
	a, b := t.Wilson(), u.Wilson()
	return p - q, Interval{p - q - math.Hypot(p-a.Low, b.High-q), p - q + math.Hypot(a.High-p, q-b.Low)}
}

// Expected is what was observed against what the model frozen at planning
// expected, the sum of its chances.
type Expected struct {
	Observed int
	Expected float64 // > 0
}

// Ratio is observed over expected with its exact Poisson interval.
func (e Expected) Ratio() (ratio float64, i Interval) {
	o := float64(e.Observed)
	if e.Observed > 0 {
		i.Low = distuv.ChiSquared{K: 2 * o}.Quantile(0.025) / (2 * e.Expected)
	}
	i.High = distuv.ChiSquared{K: 2*o + 2}.Quantile(0.975) / (2 * e.Expected)
	return o / e.Expected, i
}

// Bounds are the lowest and the highest rate that the eyes nobody has seen
// again could make of a count: none or all of them events.
func (t Tally) Bounds(missing int) Interval {
	n := float64(t.N + missing)
	return Interval{float64(t.Events) / n, float64(t.Events+missing) / n}
}
