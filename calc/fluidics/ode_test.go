package fluidics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The test problem has a closed solution, is nonlinear, coupled and moves with
// time, so that every order condition of both pairs takes part:
//
//	y0 = 1/(1+t²), y1 = sin t², y2 = cos t², y3 = exp(sin t²), y4 = y0·y3.
func known() *problem {
	return &problem{
		tol: tight(1e-9),
		derive: func(t float64, y, f *vector) {
			*f = vector{-2 * t * y[0] * y[0], 2 * t * y[2], -2 * t * y[1], 2 * t * y[2] * y[3], -2*t*y[0]*y[4] + 2*t*y[2]*y[4]}
		},
		jacobian: func(t float64, y *vector, j *matrix, ft *vector) {
			*j = matrix{}
			j[0][0] = -4 * t * y[0]
			j[1][2] = 2 * t
			j[2][1] = -2 * t
			j[3][2], j[3][3] = 2*t*y[3], 2*t*y[2]
			j[4][0], j[4][2], j[4][4] = -2*t*y[4], 2*t*y[4], -2*t*y[0]+2*t*y[2]
			*ft = vector{-2 * y[0] * y[0], 2 * y[2], -2 * y[1], 2 * y[2] * y[3], -2*y[0]*y[4] + 2*y[2]*y[4]}
		},
	}
}

func knownAt(t float64) vector {
	s, c := math.Sincos(t * t)
	return vector{1 / (1 + t*t), s, c, math.Exp(s), math.Exp(s) / (1 + t*t)}
}

func tight(x float64) tolerance {
	tol := tolerance{relative: x}
	for i := range tol.absolute {
		tol.absolute[i] = x
	}
	return tol
}

func distance(a, b *vector) (d float64) {
	for i := range a {
		d = max(d, math.Abs(a[i]-b[i]))
	}
	return d
}

// fixed integrates with n equal steps and returns the error at the end, the
// greatest error of the interpolant on the way and the error estimate of one
// step of that size.
func fixed(implicitPair bool, n int) (end, between, estimate float64) {
	p := known()
	const t0, t1 = 0.3, 1.7
	h := (t1 - t0) / float64(n)
	y := knownAt(t0)
	var ex explicit
	var im implicit
	p.derive(t0, &y, &ex.k1)
	for i := range n {
		t := t0 + float64(i)*h
		s := step{t: t, h: h, y0: y}
		if implicitPair {
			im.fresh = false
			im.try(p, t, h, &y)
			s.y1 = im.y1
			im.interpolate(&s)
			estimate = max(estimate, distance(&im.a[5], &vector{}))
		} else {
			ex.try(p, t, h, &y)
			s.y1 = ex.y1
			ex.interpolate(&s)
			ex.k1 = ex.k7
			estimate = max(estimate, distance(&ex.e, &vector{}))
		}
		for _, theta := range []float64{0.2, 0.5, 0.8} {
			got, want := s.state(theta), knownAt(t+theta*h)
			between = max(between, distance(&got, &want))
		}
		y = s.y1
	}
	want := knownAt(t1)
	return distance(&y, &want), between, estimate
}

// Halving the step must divide the error by 2 to the order: the order shrinks
// at once when a coefficient is wrong.
func TestOrders(t *testing.T) {
	for _, c := range []struct {
		name                   string
		implicitPair           bool
		end, between, estimate float64
	}{
		{"explicit", false, 5, 5, 5}, // the interpolant's local error is of order 5
		{"implicit", true, 4, 4, 4},  // that of order 3 leaves local error 4
	} {
		e1, b1, s1 := fixed(c.implicitPair, 40)
		e2, b2, s2 := fixed(c.implicitPair, 80)
		for _, m := range []struct {
			what       string
			got, least float64
		}{{"end", math.Log2(e1 / e2), c.end}, {"interpolant", math.Log2(b1 / b2), c.between}, {"estimate", math.Log2(s1 / s2), c.estimate}} {
			t.Logf("%s: %s: order %.2f (errors %.1e)", c.name, m.what, m.got, e2)
			if m.got < m.least-0.35 {
				t.Errorf("%s: %s has order %.2f, want %g", c.name, m.what, m.got, m.least)
			}
		}
	}
}

func TestRowSums(t *testing.T) {
	for name, c := range map[string]struct{ sum, want float64 }{
		"c3": {dpA31 + dpA32, dpC3}, "c4": {dpA41 + dpA42 + dpA43, dpC4}, "c5": {dpA51 + dpA52 + dpA53 + dpA54, dpC5},
		"c6": {dpA61 + dpA62 + dpA63 + dpA64 + dpA65, 1}, "b": {dpB1 + dpB3 + dpB4 + dpB5 + dpB6, 1},
		"e": {dpE1 + dpE3 + dpE4 + dpE5 + dpE6 + dpE7, 0}, "d": {dpD1 + dpD3 + dpD4 + dpD5 + dpD6 + dpD7, 0},
	} {
		if math.Abs(c.sum-c.want) > 1e-13 {
			t.Errorf("%s: %.17g, want %g", name, c.sum, c.want)
		}
	}
}

// The tolerance is what is asked for: the error at the end falls with it.
func TestToleranceIsKept(t *testing.T) {
	for _, always := range []string{"explicit", "implicit"} {
		for _, tol := range []float64{1e-5, 1e-8} {
			p := known()
			p.tol = tight(tol)
			v := solver{always: always}
			y := knownAt(0)
			worst := 0.0
			err := v.run(p, 0, 3, &y, func(s *step) {
				got, want := s.state(0.5), knownAt(s.t+s.h/2)
				worst = max(worst, distance(&got, &want))
			})
			want := knownAt(3)
			if err != nil || distance(&y, &want) > 100*tol || worst > 300*tol {
				t.Errorf("%s at %g: %v, end %.1e, between %.1e", always, tol, err, distance(&y, &want), worst)
			}
		}
	}
}

// A stiff problem (Prothero and Robinson 1974): y' = -λ(y - cos t) - sin t, y = cos t.
// The solver must notice and change pairs; the explicit pair alone needs about
// λ·t/3.3 steps.
func TestStiffness(t *testing.T) {
	const lambda = 1e6
	p := &problem{tol: tight(1e-7),
		derive: func(t float64, y, f *vector) { *f = vector{-lambda*(y[0]-math.Cos(t)) - math.Sin(t)} },
		jacobian: func(t float64, y *vector, j *matrix, ft *vector) {
			*j, *ft = matrix{{-lambda}}, vector{-lambda*math.Sin(t) - math.Cos(t)}
		}}
	v, y, steps, changed := solver{}, vector{1.5}, 0, false
	err := v.run(p, 0, 10, &y, func(s *step) { steps++; changed = changed || s.implicit })
	if err != nil || !changed || steps > 3000 || math.Abs(y[0]-math.Cos(10)) > 1e-6 {
		t.Errorf("%v, changed %v, %d steps, error %.1e", err, changed, steps, y[0]-math.Cos(10))
	}
	t.Logf("%d steps", steps)
}

func TestTurningAndCrossing(t *testing.T) {
	p := known()
	p.tol = tight(1e-10)
	v, y := solver{}, knownAt(0)
	var top, half []float64
	err := v.run(p, 0, 2, &y, func(s *step) {
		if theta, ok := s.turning(1, false); ok {
			top = append(top, s.t+theta*s.h)
		}
		if theta, ok := s.crossing(1, 0.5); ok {
			half = append(half, s.t+theta*s.h)
		}
	})
	if err != nil || len(top) != 1 || len(half) != 2 {
		t.Fatal(err, top, half)
	}
	// sin t² is greatest at t² = π/2 and a half at π/6 and 5π/6.
	for _, c := range [][2]float64{{top[0], math.Sqrt(math.Pi / 2)}, {half[0], math.Sqrt(math.Pi / 6)}, {half[1], math.Sqrt(5 * math.Pi / 6)}} {
		if math.Abs(c[0]-c[1]) > 1e-7 {
			t.Errorf("at %.9f, want %.9f", c[0], c[1])
		}
	}
}

// slope is the derivative of at: against the difference quotient.
func TestSlope(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	var s step
	for _, v := range []*vector{&s.y0, &s.y1, &s.c3, &s.c4, &s.c5} {
		v[0] = r.NormFloat64()
	}
	for theta := 0.05; theta < 1; theta += 0.1 {
		quotient := (s.at(0, theta+1e-6) - s.at(0, theta-1e-6)) / 2e-6
		if math.Abs(quotient-s.slope(0, theta)) > 1e-8 {
			t.Errorf("θ %.2f: %g, want %g", theta, s.slope(0, theta), quotient)
		}
	}
}

func TestLinearSolver(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for range 50 {
		var m, lu matrix
		var x, b vector
		for i := range m {
			x[i] = r.NormFloat64()
			for k := range m[i] {
				m[i][k] = r.NormFloat64()
			}
		}
		for i := range m {
			for k := range m[i] {
				b[i] += m[i][k] * x[k]
			}
		}
		lu = m
		var pivot [dim]int
		if !factor(&lu, &pivot) {
			t.Fatal("singular")
		}
		solve(&lu, &pivot, &b)
		if distance(&x, &b) > 1e-9 {
			t.Fatalf("off by %g", distance(&x, &b))
		}
	}
	var zero matrix
	if factor(&zero, new([dim]int)) {
		t.Error("a singular matrix was factored")
	}
}
