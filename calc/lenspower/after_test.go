package lenspower

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

func dp(v float64) unit.Reading[unit.Dioptre] { return unit.Known(unit.Dioptre(v)) }

// full is an eye after laser with everything recorded.
func full(surgery eye.CornealSurgery) OperatedInput {
	in := OperatedInput{Surgery: surgery, AxialLength: 26, K: 39, KFlat: dp(38.5), ACD: mm(3.3), Vertex: 12, KBefore: dp(43.5),
		RefractionBefore: dp(-6), RefractionAfter: dp(-0.5), Constants: published}
	if surgery == eye.HyperopicLaser {
		in.AxialLength, in.K, in.KFlat, in.RefractionBefore, in.RefractionAfter = 22, 46, dp(45.5), dp(3.5), dp(0.25)
	}
	return in
}

var allSurgery = []eye.CornealSurgery{"", eye.NoSurgery, eye.MyopicLaser, eye.HyperopicLaser, eye.RadialCuts, eye.Graft, eye.UnknownSurgery}

func TestOffered(t *testing.T) {
	for surgery, want := range map[eye.CornealSurgery][]string{
		"": nil, eye.NoSurgery: nil,
		eye.MyopicLaser: {"haigis-l", "shammas-pl", "wang-koch-maloney", "separate-surfaces", "rosa", "masket", "masket-modified", "feiz-mannis", "latkany", "latkany-flattest",
			"adjusted-k", "adjusted-k-3mm", "jarade-tabbara", "clinical-history", "srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"},
		eye.HyperopicLaser: {"shammas-phl", "separate-surfaces", "masket", "masket-modified", "feiz-mannis", "jarade-tabbara", "clinical-history", "srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"},
		eye.RadialCuts:     {"srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"},
		eye.Graft:          {"srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"},
		eye.UnknownSurgery: {"separate-surfaces", "clinical-history", "srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"},
	} {
		var ids []string
		for _, m := range AfterSurgery(surgery) {
			ids = append(ids, m.ID)
		}
		if !slices.Equal(ids, want) {
			t.Errorf("%q: %v", surgery, ids)
		}
	}
	for _, m := range OperatedMethods {
		if OperatedMethodNamed(m.ID) != m || MethodNamed(m.ID) != nil || m.Version != "1" || !m.Ref.Grade.Valid() {
			t.Errorf("%+v", m)
		}
		if _, ok := source.Lookup(m.Ref.Key); !ok || m.VariantOf != "" && OperatedMethodNamed(m.VariantOf) == nil {
			t.Errorf("%+v", m)
		}
	}
	if OperatedMethodNamed("srk-t") != nil {
		t.Error("an ordinary method among the operated")
	}
}

// TestNotOffered refuses every method for a surgery it is not made for.
func TestNotOffered(t *testing.T) {
	for _, surgery := range allSurgery {
		for _, m := range OperatedMethods {
			_, err := m.Solve(OperatedInput{Surgery: surgery, AxialLength: 25, K: 40, Vertex: 12, Constants: published})
			var not *NotOfferedError
			if offered := slices.Contains(m.Surgeries, surgery); offered == errors.As(err, &not) {
				t.Errorf("%s for %q: %v", m.ID, surgery, err)
			}
		}
	}
}

// TestMissingIsNamed takes each needed reading away in turn.
func TestMissingIsNamed(t *testing.T) {
	take := map[string]func(*OperatedInput){
		"k_before_d":          func(in *OperatedInput) { in.KBefore = unit.Reading[unit.Dioptre]{} },
		"refraction_before_d": func(in *OperatedInput) { in.RefractionBefore = unit.Reading[unit.Dioptre]{} },
		"refraction_after_d":  func(in *OperatedInput) { in.RefractionAfter = unit.Reading[unit.Dioptre]{} },
		"acd_mm":              func(in *OperatedInput) { in.ACD = unit.Reading[unit.Millimetre]{} },
		"k_flat_d":            func(in *OperatedInput) { in.KFlat = unit.Reading[unit.Dioptre]{} },
	}
	for _, surgery := range []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser, eye.Graft, eye.UnknownSurgery} {
		for _, m := range AfterSurgery(surgery) {
			if _, err := m.Solve(full(surgery)); err != nil {
				t.Errorf("%s, all recorded: %v", m.ID, err)
			}
			for key, away := range take {
				in := full(surgery)
				away(&in)
				_, err := m.Solve(in)
				var missing *MissingError
				needed := slices.Contains(m.Needs, key) || m.ID == "separate-surfaces" && key == "k_before_d" && surgery != eye.MyopicLaser
				if needed != (errors.As(err, &missing) && missing.Field == key && missing.Method == m.ID) {
					t.Errorf("%s without %s: %v", m.ID, key, err)
				}
			}
			in := full(surgery)
			in.Constants = Constants{}
			var missing *MissingError
			if _, err := m.Solve(in); !errors.As(err, &missing) || missing.Field == "" {
				t.Errorf("%s without constants: %v", m.ID, err)
			}
		}
	}
}

// TestNoSurgeryIsOrdinary: a surgery that changed nothing leaves the methods
// that work by the change at the ordinary method.
func TestNoSurgeryIsOrdinary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(40, 46).Draw(t, "K")
		ref := rapid.Float64Range(-10, 0).Draw(t, "refraction")
		in := OperatedInput{Surgery: eye.MyopicLaser, AxialLength: unit.Millimetre(rapid.Float64Range(22, 26).Draw(t, "AL")), K: unit.Dioptre(k), Vertex: unit.Millimetre(rapid.Float64Range(10, 15).Draw(t, "V")),
			KBefore: dp(k), RefractionBefore: dp(ref), RefractionAfter: dp(ref), Constants: published}
		target := unit.Dioptre(rapid.Float64Range(-4, 1).Draw(t, "target"))
		for id, base := range map[string]string{"clinical-history": "srk-t", "jarade-tabbara": "srk-t", "separate-surfaces": "srk-t", "feiz-mannis": "srk-t",
			"srk-t-dk": "srk-t", "t2-dk": "t2", "holladay-1-dk": "holladay-1", "hoffer-q-dk": "hoffer-q"} {
			s, err := OperatedMethodNamed(id).Solve(in)
			if err != nil {
				t.Fatalf("%s: %v", id, err)
			}
			p, err := s.Power(target)
			m := MethodNamed(base)
			r, _, _ := m.Resolve(published)
			want, err2 := m.Power(Input{AxialLength: in.AxialLength, K: in.K, Vertex: in.Vertex, Constant: r}, target)
			if err != nil || err2 != nil || !(math.Abs(float64(p-want)) <= 1e-9) {
				t.Fatalf("%s: %v %v, ordinary %v %v", id, p, err, want, err2)
			}
		}
	})
}

// TestOperatedRoundTrip: every method undoes itself, a stronger lens is more
// myopic, and every working ends in the answer.
func TestOperatedRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		surgery := rapid.SampledFrom(allSurgery[2:]).Draw(t, "surgery")
		in := full(surgery)
		in.AxialLength += unit.Millimetre(rapid.Float64Range(-1, 2).Draw(t, "AL"))
		in.K += unit.Dioptre(rapid.Float64Range(-2, 2).Draw(t, "K"))
		m := rapid.SampledFrom(AfterSurgery(surgery)).Draw(t, "method")
		s, err := m.Solve(in)
		if err != nil {
			t.Skip(err)
		}
		p := unit.Dioptre(rapid.Float64Range(2, 35).Draw(t, "P"))
		r, err := s.Refraction(p)
		if err != nil {
			t.Skip(err)
		}
		back, err := s.Power(r)
		more, err2 := s.Refraction(p + 0.5)
		if err != nil || err2 != nil || !(math.Abs(float64(back-p)) <= 1e-9) || !(more < r) {
			t.Fatalf("%s: %v leaves %v, wants %v; half more leaves %v: %v %v", m.ID, p, r, back, more, err, err2)
		}
		known := slices.Concat(OperatedStepNames, StepNames)
		for _, w := range []struct {
			steps []source.Step
			last  string
			want  unit.Dioptre
		}{{m.Working(in, r), "after.power", p}, {m.WorkingRefraction(in, p), "after.refraction", r}} {
			end := w.steps[len(w.steps)-1]
			if end.Name != w.last || !(math.Abs(end.Value-float64(w.want)) <= 1e-9) {
				t.Fatalf("%s: working ends in %+v, want %v", m.ID, end, w.want)
			}
			for _, step := range w.steps {
				if !slices.Contains(known, step.Name) || step.Symbol == "" || !step.Ref.Grade.Valid() {
					t.Fatalf("%s: step %+v", m.ID, step)
				}
			}
		}
	})
}

// TestLaserNeedsMore: after myopic laser every method that counts asks for more
// than the ordinary method with K as it is now, after hyperopic for less.
func TestLaserNeedsMore(t *testing.T) {
	for _, surgery := range []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser} {
		in := full(surgery)
		srkt := MethodNamed("srk-t")
		ordinary, err := srkt.Power(Input{AxialLength: in.AxialLength, K: in.K, Vertex: 12, Constant: resolved(t, srkt, published)}, 0)
		if err != nil {
			t.Fatal(err)
		}
		list, sum := SolveOperated(in, 0)
		for _, a := range list {
			t.Logf("%-18s %v counts %v %v", a.Method.ID, a.Power, a.Solution.Counts, a.Err)
			if a.Err == nil && a.Solution.Counts && a.Power > ordinary != (surgery == eye.MyopicLaser) {
				t.Errorf("%s: %v, ordinary %v", a.Method.ID, a.Power, ordinary)
			}
		}
		t.Logf("%+v", sum)
	}
}

func TestHistoryThatContradicts(t *testing.T) {
	for _, surgery := range []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser} {
		in := full(surgery)
		in.RefractionBefore, in.RefractionAfter = in.RefractionAfter, in.RefractionBefore
		for _, m := range AfterSurgery(surgery) {
			var domain *unit.RangeError
			if _, err := m.Solve(in); slices.Contains(m.Needs, "refraction_after_d") && (!errors.As(err, &domain) || domain.What != "refraction-change") {
				t.Errorf("%s: %v", m.ID, err)
			}
		}
	}
	in := full(eye.MyopicLaser)
	in.RefractionBefore = dp(1)
	if _, err := OperatedMethodNamed("latkany").Solve(in); !errors.Is(err, unit.ErrRange) {
		t.Errorf("latkany of a hyperope: %v", err)
	}
	in.K = 44
	if !finding.Has(OperatedFindings(in), "k-history-contradicts") || finding.Has(OperatedFindings(full(eye.MyopicLaser)), "k-history-contradicts") {
		t.Error("K after steeper than before")
	}
}

// TestHistoryIsCarried holds the change at the cornea of the reference page:
// −6.0 and −0.5 at the spectacles.
func TestHistoryIsCarried(t *testing.T) {
	s, err := OperatedMethodNamed("clinical-history").Solve(full(eye.MyopicLaser))
	want := 43.5 - 6/(1+0.012*6) + 0.5/(1+0.012*0.5)
	if err != nil || !(math.Abs(float64(s.KTrue.Value)-want) < 1e-12) || !finding.Has(s.Findings, "history-carried-to-cornea") || !s.History {
		t.Errorf("%+v, %v, want %v", s.KTrue, err, want)
	}
	in := full(eye.MyopicLaser)
	if k, err := ShammasKByRefraction(in); err != nil || !(math.Abs(float64(k)-(39+0.23*(want-43.5))) < 1e-12) {
		t.Errorf("Shammas by refraction: %v %v", k, err)
	}
	in.RefractionAfter.Known = false
	if _, err := ShammasKByRefraction(in); err == nil {
		t.Error("without a refraction")
	}
}

// TestCounting says which answers enter the median.
func TestCounting(t *testing.T) {
	counts := func(in OperatedInput) (ids []string) {
		list, _ := SolveOperated(in, 0)
		for _, a := range list {
			if a.Err == nil && a.Solution.Counts {
				ids = append(ids, a.Method.ID)
			}
		}
		return ids
	}
	in := full(eye.MyopicLaser)
	for _, id := range []string{"srk-t-dk", "latkany-flattest", "adjusted-k-3mm", "jarade-tabbara"} {
		if slices.Contains(counts(in), id) {
			t.Errorf("%s counts", id)
		}
	}
	in.TrueK = dp(38)
	if !slices.Contains(counts(in), "srk-t-dk") {
		t.Error("double K with a measured total power does not count")
	}
	in.Constants = onlyA(118.4)
	for _, id := range []string{"haigis-l", "holladay-1-dk", "hoffer-q-dk"} {
		if slices.Contains(counts(in), id) {
			t.Errorf("%s counts on a converted constant", id)
		}
	}
	if got := counts(full(eye.Graft)); !slices.Equal(got, []string{"srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"}) {
		t.Errorf("graft: %v", got)
	}
	if list, sum := SolveOperated(full(eye.NoSurgery), 0); list != nil || sum.N != 0 || sum.Findings != nil {
		t.Errorf("no surgery: %v %+v", list, sum)
	}
}

// TestJaradeIsSeparateSurfaces: the two corneal powers differ only by the digits
// of 1.114, so counting both would count one method twice.
func TestJaradeIsSeparateSurfaces(t *testing.T) {
	for _, k := range []float64{34, 37, 40, 43} {
		in := full(eye.MyopicLaser)
		in.K = unit.Dioptre(k)
		a, err1 := OperatedMethodNamed("jarade-tabbara").Solve(in)
		b, err2 := OperatedMethodNamed("separate-surfaces").Solve(in)
		if err1 != nil || err2 != nil || math.Abs(float64(a.KTrue.Value-b.KTrue.Value)) > 0.0001*10 {
			t.Errorf("K %v: %v and %v: %v %v", k, a.KTrue.Value, b.KTrue.Value, err1, err2)
		}
	}
}

func TestOperatedSummary(t *testing.T) {
	answer := func(p float64, counts, history bool) OperatedAnswer {
		return OperatedAnswer{Power: unit.Dioptre(p), Solution: OperatedSolution{Counts: counts, History: history}}
	}
	list := []OperatedAnswer{answer(20, true, false), answer(21, true, true), answer(20.4, true, false), answer(30, false, false), {Err: errOther, Power: 3, Solution: OperatedSolution{Counts: true}}}
	s := SummariseOperated(list)
	if s.N != 3 || s.NoHistory != 2 || s.Median != 20.4 || s.Spread != 1 || finding.Has(s.Findings, "operated-methods-apart") || !finding.Has(s.Findings, "operated-methods-few") || !finding.Has(s.Findings, "operated-expected-error") {
		t.Errorf("%+v", s)
	}
	s = SummariseOperated(append(list, answer(21.01, true, false)))
	if s.Median != 20.7 || !finding.Has(s.Findings, "operated-methods-apart") || finding.Has(s.Findings, "operated-methods-few") {
		t.Errorf("%+v", s)
	}
	// About half within half a dioptre: the normal distribution at 0.5/0.7.
	if math.Abs(float64(s.WithinHalf)-0.5249) > 5e-5 || s.ExpectedSD != 0.7 {
		t.Errorf("%v of SD %v", s.WithinHalf, s.ExpectedSD)
	}
	if s := SummariseOperated(list[4:]); s.N != 0 || s.Median != 0 || !finding.Has(s.Findings, "operated-methods-few") {
		t.Errorf("%+v", s)
	}
}

// TestOperatedNothingStrangeEscapes feeds any number whatever.
func TestOperatedNothingStrangeEscapes(t *testing.T) {
	any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 12, 39, 43.5}), rapid.Float64Range(-10, 60))
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return any.Draw(t, name) }
		read := func(name string) unit.Reading[unit.Dioptre] {
			return unit.Reading[unit.Dioptre]{Value: unit.Dioptre(draw(name)), Known: rapid.Bool().Draw(t, name+" known")}
		}
		set := published
		set.A.Value = unit.Constant(draw("A"))
		in := OperatedInput{Surgery: rapid.SampledFrom(allSurgery).Draw(t, "surgery"), AxialLength: unit.Millimetre(draw("AL")), K: unit.Dioptre(draw("K")), KFlat: read("flat"), TrueK: read("true"),
			ACD: unit.Known(unit.Millimetre(draw("ACD"))), Vertex: unit.Millimetre(draw("V")), KBefore: read("before"), RefractionBefore: read("rb"), RefractionAfter: read("ra"), Constants: set}
		x := unit.Dioptre(draw("x"))
		sound := func(what string, v float64, err error) {
			if math.IsNaN(v) || math.IsInf(v, 0) || err != nil && v != 0 {
				t.Fatalf("%s: %v beside %v", what, v, err)
			}
		}
		list, sum := SolveOperated(in, x)
		sound("median", float64(sum.Median), nil)
		sound("spread", float64(sum.Spread), nil)
		for _, a := range list {
			sound(a.Method.ID, float64(a.Power), a.Err)
			sound(a.Method.ID, float64(a.Solution.Position), a.Err)
			if a.Err == nil {
				r, err := a.Solution.Refraction(x)
				sound(a.Method.ID+" refraction", float64(r), err)
			}
			a.Method.Working(in, x)
		}
		OperatedFindings(in)
	})
}

// TestGridThroughOperated holds the double-K rows of the grid through the -dk
// methods and the thick rows through the thick-lens method.
func TestGridThroughOperated(t *testing.T) {
	n := map[string]int{}
	near := func(line int, got unit.Dioptre, err error, want float64) {
		if err != nil || !(math.Abs(float64(got)-want) <= gridTolerance) {
			t.Errorf("line %d: got %.5f, %v, want %.4f", line, float64(got), err, want)
		}
	}
	for i, r := range readGrid(t) {
		switch r["kind"] {
		case "double-k":
			m, in := r.input(t)
			s, err := OperatedMethodNamed(m.ID + "-dk").Solve(OperatedInput{Surgery: eye.MyopicLaser, AxialLength: in.AxialLength, K: in.K, KBefore: in.KBefore, Vertex: 12,
				Constants: constantsOf(in.Constant)})
			if err != nil {
				t.Fatalf("line %d: %v", i+2, err)
			}
			p, err := s.Power(0)
			near(i+2, p, err, r.num(t, "emmetropic_power"))
			ref, err := s.Refraction(unit.Dioptre(r.num(t, "lens_power")))
			near(i+2, ref, err, r.num(t, "predicted_refraction"))
		case "thick-reference":
			s, err := SolveThick(ThickInput{AxialLength: unit.Millimetre(r.num(t, "AL")), K: unit.Dioptre(r.num(t, "K1")), ACD: mm(r.num(t, "ACD")), LensThickness: mm(r.num(t, "LT")), Vertex: 12,
				C: pure(0.39), Index: unit.Known(unit.Index(1.49)), Thickness: mm(0.8), ShapeFactor: pure(0)})
			if err != nil {
				t.Fatalf("line %d: %v", i+2, err)
			}
			p, err := s.Power(0)
			near(i+2, p, err, r.num(t, "emmetropic_power"))
			ref, err := s.Refraction(unit.Dioptre(r.num(t, "lens_power")))
			near(i+2, ref, err, r.num(t, "predicted_refraction"))
			near(i+2, unit.Dioptre(s.Position), nil, r.num(t, "lens_position"))
		default:
			continue
		}
		n[r["kind"]]++
	}
	if n["double-k"] != 16 || n["thick-reference"] != 36 {
		t.Errorf("rows: %v", n)
	}
}

// constantsOf gives back the constants a method was resolved from.
func constantsOf(r Resolved) (c Constants) {
	switch r.Key {
	case "a":
		c.A = unit.Known(r.Value)
	case "sf_mm":
		c.SF = unit.Known(unit.Millimetre(r.Value))
	case "pacd_mm":
		c.PACD = unit.Known(unit.Millimetre(r.Value))
	}
	return c
}
