package lenspower

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/unit"
)

// Power and refraction of a second lens undo each other, the power is that of
// the refractive vergence, and a lens taken out comes back in full.
func TestSecondSolutionUndoesItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		in := SecondLens{K: unit.Dioptre(d("k", 36, 50)), Position: unit.Millimetre(d("position", 2.5, 6)), Vertex: 12, Before: unit.Dioptre(d("before", -12, 14))}
		out, target := unit.Dioptre(d("out", 0, 30)), unit.Dioptre(d("target", -4, 4))
		s, err := SolveSecond(in, out)
		if err != nil {
			t.Fatal(err)
		}
		p, err := s.Power(target)
		if err != nil {
			t.Fatal(err)
		}
		in.Target = target
		alone, err := RefractiveVergence(in)
		if err != nil || math.Abs(float64(p-out-alone)) > 1e-9 {
			t.Fatalf("%v taken out of %v, alone %v (%v)", out, p, alone, err)
		}
		back, err := s.Refraction(p)
		if err != nil || math.Abs(float64(back-target)) > 1e-9 {
			t.Fatalf("%v leaves %v, not %v (%v)", p, back, target, err)
		}
		if same, err := s.Refraction(out); err != nil || math.Abs(float64(same-in.Before)) > 1e-9 {
			t.Fatalf("the same lens again leaves %v, not %v (%v)", same, in.Before, err)
		}
		steps := s.Working(target)
		if last := steps[len(steps)-1]; last.Name != "second.power" || math.Abs(last.Value-float64(p)) > 1e-9 {
			t.Fatalf("the working ends in %+v", last)
		}
	})
}

// An addition for oil moves every power by itself and no refraction.
func TestAdaptedAdds(t *testing.T) {
	m := MethodNamed("srk-t")
	c, _, _ := m.Resolve(Constants{A: unit.Known(unit.Constant(118.4))})
	s, err := m.Solve(Input{AxialLength: 23.5, K: 43.5, Vertex: 12, Constant: c})
	if err != nil {
		t.Fatal(err)
	}
	a := Adapted{s, 3.5}
	plain, _ := s.Power(-0.5)
	with, _ := a.Power(-0.5)
	back, _ := a.Refraction(with)
	if math.Abs(float64(with-plain-3.5)) > 1e-12 || math.Abs(float64(back+0.5)) > 1e-9 {
		t.Errorf("%v with the addition, %v without, leaves %v", with, plain, back)
	}
	forward, _ := a.forward(0.5).Power(0)
	bag, _ := a.Power(0)
	if !(forward < bag) {
		t.Errorf("forward %v, in the bag %v", forward, bag)
	}
}
