package plan

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"linn/calc/refraction"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func toricPlan(set func(*eye.Eye)) Plan {
	e, s := cornealEye()
	e = incised(e)
	set(&e)
	return Make(Input{Eye: e, Shelf: []Shelved{s}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
}

func chosen(cylinder, axis float64) func(*eye.Eye) {
	return func(e *eye.Eye) {
		e.ToricCylinder, e.ToricAxis = dioptres(cylinder), unit.Known(unit.NewAxis(unit.Degree(axis)))
	}
}

// Choosing what is advised leaves what its step leaves; a degree beside is the
// same choice, two are another one; a whole circle of half turns is none; the
// plan read back makes itself again.
func TestToricChoice(t *testing.T) {
	open := toricPlan(func(*eye.Eye) {})
	tp := open.Cornea.Toric
	if tp.Chosen != nil || tp.Best.Value == 0 {
		t.Fatalf("%+v", tp)
	}
	if raw, err := json.Marshal(&open); err != nil || strings.Contains(string(raw), `"chosen":null`) || strings.Contains(string(raw), "toric_cylinder_d") {
		t.Errorf("a plan without a choice says more than it did before there were choices: %v", err)
	}
	var step ToricStep
	for _, s := range tp.Steps {
		if s.Cylinder == tp.Best {
			step = s
		}
	}
	exact := toricPlan(chosen(tp.Best.Value, tp.Axis.Value)).Cornea.Toric.Chosen
	if exact == nil || exact.Differs || math.Abs(exact.Sphere.Value-step.Sphere.Value) > 1e-9 || math.Abs(exact.Residual.Value-step.Residual.Value) > 1e-9 {
		t.Errorf("%+v, step %+v", exact, step)
	}
	round := math.Round(tp.Axis.Value)
	for _, c := range []struct {
		cylinder, axis float64
		differs        bool
	}{{tp.Best.Value, round, false}, {tp.Best.Value, round + 1, false}, {tp.Best.Value, round + 2, true}, {tp.Best.Value, round - 2, true}, {tp.Best.Value, round + 90, true}, {tp.Best.Value + 0.75, round, true}} {
		p := toricPlan(chosen(c.cylinder, math.Mod(c.axis, 180)))
		if x := p.Cornea.Toric.Chosen; x == nil || x.Differs != c.differs || p.unreasoned() != c.differs {
			t.Errorf("%+v: %+v", c, x)
		}
		raw, err := json.Marshal(&p)
		var back Plan
		if err != nil || json.Unmarshal(raw, &back) != nil {
			t.Fatal(err)
		}
		if diff, err := Recompute(&back); err != nil || len(diff) > 0 {
			t.Errorf("%v %v", diff, err)
		}
	}
}

// A choice that cannot be held against anything is said, never dropped.
func TestToricChoiceWithoutItsLens(t *testing.T) {
	e, s := cornealEye()
	s.Lens.CylinderFrom.Known = false
	chosen(3, 85)(&e)
	p := Make(Input{Eye: e, Shelf: []Shelved{s}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
	if !finding.Has(p.Findings, "toric-choice-unchecked") {
		t.Errorf("no toric lens: %q", codesOf(p.Findings))
	}
	p = toricPlan(func(e *eye.Eye) { chosen(3, 85)(e); e.KSteepAxis.Known, e.KFlatAxis.Known = false, false })
	if !finding.Has(p.Findings, "toric-choice-unchecked") {
		t.Errorf("no meridian: %q", codesOf(p.Findings))
	}
}

// What the patient will see takes the plan's astigmatism: that of the chosen
// lens, not of an advised one, and turned by 90° more than none.
func TestSeenWithThePlannedCornea(t *testing.T) {
	seen := func(set func(*eye.Eye)) (Instrument, Plan) {
		t.Helper()
		p := toricPlan(set)
		in, err := p.Instrument()
		if err != nil {
			t.Fatal(err)
		}
		return in, p
	}
	open, p := seen(func(*eye.Eye) {})
	if math.Abs(open.Cylinder.Value-p.Cornea.After.Magnitude.Value) > 1e-9 || !finding.Has(open.Findings, "seen-without-toric") {
		t.Errorf("advised alone: %v, %v", open.Cylinder, open.Findings)
	}
	tp := p.Cornea.Toric
	with, q := seen(chosen(tp.Best.Value, tp.Axis.Value))
	c := q.Cornea.Toric.Chosen
	at, err := refraction.AtSpectacle{Sphere: unit.Dioptre(c.Sphere.Value), Cylinder: unit.Dioptre(c.Residual.Value), Axis: unit.Axis(c.Axis.Value), Vertex: 12}.ToCornea()
	if err != nil || math.Abs(with.Cylinder.Value+float64(at.Cylinder)) > 1e-9 || math.Abs(with.Axis.Value-float64(at.Axis)) > 1e-9 || finding.Has(with.Findings, "seen-without-toric") {
		t.Errorf("%v × %v, want %+v, %v", with.Cylinder, with.Axis, at, err)
	}
	wrong, _ := seen(chosen(tp.Best.Value, math.Mod(tp.Axis.Value+90, 180)))
	if !(with.Cylinder.Value < open.Cylinder.Value && open.Cylinder.Value < wrong.Cylinder.Value) {
		t.Errorf("with %v, without %v, across %v", with.Cylinder, open.Cylinder, wrong.Cylinder)
	}
}
