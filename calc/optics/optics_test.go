package optics

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/unit"
)

func aThin(t *rapid.T) Thin {
	l := rapid.Float64Range(15, 38).Draw(t, "L")
	return Thin{unit.Dioptre(rapid.Float64Range(25, 65).Draw(t, "Kc")), unit.Millimetre(l), unit.Millimetre(rapid.Float64Range(2, 9).Draw(t, "d")), unit.Millimetre(rapid.Float64Range(0, 16).Draw(t, "V"))}
}

func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance*(1+math.Abs(a)) }

// TestThinIsTheFormula holds the common denominator against the formula as it
// is written in the documentation, term by term.
func TestThinIsTheFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, target := aThin(t), rapid.Float64Range(-12, 15).Draw(t, "target")
		kc, l, d, v := float64(e.Cornea), float64(e.Length), float64(e.Position), float64(e.Vertex)
		rc := target / (1 - 0.001*v*target)
		want := 1336/(l-d) - 1336/(1336/(kc+rc)-d)
		p, err := e.Power(unit.Dioptre(target))
		if err != nil || !near(want, float64(p), 1e-10) {
			t.Fatalf("%+v for %g: %v, %v, want %v", e, target, p, err, want)
		}
		s := 1336 / (1336/(1336/(l-d)-float64(p)) + d)
		back, err := e.Refraction(p)
		if want := (s - kc) / (1 + 0.001*v*(s-kc)); err != nil || !near(want, float64(back), 1e-9) || !near(target, float64(back), 1e-9) {
			t.Fatalf("%+v with %g: %v, %v, want %v and %v", e, p, back, err, want, target)
		}
	})
}

// TestThinIsASystem holds the thin eye against matrices: two surfaces that have
// the powers of its cornea and lens, the lens a sliver of dense glass.
func TestThinIsASystem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := aThin(t)
		p := rapid.Float64Range(1, 40).Draw(t, "P")
		const glass = 1.9
		half := SurfaceRadius(unit.Dioptre(p/2), Media{Aqueous, glass})
		s := System{1, []Surface{{SurfaceRadius(e.Cornea, Media{1, Aqueous}), Aqueous, e.Position}, {half, glass, 0}, {-half, Aqueous, e.Length - e.Position}}}
		rc, err := s.VertexRefraction()
		if err != nil {
			t.Fatal(err)
		}
		want, err := ToSpectacle(rc, e.Vertex)
		if err != nil {
			t.Skip("far point between the planes")
		}
		got, err := e.Refraction(unit.Dioptre(p))
		if err != nil || !near(float64(want), float64(got), 1e-9) {
			t.Fatalf("%+v with %g: %v, %v; surfaces say %v", e, p, got, err, want)
		}
	})
}

func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := aThin(t)
		more := rapid.Float64Range(0.001, 1).Draw(t, "more")
		p, err := e.Power(0)
		if err != nil {
			t.Fatal(err)
		}
		longer, steeper := e, e
		longer.Length += unit.Millimetre(more)
		steeper.Cornea += unit.Dioptre(more)
		a, err1 := longer.Power(0)
		b, err2 := steeper.Power(0)
		r, err3 := e.Power(unit.Dioptre(more))
		if errors.Join(err1, err2, err3) != nil || !(a < p && b < p && r < p) {
			t.Fatalf("%+v needs %v; longer %v, steeper %v, hyperopic target %v", e, p, a, b, r)
		}
	})
}

// TestPositionFor finds the position an outcome was computed from.
func TestPositionFor(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := aThin(t)
		p := unit.Dioptre(rapid.Float64Range(5, 40).Draw(t, "P"))
		r, err := e.Refraction(p)
		if err != nil {
			t.Skip("far point between the planes")
		}
		// The equation is symmetric about the middle of retina and corneal
		// image; a lens beyond it is the other root.
		if z := float64(e.Cornea) + corneal(t, r, e.Vertex); float64(e.Position) > (float64(e.Length)+1336/z)/2-0.1 {
			t.Skip("lens beyond the middle")
		}
		was := e.Position
		e.Position = 0
		d, err := e.PositionFor(Achieved{p, r})
		if err != nil || math.Abs(float64(d-was)) > 1e-7 {
			t.Fatalf("%+v with %v leaves %v: %v, want %v, %v", e, p, r, d, was, err)
		}
	})
}

func corneal(t *rapid.T, r unit.Dioptre, v unit.Millimetre) float64 {
	rc, err := ToCornea(r, v)
	if err != nil {
		t.Fatal(err)
	}
	return float64(rc)
}

func TestThinRefuses(t *testing.T) {
	good := Thin{43, 23.5, 5, 12}
	nan := math.NaN()
	for _, c := range []struct {
		name  string
		err   func() error
		field string
	}{
		{"lens before the cornea", func() error { _, err := Thin{43, 23.5, -1, 12}.Power(0); return err }, "lens_position_mm"},
		{"lens on the cornea", func() error { _, err := Thin{43, 23.5, 0, 12}.Refraction(20); return err }, "lens_position_mm"},
		{"lens behind the retina", func() error { _, err := Thin{43, 23.5, 24, 12}.Power(0); return err }, "lens_position_mm"},
		{"no position", func() error { _, err := Thin{43, 23.5, unit.Millimetre(nan), 12}.Power(0); return err }, "lens_position_mm"},
		{"target at the cornea", func() error { _, err := good.Power(1000. / 12); return err }, "target_d"},
		{"target beyond the cornea", func() error { _, err := good.Power(100); return err }, "target_d"},
		{"cornea focuses before the lens", func() error { _, err := Thin{300, 23.5, 5, 12}.Power(0); return err }, "target_d"},
		{"target not a number", func() error { _, err := good.Power(unit.Dioptre(nan)); return err }, "target_d"},
		{"far point between the planes", func() error { _, err := good.Refraction(120); return err }, "power_d"},
		{"no lens so strong", func() error { _, err := good.Refraction(500); return err }, "power_d"},
		{"power not a number", func() error { _, err := good.Refraction(unit.Dioptre(nan)); return err }, "power_d"},
		{"no lens has no position", func() error { _, err := good.PositionFor(Achieved{0, -1}); return err }, "power_d"},
		{"no position explains it", func() error { _, err := good.PositionFor(Achieved{40, 13}); return err }, "power_d"},
		{"refraction beyond the cornea", func() error { _, err := good.PositionFor(Achieved{20, 90}); return err }, "power_d"},
	} {
		var domain *unit.RangeError
		if err := c.err(); !errors.As(err, &domain) || domain.What != c.field || !(domain.Low < domain.High) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// TestTargetLimit: the bound an error names is where answers end.
func TestTargetLimit(t *testing.T) {
	e := Thin{43, 23.5, 5, 12}
	_, err := e.Power(1000)
	var domain *unit.RangeError
	if !errors.As(err, &domain) {
		t.Fatal(err)
	}
	if _, err := e.Power(unit.Dioptre(domain.High - 1e-6)); err != nil {
		t.Errorf("below %v: %v", domain.High, err)
	}
	if _, err := e.Power(unit.Dioptre(domain.High + 1e-6)); err == nil {
		t.Errorf("above %v there is an answer", domain.High)
	}
}

func aSystem(t *rapid.T) System {
	s := System{Before: unit.Index(rapid.Float64Range(1, 1.4).Draw(t, "before"))}
	for range rapid.IntRange(1, 6).Draw(t, "surfaces") {
		r := rapid.Float64Range(4, 100).Draw(t, "radius")
		if rapid.Bool().Draw(t, "concave") {
			r = -r
		}
		s.Surfaces = append(s.Surfaces, Surface{unit.Millimetre(r), unit.Index(rapid.Float64Range(1.3, 1.6).Draw(t, "index")), unit.Millimetre(rapid.Float64Range(0.1, 5).Draw(t, "gap"))})
	}
	return s
}

// TestSystemBothWays: the vergence found backwards from the retina, sent
// forwards, comes to its focus there.
func TestSystemBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := aSystem(t)
		v, err := s.VertexRefraction()
		if err != nil || math.Abs(float64(v)) > 1e4 {
			t.Skip("focus on a surface")
		}
		out, err := s.Emerging(v)
		last := s.Surfaces[len(s.Surfaces)-1]
		if want := 1000 * float64(last.After) / float64(last.Gap); err != nil || !near(want, float64(out), 1e-6) {
			t.Fatalf("%+v: %v emerges as %v, %v, want %v", s, v, out, err, want)
		}
	})
}

// TestCardinalPoints: a parallel wave emerges with its focus at the back focal
// point, the principal points lie a focal length from the foci, and a reversed
// system has the same power.
func TestCardinalPoints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := aSystem(t)
		k, err := s.Cardinal()
		if err != nil || math.Abs(float64(k.Power)) < 0.5 {
			t.Skip("no power to speak of")
		}
		var depth float64
		for _, f := range s.Surfaces[:len(s.Surfaces)-1] {
			depth += float64(f.Gap)
		}
		last := float64(s.Surfaces[len(s.Surfaces)-1].After)
		out, err := s.Emerging(0)
		if err != nil || math.Abs(float64(out)) > 1e4 || math.Abs(float64(out)) < 0.01 {
			t.Skip("focus on a surface or at no distance")
		}
		if want := depth + 1000*last/float64(out); !near(want, float64(k.Back), 1e-6) {
			t.Fatalf("%+v: back focus %v, want %v", s, k.Back, want)
		}
		if f := 1000 * last / float64(k.Power); !near(float64(k.Back-k.HPrime), f, 1e-6) || !near(float64(k.H-k.Front), 1000*float64(s.Before)/float64(k.Power), 1e-6) {
			t.Fatalf("%+v: %+v, focal length %v", s, k, f)
		}
		back, err := s.reversed().Power()
		if err != nil || !near(float64(k.Power), float64(back), 1e-9) {
			t.Fatalf("power %v, reversed %v, %v", k.Power, back, err)
		}
	})
}

// reversed is the system seen from behind.
func (s System) reversed() System {
	n := len(s.Surfaces)
	r := System{Before: s.Surfaces[n-1].After}
	for i := n - 1; i >= 0; i-- {
		f := Surface{Radius: -s.Surfaces[i].Radius, After: s.before(i)}
		if i > 0 {
			f.Gap = s.Surfaces[i-1].Gap
		}
		r.Surfaces = append(r.Surfaces, f)
	}
	return r
}

func TestThickRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := unit.Millimetre(rapid.Float64Range(6.5, 9).Draw(t, "R"))
		e := Thick{Cornea{r, 0.83 * r, 0.55}, Shape{unit.Index(rapid.Float64Range(1.41, 1.6).Draw(t, "n")), unit.Millimetre(rapid.Float64Range(0, 1.5).Draw(t, "T")), unit.Constant(rapid.Float64Range(-1.5, 1.5).Draw(t, "X"))},
			unit.Millimetre(rapid.Float64Range(4, 6).Draw(t, "centre")), unit.Millimetre(rapid.Float64Range(20, 32).Draw(t, "AL")), 12}
		target := unit.Dioptre(rapid.Float64Range(-5, 5).Draw(t, "target"))
		p, err := e.Power(target)
		if err != nil {
			t.Fatal(err)
		}
		back, err := e.Refraction(p)
		if err != nil || !near(float64(target), float64(back), 1e-9) {
			t.Fatalf("%+v: %v wants %v which leaves %v, %v", e, target, p, back, err)
		}
		more, err := e.Refraction(p + 0.5)
		if err != nil || !(more < back) {
			t.Fatalf("half a dioptre more leaves %v, %v after %v", more, err, back)
		}
	})
}

// TestThickBecomesThin: without thickness the four-surface eye is the thin eye
// with the cornea's equivalent power, counted from the cornea's principal plane.
func TestThickBecomesThin(t *testing.T) {
	c := Cornea{7.7, 6.8, 0.5}
	e := Thick{c, Shape{1.49, 0, 0}, 5, 23.5, 0}
	f := c.surfaces(0)
	k, err := System{1, f[:]}.Cardinal()
	if err != nil {
		t.Fatal(err)
	}
	// Both principal planes of the cornea stand 0.05 mm in front of it.
	thin := Thin{k.Power, 23.5 - k.HPrime, 5 - k.HPrime, 0}
	for p := unit.Dioptre(5); p <= 35; p += 5 {
		a, err1 := e.Refraction(p)
		b, err2 := thin.Refraction(p)
		atFront, err3 := Gap{k.H, 1}.Back(b) // from the principal plane to the vertex
		if err := errors.Join(err1, err2, err3); err != nil || !near(float64(a), float64(atFront), 1e-9) {
			t.Errorf("%v D: four surfaces %v, thin %v, %v", p, a, atFront, err)
		}
	}
}

func TestRefusals(t *testing.T) {
	nan := unit.Millimetre(math.NaN())
	cornea := Cornea{7.7, 6.8, 0.5}
	for _, c := range []struct {
		name string
		err  func() error
	}{
		{"no surfaces", func() error { _, err := System{Before: 1}.Power(); return err }},
		{"no radius", func() error { _, err := System{1, []Surface{{0, 1.3, 0}}}.Power(); return err }},
		{"radius not a number", func() error { _, err := System{1, []Surface{{nan, 1.3, 0}}}.Cardinal(); return err }},
		{"no index", func() error { _, err := System{1, []Surface{{7, 0, 0}}}.Power(); return err }},
		{"no index in front", func() error { _, err := System{0, []Surface{{7, 1.3, 0}}}.Power(); return err }},
		{"negative gap", func() error { _, err := System{1, []Surface{{7, 1.3, -1}}}.Emerging(0); return err }},
		{"endless gap", func() error { _, err := System{1, []Surface{{7, 1.3, Plane}}}.VertexRefraction(); return err }},
		{"retina on the last surface", func() error { _, err := System{1, []Surface{{7, 1.3, 0}}}.VertexRefraction(); return err }},
		{"a plane has no cardinal points", func() error { _, err := System{1, []Surface{{Plane, 1.3, 0}}}.Cardinal(); return err }},
		{"step onto the focus", func() error { _, err := Gap{1000, 1}.Step(1); return err }},
		{"light lens", func() error { _, _, err := Shape{1.3, 0.8, 0}.Radii(20); return err }},
		{"negative thickness", func() error { _, _, err := Shape{1.5, -0.1, 0}.Radii(20); return err }},
		{"strange form", func() error { _, _, err := Shape{1.5, 0.8, 9}.Radii(20); return err }},
		{"too thick for its power", func() error { _, _, err := Shape{1.5, 5, 0}.Radii(400); return err }},
		{"too thick a meniscus", func() error { _, _, err := Shape{1.5, 5, 3}.Radii(-100); return err }},
		{"lens in the cornea", func() error { _, err := Thick{cornea, Shape{1.5, 0.8, 0}, 0.8, 23, 12}.Power(0); return err }},
		{"lens in the retina", func() error { _, err := Thick{cornea, Shape{1.5, 0.8, 0}, 22.8, 23, 12}.Refraction(0); return err }},
		{"target beyond the cornea", func() error { _, err := Thick{cornea, Shape{1.5, 0.8, 0}, 5, 23, 12}.Power(90); return err }},
		{"far vertex", func() error { _, err := ToCornea(1, 40); return err }},
	} {
		if err := c.err(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if r := SurfaceRadius(0, Media{1, 1.5}); r != Plane || SurfacePower(Plane, Media{1, 1.5}) != 0 {
		t.Errorf("a plane: %v", r)
	}
}

func TestThinAllocatesNothing(t *testing.T) {
	e := Thin{43, 23.5, 5, 12}
	if n := testing.AllocsPerRun(100, func() {
		p, err := e.Power(-0.5)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := e.Refraction(p); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
