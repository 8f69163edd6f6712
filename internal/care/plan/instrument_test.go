package plan

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"linn/calc/uncertainty"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func instrumentOf(t testing.TB, change func(*Input)) (*Plan, Instrument) {
	t.Helper()
	e, l := given(23.5, 43.5, 3.1)
	in := Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Program: "test", Rules: Rules}
	if change != nil {
		change(&in)
	}
	p := Make(in)
	x, err := p.Instrument()
	if err != nil {
		t.Fatal(err)
	}
	return &p, x
}

func TestInstrumentOfAnOrdinaryEye(t *testing.T) {
	p, x := instrumentOf(t, nil)
	if x.Predicted != p.Decision.Predicted || x.Lens.Power.Value != 20.5 || x.Places.Retina.Value != 23.5 {
		t.Errorf("%+v", x)
	}
	o := x.Places
	for _, pair := range [][2]Number{{{0, true}, o.CorneaBack}, {o.CorneaBack, o.Iris}, {o.Iris, o.LensFront}, {o.LensFront, o.LensEdge}, {o.LensEdge, o.LensBack}, {o.LensBack, o.Retina}} {
		if !(pair[0].Value < pair[1].Value) {
			t.Errorf("out of order: %+v", o)
		}
	}
	if d := o.LensBack.Value - o.LensFront.Value - x.Lens.Thickness.Value; math.Abs(d) > 1e-12 {
		t.Errorf("the lens is %v thicker than it is", d)
	}
	// the drawn eye focuses near its retina: within 2 D of the prediction
	if !x.Model.Known || math.Abs(x.Model.Value-x.Predicted.Value) > 2 {
		t.Errorf("drawn eye %v, predicted %v", x.Model, x.Predicted)
	}
	// far is best read at the power nearest 0, near at the most myopic
	for i := 1; i < len(x.Steps); i++ {
		if x.Steps[i].Near.Value > x.Steps[i-1].Near.Value {
			t.Errorf("near gets worse with power: %+v", x.Steps)
		}
	}
	best := 0
	for i, f := range x.Through {
		if f.Strehl.Value > x.Through[best].Strehl.Value {
			best = i
		}
	}
	if math.Abs(x.Through[best].Vergence.Value-x.Predicted.Value) > 0.5 {
		t.Errorf("sharpest at %v D, predicted %v", x.Through[best].Vergence.Value, x.Predicted.Value)
	}
	for _, m := range x.Moved {
		if m.Tilt.Value == 10 && !(m.Cylinder.Value > 0.1 && m.Cylinder.Value < 1.5) {
			t.Errorf("tilted by 10°: %+v", m)
		}
	}
	if len(x.Moved) != 5 || len(x.Rays) != drawnRays || !finding.Has(x.Findings, "acuity-model") || !finding.Has(x.Findings, "model-assumed") {
		t.Errorf("%d moves, %d rays, %+v", len(x.Moved), len(x.Rays), x.Findings)
	}
}

// TestSurenessAgrees holds the drawn chances against those the plan has by
// derivatives.
func TestSurenessAgrees(t *testing.T) {
	p, x := instrumentOf(t, nil)
	if x.Sure == nil || len(x.Sure.Steps) != len(p.Lenses[0].Powers) || len(x.Sure.Methods) != 5 {
		t.Fatalf("%+v", x.Sure)
	}
	for i, s := range x.Sure.Steps {
		u := p.Lenses[0].Powers[i]
		if math.Abs(s.Within[1].Value-u.Target50.Value) > 1.5 || math.Abs(s.Within[3].Value-u.Target100.Value) > 1.5 { // noise 0.7, and the label is not normal
			t.Errorf("%v: drawn %+v, by derivatives %v and %v", s.Power, s.Within, u.Target50, u.Target100)
		}
	}
	for _, b := range x.Sure.Buys {
		if b.After.Value > b.Before.Value+1e-9 || b.Then.Value < b.Now.Value-1e-9 {
			t.Errorf("worse: %+v", b)
		}
	}
	_, contact := instrumentOf(t, func(in *Input) { in.Eye.AxialLengthMethod = eye.Contact })
	kinds := map[string]bool{}
	for _, b := range contact.Sure.Buys {
		kinds[b.What+string(b.By)] = true
	}
	if !kinds["axial_length_mmimmersion"] || !kinds["axial_length_mmoptical"] || !kinds[ConstantKey] || !kinds["mean_k_d"] {
		t.Errorf("%v", kinds)
	}
	_, again := instrumentOf(t, nil)
	if again.Sure.Steps[0] != x.Sure.Steps[0] {
		t.Error("other chances the second time")
	}
}

func TestInstrumentRefuses(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 9", 20.5}})
	if _, err := p.Instrument(); !errors.Is(err, ErrNoPower) {
		t.Errorf("another model: %v", err)
	}
	l.Index = unit.Known(unit.Index(1.41))
	l.Optic = unit.Known(unit.Millimetre(7.5))
	p = Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}})
	if _, err := p.Instrument(); err != nil && !errors.Is(err, unit.ErrRange) {
		t.Errorf("a lens that is hard to make: %v", err)
	}
	// a minus lens has a thick edge
	long, ll := given(32, 46, 3.6)
	p = Make(Input{Eye: long, Shelf: []Shelved{{Lens: ll}}})
	x, err := p.Instrument()
	if err != nil || x.Lens.Power.Value >= 0 || x.Lens.Thickness.Value >= x.Lens.Edge.Value {
		t.Errorf("%+v, %v", x.Lens, err)
	}
}

// BenchmarkSixMethods is 20,000 drawn eyes by six calculations, five methods
// and one of them again.
func BenchmarkSixMethods(b *testing.B) {
	p, _ := instrumentOf(b, nil)
	x, err := p.builder()
	if err != nil {
		b.Fatal(err)
	}
	var eyes []uncertainty.Eye
	for _, m := range x.predictors() {
		eyes = append(eyes, m.at)
	}
	eyes = append(eyes, eyes[0])
	budget, err := x.power.by.budget(eye.Optical, 20.5)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := uncertainty.Simulate(eyes, budget, uncertainty.Draws{N: draws, Source: rand.NewPCG(1, 1)}); err != nil {
			b.Fatal(err)
		}
	}
}

// A lens that lies askew is drawn as it is traced: where the rays meet its front
// lies on the front turned clockwise in the drawing (z to the right, y up) about
// the plane of the edge, and lifted by the shift.
func TestWhatIfMovesTheLens(t *testing.T) {
	p, straight := instrumentOf(t, nil)
	const tilt, shift = 8.0, 0.4
	in, err := p.InstrumentWith(WhatIf{Tilt: tilt, Shift: shift, Pupil: unit.Known(unit.Millimetre(5)), WithoutChances: true})
	if err != nil || in.Pupil.Value != 5 || in.Sure != nil || in.Posed == nil || straight.Posed != nil {
		t.Fatal(err, in.Pupil, in.Posed)
	}
	sin, cos := math.Sincos(tilt * math.Pi / 180)
	r, vertex, pivot := in.Lens.Front.Value, in.Places.LensFront.Value, in.Places.LensEdge.Value
	for _, ray := range in.Rays {
		z, y := ray[3][0]-pivot, ray[3][1]-shift
		z, y = z*cos-y*sin, z*sin+y*cos
		if sag := r - math.Sqrt(r*r-y*y); math.Abs(z+pivot-vertex-sag) > 1e-6 {
			t.Errorf("a ray meets the front at %v; there it lies at %v", z+pivot, vertex+sag)
		}
	}
	if in.Posed.Cylinder.Value < 0.1 || in.Sphere == straight.Sphere || in.Steps[0].Far == straight.Steps[0].Far {
		t.Errorf("the refraction does not follow: %+v %v", in.Posed, in.Sphere)
	}
	same, err := p.InstrumentWith(WhatIf{Tilt: 5})
	if err != nil || same.Posed.Equivalent != straight.Moved[0].Equivalent {
		t.Errorf("tilted by 5°: %+v, the list of moves says %+v (%v)", same.Posed, straight.Moved[0], err)
	}
	for _, bad := range []WhatIf{{Tilt: 40}, {Shift: -3}, {Pupil: unit.Known(unit.Millimetre(9))}, {Tilt: unit.Degree(math.NaN())}} {
		if _, err := p.InstrumentWith(bad); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

func BenchmarkInstrument(b *testing.B) {
	p, _ := instrumentOf(b, nil)
	for b.Loop() {
		if _, err := p.Instrument(); err != nil {
			b.Fatal(err)
		}
	}
}
