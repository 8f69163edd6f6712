package audit

import (
	"fmt"
	"math"

	"linn/unit"
)

// Weights is what a case adds to a cumulative chart that starts at 0, never
// falls below it and signals at its limit.
type Weights struct{ Event, NoEvent float64 }

// Odds is how a risk-adjusted chart weighs a case: the chance of an event by
// the model frozen at planning, strictly between 0 and 1, and the odds ratio
// watched for, above 0 and not 1. Below 1 the chart looks for improvement.
type Odds struct {
	Chance unit.Ratio
	Ratio  float64
}

// Weights are the log-likelihood ratios of the case (steiner2000).
func (o Odds) Weights() Weights {
	p := float64(o.Chance)
	none := -math.Log1p(p * (o.Ratio - 1))
	return Weights{Event: math.Log(o.Ratio) + none, NoEvent: none}
}

// Learning is a trainee's standard: Adequate is the rate that is accepted,
// Adequate + Margin one that is not.
type Learning struct{ Adequate, Margin float64 }

// Weights are those of the LC-CUSUM, whose null hypothesis is that the trainee
// is not yet competent (biau-porcher2010): its signal says competent.
func (l Learning) Weights() Weights {
	return Weights{Event: math.Log(l.Adequate / (l.Adequate + l.Margin)), NoEvent: math.Log((1 - l.Adequate) / (1 - l.Adequate - l.Margin))}
}

// Wald is the design of a cumulative chart with two limits.
type Wald struct {
	Acceptable, Unacceptable float64 // rates
	FalseAlarm, FalseCalm    float64 // α and β
}

// Limits are what a case adds and the limits of the chart.
type Limits struct {
	Weights
	Accept, Reject float64 // crossing Accept (below 0) is acceptable performance, Reject unacceptable
}

// Limits works the design out.
func (w Wald) Limits() Limits {
	p := math.Log(w.Unacceptable / w.Acceptable)
	q := math.Log((1 - w.Acceptable) / (1 - w.Unacceptable))
	s := q / (p + q)
	return Limits{Weights{1 - s, -s}, -math.Log((1-w.FalseAlarm)/w.FalseCalm) / (p + q), math.Log((1-w.FalseCalm)/w.FalseAlarm) / (p + q)}
}

// Case is one operation on a chart: every consecutive one, in order of date,
// with the chance of the event by the model frozen at planning.
type Case struct {
	Chance unit.Ratio // strictly between 0 and 1
	Event  bool
}

// Point is the chart after a case. Level falls back to 0 after a signal.
type Point struct {
	Level  float64
	Signal bool
	VLAD   float64 // events expected less events seen so far
}

// Chart draws the risk-adjusted chart of the odds ratio watched for, with its
// limit. It refuses a chance that is not strictly between 0 and 1.
func Chart(cases []Case, w Watch) ([]Point, error) {
	list := make([]Point, 0, len(cases))
	level, vlad := 0.0, 0.0
	for i, c := range cases {
		if !(c.Chance > 0 && c.Chance < 1) {
			return nil, fmt.Errorf("audit: case %d: the chance %v is not between 0 and 1", i+1, c.Chance)
		}
		add := Odds{c.Chance, w.Ratio}.Weights()
		step := add.NoEvent
		vlad += float64(c.Chance)
		if c.Event {
			step = add.Event
			vlad--
		}
		level = math.Max(0, level+step)
		p := Point{Level: level, Signal: level >= w.Limit, VLAD: vlad}
		if p.Signal {
			level = 0
		}
		list = append(list, p)
	}
	return list, nil
}

// Watch is a chart's odds ratio and limit.
type Watch struct{ Ratio, Limit float64 }
