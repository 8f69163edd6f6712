package uncertainty

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Bands are the distances from the target that results are told by.
var Bands = [4]unit.Dioptre{0.25, 0.50, 0.75, 1.00}

// Surprise is how far from the target a result is called a surprise. The trade
// has no one limit; this is a choice of our own.
var Surprise = unit.Dioptre(constant("surprise", 2.0, "D", source.Ref{Key: source.OwnChoice, Where: "a result more than this far from the target", Grade: source.Own}))

// Outcome is what may become of one lens: the chances of each band around the
// target, of a surprise, and of the side it lies on.
type Outcome struct {
	Predicted unit.Dioptre
	Within    [4]unit.Percent // of Bands
	Surprise  unit.Percent    // beyond Surprise on either side
	Myopic    unit.Percent    // more minus than the target
}

// Outcome is what a prediction with this spread gives for a target, under a
// normal distribution.
func (r Result) Outcome(predicted Prediction) Outcome {
	r.Offset += predicted.Refraction - predicted.Target
	o := Outcome{Predicted: predicted.Refraction, Surprise: 100 - r.Within(Surprise)}
	for i, b := range Bands {
		o.Within[i] = r.Within(b)
	}
	switch {
	case r.SD > 0:
		o.Myopic = unit.Percent(50 * math.Erfc(float64(r.Offset)/float64(r.SD)/math.Sqrt2))
	case r.Offset < 0:
		o.Myopic = 100
	}
	return o
}

// Prediction is what a lens is predicted to leave and what is aimed at.
type Prediction struct{ Refraction, Target unit.Dioptre }

// Outcome is the same counted in simulated eyes. Draws that failed are
// surprises.
func (s Sample) Outcome(target unit.Dioptre) Outcome {
	var within [len(Bands)]int
	near, below := 0, 0
	for _, v := range s.Values { // one pass: there are many
		if v < float64(target) {
			below++
		}
		if v < float64(target-Surprise) || v > float64(target+Surprise) {
			continue
		}
		near++
		for i, b := range Bands {
			if v >= float64(target-b) && v <= float64(target+b) {
				within[i]++
			}
		}
	}
	share := func(n int) unit.Percent { return unit.Percent(100 * float64(n) / float64(len(s.Values)+s.Failed)) }
	o := Outcome{Predicted: s.Predicted, Surprise: 100 - share(near), Myopic: share(below)}
	for i, n := range within {
		o.Within[i] = share(n)
	}
	return o
}
