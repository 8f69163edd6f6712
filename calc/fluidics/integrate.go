package fluidics

import (
	"errors"
	"math"

	"linn/source"
)

// errStuck is what an integration ends with when the error test fails at steps
// that the clock can no longer tell apart, or when it needs more steps than any
// sensible scenario. Neither happens inside the domain of the model.
var errStuck = errors.New("fluidics: the integration does not advance")

const (
	// Step control (Hairer, Nørsett and Wanner 1993, II.4): a proportional and
	// integral rule for the explicit pair, proportional for the implicit one.
	safety    = 0.9
	piBeta    = 0.04
	piExpo    = 0.2 - 0.75*piBeta
	shrinkMax = 0.2
	growMax   = 10

	// The explicit pair's stability ends on the negative axis near 3.3. Fifteen
	// steps beyond 3.25 call the problem stiff, six below it forget them
	// (Hairer and Wanner 1996, IV.2).
	stiffAt   = 3.25
	stiffHits = 15
	calmHits  = 6

	maxSteps = 1_000_000
)

var (
	_ = declare("integrator-order", 5, "", source.Ref{Key: source.DormandPrince, Where: "explicit pair 5(4)", Grade: source.Memory})
	_ = declare("integrator-stiff-order", 4, "", source.Ref{Key: source.HairerWanner1996, Where: "Rosenbrock pair 4(3)", Grade: source.Memory})
	_ = declare("integrator-stiff-at", stiffAt, "", source.Ref{Key: source.HairerWanner1996, Where: "IV.2, detection of stiffness", Grade: source.Memory})
)

// solver integrates problems one after the other without allocating.
type solver struct {
	ex     explicit
	im     implicit
	s      step
	always string // for tests: "explicit" or "implicit" only
}

// run integrates p from (t, y) to end, shows every accepted step to watch, and
// leaves the last state in y. It starts explicit and changes to the implicit
// pair for the rest of the way once the problem proves stiff.
func (v *solver) run(p *problem, t, end float64, y *vector, watch func(*step)) error {
	v.s.y0, v.s.evaluations, v.s.accepted, v.s.lost = *y, 0, 0, 0
	var err error
	if v.always != "implicit" {
		t, err = v.explicit(p, t, end, watch)
	}
	if err == nil && t < end {
		err = v.implicitly(p, t, end, watch)
	}
	*y = v.s.y0
	return err
}

// first guesses a step from the size of y and its derivative.
func first(tol *tolerance, y, f *vector, span float64) float64 {
	var zero vector
	d0, d1 := tol.norm(y, y, &zero), tol.norm(f, y, &zero)
	h := 1e-6
	if d0 > 1e-5 && d1 > 1e-5 {
		h = 0.01 * d0 / d1
	}
	return min(h, span)
}

// last cuts h so that the step does not pass end, and stretches it when what
// would be left is a sliver.
func last(t, h, end float64) (float64, bool) {
	if t+1.01*h >= end {
		return end - t, true
	}
	return h, false
}

// explicit integrates until end, or until the problem proves stiff; it returns
// the time reached.
func (v *solver) explicit(p *problem, t, end float64, watch func(*step)) (float64, error) {
	w, s := &v.ex, &v.s
	p.derive(t, &s.y0, &w.k1)
	s.evaluations++
	h := first(&p.tol, &s.y0, &w.k1, end-t)
	old, hits, calm, refused := 1e-4, 0, 0, false
	for t < end {
		cut, final := last(t, h, end)
		h = cut
		if t+0.1*h == t || s.accepted+s.lost > maxSteps {
			return t, errStuck
		}
		norm, lambda := w.try(p, t, h, &s.y0)
		s.evaluations += 6
		if !(norm <= 1) { // also a norm that is no number
			s.lost++
			refused = true
			if math.IsNaN(norm) || math.IsInf(norm, 0) {
				h *= shrinkMax
			} else {
				h *= max(shrinkMax, safety*math.Pow(norm, -piExpo))
			}
			continue
		}
		v.accept(t, h, &w.y1)
		w.interpolate(s)
		if theta, ok := s.firstCorner(p.corners); ok {
			h, final = theta*h, false
			norm, lambda = w.try(p, t, h, &s.y0)
			s.evaluations += 6
			v.accept(t, h, &w.y1)
			w.interpolate(s)
		}
		watch(s)
		s.y0, w.k1 = w.y1, w.k7
		if t += h; final {
			return end, nil
		}
		switch {
		case lambda > stiffAt:
			hits, calm = hits+1, 0
		case hits > 0:
			if calm++; calm == calmHits {
				hits = 0
			}
		}
		if hits == stiffHits && v.always == "" {
			return t, nil
		}
		grow := safety * math.Pow(max(norm, 1e-10), -piExpo) * math.Pow(old, piBeta)
		grow = min(max(grow, shrinkMax), growMax)
		if refused {
			grow = min(grow, 1)
		}
		h, old, refused = h*grow, max(norm, 1e-4), false
	}
	return end, nil
}

// implicitly integrates until end with the Rosenbrock pair.
func (v *solver) implicitly(p *problem, t, end float64, watch func(*step)) error {
	w, s := &v.im, &v.s
	w.fresh = false
	p.derive(t, &s.y0, &w.f)
	s.evaluations++
	h := first(&p.tol, &s.y0, &w.f, end-t)
	refused := false
	for t < end {
		cut, final := last(t, h, end)
		h = cut
		if t+0.1*h == t || s.accepted+s.lost > maxSteps {
			return errStuck
		}
		norm := w.try(p, t, h, &s.y0)
		s.evaluations += 6
		if !(norm <= 1) {
			s.lost++
			refused = true
			if math.IsNaN(norm) || math.IsInf(norm, 0) {
				h *= shrinkMax
			} else {
				h *= max(shrinkMax, safety*math.Pow(norm, -0.25))
			}
			continue
		}
		v.accept(t, h, &w.y1)
		w.interpolate(s)
		if theta, ok := s.firstCorner(p.corners); ok {
			h, final = theta*h, false
			norm = w.try(p, t, h, &s.y0)
			s.evaluations += 6
			v.accept(t, h, &w.y1)
			w.interpolate(s)
		}
		s.implicit = true
		watch(s)
		s.y0, w.fresh = w.y1, false
		if t += h; final {
			return nil
		}
		grow := min(max(safety*math.Pow(max(norm, 1e-10), -0.25), shrinkMax), growMax/2)
		if refused {
			grow = min(grow, 1)
		}
		h, refused = h*grow, false
	}
	return nil
}

func (v *solver) accept(t, h float64, y1 *vector) {
	v.s.t, v.s.h, v.s.y1, v.s.implicit = t, h, *y1, false
	v.s.accepted++
}
