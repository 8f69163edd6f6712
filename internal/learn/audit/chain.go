package audit

import (
	"context"
	"math"
	"slices"

	"linn/unit"
)

// Mix is the case mix of a unit: chances of the event and the share of each,
// which sum to 1.
type Mix []Part

// Part is a chance of the event with its share of the cases.
type Part struct {
	Chance unit.Ratio
	Share  float64
}

// most is into how many parts [MixOf] sums a list up.
const most = 20

// MixOf sums the chances of past cases up in at most 20 parts of equal size by
// their mean.
func MixOf(chances []unit.Ratio) (m Mix) {
	sorted := slices.Sorted(slices.Values(chances))
	n, parts := len(sorted), min(most, len(sorted))
	for i := range parts {
		from, to := i*n/parts, (i+1)*n/parts
		sum := unit.Ratio(0)
		for _, p := range sorted[from:to] {
			sum += p
		}
		m = append(m, Part{sum / unit.Ratio(to-from), float64(to-from) / float64(n)})
	}
	return m
}

// cells is how finely the level between 0 and the limit is divided.
const cells = 1000

// chain is a chart as a Markov chain: a step lands between two cells and is
// shared among them, so that its mean is kept.
type chain struct {
	moves []move
	now   []float64
	next  []float64
}

type move struct {
	whole int     // cells moved, rounded down
	part  float64 // of a cell beside
	share float64
}

// newChain makes the chain of a chart that sees cases of the mix whose true
// odds are those expected times odds.
func newChain(m Mix, w Watch, odds float64) *chain {
	c := &chain{now: make([]float64, cells), next: make([]float64, cells)}
	c.now[0] = 1
	size := w.Limit / cells
	add := func(step, share float64) {
		whole := math.Floor(step / size)
		c.moves = append(c.moves, move{int(whole), step/size - whole, share})
	}
	for _, part := range m {
		p := float64(part.Chance)
		true1 := odds * p / (1 - p + odds*p)
		weights := Odds{part.Chance, w.Ratio}.Weights()
		add(weights.Event, part.Share*true1)
		add(weights.NoEvent, part.Share*(1-true1))
	}
	return c
}

// step goes on by one case; what signals leaves the chain. signalled is summed
// apart: early on it is far below the rounding of what is left.
func (c *chain) step() (left, signalled float64) {
	clear(c.next)
	for i, mass := range c.now {
		if mass == 0 {
			continue
		}
		for _, v := range c.moves {
			signalled += c.put(i+v.whole, mass*v.share*(1-v.part))
			signalled += c.put(i+v.whole+1, mass*v.share*v.part)
		}
	}
	c.now, c.next = c.next, c.now
	for _, mass := range c.now {
		left += mass
	}
	return left, signalled
}

// put adds mass to a cell; what lands beyond the last is returned.
func (c *chain) put(at int, mass float64) (signalled float64) {
	if at >= cells {
		return mass
	}
	c.next[max(0, at)] += mass
	return 0
}

// Run is what a chart is asked about.
type Run struct {
	Mix   Mix
	Watch Watch
	Odds  float64 // true odds against those expected; 1 when nothing has changed
}

// SignalWithin is the chance that the chart signals within n cases.
func (r Run) SignalWithin(n int) float64 {
	c, left := newChain(r.Mix, r.Watch, r.Odds), 1.0
	for range n {
		left, _ = c.step()
	}
	return 1 - left
}

// Length is the mean number of cases to a signal. After a while the chance of
// a signal at the next case no longer changes; the rest follows from it. It
// ends early with the context.
func (r Run) Length(ctx context.Context) (float64, error) {
	c, left, sum := newChain(r.Mix, r.Watch, r.Odds), 1.0, 0.0
	for before := -1.0; ; {
		sum += left
		after, signalled := c.step()
		hazard := signalled / left
		left = after
		if hazard > 0 && math.Abs(hazard-before) < 1e-9*hazard {
			return sum + left/hazard, nil
		}
		before = hazard
		if err := ctx.Err(); err != nil {
			return 0, err
		}
	}
}

// Limit is the limit of the chart of this mix at which the chance of a false
// signal within n cases is the given one, to 0.001. n is a year's cases.
func Limit(r Run, n int, chance float64) float64 {
	low, high := 0.01, 20.0
	r.Odds = 1
	for high-low > 0.001 {
		r.Watch.Limit = (low + high) / 2
		if r.SignalWithin(n) > chance {
			low = r.Watch.Limit
		} else {
			high = r.Watch.Limit
		}
	}
	return high
}

// Declared is the chance that a chart of these weights signals within n cases
// of a true rate. It is exact: the level follows from what has happened since
// it last was 0.
func (w Weights) Declared(limit, rate float64, n int) float64 {
	type since struct{ events, none int }
	now, signalled := map[since]float64{{}: 1}, 0.0
	for range n {
		next := make(map[since]float64, len(now))
		for s, mass := range now {
			for _, to := range []struct {
				since
				share float64
			}{{since{s.events + 1, s.none}, rate}, {since{s.events, s.none + 1}, 1 - rate}} {
				level := float64(to.events)*w.Event + float64(to.none)*w.NoEvent
				switch {
				case level >= limit-1e-12:
					signalled += mass * to.share
				case level <= 0:
					next[since{}] += mass * to.share
				default:
					next[to.since] += mass * to.share
				}
			}
		}
		now = next
	}
	return signalled
}
