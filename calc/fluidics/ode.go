package fluidics

import "math"

// dim is the number of states the integrators carry; see circuit.go for their
// meaning.
const dim = 10

type (
	vector [dim]float64
	matrix [dim]vector
)

// problem is dy/dt = derive(t, y). jacobian fills j[row][column] = ∂f(row)/∂y(column)
// and ft = ∂f/∂t; it is asked for only when the problem turns out stiff.
type problem struct {
	derive   func(t float64, y, f *vector)
	jacobian func(t float64, y *vector, j *matrix, ft *vector)
	corners  []corner
	tol      tolerance
}

// corner is where derive is not smooth: y[a] - y[b] passes level (b < 0: y[a]
// alone; size: |y[a]|). The integrators end a step there, so that none of them
// reaches across and loses its order.
type corner struct {
	a, b  int
	level float64
	size  bool
}

func (c *corner) of(y *vector) float64 {
	v := y[c.a]
	if c.size {
		v = math.Abs(v)
	}
	if c.b >= 0 {
		v -= y[c.b]
	}
	return v - c.level
}

// tolerance bounds the local error: |error| ≤ absolute + relative·|y| in the
// root mean square over the states.
type tolerance struct {
	relative float64
	absolute vector
}

// step is one accepted step with its interpolant
//
//	y(θ) = y0 + θ(Δ + (1-θ)(c3 + θ(c4 + (1-θ)c5))), Δ = y1 - y0, t = t0 + θh,
//
// which both integrators fill: order 4 for the explicit pair, order 3 for the
// implicit one.
type step struct {
	t, h           float64
	y0, y1         vector
	c3, c4, c5     vector
	implicit       bool
	evaluations    int // of derive, since the integration began
	accepted, lost int // steps taken and refused, since the integration began
}

// at returns state i at θ in [0, 1].
func (s *step) at(i int, theta float64) float64 {
	rest := 1 - theta
	return s.y0[i] + theta*(s.y1[i]-s.y0[i]+rest*(s.c3[i]+theta*(s.c4[i]+rest*s.c5[i])))
}

// slope returns dy(i)/dθ.
func (s *step) slope(i int, theta float64) float64 {
	rest := 1 - theta
	inner := s.c4[i] + rest*s.c5[i] // w
	dInner := -s.c5[i]
	middle := s.c3[i] + theta*inner // v
	dMiddle := inner + theta*dInner
	outer := s.y1[i] - s.y0[i] + rest*middle // u
	dOuter := -middle + rest*dMiddle
	return outer + theta*dOuter
}

// state returns all states at θ.
func (s *step) state(theta float64) (y vector) {
	for i := range y {
		y[i] = s.at(i, theta)
	}
	return y
}

// bisections halves an interval of θ below the last bit of the time.
const bisections = 48

// crossing returns the θ at which state i passes level inside the step.
func (s *step) crossing(i int, level float64) (theta float64, found bool) {
	low, high := 0.0, 1.0
	below := s.y0[i] < level
	if below == (s.y1[i] < level) {
		return 0, false
	}
	for range bisections {
		if mid := (low + high) / 2; (s.at(i, mid) < level) == below {
			low = mid
		} else {
			high = mid
		}
	}
	return high, true
}

// turning returns the θ of a turning point of state i inside the step: a least
// value when down, else a greatest one. The steps are far shorter than a swing
// of the states, so there is at most one.
func (s *step) turning(i int, down bool) (theta float64, found bool) {
	sign := 1.0
	if !down {
		sign = -1
	}
	if sign*s.slope(i, 0) >= 0 || sign*s.slope(i, 1) <= 0 {
		return 0, false
	}
	low, high := 0.0, 1.0
	for range bisections {
		if mid := (low + high) / 2; sign*s.slope(i, mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return high, true
}

// A corner nearer to either end of a step than this is passed over: the step
// would end where it began.
const (
	sliver     = 1e-7 // of the step
	sliverTime = 1e-9 // s
)

// firstCorner returns the least θ at which the step passes a corner.
func (s *step) firstCorner(list []corner) (theta float64, found bool) {
	least := max(sliver, sliverTime/s.h)
	if theta = 1 - least; theta <= least {
		return 0, false
	}
	for i := range list {
		c := &list[i]
		before := c.of(&s.y0) < 0
		if before == (c.of(&s.y1) < 0) {
			continue
		}
		low, high := 0.0, theta
		if y := s.pair(c, theta); (c.of(&y) < 0) == before {
			continue // beyond one already found
		}
		for range bisections {
			mid := (low + high) / 2
			if y := s.pair(c, mid); (c.of(&y) < 0) == before {
				low = mid
			} else {
				high = mid
			}
		}
		if high > least {
			theta, found = high, true
		}
	}
	return theta, found
}

// pair is the state at θ as far as the corner looks at it.
func (s *step) pair(c *corner, theta float64) (y vector) {
	y[c.a] = s.at(c.a, theta)
	if c.b >= 0 {
		y[c.b] = s.at(c.b, theta)
	}
	return y
}

// norm is the root mean square of e measured in units of the tolerance; 1 is
// just acceptable.
func (tol *tolerance) norm(e, y0, y1 *vector) float64 {
	sum := 0.0
	for i := range e {
		x := e[i] / (tol.absolute[i] + tol.relative*math.Max(math.Abs(y0[i]), math.Abs(y1[i])))
		sum += x * x
	}
	return math.Sqrt(sum / dim)
}
