package plan

import (
	"math"

	"linn/unit"
)

// shelf is the powers a lens is made in: from, from + step, … to.
type shelf struct{ from, to, step unit.Dioptre }

// gridPerDioptre is the fineness of a power on the shelf, 0.0001 D. Steps are
// rounded to it so that 20.1 is 20.1 and not 20.099999999999998.
const gridPerDioptre = 1e4

// stepSlack lets to be reached when it lies on a step but for binary rounding.
const stepSlack = 1e-6

// at is the power of step k in D.
func (s shelf) at(k int) float64 {
	return math.Round((float64(s.from)+float64(k)*float64(s.step))*gridPerDioptre)/gridPerDioptre + 0
}

// last is the number of the last step, −1 when there is none.
func (s shelf) last() int {
	if !(s.step > 0) || s.to < s.from {
		return -1
	}
	return int(math.Floor(float64(s.to-s.from)/float64(s.step) + stepSlack))
}

// nearest is the number of the step nearest to a power, beyond the ends of the
// shelf if need be; a tie takes the higher power.
func (s shelf) nearest(power float64) int {
	return int(math.Floor((power-float64(s.from))/float64(s.step) + 0.5))
}

// sides is how many steps are shown on each side of the nearest.
const sides = 2

// around lists the step nearest to a power and up to two on each side,
// ascending; none when the nearest lies outside the shelf.
func (s shelf) around(power float64) (powers []float64) {
	last := s.last()
	if last < 0 {
		return nil
	}
	k := s.nearest(power)
	if k < 0 || k > last {
		return nil
	}
	for i := max(k-sides, 0); i <= min(k+sides, last); i++ {
		powers = append(powers, s.at(i))
	}
	return powers
}

// has reports whether the lens is made in a power.
func (s shelf) has(power float64) bool {
	k, last := 0, s.last()
	if last >= 0 {
		k = s.nearest(power)
	}
	return last >= 0 && k >= 0 && k <= last && same(s.at(k), power)
}
