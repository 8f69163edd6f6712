package teach

import (
	"math/rand/v2"

	"linn/unit"
)

// number is a given that is drawn from a grid, so that it prints exactly.
type number struct {
	name            string
	unit            string
	low, high, step float64
	decimals        int
	signed          bool
}

func (n number) draw(r *rand.Rand) Given {
	steps := int((n.high-n.low)/n.step + 0.5)
	v := n.low + float64(r.IntN(steps+1))*n.step
	// As the paper prints it.
	if printed, err := unit.ParseNumber(unit.Fixed(v, n.decimals)); err == nil {
		v = printed
	}
	return Given{n.name, Amount{v, n.unit, n.decimals, n.signed}}
}

// drawn are the givens of one question by name.
type drawn map[string]float64

// topic makes questions of one kind: what is given, the answer, and what known
// mistakes answer. An answer that a calculator refuses drops the draw.
type topic struct {
	key      string
	level    int
	given    []number
	unit     string
	decimals int
	signed   bool
	answer   func(g drawn) (float64, error)
	slips    []slip
}

type slip struct {
	name  string
	value func(g drawn) (float64, error)
}

// plain is a slip that no calculator is asked for.
func plain(name string, value func(g drawn) float64) slip {
	return slip{name, func(g drawn) (float64, error) { return value(g), nil }}
}

// ask draws one question; not when fewer than two slips lie apart from the
// answer and from each other.
func (t *topic) ask(r *rand.Rand) (q Question, ok bool) {
	g := drawn{}
	q = Question{Topic: t.key, Level: t.level}
	for _, n := range t.given {
		given := n.draw(r)
		q.Given, g[n.name] = append(q.Given, given), given.Value
	}
	v, err := t.answer(g)
	if err != nil {
		return q, false
	}
	q.Answer = Amount{v, t.unit, t.decimals, t.signed}
	taken := []float64{v}
	for _, s := range t.slips {
		w, err := s.value(g)
		if err != nil || !unit.Finite(unit.Ratio(w)) || near(taken, w, apart*q.Answer.last()) {
			continue
		}
		taken = append(taken, w)
		q.Slips = append(q.Slips, Slip{s.name, Amount{w, t.unit, t.decimals, t.signed}})
	}
	return q, len(q.Slips) >= 2
}

func near(list []float64, v, by float64) bool {
	for _, x := range list {
		if v > x-by && v < x+by {
			return true
		}
	}
	return false
}

func topicNamed(key string) *topic {
	for _, t := range allTopics {
		if t.key == key {
			return t
		}
	}
	return nil
}
