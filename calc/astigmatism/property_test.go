package astigmatism

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/calc/refraction"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func number(t *rapid.T, name string, low, high float64) float64 {
	return rapid.Float64Range(low, high).Draw(t, name)
}

func aCylinder(t *rapid.T) Cylinder {
	return Cylinder{unit.Dioptre(number(t, "C", 0.01, 6)), unit.NewAxis(unit.Degree(number(t, "steep", 0, 180)))}
}

func anEye(t *rapid.T) Pseudophakic {
	return Pseudophakic{Mean: unit.Dioptre(number(t, "K", 40, 47)), Cornea: aCylinder(t).Vector(), Length: unit.Millimetre(number(t, "AL", 21, 29)),
		Position: unit.Millimetre(number(t, "ELP", 4.3, 6)), Vertex: 12}
}

func aLens(t *rapid.T) ToricLens {
	return ToricLens{unit.Dioptre(number(t, "SE", 4, 30)), unit.Dioptre(number(t, "T", 0, 6)), unit.NewAxis(unit.Degree(number(t, "mark", 0, 180)))}
}

func sameVector(a, b Vector) bool {
	return float64(a.Sub(b).Magnitude()) <= 1e-9*(1+float64(a.Magnitude()))
}

func sameAxis(a, b unit.Axis, by float64) bool { return apart(unit.Degree(a), unit.Degree(b)) <= by }

// Turning everything by φ turns every axis by φ and changes no magnitude.
func TestEverythingTurns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		phi := unit.Degree(number(t, "phi", -720, 720))
		c := aCylinder(t)
		if v := c.Vector().Turn(phi).Cylinder(); !sameAxis(v.Steep, unit.NewAxis(unit.Degree(c.Steep)+phi), 1e-9) || math.Abs(float64(v.Magnitude-c.Magnitude)) > 1e-12 {
			t.Fatalf("%+v by %v is %+v", c, phi, v)
		}
		e, l := anEye(t), aLens(t)
		f, m := e, l
		f.Cornea, m.Mark = e.Cornea.Turn(phi), unit.NewAxis(unit.Degree(l.Mark)+phi)
		a, err1 := e.Refraction(l)
		b, err2 := f.Refraction(m)
		if (err1 == nil) != (err2 == nil) {
			t.Fatalf("%v, %v", err1, err2)
		}
		if err1 != nil || a.Cylinder > -0.001 {
			return
		}
		if math.Abs(float64(a.Sphere-b.Sphere)) > 1e-9 || math.Abs(float64(a.Cylinder-b.Cylinder)) > 1e-9 || !sameAxis(b.Axis, unit.NewAxis(unit.Degree(a.Axis)+phi), 1e-6) {
			t.Fatalf("%+v turned by %v is %+v", a, phi, b)
		}
		d, g := Change{c.Vector(), e.Cornea, Vector{}}.Alpins(), Change{c.Vector().Turn(phi), f.Cornea, Vector{}}.Alpins()
		if !sameVector(d.Induced.Turn(phi), g.Induced) || math.Abs(float64(d.Magnitude-g.Magnitude)) > 1e-9 {
			t.Fatalf("%+v, %+v", d, g)
		}
	})
}

// The same refraction in plus and in minus form is the same astigmatism.
func TestTranspositionChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := refraction.AtSpectacle{Sphere: unit.Dioptre(number(t, "S", -8, 5)), Cylinder: unit.Dioptre(number(t, "C", -4, 4)), Axis: unit.NewAxis(unit.Degree(number(t, "axis", 0, 180))), Vertex: 12}
		a, err1 := r.ToCornea()
		b, err2 := r.Transpose().ToCornea()
		if err1 != nil || err2 != nil || !sameVector(OfRefraction(a), OfRefraction(b)) {
			t.Fatalf("%+v %+v", a, b)
		}
		back := OfRefraction(a).Correction(a.Equivalent())
		if !sameVector(OfRefraction(back), OfRefraction(a)) || math.Abs(float64(back.Equivalent()-a.Equivalent())) > 1e-9 {
			t.Fatalf("%+v is %+v", a, back)
		}
		e, l := anEye(t), aLens(t)
		x, err1 := e.WithCornea(l, r)
		y, err2 := e.WithCornea(l, r.Transpose())
		if (err1 == nil) != (err2 == nil) || err1 == nil && !sameVector(x.Cornea, y.Cornea) {
			t.Fatalf("%+v, %+v: %v, %v", x, y, err1, err2)
		}
	})
}

// What surgery did and what would undo it are together nothing; the difference
// vector is the target's minus the induced one.
func TestThereAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := aCylinder(t).Vector(), aCylinder(t).Vector(), aCylinder(t).Vector()
		if s := (Change{a, b, c}).Induced().Add(Change{b, a, c}.Induced()); s.Magnitude() > 1e-12 {
			t.Fatalf("%+v", s)
		}
		x := Change{a, b, c}.Alpins()
		if !sameVector(x.Difference, x.Target.Sub(x.Induced)) {
			t.Fatalf("%+v", x)
		}
		y := Change{a, b, c}.Eydelman()
		if y.Magnitude != -x.Magnitude || !sameVector(y.Induced, x.Induced.Scale(-1)) || !sameVector(y.Error, y.Intended.Sub(y.Induced)) {
			t.Fatalf("%+v, %+v", x, y)
		}
		phi := unit.Degree(number(t, "phi", 0, 360))
		if !sameVector(a.Polar(phi).Vector(phi), a) || math.Abs(float64(a.Polar(phi).Along+a.Polar(phi+90).Along)) > 1e-12 {
			t.Fatalf("%+v", a.Polar(phi))
		}
	})
}

// The fellow eye is the mirror image: meridians mirror, places do, what is
// expected is the same.
func TestFellowEyeMirrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := aCylinder(t)
		if m := c.Vector().Mirror().Cylinder(); !sameAxis(m.Steep, unit.NewAxis(180-unit.Degree(c.Steep)), 1e-9) {
			t.Fatalf("%+v is %+v", c, m)
		}
		q := func(side eye.Side, v Vector) []Candidate {
			return Question{Side: side, Cornea: v, Types: IncisionTypes, Width: func(k IncisionType) unit.Millimetre {
				if k.Scleral() {
					return 6.5
				}
				return 2.8
			}}.Candidates()
		}
		right, left := q(eye.Right, c.Vector()), q(eye.Left, c.Vector().Mirror())
		if len(right) != len(left) {
			t.Fatalf("%d and %d", len(right), len(left))
		}
		for i := range right {
			r, l := right[i], left[i]
			if math.Abs(float64(r.Expected-l.Expected)) > 1e-9 || r.After.Magnitude > 0.001 && !sameVector(r.After.Vector().Mirror(), l.After.Vector()) {
				t.Fatalf("%d: %+v, %+v", i, r, l)
			}
			if i > 0 && r.Expected < right[i-1].Expected {
				t.Fatal("not in order")
			}
		}
		if !sameVector(Effect{Flattening: 0.3}.Vector(0), Effect{Flattening: 0.3}.Vector(180)) {
			t.Fatal("both ends of a meridian are one")
		}
	})
}

func TestPlacesByEye(t *testing.T) {
	for _, c := range []struct {
		side      eye.Side
		place     Place
		direction unit.Degree
		hour      string
	}{
		{eye.Right, Superior, 90, "12"}, {eye.Left, Superior, 90, "12"}, {eye.Right, Temporal, 180, "9"}, {eye.Left, Temporal, 0, "3"},
		{eye.Right, Superotemporal, 135, "10:30"}, {eye.Left, Superotemporal, 45, "1:30"},
	} {
		d := c.place.Direction(c.side)
		if d != c.direction || HourText(d) != c.hour || PlaceOf(d, c.side) != c.place || fromDirection(DirectionOf(Hour(d)), d) > 1e-9 {
			t.Errorf("%s %s: %v, %s, %s", c.side, c.place, d, HourText(d), PlaceOf(d, c.side))
		}
	}
	if OnSteep(180, eye.Right) != 180 || OnSteep(180, eye.Left) != 0 || OnSteep(90, eye.Right) != 90 || OnSteep(20, eye.Right) != 200 || OnSteep(20, eye.Left) != 20 {
		t.Error("the end to cut is on the far side")
	}
}

// Axis 0 is axis 180.
func TestZeroIsOneEighty(t *testing.T) {
	a, b := Cylinder{2, unit.NewAxis(0)}, Cylinder{2, 180}
	if a != b || a.Vector() != b.Vector() || a.Vector() != (Vector{2, 0}) || (Vector{2, 0}).Cylinder() != b {
		t.Errorf("%+v, %+v", a, b)
	}
	if (Vector{2, unit.Dioptre(math.Copysign(0, -1))}).Cylinder().Steep != 180 {
		t.Error("−0 is an axis of its own")
	}
}

// Lying across, a lens that matches the cornea doubles the astigmatism; at 30
// degrees it leaves as much as none.
func TestAcrossDoubles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := aCylinder(t)
		l := Laid{c.Vector(), c.Magnitude}
		across, thirty, sharp := l.Turned(90).Cylinder(), l.Turned(30).Magnitude(), l.Turned(0).Magnitude()
		if math.Abs(float64(across.Magnitude-2*c.Magnitude)) > 1e-9 || !sameAxis(across.Steep, c.Steep, 1e-6) || math.Abs(float64(thirty-c.Magnitude)) > 1e-9 || sharp > 1e-9 {
			t.Fatalf("%+v %v %v", across, thirty, sharp)
		}
		if math.Abs(float64(l.LostAt()-30)) > 1e-9 {
			t.Fatal(l.LostAt())
		}
		l.Lens *= unit.Dioptre(number(t, "ratio", 0.05, 1.95))
		if got := l.Turned(l.LostAt()).Magnitude(); math.Abs(float64(got-c.Magnitude)) > 1e-9 {
			t.Fatalf("at %v it leaves %v of %v", l.LostAt(), got, c.Magnitude)
		}
	})
}

// The ideal lens leaves nothing; a lens that lies anywhere is found back.
func TestIdealAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anEye(t)
		target := unit.Dioptre(number(t, "target", -3, 1))
		ideal, err := e.Ideal(target)
		if err != nil {
			t.Fatal(err)
		}
		r, err := e.Refraction(ideal)
		if err != nil || math.Abs(float64(r.Sphere-target)) > 1e-8 || math.Abs(float64(r.Cylinder)) > 1e-8 {
			t.Fatalf("%+v leaves %+v: %v", ideal, r, err)
		}
		l := aLens(t)
		if r, err = e.Refraction(l); err != nil {
			return
		}
		back, err := e.WithCornea(l, r)
		if err != nil || math.Abs(float64(back.Mean-e.Mean)) > 1e-8 || !sameVector(back.Cornea, e.Cornea) {
			t.Fatalf("%+v is %+v: %v", e, back, err)
		}
	})
}

// The best mark is never worse than any other.
func TestBestIsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e, l := anEye(t), aLens(t)
		ideal, err := e.Ideal(0)
		if err != nil {
			t.Fatal(err)
		}
		l.Equivalent = ideal.Equivalent + unit.Dioptre(number(t, "off", -1, 1))
		l.Cylinder += 0.5
		r, err := e.Refraction(l)
		if err != nil {
			return
		}
		best, err := Lying{Lens: l, Refraction: r, Length: e.Length, Position: e.Position}.Best()
		if err != nil {
			t.Fatal(err)
		}
		for mark := 1.0; mark < 181; mark++ {
			o := l
			o.Mark = unit.Axis(mark)
			if x, err := e.Refraction(o); err == nil && x.Cylinder > best.After.Cylinder+1e-7 {
				t.Fatalf("at %v it leaves %v, at the best %v %v", mark, x.Cylinder, best.Best, best.After.Cylinder)
			}
		}
		if math.Abs(float64(best.By)) > 90 || len(best.Findings) == 0 {
			t.Fatalf("%+v", best)
		}
	})
}

func TestRotationVerdicts(t *testing.T) {
	rx := func(s, c unit.Dioptre, axis unit.Axis) refraction.AtSpectacle {
		return refraction.AtSpectacle{Sphere: s, Cylinder: c, Axis: axis, Vertex: 12}
	}
	for _, c := range []struct {
		code string
		l    Lying
	}{
		{"rotation-helps", Lying{ToricLens{20.5, 3, 110}, rx(0.75, -1.5, 60), 23.5, 5.25, unit.Known(unit.Dioptre(43.5))}},
		{"rotation-does-not-help", Lying{ToricLens{22, 1.5, 175}, rx(0.25, -0.75, 90), 23, 5, unit.Known(unit.Dioptre(44))}},
		{"rotation-not-needed", Lying{ToricLens{22, 1.5, 175}, rx(0.25, -0.25, 90), 23, 5, unit.Known(unit.Dioptre(44))}},
		{"rotation-cornea-unlikely", Lying{ToricLens{28, 1.5, 175}, rx(0.25, -0.25, 90), 23, 5, unit.Known(unit.Dioptre(44))}},
	} {
		r, err := c.l.Best()
		if err != nil || !finding.Has(r.Findings, c.code) {
			t.Errorf("%s: %+v %v", c.code, r, err)
		}
	}
}

func TestKeratometry(t *testing.T) {
	at := func(a float64) unit.Reading[unit.Axis] { return unit.Known(unit.Axis(a)) }
	for _, c := range []struct {
		name string
		k    Keratometry
		code string
		ok   bool
	}{
		{"as it should be", Keratometry{43, 44, at(90), at(180)}, "", true},
		{"a little off", Keratometry{43, 44, at(90), at(175)}, "", true},
		{"far off", Keratometry{43, 44, at(90), at(160)}, "meridians-not-perpendicular", true},
		{"on one another", Keratometry{43, 44, at(90), at(90)}, "meridians-not-perpendicular", true},
		{"from the flat one", Keratometry{43, 44, unit.Reading[unit.Axis]{}, at(180)}, "steep-meridian-from-flat", true},
		{"no meridian", Keratometry{Flat: 43, Steep: 44}, "steep-meridian-missing", false},
		{"a sphere", Keratometry{Flat: 43, Steep: 43}, "", true},
	} {
		v, ok, err := c.k.Vector()
		list := c.k.Findings()
		if err != nil || ok != c.ok || (c.code == "") != (len(list) == 0) || c.code != "" && !finding.Has(list, c.code) {
			t.Errorf("%s: %v %v %v", c.name, ok, err, list)
		}
		if ok && c.k.Steep > c.k.Flat && !sameAxis(v.Cylinder().Steep, 90, 1e-9) {
			t.Errorf("%s: the meridian was not used as entered: %+v", c.name, v.Cylinder())
		}
	}
	for _, k := range []Keratometry{{Flat: 44, Steep: 43, SteepAxis: at(90)}, {Flat: 43, Steep: unit.Dioptre(math.NaN()), SteepAxis: at(90)}} {
		if _, _, err := k.Vector(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", k, err)
		}
	}
}

func TestDomains(t *testing.T) {
	good := Pseudophakic{Mean: 43, Cornea: Vector{1, 0}, Length: 23, Position: 5, Vertex: 12}
	for name, err := range map[string]func() error{
		"position behind the retina": func() error { e := good; e.Position = 24; _, err := e.Refraction(ToricLens{20, 1, 90}); return err },
		"no position":                func() error { e := good; e.Position = 0; _, err := e.Ideal(0); return err },
		"no cornea":                  func() error { e := good; e.Mean = 0; _, err := e.Ideal(0); return err },
		"cylinder above the power":   func() error { e := good; e.Cornea = Vector{90, 0}; _, err := e.Ideal(0); return err },
		"not a number":               func() error { e := good; e.Cornea.X = unit.Dioptre(math.NaN()); _, err := e.Ideal(0); return err },
		"focus on the lens":          func() error { e := good; _, err := e.Refraction(ToricLens{400, 1, 90}); return err },
		"a radius": func() error {
			_, err := TwoSurfaces{Radii{0.5, 7, 90}, Radii{6, 6, 90}, 0.5}.Total()
			return err
		},
		"a thickness": func() error {
			_, err := TwoSurfaces{Radii{7.5, 7, 90}, Radii{6, 6, 90}, 5}.Total()
			return err
		},
		"back radius": func() error {
			_, err := TwoSurfaces{Radii{7.5, 7, 90}, Radii{1, 6, 90}, 0.5}.Total()
			return err
		},
		"lying behind the retina": func() error { _, err := Lying{Length: 20, Position: 21}.Best(); return err },
	} {
		if e := err(); !errors.Is(e, unit.ErrRange) {
			t.Errorf("%s: %v", name, e)
		}
	}
}

func TestSealing(t *testing.T) {
	mm := func(v float64) unit.Reading[unit.Millimetre] { return unit.Known(unit.Millimetre(v)) }
	for _, c := range []struct {
		in   Incision
		want string
		not  string
	}{
		{Incision{Type: CornealBevelled, Width: 2.8, Tunnel: mm(2)}, "incision-check-seal", "incision-too-wide-to-seal"},
		{Incision{Type: CornealBevelled, Width: 3.2, Tunnel: mm(2.5)}, "incision-too-wide-to-seal", "incision-too-short-to-seal"},
		{Incision{Type: CornealStepped, Width: 3.2, Tunnel: mm(2.5)}, "", "incision-too-wide-to-seal"},
		{Incision{Type: CornealStepped, Width: 3.2, Tunnel: mm(2.0)}, "incision-too-short-to-seal", ""}, // leaked at 13 psi
		{Incision{Type: CornealBevelled, Width: 2.2, Tunnel: mm(1.4)}, "incision-too-short-to-seal", ""},
		{Incision{Type: Limbal, Width: 2.2}, "incision-length-not-recorded", ""},
		{Incision{Type: ScleralFrown, Width: 6.5, Lip: mm(0.8)}, "incision-lip-short", ""},
		{Incision{Type: ScleralFrown, Width: 6.5, Lip: mm(1.2)}, "incision-lip-below-tested", ""},
		{Incision{Type: ScleralFrown, Width: 6.5}, "incision-length-not-recorded", "incision-too-wide-to-seal"},
		{Incision{Type: ScleralChevron, Width: 6.5, Lip: mm(1.5)}, "", "incision-lip-below-tested"},
	} {
		list := c.in.Sealing()
		if c.want != "" && !finding.Has(list, c.want) || c.not != "" && finding.Has(list, c.not) {
			t.Errorf("%+v: %v", c.in, list)
		}
	}
	if w, said := (Incision{Width: 2.8}).Enlargement(6); w != 6 || len(said) != 1 {
		t.Error("a rigid 6 mm optic through 2.8 mm")
	}
	if w, said := (Incision{Width: 6.5}).Enlargement(6); w != 6.5 || said != nil {
		t.Error("6.5 mm is enough for 6 mm")
	}
	if got := float64(Chord(6.5)); math.Abs(got-12*math.Sin(6.5/12)) > 1e-12 || got >= 6.5 {
		t.Errorf("chord %v", got)
	}
	if p := (Incision{Direction: 180}).SidePorts(); p != [2]unit.Degree{270, 90} {
		t.Errorf("side ports %v", p)
	}
}

func TestExcludedHours(t *testing.T) {
	for _, c := range []struct {
		from, to, hour, width float64
		hit                   bool
	}{
		{11, 1, 12, 2.8, true}, {11, 1, 9, 2.8, false}, {12, 12, 12, 2.2, true}, {6, 6, 12, 6.5, false}, {2, 4, 10, 6.5, false},
		{11, 1, 2, 6.5, true}, {11, 1, 3, 2.2, false}, {9, 9, 10, 2.2, false}, {9, 9, 10, 4, true}, {9, 9, 11, 2.2, false},
	} {
		x := Excluded{From: c.from, To: c.to, Why: "bleb"}
		if got := x.Hits(Incision{Direction: DirectionOf(c.hour), Width: unit.Millimetre(c.width)}); got != c.hit {
			t.Errorf("%+v: %v", c, got)
		}
	}
	q := Question{Side: eye.Right, Cornea: Cylinder{1.5, 90}.Vector(), Types: []IncisionType{CornealBevelled}, Width: func(IncisionType) unit.Millimetre { return 2.8 }}
	if first := q.Candidates()[0]; first.Incision.Direction != 90 {
		t.Errorf("with the rule one cuts above: %+v", first)
	}
	q.Excluded = []Excluded{{From: 11, To: 1, Why: "bleb"}}
	list := q.Candidates()
	if first, last := list[0], list[len(list)-1]; first.Excluded || !last.Excluded || last.Why[0] != "bleb" || !finding.Has(last.Findings(), "incision-hour-excluded") {
		t.Errorf("%+v … %+v", first, last)
	}
}

func TestStartValues(t *testing.T) {
	if e := StartValue(CornealBevelled, Temporal, 2.5); math.Abs(float64(e.Flattening)-0.175) > 1e-12 || e.Nearest || e.Own {
		t.Errorf("between two rows: %+v", e)
	}
	for _, w := range []unit.Millimetre{1.8, 4} {
		if e := StartValue(CornealStepped, Superior, w); !e.Nearest {
			t.Errorf("%v mm has no row: %+v", w, e)
		}
	}
	if e := StartValue(ScleralStraight, Superior, 6.5); e.Flattening != 1.2 {
		t.Errorf("%+v", e)
	}
	q := Question{Side: eye.Left, Own: func(IncisionType, Place) (Effect, bool) { return Effect{Flattening: 0.33, SD: 0.2}, true }}
	if c := q.Candidate(Temporal, Incision{Type: Limbal, Width: 2.8}); !c.Effect.Own || c.Effect.Flattening != 0.33 || finding.Has(c.Findings(), "incision-start-value") {
		t.Errorf("%+v", c)
	}
}

func TestPosteriors(t *testing.T) {
	none := unit.Reading[unit.Dioptre]{}
	wtr, atr, oblique := Cylinder{1, 90}.Vector(), Cylinder{1, 180}.Vector(), Cylinder{1, 45}.Vector()
	for _, c := range []struct {
		p    Posterior
		v    Vector
		lens unit.Reading[unit.Dioptre]
		want Vector
		code string
	}{
		{NoPosterior, wtr, none, wtr, "posterior-cornea-left-out"},
		{"", wtr, none, wtr, "posterior-cornea-left-out"},
		{Goggin, wtr, unit.Known(unit.Dioptre(1.5)), wtr.Scale(0.75), ""},
		{Goggin, atr, unit.Known(unit.Dioptre(1.5)), atr.Scale(1.41), ""},
		{Goggin, wtr, unit.Known(unit.Dioptre(2.5)), wtr, "posterior-cornea-outside"},
		{Goggin, oblique, unit.Known(unit.Dioptre(1.5)), oblique, "posterior-cornea-outside"},
		{SaviniNaeser, wtr, none, Cylinder{0.103 + 0.836 - 0.457, 90}.Vector(), "posterior-cornea-from-memory"},
		{AbulafiaKoch, Cylinder{0.5, 90}.Vector(), none, Vector{0.045, 0.009}, "posterior-cornea-axis-unsteady"},
		{MeasuredBacks, wtr, none, wtr, "posterior-cornea-lacks"},
	} {
		a, err := c.p.Adjust(c.v, c.lens, nil)
		if err != nil || !sameVector(a.Vector, c.want) || c.code != "" && !finding.Has(a.Findings, c.code) {
			t.Errorf("%s: %+v %v", c.p, a, err)
		}
		if twice := a.Twice(0.3); (len(twice) > 0) != a.Regressed || len(a.Twice(0)) > 0 {
			t.Errorf("%s: twice %v", c.p, twice)
		}
	}
	if _, err := MeasuredBacks.Adjust(wtr, none, &TwoSurfaces{}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	r, ok, err := Keratometry{Flat: 43, Steep: 44, SteepAxis: unit.Known(unit.Axis(80))}.FrontRadii()
	if err != nil || !ok || r.SteepAxis != 80 || math.Abs(float64(r.Flat)-337.5/43) > 1e-12 {
		t.Errorf("%+v %v", r, err)
	}
	a, err := MeasuredBacks.Adjust(wtr, none, &TwoSurfaces{r, Radii{6.5, 6.2, 90}, 0.55})
	if err != nil || !finding.Has(a.Findings, "posterior-cornea-measured") {
		t.Errorf("%+v %v", a, err)
	}
}

func TestToricVerdicts(t *testing.T) {
	shelf := Shelf{[]unit.Dioptre{1.5, 2.25, 3, 3.75, 4.5}}
	for _, c := range []struct {
		cornea, sd float64
		best       int
		code       string
	}{
		{2, 3, 3, "toric-mark-seated"}, {0.3, 3, 0, "toric-not-worth-it-small"}, {0.9, 30, 0, "toric-not-worth-it-marking"}, {0.95, 0, 1, "toric-overcorrects"},
	} {
		e := Pseudophakic{Mean: 43.5, Cornea: Cylinder{unit.Dioptre(c.cornea), 90}.Vector(), Length: 23.5, Position: 5.25, Vertex: 12}
		steps, err := e.Steps(20.5, shelf, Marking{unit.Degree(c.sd)})
		if err != nil || len(steps) != 6 {
			t.Fatal(err)
		}
		best, said := Choose(steps, Marking{unit.Degree(c.sd)})
		if best != c.best || !finding.Has(said, c.code) {
			t.Errorf("%+v: step %d, %v; %+v", c, best, said, steps)
		}
	}
	if best, said := Choose([]Step{{}}, Marking{}); best != 0 || said != nil {
		t.Errorf("without a shelf there is no verdict: %v", said)
	}
	c := Circumstances{Surgery: eye.MyopicLaser, Placement: eye.Sulcus}
	for _, code := range []string{"toric-surgery-on-cornea", "toric-needs-bag", "marking-error-assumed"} {
		if !finding.Has(c.Findings(), code) {
			t.Errorf("%s is not said", code)
		}
	}
	if c.Spread().SD != 5 || (Circumstances{Marking: unit.Known(unit.Degree(3))}).Spread().SD != 3 {
		t.Error("the spread of marking")
	}
}

// The chance of a marking against counting.
func TestMarkingChance(t *testing.T) {
	for _, sd := range []unit.Degree{2, 5, 60} {
		for _, lens := range []unit.Dioptre{1.6, 2, 2.3} {
			l, m, n := Laid{Cylinder{2, 70}.Vector(), lens}, Marking{sd}, 0.0
			in := m.over(func(by unit.Degree) float64 {
				n++
				if l.Turned(by).Magnitude() <= 0.5 {
					return 1
				}
				return 0
			})
			if got := m.Within(0.5, l); math.Abs(got-in) > 0.02 { // a step integrated in 800 panels
				t.Errorf("%v, %v: %v, counted %v", sd, lens, got, in)
			}
		}
	}
	if (Marking{}).Within(0.5, Laid{Vector{2, 0}, 2}) != 1 || (Marking{5}).Within(0.1, Laid{Vector{2, 0}, 1}) != 0 || (Marking{5}).Within(4, Laid{Vector{2, 0}, 1}) != 1 {
		t.Error("the ends")
	}
	if (Spread{Vector{1, 0}, 0}).Mean() != 1 || (Spread{Vector{1, 0}, 0}).Within(1) != 1 || (Spread{Vector{1, 0}, 0}).Within(0.9) != 0 || (Spread{}).Within(-1) != 0 {
		t.Error("without spread")
	}
	// |r| of a centred spread has the mean σ√(π/2)
	if got := float64(Spread{Vector{}, 0.3}.Mean()); math.Abs(got-0.3*math.Sqrt(math.Pi/2)) > 1e-9 {
		t.Errorf("mean %v", got)
	}
}

func TestSmallSeries(t *testing.T) {
	if s := Of(nil); s.N != 0 || s.Test.Possible {
		t.Errorf("%+v", s)
	}
	if s := Of([]Vector{{1, 0}, {0, 1}}); s.Test.Possible || s.SDX != 0 || s.Centroid != (Vector{0.5, 0.5}) {
		t.Errorf("%+v", s)
	}
	line := Of([]Vector{{1, 0}, {2, 0}, {3, 0}, {4, 0}})
	if line.Test.Possible || !finding.Has(line.Findings(true), "series-small") || !finding.Has(line.Findings(true), "series-both-eyes") {
		t.Errorf("%+v", line)
	}
	if (Two{}).Test().Possible || !math.IsNaN(QuantileF(0.95, 0)) {
		t.Error("tests without eyes")
	}
	a := Change{Vector{1, 0}, Vector{0, 0}, Vector{1, 0}}.Alpins()
	if !math.IsNaN(a.Correction) || !math.IsNaN(a.Success) {
		t.Errorf("an index without a target: %+v", a)
	}
	if (Sources{Vector{1, 0}, Vector{0.25, 0}}).OcularResidual() != (Vector{0.75, 0}) {
		t.Error("ocular residual")
	}
	for want, axis := range map[Rule][]unit.Axis{WithTheRule: {60, 90, 120}, AgainstTheRule: {30, 150, 180}, Oblique: {45, 59, 135}} {
		for _, x := range axis {
			if got := (Cylinder{1, x}).Rule(); got != want {
				t.Errorf("%v is %s", x, got)
			}
		}
	}
}
