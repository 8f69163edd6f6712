package constants

import (
	"math"
	"math/rand/v2"
	"time"

	"linn/unit"
)

// Trend is a straight line through the errors over time.
type Trend struct {
	N           int
	PerYear     unit.Dioptre
	Low, High   unit.Dioptre // 95 % by Student's t
	First, Last time.Time
	None        bool // the interval holds 0: no trend can be claimed
}

const yearHours = 24 * 365.25

// Trend fits the errors at the constant in force against the day of the
// operation. ErrTooFew below 20 eyes or on one day only.
func (s Set) Trend() (Trend, error) {
	s, _ = s.split()
	if len(s.Cases) < leastProposal {
		return Trend{N: len(s.Cases)}, ErrTooFew
	}
	s.order()
	first, last := s.Cases[0].On, s.Cases[len(s.Cases)-1].On
	x := make([]float64, len(s.Cases))
	for i, c := range s.Cases {
		x[i] = c.On.Sub(first).Hours() / yearHours
	}
	sxx := cross(x, x)
	if sxx == 0 {
		return Trend{N: len(x)}, ErrTooFew
	}
	e := s.errors(float64(s.InForce))
	b := cross(x, e) / sxx
	v := max(0, cross(e, e)-b*cross(x, e)) / float64(len(x)-2)
	half := t975(len(x)-2) * math.Sqrt(v/sxx)
	return Trend{len(x), unit.Dioptre(b), unit.Dioptre(b - half), unit.Dioptre(b + half), first, last, b-half <= 0 && b+half >= 0}, nil
}

// Change is where the errors most look as if they had jumped.
type Change struct {
	N             int
	Since         time.Time // day of the first case after the jump
	Before, After unit.Dioptre
	// Chance is how often shuffled errors show a jump as clear: the share of
	// shuffles, the series itself counted as one.
	Chance unit.Ratio
}

// changeEdge is the fewest eyes on either side of a jump, and shuffles how often
// the errors are shuffled; our own choice.
const (
	changeEdge = 5
	shuffles   = 999
)

// ChangePoint looks for one jump of the mean error and asks by shuffling how
// often chance does as much. The random source is passed in. ErrTooFew below
// 20 eyes; days must order the cases.
func (s Set) ChangePoint(random *rand.Rand) (Change, error) {
	s, _ = s.split()
	if len(s.Cases) < leastProposal {
		return Change{N: len(s.Cases)}, ErrTooFew
	}
	s.order()
	e := s.errors(float64(s.InForce))
	at, seen := jump(e)
	as := 1
	mixed := make([]float64, len(e))
	for range shuffles {
		copy(mixed, e)
		random.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		if _, v := jump(mixed); v >= seen {
			as++
		}
	}
	return Change{len(e), s.Cases[at].On, unit.Dioptre(mean(e[:at])), unit.Dioptre(mean(e[at:])), unit.Ratio(float64(as) / (shuffles + 1))}, nil
}

// jump finds the split with the greatest sum of squares between its parts.
func jump(e []float64) (at int, between float64) {
	n, total, sum := float64(len(e)), 0.0, 0.0
	for _, v := range e {
		total += v
	}
	at = changeEdge
	for i, v := range e {
		k := float64(i)
		if i >= changeEdge && len(e)-i >= changeEdge {
			d := sum/k - (total-sum)/(n-k)
			if b := d * d * k * (n - k) / n; b > between {
				at, between = i, b
			}
		}
		sum += v
	}
	return at, between
}
