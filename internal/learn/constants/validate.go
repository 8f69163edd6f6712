package constants

import (
	"math"
	"slices"

	"linn/unit"
)

// Gain is what a change would have done on eyes it was not made from: mean
// absolute error before less after, so that above 0 is better.
type Gain struct {
	N             int
	Before, After unit.Dioptre // mean absolute error
	Mean          unit.Dioptre
	Low, High     unit.Dioptre // 95 % by Student's t over the eyes
	WithinBefore  int          // eyes within 0.50 D
	WithinAfter   int
}

// folds is how many parts the eyes are dealt into, in turn by date.
const folds = 10

// CrossValidate fits on nine tenths of the eyes, drawn towards the prior, and
// judges the tenth left out, ten times. Errors as Fit's; ErrTooFew below 20.
func (s Set) CrossValidate(prior Prior) (Gain, error) {
	s, _ = s.split()
	if len(s.Cases) < leastProposal {
		return Gain{N: len(s.Cases)}, ErrTooFew
	}
	s.order()
	var before, after []float64
	for fold := range folds {
		rest, out := s, s
		rest.Cases, out.Cases = nil, nil
		for i, c := range s.Cases {
			if i%folds == fold {
				out.Cases = append(out.Cases, c)
			} else {
				rest.Cases = append(rest.Cases, c)
			}
		}
		d, err := rest.draw(prior)
		if err != nil {
			return Gain{N: len(s.Cases)}, err
		}
		before = append(before, out.errors(float64(s.InForce))...)
		after = append(after, out.errors(float64(d.Constant))...)
	}
	return gain(before, after), nil
}

// gain compares paired errors.
func gain(before, after []float64) Gain {
	d := make([]float64, len(before))
	for i := range d {
		d[i] = math.Abs(before[i]) - math.Abs(after[i])
	}
	b, a, m := summed(before), summed(after), mean(d)
	g := Gain{N: len(d), Before: b.MAE, After: a.MAE, Mean: unit.Dioptre(m), WithinBefore: b.WithinHalf, WithinAfter: a.WithinHalf}
	if len(d) > 1 {
		half := t975(len(d)-1) * sd(d) / math.Sqrt(float64(len(d)))
		g.Low, g.High = unit.Dioptre(m-half), unit.Dioptre(m+half)
	}
	return g
}

// order sorts a copy of the cases by day, then by ID.
func (s *Set) order() {
	s.Cases = slices.Clone(s.Cases)
	slices.SortFunc(s.Cases, func(a, b Case) int {
		if c := a.On.Compare(b.On); c != 0 {
			return c
		}
		if a.ID < b.ID {
			return -1
		}
		return 1
	})
}

// Drawn is a fitted constant drawn towards the one in force.
type Drawn struct {
	Constant  unit.Constant
	Low, High unit.Constant // 95 % of the posterior
	Fit       Fit           // undrawn
	Error     Shrunk        // mean winsorised error at the constant in force, drawn
}

// The spread of one eye's error is an estimate too: it counts as if sigmaEyes
// eyes with sigmaPrior had been seen before, so that a few eyes that happen to
// agree do not look certain. sigmaPrior is the middle of published series
// (Melles 2018: 0.437 to 0.473 D by method); sigmaEyes is our own choice.
const (
	sigmaPrior = 0.45
	sigmaEyes  = 10
)

// Draw fits robustly and draws the change towards the prior: the constant moves
// by the part of the fitted move that the eyes have earned, so that few eyes
// hardly move it. Errors as Fit's.
func (s Set) Draw(prior Prior) (Drawn, error) {
	s, refused := s.split()
	d, err := s.draw(prior)
	d.Fit.Refused = refused
	return d, err
}

func (s Set) draw(prior Prior) (Drawn, error) {
	fit, err := s.Fit(Robust)
	if err != nil {
		return Drawn{Fit: fit}, err
	}
	drawn, _ := winsorised(s.errors(float64(s.InForce)))
	own := sd(drawn)
	n := float64(fit.N)
	sigma := math.Sqrt((sigmaEyes*sigmaPrior*sigmaPrior + (n-1)*own*own) / (sigmaEyes + n - 1))
	e, err := Shrink(Observed{fit.N, unit.Dioptre(mean(drawn)), unit.Dioptre(sigma)}, prior)
	if err != nil {
		return Drawn{Fit: fit}, err
	}
	g := float64(fit.Gradient)
	w := float64(e.Weight)
	move := w*float64(fit.Value-s.InForce) + (1-w)*float64(prior.Mean)/g
	half := z975 * float64(e.SD) / math.Abs(g)
	at := float64(s.InForce) + move
	return Drawn{unit.Constant(at), unit.Constant(at - half), unit.Constant(at + half), fit, e}, nil
}
