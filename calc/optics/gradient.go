package optics

import "math"

// stride is the length of a step through a graded medium, in mm. Halving it
// moves a ray through the graded eyes by less than 1e-9 mm.
const stride = 0.05

// longestWay is how far a ray is followed through one graded medium, in mm:
// twice the thickest lens of any eye.
const longestWay = 20

// bend carries a ray through the graded medium behind face i − 1 up to face i.
// In the parameter τ with ds = n·dτ a ray obeys d²r/dτ² = n·∇n, and its
// optical path is ∫n²·dτ (Sharma's form), here by fourth-order Runge–Kutta
// steps; the last steps end on the face.
func (t *Train) bend(i int, r Ray) (Ray, bool) {
	medium, next := &t.parts[i-1], &t.parts[i]
	s := state{at: medium.in(r.At)}
	n := medium.after.at(s.at)
	s.pull = medium.inDirection(r.Along).times(n)
	for walked := 0.0; walked < longestWay; walked += stride {
		n = s.pull.length()
		left, ok := next.meet(next.in(medium.out(s.at)), next.inDirection(medium.outDirection(s.pull.times(1/n))))
		if !ok {
			return r, false
		}
		if math.Abs(left) <= closeEnough*10 {
			return Ray{medium.out(s.at), medium.outDirection(s.pull.times(1 / n)), r.Path + s.path}, true
		}
		s = s.step(medium.after, min(left, stride)/n)
	}
	return r, false
}

// state is a ray in a graded medium: place, n times direction, optical path.
type state struct {
	at, pull Vec
	path     float64
}

func (s state) step(m Medium, h float64) state {
	a1 := m.slope(s.at)
	p2 := s.at.along(s.pull, h/2)
	v2 := s.pull.along(a1, h/2)
	a2 := m.slope(p2)
	p3 := s.at.along(v2, h/2)
	v3 := s.pull.along(a2, h/2)
	a3 := m.slope(p3)
	p4 := s.at.along(v3, h)
	v4 := s.pull.along(a3, h)
	a4 := m.slope(p4)
	six := h / 6
	out := state{
		at:   s.at.along(s.pull.plus(v2.times(2)).plus(v3.times(2)).plus(v4), six),
		pull: s.pull.along(a1.plus(a2.times(2)).plus(a3.times(2)).plus(a4), six),
	}
	n0, nm, n1 := m.at(s.at), m.at(p3), m.at(out.at)
	out.path = s.path + six*(n0*n0+4*nm*nm+n1*n1)
	return out
}
