package plan

import (
	"encoding/json"
	"math"
	"testing"

	"linn/calc/astigmatism"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func cornealEye() (eye.Eye, Shelved) {
	e, l := given(23.8, 42.5, 3.1)
	e.KSteep = dioptres(44.75)
	e.KSteepAxis = unit.Known(unit.Axis(85))
	l.CylinderFrom, l.CylinderTo, l.CylinderStep = dioptres(1.5), dioptres(4.5), dioptres(0.75)
	return e, Shelved{Lens: l}
}

func incised(e eye.Eye) eye.Eye {
	e.Seat, e.Incision, e.IncisionHour, e.IncisionWidth = eye.TemporalSeat, "clear-corneal-stepped", unit.Known(unit.Hour(9)), unit.Known(unit.Millimetre(2.4))
	return e
}

// The chosen incision and a toric lens stand in the plan, with what they say,
// and change neither power nor prediction; without them there is no section.
func TestCorneaInThePlan(t *testing.T) {
	e, s := cornealEye()
	s.Lens.CylinderFrom.Known = false
	plain := Make(Input{Eye: e, Shelf: []Shelved{s}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
	if plain.Cornea != nil {
		t.Fatalf("%+v", plain.Cornea)
	}
	_, s = cornealEye()
	p := Make(Input{Eye: incised(e), Shelf: []Shelved{s}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
	c := p.Cornea
	if c == nil || c.Incision == nil || c.Toric == nil || c.Candidates != nil {
		t.Fatalf("%+v", c)
	}
	if !finding.Has(p.All(), "incision-start-value") || p.Decision.Predicted != plain.Decision.Predicted || p.MeanK != plain.MeanK {
		t.Errorf("%q", codesOf(p.Findings))
	}
	want := astigmatism.Cylinder{Magnitude: 2.25, Steep: 85}.Vector().Add(astigmatism.Effect{Flattening: unit.Dioptre(c.Incision.Effect.Value)}.Vector(180)).Cylinder()
	if math.Abs(c.After.Magnitude.Value-float64(want.Magnitude)) > 1e-9 || math.Abs(c.After.Steep.Value-float64(want.Steep)) > 1e-9 || math.Abs(c.Toric.Axis.Value-c.After.Steep.Value) > 1e-9 {
		t.Errorf("%+v, %+v, toric on %v", c.After, want, c.Toric.Axis)
	}
	// what the best step leaves is less than what none leaves, and its sphere
	// with half its cylinder is what the method predicts
	none, best := c.Toric.Steps[0], c.Toric.Steps[0]
	for _, st := range c.Toric.Steps {
		if st.Cylinder == c.Toric.Best {
			best = st
		}
	}
	method := p.Lenses[0].Powers
	var own Number
	for _, x := range method {
		for _, r := range x.Refractions {
			if x.Power.Value == 20.5 && r.Method == c.Toric.Method {
				own = r.Refraction
			}
		}
	}
	if !(best.Expected.Value < none.Expected.Value) || math.Abs(none.Sphere.Value+none.Residual.Value/2-own.Value) > 0.02 {
		t.Errorf("%+v, %+v, %s %v", best, none, c.Toric.Method, own)
	}
	raw, err := json.Marshal(&p)
	var back Plan
	if err != nil || json.Unmarshal(raw, &back) != nil {
		t.Fatal(err)
	}
	if diff, err := Recompute(&back); err != nil || len(diff) > 0 {
		t.Errorf("%v %v", diff, err)
	}
	if is, err := json.Marshal(Make(back.Input)); err != nil || string(is) != string(raw) {
		t.Error("the input that was stored makes another plan")
	}
}

func TestCorneaFindings(t *testing.T) {
	for _, c := range []struct {
		code   string
		change func(*eye.Eye)
	}{
		{"incision-not-chosen", func(e *eye.Eye) { e.Incision = "" }},
		{"incision-not-chosen", func(e *eye.Eye) { e.IncisionHour.Known = false }},
		{"incision-not-chosen", func(e *eye.Eye) { e.IncisionWidth.Known = false }},
		{"incision-far-from-seat", func(e *eye.Eye) { e.Seat = eye.SuperiorSeat }},
		{"incision-hour-excluded", func(e *eye.Eye) { e.ExcludedHours = "8-10 scar" }},
		{"incision-too-wide-to-seal", func(e *eye.Eye) { e.IncisionWidth.Value = 3.6 }},
		{"incision-too-short-to-seal", func(e *eye.Eye) { e.TunnelLength = unit.Known(unit.Millimetre(1)) }},
		{"incision-counted-twice", func(e *eye.Eye) { e.PosteriorCornea = "abulafia-koch" }},
		{"posterior-cornea-lacks", func(e *eye.Eye) { e.PosteriorCornea = "measured" }},
		{"posterior-cornea-lacks", func(e *eye.Eye) {
			e.PosteriorCornea, e.PosteriorRFlat, e.PosteriorRSteep = "measured", unit.Known(unit.Millimetre(1)), unit.Known(unit.Millimetre(6.2))
			e.PosteriorSteepAxis, e.CornealThickness = unit.Known(unit.Axis(90)), unit.Known(unit.Micrometre(540))
		}},
		{"posterior-cornea-measured", func(e *eye.Eye) {
			e.PosteriorCornea, e.PosteriorRFlat, e.PosteriorRSteep = "measured", unit.Known(unit.Millimetre(6.5)), unit.Known(unit.Millimetre(6.2))
			e.PosteriorSteepAxis, e.CornealThickness = unit.Known(unit.Axis(90)), unit.Known(unit.Micrometre(540))
		}},
		{"steep-meridian-missing", func(e *eye.Eye) { e.KSteepAxis.Known, e.KFlatAxis.Known = false, false }},
		{"meridians-not-perpendicular", func(e *eye.Eye) { e.KFlatAxis = unit.Known(unit.Axis(150)) }},
		{"toric-needs-bag", func(e *eye.Eye) { e.Placement = eye.Sulcus }},
		{"marking-error-assumed", func(*eye.Eye) {}},
	} {
		e, s := cornealEye()
		e = incised(e)
		c.change(&e)
		p := Make(Input{Eye: e, Shelf: []Shelved{s}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
		if !finding.Has(p.Findings, c.code) {
			t.Errorf("%s: %q", c.code, codesOf(p.Findings))
		}
	}
	e, s := cornealEye()
	e = incised(e)
	e.IncisionAt = unit.Known(unit.Degree(90))
	if r := Refuse(&e, &s.Lens); len(r) != 1 || r[0].Code != "incision-place-twice" {
		t.Errorf("%v", r)
	}
	e.IncisionAt.Value = 180.5
	if r := Refuse(&e, &s.Lens); len(r) != 0 {
		t.Errorf("half a degree apart: %v", r)
	}
}

// A keratometer of another index: the astigmatism in dioptres at 1.3375.
func TestCorneaIndex(t *testing.T) {
	e, _ := cornealEye()
	e.KeratometricIndex = unit.Known(unit.Index(1.332))
	a := Cornea(CorneaInput{Eye: e})
	if math.Abs(a.Measured.Magnitude.Value-2.25*0.3375/0.332) > 1e-9 || a.Toric != nil || a.Induced != nil || a.Rotation != nil || len(a.Candidates) != 24 {
		t.Errorf("%+v", a)
	}
}
