package plan

import (
	"math"
	"testing"

	"linn/calc/lenspower"
	"linn/unit"
)

// A child's eye shows every published target by every method that answers, the
// power for an aim is the method's own, and nothing of it counts. An older set
// of rules shows none.
func TestChildTargetsSideBySide(t *testing.T) {
	e, l := given(21.5, 43.5, 3.1)
	typed(t, &e, "age_years 4")
	typed(t, &e, "age_months 49")
	typed(t, &e, "target_d 3")
	in := Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules}
	p := Make(in)
	want, err := lenspower.ChildTargets(lenspower.Child{AgeMonths: 49, AxialLength: e.AxialLength})
	if err != nil {
		t.Fatal(err)
	}
	tables := map[string]int{}
	for _, c := range p.Lenses[0].Children {
		tables[c.Table]++
		if !c.AimLow.Known || !c.AimHigh.Known || !c.PowerLow.Known || !c.PowerHigh.Known || c.AimLow.Value > c.AimHigh.Value || c.PowerLow.Value > c.PowerHigh.Value {
			t.Errorf("%+v", c)
		}
		m := lenspower.MethodNamed(c.Method)
		r, _, _ := m.Resolve(l.Constants)
		power, err := m.Power(lenspower.Input{AxialLength: e.AxialLength.Value, K: 43.5, ACD: e.ACD, Vertex: 12, Constant: r}, unit.Dioptre(c.AimHigh.Value))
		if err != nil || math.Abs(float64(power)-c.PowerLow.Value) > 1e-9 {
			t.Errorf("%+v: %v by the method itself, %v", c, power, err)
		}
	}
	if len(tables) != len(want) || len(want) < 3 {
		t.Errorf("%v of %d tables", tables, len(want))
	}
	for table, n := range tables {
		if n != len(lenspower.Methods) {
			t.Errorf("%s by %d methods", table, n)
		}
	}
	if diff, err := Recompute(&p); err != nil || len(diff) > 0 {
		t.Error(diff, err)
	}
	in.Rules = 2
	if old := Make(in); len(old.Lenses[0].Children) > 0 {
		t.Error("the older rules showed none")
	}
	grown, l := given(23.5, 43.5, 3.1)
	if p := Make(Input{Eye: grown, Shelf: []Shelved{{Lens: l}}, Rules: Rules}); len(p.Lenses[0].Children) > 0 {
		t.Error("targets of a child for an adult")
	}
}
