package fluidics

import "math"

// The explicit pair of orders 5 and 4 by Dormand and Prince (1980), with the
// interpolant of order 4 as given by Hairer, Nørsett and Wanner (1993, II.6).
// The coefficients were entered from memory; ode_test.go measures the orders of
// the step, of its error estimate and of the interpolant, and checks the
// row sums, so that a wrong digit shows.
const (
	dpC2, dpC3, dpC4, dpC5 = 1. / 5, 3. / 10, 4. / 5, 8. / 9

	dpA21                             = 1. / 5
	dpA31, dpA32                      = 3. / 40, 9. / 40
	dpA41, dpA42, dpA43               = 44. / 45, -56. / 15, 32. / 9
	dpA51, dpA52, dpA53, dpA54        = 19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729
	dpA61, dpA62, dpA63, dpA64, dpA65 = 9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656
	dpB1, dpB3, dpB4, dpB5, dpB6      = 35. / 384, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84

	dpE1, dpE3, dpE4 = 71. / 57600, -71. / 16695, 71. / 1920
	dpE5, dpE6, dpE7 = -17253. / 339200, 22. / 525, -1. / 40

	dpD1, dpD3, dpD4 = -12715105075. / 11282082432, 87487479700. / 32700410799, -10690763975. / 1880347072
	dpD5, dpD6, dpD7 = 701980252875. / 199316789632, -1453857185. / 822651844, 69997945. / 29380423
)

// explicit holds the stages of a Dormand–Prince step. k1 is f at the start and
// must be set before the first step; an accepted step leaves the next one.
type explicit struct {
	k1, k2, k3, k4, k5, k6, k7 vector
	y, y1, e                   vector
}

// try takes a step of h from (t, y0) and returns its error norm. y1 and k7 are
// the end point and the derivative there. lambda estimates h times the size of
// the leading eigenvalue (Hairer and Wanner 1996, IV.2).
func (w *explicit) try(p *problem, t, h float64, y0 *vector) (norm, lambda float64) {
	y := &w.y
	for i := range y {
		y[i] = y0[i] + h*dpA21*w.k1[i]
	}
	p.derive(t+dpC2*h, y, &w.k2)
	for i := range y {
		y[i] = y0[i] + h*(dpA31*w.k1[i]+dpA32*w.k2[i])
	}
	p.derive(t+dpC3*h, y, &w.k3)
	for i := range y {
		y[i] = y0[i] + h*(dpA41*w.k1[i]+dpA42*w.k2[i]+dpA43*w.k3[i])
	}
	p.derive(t+dpC4*h, y, &w.k4)
	for i := range y {
		y[i] = y0[i] + h*(dpA51*w.k1[i]+dpA52*w.k2[i]+dpA53*w.k3[i]+dpA54*w.k4[i])
	}
	p.derive(t+dpC5*h, y, &w.k5)
	for i := range y {
		y[i] = y0[i] + h*(dpA61*w.k1[i]+dpA62*w.k2[i]+dpA63*w.k3[i]+dpA64*w.k4[i]+dpA65*w.k5[i])
	}
	p.derive(t+h, y, &w.k6)
	for i := range w.y1 {
		w.y1[i] = y0[i] + h*(dpB1*w.k1[i]+dpB3*w.k3[i]+dpB4*w.k4[i]+dpB5*w.k5[i]+dpB6*w.k6[i])
	}
	p.derive(t+h, &w.y1, &w.k7)
	up, down := 0.0, 0.0
	for i := range w.e {
		w.e[i] = h * (dpE1*w.k1[i] + dpE3*w.k3[i] + dpE4*w.k4[i] + dpE5*w.k5[i] + dpE6*w.k6[i] + dpE7*w.k7[i])
		df, dy := w.k7[i]-w.k6[i], w.y1[i]-y[i]
		up, down = up+df*df, down+dy*dy
	}
	if down > 0 {
		lambda = h * math.Sqrt(up/down)
	}
	return p.tol.norm(&w.e, y0, &w.y1), lambda
}

// interpolate fills the interpolant of the step just taken.
func (w *explicit) interpolate(s *step) {
	h := s.h
	for i := range s.c3 {
		delta := s.y1[i] - s.y0[i]
		s.c3[i] = h*w.k1[i] - delta
		s.c4[i] = delta - h*w.k7[i] - s.c3[i]
		s.c5[i] = h * (dpD1*w.k1[i] + dpD3*w.k3[i] + dpD4*w.k4[i] + dpD5*w.k5[i] + dpD6*w.k6[i] + dpD7*w.k7[i])
	}
}
