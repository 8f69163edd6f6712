package lenspower

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/calc/optics"
	"linn/unit"
)

// anEye draws an eye inside the input rules, with its own constant.
func anEye(t *rapid.T, m *Method) Input {
	set := Constants{A: unit.Known(unit.Constant(rapid.Float64Range(117, 120).Draw(t, "A")))}
	r, _, _ := m.Resolve(set)
	if m.kind == haigis && rapid.Bool().Draw(t, "triple") {
		r, _, _ = m.Resolve(joint)
	}
	in := Input{AxialLength: unit.Millimetre(rapid.Float64Range(18, 34).Draw(t, "AL")), K: unit.Dioptre(rapid.Float64Range(36, 52).Draw(t, "K")),
		ACD: unit.Known(unit.Millimetre(rapid.Float64Range(1.8, 4.6).Draw(t, "ACD"))), Vertex: unit.Millimetre(rapid.Float64Range(8, 16).Draw(t, "V")), Constant: r}
	if rapid.Bool().Draw(t, "double K") {
		in.KBefore = unit.Known(unit.Dioptre(rapid.Float64Range(38, 48).Draw(t, "K before")))
	}
	return in
}

func aMethod(t *rapid.T) *Method { return rapid.SampledFrom(Methods).Draw(t, "method") }

// solvable draws an eye the method answers.
func solvable(t *rapid.T) (*Method, Input, Solution) {
	m := aMethod(t)
	in := anEye(t, m)
	s, err := m.Solve(in)
	if err != nil {
		if m.kind != srkT || !errors.Is(err, unit.ErrRange) {
			t.Fatalf("%s refuses %+v: %v", m.ID, in, err)
		}
		t.Skip("cusp")
	}
	return m, in, s
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, s := solvable(t)
		p := unit.Dioptre(rapid.Float64Range(-10, 45).Draw(t, "P"))
		r, err := s.Refraction(p)
		if err != nil {
			t.Fatalf("refraction of %g D: %v", p, err)
		}
		back, err := s.Power(r)
		if err != nil || !(math.Abs(float64(back-p)) <= 1e-9) {
			t.Fatalf("%g D leaves %g, which wants %g: %v", p, r, back, err)
		}
	})
}

func TestStrongerLensIsMoreMyopic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		_, _, s := solvable(t)
		p := unit.Dioptre(rapid.Float64Range(-10, 44).Draw(t, "P"))
		more := p + unit.Dioptre(rapid.Float64Range(0.01, 1).Draw(t, "more"))
		a, err1 := s.Refraction(p)
		b, err2 := s.Refraction(more)
		if err1 != nil || err2 != nil || !(b < a) {
			t.Fatalf("%g leaves %g, %g leaves %g: %v %v", p, a, more, b, err1, err2)
		}
	})
}

// nearTheCusp reports whether SRK/T's height rises so fast that its power no
// longer falls with length; the caution of Findings covers these eyes.
func nearTheCusp(m *Method, in Input) bool {
	k := float64(m.positionK(&in))
	return m.kind == srkT && srktRadicand(radius(k), srktWidth(float64(in.AxialLength), k)) < srktNearCusp*srktNearCusp
}

func TestLongerEyeNeedsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, in, s := solvable(t)
		longer := in
		longer.AxialLength += unit.Millimetre(rapid.Float64Range(0.05, 1).Draw(t, "longer"))
		after, err := m.Solve(longer)
		if err != nil || nearTheCusp(m, longer) {
			t.Skip("cusp")
		}
		a, err1 := s.Power(0)
		b, err2 := after.Power(0)
		if err1 != nil || err2 != nil || !(b < a) {
			t.Fatalf("%s: %g mm needs %g, %g mm needs %g: %v %v", m.ID, in.AxialLength, a, longer.AxialLength, b, err1, err2)
		}
	})
}

// TestContinuity walks along the axial length. The power may not jump, but at
// the switches the formulas have: SRK/T at 24.2 mm, Hoffer Q at 23 mm.
func TestContinuity(t *testing.T) {
	// The greatest is Hoffer Q's: 0.0011 mm of depth at 2.9 D/mm.
	const step, steepest, jump = 1e-4, 12, 0.0035 // mm, D/mm, D
	switches := map[string]float64{"srk-t": srktSwitch, "hoffer-q": hofferSwitch}
	for _, m := range Methods {
		found := 0.0
		for _, k := range []float64{39, 43.5, 46, 49} {
			in := Input{K: unit.Dioptre(k), ACD: unit.Known(unit.Millimetre(3.1)), Vertex: 12, Constant: resolved(t, m, published)}
			last, had := 0.0, false
			for i := range 160_000 {
				al := 18 + step*float64(i)
				in.AxialLength = unit.Millimetre(al)
				p, err := m.Power(in, 0)
				if err != nil || nearTheCusp(m, in) {
					had = false
					continue
				}
				d := math.Abs(float64(p) - last)
				crossed := al-step <= switches[m.ID] && al > switches[m.ID]
				switch {
				case !had:
				case crossed && d <= jump+steepest*step:
					found = max(found, d)
				case d > steepest*step:
					t.Fatalf("%s jumps by %g D at %g mm, K %g", m.ID, d, al, k)
				}
				last, had = float64(p), true
			}
		}
		t.Logf("%s: greatest jump at its switch %.5f D", m.ID, found)
	}
}

// TestNothingStrangeEscapes feeds any number whatever: an answer is finite or
// there is an error.
func TestNothingStrangeEscapes(t *testing.T) {
	any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 24.2, 23, 7, 48.2142857, 25.326, 1e308, -1e308, 43.5, 12}),
		rapid.Float64Range(0, 60))
	rapid.Check(t, func(t *rapid.T) {
		m := aMethod(t)
		draw := func(name string) float64 { return any.Draw(t, name) }
		set := published
		set.A.Value, set.SF.Value, set.PACD.Value = unit.Constant(draw("A")), unit.Millimetre(draw("SF")), unit.Millimetre(draw("pACD"))
		set.A0.Value, set.A1.Value = unit.Millimetre(draw("a0")), unit.Constant(draw("a1"))
		r, _, _ := m.Resolve(set)
		in := Input{AxialLength: unit.Millimetre(draw("AL")), K: unit.Dioptre(draw("K")), ACD: unit.Known(unit.Millimetre(draw("ACD"))),
			KBefore: unit.Reading[unit.Dioptre]{Value: unit.Dioptre(draw("Kpre")), Known: rapid.Bool().Draw(t, "double K")}, Vertex: unit.Millimetre(draw("V")), Constant: r}
		x := unit.Dioptre(draw("x"))
		sound := func(what string, v float64, err error) {
			if math.IsNaN(v) || math.IsInf(v, 0) || err != nil && v != 0 {
				t.Fatalf("%s %s: %v beside %v", m.ID, what, v, err)
			}
		}
		p, err := m.Power(in, x)
		sound("power", float64(p), err)
		ref, err := m.Refraction(in, x)
		sound("refraction", float64(ref), err)
		d, err := m.Position(in)
		sound("position", float64(d), err)
		own, err := m.PersonalConstant(in, optics.Achieved{Power: x, Refraction: unit.Dioptre(draw("achieved"))})
		sound("constant", float64(own.Value), err)
		for _, s := range append(m.Working(in, x), m.WorkingRefraction(in, x)...) {
			if s.Name == "thin-eye.power" || s.Name == "thin-eye.refraction" {
				sound(s.Name, s.Value, nil)
			}
		}
		m.Findings(in)
	})
}

// TestPersonalConstant predicts with the constant of a case and gets the case
// back.
func TestPersonalConstant(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, in, s := solvable(t)
		out := optics.Achieved{Power: unit.Dioptre(rapid.Float64Range(10, 32).Draw(t, "P"))}
		predicted, err := s.Refraction(out.Power)
		if err != nil {
			t.Fatal(err)
		}
		out.Refraction = predicted + unit.Dioptre(rapid.Float64Range(-0.5, 0.5).Draw(t, "error"))
		own, err := m.PersonalConstant(in, out)
		if err != nil || !own.Position.Usable {
			t.Skip("no lens position explains the outcome")
		}
		if own.Key != m.Key {
			t.Fatalf("key %s of %s", own.Key, m.ID)
		}
		set := Constants{}
		switch own.Key {
		case "a":
			set.A = unit.Known(own.Value)
		case "sf_mm":
			set.SF = unit.Known(unit.Millimetre(own.Value))
		case "pacd_mm":
			set.PACD = unit.Known(unit.Millimetre(own.Value))
		case "a0":
			set.A0, set.A1, set.A2 = unit.Known(unit.Millimetre(own.Value)), unit.Known(in.Constant.A1), unit.Known(in.Constant.A2)
		}
		in.Constant, _, _ = m.Resolve(set)
		ref, err := m.Refraction(in, out.Power)
		if err != nil || !(math.Abs(float64(ref-out.Refraction)) <= 1e-9) {
			t.Fatalf("%s: constant %v predicts %v, %v; achieved %v", m.ID, own.Value, ref, err, out.Refraction)
		}
		if d, err := m.Position(in); err != nil || !(math.Abs(float64(d-own.Position.Position)) <= 1e-9) {
			t.Fatalf("%s: position %v, back-solved %v, %v", m.ID, d, own.Position.Position, err)
		}
	})
}

// spread is the difference between the highest and the lowest emmetropic power
// of all methods on jointly optimised constants, with the chamber depth that
// usually goes with the length.
func spread(t *testing.T, al, k float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, m := range Methods {
		acd := unit.Millimetre(3.1 + 0.18*(al-23.5))
		p, err := m.Power(Input{AxialLength: unit.Millimetre(al), K: unit.Dioptre(k), ACD: unit.Known(acd), Vertex: 12, Constant: resolved(t, m, joint)}, 0)
		if err != nil {
			t.Fatal(err)
		}
		low, high = min(low, float64(p)), max(high, float64(p))
	}
	return high - low
}

// TestMethodsAgree holds the spread below 0.6 D in ordinary eyes: 22.5 to 25 mm
// with a K within 0.75 D of the one that usually goes with the length (slope
// from the Chinese series: Spearman -0.41 of SDs 1.70 D and 2.47 mm). A flat
// cornea on a short eye is not ordinary: there the methods differ by up to 1 D,
// since K moves the lens in some of them and not in others.
func TestMethodsAgree(t *testing.T) {
	const limit = 0.6
	for al := 22.5; al <= 25; al += 0.1 {
		usual := 43.9 - 0.28*(al-23.5)
		for off := -0.75; off <= 0.75; off += 0.25 {
			if got := spread(t, al, usual+off); got >= limit {
				t.Errorf("AL %.1f, K %.2f: methods differ by %.2f D", al, usual+off, got)
			}
		}
	}
	if got := spread(t, 22.5, 42); got < limit || got > 1 {
		t.Errorf("short flat eye: methods differ by %.2f D", got)
	}
}
