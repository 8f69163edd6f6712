package lenspower

import (
	"math"
	"testing"

	"linn/calc/optics"
	"linn/unit"
)

// closed is a formula as its authors print it: not through the engine.
type closed struct {
	power, refraction func(in closedInput, x float64) float64
}

// closedInput is one eye with its own constant; c is A's ACD constant, SF, pACD
// or a0.
type closedInput struct{ al, k, acd, c, v float64 }

// oracles are the printed closed forms, by method.
var oracles = map[string]closed{
	"srk-t":      {srktClosedPower(srktPrintedHeight), srktClosedRefraction(srktPrintedHeight)},
	"t2":         {srktClosedPower(t2PrintedHeight), srktClosedRefraction(t2PrintedHeight)},
	"holladay-1": {holladayClosedPower, holladayClosedRefraction},
	"hoffer-q":   {hofferClosedPower, hofferClosedRefraction},
	"haigis":     {haigisClosedPower, haigisClosedRefraction},
}

func srktPrintedHeight(al, k float64) float64 {
	r := 337.5 / k
	lcor := al
	if al > 24.2 {
		lcor = -3.446 + 1.716*al - 0.0237*al*al
	}
	cw := -5.41 + 0.58412*lcor + 0.098*k
	return r - math.Sqrt(r*r-cw*cw/4)
}

func t2PrintedHeight(al, k float64) float64 { return -10.326 + 0.32630*al + 0.13533*k }

func srktParts(in closedInput, height func(al, k float64) float64) (r, lopt, acd, x, y float64) {
	r = 337.5 / in.k
	lopt = in.al + 0.65696 - 0.02029*in.al
	acd = height(in.al, in.k) + in.c - 3.336
	return r, lopt, acd, 1.336*r - 0.333*lopt, 1.336*r - 0.333*acd
}

func srktClosedPower(height func(al, k float64) float64) func(closedInput, float64) float64 {
	return func(in closedInput, ref float64) float64 {
		r, lopt, acd, x, y := srktParts(in, height)
		return 1000 * 1.336 * (x - 0.001*ref*(in.v*x+lopt*r)) / ((lopt - acd) * (y - 0.001*ref*(in.v*y+acd*r)))
	}
}

func srktClosedRefraction(height func(al, k float64) float64) func(closedInput, float64) float64 {
	return func(in closedInput, p float64) float64 {
		r, lopt, acd, x, y := srktParts(in, height)
		return (1000*1.336*x - p*(lopt-acd)*y) / (1.336*(in.v*x+lopt*r) - 0.001*p*(lopt-acd)*(in.v*y+acd*r))
	}
}

func holladayParts(in closedInput) (r, alm, d, x, y float64) {
	r = 337.5 / in.k
	rag, ag := math.Max(r, 7), math.Min(12.5*in.al/23.45, 13.5)
	alm = in.al + 0.20
	d = 0.56 + rag - math.Sqrt(rag*rag-ag*ag/4) + in.c
	return r, alm, d, 1.336*r - alm/3, 1.336*r - d/3
}

func holladayClosedPower(in closedInput, ref float64) float64 {
	r, alm, d, x, y := holladayParts(in)
	return 1000 * 1.336 * (x - 0.001*ref*(in.v*x+alm*r)) / ((alm - d) * (y - 0.001*ref*(in.v*y+d*r)))
}

func holladayClosedRefraction(in closedInput, p float64) float64 {
	r, alm, d, x, y := holladayParts(in)
	return (1000*1.336*x - p*(alm-d)*y) / (1.336*(in.v*x+alm*r) - 0.001*p*(alm-d)*(in.v*y+d*r))
}

// hofferPrintedDepth is C; the tangents are the library's, in degrees.
func hofferPrintedDepth(in closedInput) float64 {
	a := math.Min(math.Max(in.al, 18.5), 31)
	m, g := 1.0, 28.0
	if a > 23 {
		m, g = -1, 23.5
	}
	tan := func(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }
	return in.c + 0.3*(a-23.5) + tan(in.k)*tan(in.k) + 0.1*m*(23.5-a)*(23.5-a)*tan(0.1*(g-a)*(g-a)) - 0.99166
}

func hofferClosedPower(in closedInput, ref float64) float64 {
	c, r := hofferPrintedDepth(in), ref/(1-0.001*in.v*ref)
	return 1336/(in.al-c-0.05) - 1.336/(1.336/(in.k+r)-(c+0.05)/1000)
}

func hofferClosedRefraction(in closedInput, p float64) float64 {
	c := hofferPrintedDepth(in)
	r := 1.336/(1.336/(1336/(in.al-c-0.05)-p)+(c+0.05)/1000) - in.k
	return r / (1 + 0.001*in.v*r)
}

func haigisClosedPower(in closedInput, ref float64) float64 {
	d := in.c + 0.4*in.acd + 0.1*in.al
	z := 331.5/(337.5/in.k) + ref/(1-0.001*in.v*ref)
	return 1336/(in.al-d) - 1336/(1336/z-d)
}

func haigisClosedRefraction(in closedInput, p float64) float64 {
	d, dc := in.c+0.4*in.acd+0.1*in.al, 331.5/(337.5/in.k)
	rc := 1336/(1336/(1336/(in.al-d)-p)+d) - dc
	return rc / (1 + 0.001*in.v*rc)
}

// TestClosedForms holds the engine against the printed closed forms. Both share
// the coefficients, typed twice; the algebra is independent.
func TestClosedForms(t *testing.T) {
	const tolerance = 1e-9
	for _, m := range Methods {
		t.Run(m.ID, func(t *testing.T) {
			r := resolved(t, m, published)
			c := float64(r.Value)
			if m.Key == "a" {
				c = 0.62467*c - 68.747
			}
			compared := 0
			for al := 18.0; al <= 34; al += 0.25 {
				for k := 36.0; k <= 52; k += 0.75 {
					for _, v := range []float64{12, 14} {
						in := Input{AxialLength: unit.Millimetre(al), K: unit.Dioptre(k), ACD: unit.Known(unit.Millimetre(3.1)), Vertex: unit.Millimetre(v), Constant: r}
						s, err := m.Solve(in)
						if err != nil {
							continue // the cusp of srk-t
						}
						was := closedInput{al, k, 3.1, c, v}
						for ref := -8.0; ref <= 8; ref += 2 {
							p, err := s.Power(unit.Dioptre(ref))
							if want := oracles[m.ID].power(was, ref); err != nil || !(math.Abs(float64(p)-want) <= tolerance) {
								t.Fatalf("power for %g at %g/%g: %v, %v, in print %v", ref, al, k, p, err, want)
							}
							back, err := s.Refraction(p)
							if want := oracles[m.ID].refraction(was, float64(p)); err != nil || !(math.Abs(float64(back)-want) <= tolerance) {
								t.Fatalf("refraction of %g at %g/%g: %v, %v, in print %v", p, al, k, back, err, want)
							}
							compared++
						}
					}
				}
			}
			if compared < 15000 {
				t.Errorf("only %d comparisons", compared)
			}
		})
	}
}

// holladayQuadratic is the surgeon factor of one result as Holladay prints it.
func holladayQuadratic(in closedInput, p, ref float64) float64 {
	r, alm, d, _, _ := holladayParts(in)
	aacd := d - in.c
	v, na := in.v, 1.336
	aq := 1./3 - 0.001*ref*(v/3-r)
	bq := 0.001*ref*(alm*v/3-r*(alm-v*na)) - (alm/3 + na*r)
	cq1 := 0.001 * ref * (v*(na*r-alm/3) + alm*r)
	cq2 := 1000 * na * (na*r - alm/3 - cq1) / p
	cq3 := alm*na*r - 0.001*ref*alm*v*r*na
	cq := cq3 - cq2
	return (-bq-math.Sqrt(bq*bq-4*aq*cq))/(2*aq) - aacd
}

// TestSurgeonFactor holds the personal constant of Holladay 1 against the
// quadratic of the paper.
func TestSurgeonFactor(t *testing.T) {
	m := MethodNamed("holladay-1")
	r := resolved(t, m, published)
	for al := 20.0; al <= 30; al++ {
		for k := 38.0; k <= 50; k += 2 {
			for _, out := range []optics.Achieved{{Power: 21, Refraction: -0.75}, {Power: 30, Refraction: 1.5}, {Power: 6, Refraction: -3}, {Power: 12, Refraction: 0}, {Power: -3, Refraction: 0.5}} {
				in := Input{AxialLength: unit.Millimetre(al), K: unit.Dioptre(k), Vertex: 12, Constant: r}
				want := holladayQuadratic(closedInput{al, k, 0, 1.4499, 12}, float64(out.Power), float64(out.Refraction))
				got, err := m.PersonalConstant(in, out)
				switch {
				case math.IsNaN(want):
					if err == nil {
						t.Errorf("%g/%g %v: %v where the quadratic has no root", al, k, out, got.Value)
					}
				case err != nil || !(math.Abs(float64(got.Value)-want) <= 1e-8*(1+math.Abs(want))):
					t.Errorf("%g/%g %v: %v, %v, in print %v", al, k, out, got.Value, err, want)
				}
			}
		}
	}
}

// TestTangent holds the continued fraction against the library. At 20 degrees
// the cut costs 2.3e-15 of the tangent, and (1 + tan)²/(1 − tan)² makes
// 4/(1 − tan²)·8e-16 = 4e-15 of it; the rest is rounding.
func TestTangent(t *testing.T) {
	const tolerance = 6e-15
	for deg := 25.0; deg <= 65; deg += 0.013 {
		want := math.Pow(math.Tan(deg*math.Pi/180), 2)
		if got := tanSquared(deg); math.Abs(got-want) > tolerance*want {
			t.Errorf("tan² %g: %v, library %v", deg, got, want)
		}
	}
	for deg := -20.0; deg <= 20; deg += 0.011 {
		want := math.Tan(deg * math.Pi / 180)
		if got := tanSmall(deg); math.Abs(got-want) > tolerance*math.Abs(want) {
			t.Errorf("tan %g: %v, library %v", deg, got, want)
		}
	}
	if a := hofferLength(15); hofferBend*(hofferShortG-a)*(hofferShortG-a) > 20 {
		t.Error("the second tangent leaves its range")
	}
}
