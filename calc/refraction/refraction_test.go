package refraction

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/internal/checkvalue"
	"linn/unit"
)

var runners = map[string]func(*checkvalue.Case) (checkvalue.Results, error){
	"derived/vertex.txt": func(c *checkvalue.Case) (checkvalue.Results, error) {
		f, v := unit.Dioptre(c.Num("F")), unit.Millimetre(c.Num("V"))
		cornea, err1 := EquivalentToCornea(f, v)
		spectacle, err2 := EquivalentToSpectacle(f, v)
		return checkvalue.Results{"cornea": float64(cornea), "spectacle": float64(spectacle)}, errors.Join(err1, err2)
	},
	"derived/acuity.txt":       acuityRow,
	"derived/acuity-lines.txt": acuityRow,
	"derived/far-points.txt": func(c *checkvalue.Case) (checkvalue.Results, error) {
		r, err := EquivalentToSpectacle(unit.Dioptre(c.Num("Rc")), 12)
		return checkvalue.Results{"R": float64(r)}, err
	},
	"derived/power-vectors.txt": func(c *checkvalue.Case) (checkvalue.Results, error) {
		v := AtSpectacle{unit.Dioptre(c.Num("S")), unit.Dioptre(c.Num("C")), unit.NewAxis(unit.Degree(c.Num("axis"))), 12}.Vector()
		return checkvalue.Results{"M": float64(v.M), "J0": float64(v.J0), "J45": float64(v.J45), "B": float64(v.Blur())}, nil
	},
	"derived/meridians.txt": func(c *checkvalue.Case) (checkvalue.Results, error) {
		r := AtSpectacle{unit.Dioptre(c.Num("S")), unit.Dioptre(c.Num("C")), unit.NewAxis(unit.Degree(c.Num("axis"))), 12}
		plus, wanted := r.Transpose(), c.Num("C2")
		cornea, err := r.ToCornea()
		axis := float64(plus.Axis)
		if wanted == 0 || c.Num("axis2") == 0 && axis == 180 {
			axis = c.Num("axis2") // 0 and 180 are one axis, and no cylinder has none
		}
		return checkvalue.Results{"M": float64(r.Equivalent()), "S2": float64(plus.Sphere), "C2": float64(plus.Cylinder), "axis2": axis,
			"Scornea": float64(cornea.Sphere), "Ccornea": float64(cornea.Cylinder)}, err
	},
}

func TestCheckValues(t *testing.T) {
	files, err := checkvalue.LoadTree(".")
	if err != nil {
		t.Fatal(err)
	}
	for i := range files {
		f := &files[i]
		t.Run(f.Name(), func(t *testing.T) {
			run := runners[f.Name()]
			if run == nil {
				t.Fatal("no runner")
			}
			for _, fault := range f.Run(run) {
				t.Error(fault)
			}
		})
	}
	for _, name := range checkvalue.Unmatched(files, runners) {
		t.Errorf("%s is gone", name)
	}
}

func aRefraction(t *rapid.T) AtSpectacle {
	return AtSpectacle{unit.Dioptre(rapid.Float64Range(-20, 20).Draw(t, "sphere")), unit.Dioptre(rapid.Float64Range(-6, 6).Draw(t, "cylinder")),
		unit.NewAxis(unit.Degree(rapid.Float64Range(-360, 360).Draw(t, "axis"))), unit.Millimetre(rapid.Float64Range(0, 16).Draw(t, "vertex"))}
}

func near(a, b unit.Dioptre) bool { return math.Abs(float64(a-b)) <= 1e-12*(1+math.Abs(float64(a))) }

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := aRefraction(t)
		c, err := r.ToCornea()
		if err != nil {
			t.Fatal(err)
		}
		back, err := c.ToSpectacle(r.Vertex)
		if err != nil || !near(back.Sphere, r.Sphere) || !near(back.Cylinder+back.Sphere, r.Cylinder+r.Sphere) || back.Axis != r.Axis || back.Vertex != r.Vertex {
			t.Fatalf("%+v by way of %+v is %+v: %v", r, c, back, err)
		}
	})
}

// TestTransposition: both forms are one refraction, at either plane.
func TestTransposition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := aRefraction(t)
		o := r.Transpose()
		if !near(o.Equivalent(), r.Equivalent()) || !near(o.Cylinder, -r.Cylinder) || o.Vertex != r.Vertex {
			t.Fatalf("%+v and %+v", r, o)
		}
		a, err1 := r.ToCornea()
		b, err2 := o.ToCornea()
		if err1 != nil || err2 != nil || !near(a.Equivalent(), b.Equivalent()) || !near(a.Sphere, b.Sphere+b.Cylinder) || !near(b.Sphere, a.Sphere+a.Cylinder) {
			t.Fatalf("%+v and %+v: %v %v", a, b, err1, err2)
		}
		if a.Cylinder != 0 && a.Transpose().Axis != b.Axis {
			t.Fatalf("axes of %+v and %+v", a, b)
		}
	})
}

// TestAtTheCornea: a spectacle plane at the cornea changes nothing, and a far
// one makes minus weaker and plus stronger on the eye.
func TestAtTheCornea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := aRefraction(t)
		r.Vertex = 0
		if c, err := r.ToCornea(); err != nil || !near(c.Sphere, r.Sphere) || !near(c.Cylinder+c.Sphere, r.Cylinder+r.Sphere) {
			t.Fatalf("%+v is %+v: %v", r, c, err)
		}
		if c, err := EquivalentToCornea(r.Sphere, 12); err != nil || !(c >= r.Sphere) {
			t.Fatalf("%v is %v: %v", r.Sphere, c, err)
		}
	})
}

func TestDomain(t *testing.T) {
	nan := unit.Dioptre(math.NaN())
	for _, c := range []struct {
		name string
		err  func() error
	}{
		{"focus on the cornea", func() error { _, err := EquivalentToCornea(100, 10); return err }},
		{"focus in front of the cornea", func() error { _, err := EquivalentToCornea(101, 10); return err }},
		{"far point between the planes", func() error { _, err := EquivalentToSpectacle(-101, 10); return err }},
		{"not a number", func() error { _, err := EquivalentToCornea(nan, 12); return err }},
		{"plane behind the cornea", func() error { _, err := EquivalentToCornea(1, -1); return err }},
		{"plane too far", func() error { _, err := EquivalentToSpectacle(1, 31); return err }},
		{"first meridian", func() error { _, err := AtSpectacle{100, -50, 90, 12}.ToCornea(); return err }},
		{"second meridian", func() error { _, err := AtSpectacle{50, 50, 90, 12}.ToCornea(); return err }},
		{"first meridian back", func() error { _, err := AtCornea{-100, 50, 90}.ToSpectacle(12); return err }},
		{"second meridian back", func() error { _, err := AtCornea{-50, -50, 90}.ToSpectacle(12); return err }},
	} {
		if err := c.err(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// TestPowerVectors: there and back, and one vector for both forms.
func TestPowerVectors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := aRefraction(t).ToCornea()
		if err != nil {
			t.Fatal(err)
		}
		v, o := c.Vector(), c.Transpose().Vector()
		b := v.AtCornea().Vector()
		for _, w := range []PowerVector{o, b} {
			if math.Abs(float64(w.M-v.M)) > 1e-12*(1+math.Abs(float64(v.M))) || math.Hypot(float64(w.J0-v.J0), float64(w.J45-v.J45)) > 1e-12 {
				t.Fatalf("%+v: %+v, %+v", c, v, w)
			}
		}
		if m := v.AtCornea(); m.Cylinder > 0 || !near(m.Equivalent(), c.Equivalent()) {
			t.Fatalf("%+v", m)
		}
	})
}
