package lenspower

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func codesOf(list []finding.Finding) (codes []string) {
	for _, f := range list {
		codes = append(codes, f.Code)
	}
	return codes
}

func thickEye() ThickInput {
	return ThickInput{AxialLength: 23.45, K: 337.5 / 7.7, ACD: mm(3.1), LensThickness: mm(4.6), Vertex: 12, C: pure(0.39), Index: unit.Known(unit.Index(1.49)), Thickness: mm(0.8), ShapeFactor: pure(0)}
}

func TestThickLens(t *testing.T) {
	in := thickEye()
	s, err := SolveThick(in)
	if err != nil || !slices.Equal(codesOf(s.Findings), []string{"thick-lens-not-fitted", "posterior-cornea-assumed", "corneal-thickness-assumed"}) {
		t.Fatalf("%+v %v", s, err)
	}
	if r, err := s.Refraction(21); err != nil || math.Abs(float64(r)-0.3759) > gridTolerance {
		t.Errorf("%v %v", r, err)
	}
	steps := WorkingThick(in, -1)
	p, _ := s.Power(-1)
	if last := steps[len(steps)-1]; last.Name != "thick-lens.power" || last.Value != float64(p) {
		t.Errorf("%+v, want %v", last, p)
	}
	for _, step := range steps {
		if !slices.Contains(slices.Concat(ThickStepNames, StepNames), step.Name) {
			t.Errorf("%s is not listed", step.Name)
		}
	}
	// A measured cornea like the assumed one changes nothing but the findings.
	in.Posterior, in.CornealThickness = unit.Known(unit.Millimetre(0.83*337.5/float64(in.K))), unit.Known(unit.Micrometre(500))
	same, err := SolveThick(in)
	a, _ := s.Power(0)
	b, _ := same.Power(0)
	if err != nil || math.Abs(float64(a-b)) > 1e-12 || len(same.Findings) != 1 {
		t.Errorf("%v %v %v %v", a, b, same.Findings, err)
	}
	in.Posterior.Value = 6.0 // a steeper back takes more away
	if steep, _ := SolveThick(in); !func() bool { p, _ := steep.Power(0); return p > a }() {
		t.Error("a steeper back surface needs a stronger lens")
	}
}

func TestThickLensMissing(t *testing.T) {
	for want, away := range map[string]func(*ThickInput){
		"c":                   func(in *ThickInput) { in.C.Known = false },
		"acd_mm":              func(in *ThickInput) { in.ACD.Known = false },
		"lens_thickness_mm":   func(in *ThickInput) { in.LensThickness.Known = false },
		"index":               func(in *ThickInput) { in.Index.Known = false },
		"thickness_mm":        func(in *ThickInput) { in.Thickness.Known = false },
		"shape_factor":        func(in *ThickInput) { in.ShapeFactor.Known = false },
		"posterior_r_flat_mm": func(in *ThickInput) { in.Surgery = eye.MyopicLaser },
	} {
		in := thickEye()
		away(&in)
		var missing *MissingError
		if _, err := SolveThick(in); !errors.As(err, &missing) || missing.Field != want {
			t.Errorf("%s: %v", want, err)
		}
	}
	for _, bad := range []func(*ThickInput){func(in *ThickInput) { in.AxialLength = 14 }, func(in *ThickInput) { in.K = 7.8 }, func(in *ThickInput) { in.LensThickness.Value = 7 },
		func(in *ThickInput) { in.Index.Value = 1.3 }, func(in *ThickInput) { in.Vertex = unit.Millimetre(math.NaN()) }} {
		in := thickEye()
		bad(&in)
		if _, err := SolveThick(in); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", in, err)
		}
	}
	e := eye.Eye{AxialLength: mm(23.45), ACD: mm(3.1), LensThickness: mm(4.6), PosteriorRFlat: mm(6.6), PosteriorRSteep: mm(6.4)}
	l := NewLens()
	l.Constants.C, l.Index, l.Thickness, l.ShapeFactor = pure(0.39), unit.Known(unit.Index(1.49)), mm(0.8), pure(0)
	if in := ThickOf(&e, &l, 43.5); in.Missing() != "" || math.Abs(float64(in.Posterior.Value)-2/(1/6.6+1/6.4)) > 1e-12 || in.Vertex != 12 {
		t.Errorf("%+v", in)
	}
}

func bagSolution(t testing.TB) Solution {
	m := MethodNamed("srk-t")
	s, err := m.Solve(ordinary(t, m))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestAphakicIsTheEngine: the refraction of the eye without a lens, put into
// the vergence formula, gives back the engine's power; and an exchange is exact.
func TestAphakicIsTheEngine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := MethodNamed("hoffer-q") // its cornea is K itself
		r, _, _ := m.Resolve(published)
		k := unit.Dioptre(rapid.Float64Range(39, 47).Draw(t, "K"))
		s, err := m.Solve(Input{AxialLength: unit.Millimetre(rapid.Float64Range(20, 28).Draw(t, "AL")), K: k, Vertex: 12, Constant: r})
		if err != nil {
			t.Fatal(err)
		}
		without, err := s.Refraction(0)
		if err != nil {
			t.Fatal(err)
		}
		target := unit.Dioptre(rapid.Float64Range(-4, 2).Draw(t, "target"))
		want, _ := s.Power(target)
		got, err := RefractiveVergence(SecondLens{K: k, Position: s.Position, Vertex: 12, Before: without, Target: target})
		if err != nil || math.Abs(float64(got-want)) > 1e-9 {
			t.Fatalf("%v %v, engine %v", got, err, want)
		}
		old := unit.Dioptre(rapid.Float64Range(10, 30).Draw(t, "old"))
		now, err := s.Refraction(old)
		if err != nil {
			t.Skip(err)
		}
		swapped, err := LensExchange(SecondLens{K: k, Position: s.Position, Vertex: 12, Before: now, Target: target}, old)
		if err != nil || math.Abs(float64(swapped-want)) > 1e-9 {
			t.Fatalf("exchange %v %v, engine %v", swapped, err, want)
		}
	})
}

// TestPiggyback holds the rule of thumb beside the formula: 1.50 and 1.30 per
// dioptre for +5 and −4 D (own arithmetic of the reference page).
func TestPiggyback(t *testing.T) {
	for _, c := range []struct{ now, ratio float64 }{{5, 1.4977}, {-4, 1.2956}} {
		p, err := RefractiveVergence(SecondLens{K: 44, Position: 4.5, Vertex: 12, Before: unit.Dioptre(c.now)})
		if err != nil || math.Abs(float64(p)/c.now-c.ratio) > 5e-5 {
			t.Errorf("%v: %v %v", c.now, float64(p)/c.now, err)
		}
	}
	if PiggybackRule(2) != (Range{3, 3}) || PiggybackRule(-2) != (Range{-2.6, -2}) {
		t.Errorf("%v %v", PiggybackRule(2), PiggybackRule(-2))
	}
}

func TestRescueLadder(t *testing.T) {
	s := bagSolution(t)
	half := func(low float64) (list []unit.Dioptre) {
		for p := low; p <= 30; p += 0.5 {
			list = append(list, unit.Dioptre(p))
		}
		return list
	}
	in := RescueInput{Eye: s, Target: -0.5, Bag: RescueLens{A: pure(118.4), Stock: half(10)}, Sulcus: RescueLens{A: pure(118.4), OnePieceSoftAcrylic: No, Stock: half(10)},
		Chamber: RescueLens{A: pure(115.3), Stock: []unit.Dioptre{18, 19}}}
	l := RescueLadder(in)
	for i, want := range []Place{InBag, Captured, InSulcus, InChamber, NoLens} {
		if l[i].Place != want || l[i].Err != nil {
			t.Errorf("%+v", l[i])
		}
	}
	bag, _ := s.Power(-0.5)
	if l[0].Wanted != bag || l[0].Power != unit.Dioptre(nearestHalf(float64(bag))) || l[1].Power != l[0].Power || l[1].Refraction != l[0].Refraction {
		t.Errorf("bag %+v captured %+v", l[0], l[1])
	}
	if off := float64(l[0].Wanted - l[2].Wanted); off < 0.7 || off > 1.3 || l[2].Rules.Recomputed != l[2].Wanted || !finding.Has(l[2].Findings, "sulcus-expected-spread") {
		t.Errorf("sulcus %+v", l[2])
	}
	if math.Abs(float64(l[3].Wanted-(bag-3.1))) > 1e-9 || l[3].Power != 18 {
		t.Errorf("chamber %+v", l[3])
	}
	if want, _ := s.Refraction(18 + 3.1); math.Abs(float64(l[3].Refraction-want)) > 1e-9 {
		t.Errorf("chamber leaves %v, want %v", l[3].Refraction, want)
	}
	if l[4].Refraction < 9 || l[4].Refraction > 14 || l[4].Power != 0 || !finding.Has(l[4].Findings, "left-aphakic") {
		t.Errorf("none %+v", l[4])
	}
	in.Sulcus.OnePieceSoftAcrylic, in.Chamber, in.Bag.Stock = Yes, RescueLens{}, []unit.Dioptre{}
	l = RescueLadder(in)
	if !finding.Has(l[1].Findings, "one-piece-acrylic-in-sulcus") || finding.Worst(l[2].Findings) != finding.Stop || finding.Worst(l[0].Findings) != finding.Caution ||
		!errors.Is(l[3].Err, ErrConstantNeeded) || !finding.Has(l[0].Findings, "rescue-not-in-stock") {
		t.Errorf("%+v", l)
	}
	in.Bag.Stock, in.Bag.A.Value = []unit.Dioptre{15, 30}, 118.4
	if l = RescueLadder(in); !finding.Has(l[0].Findings, "rescue-far-from-target") {
		t.Errorf("%+v", l[0])
	}
	after, err := OperatedMethodNamed("masket").Solve(full(eye.MyopicLaser))
	if err != nil {
		t.Fatal(err)
	}
	if l = RescueLadder(RescueInput{Eye: after, Target: 0}); l[0].Err != nil || l[2].Wanted >= l[0].Wanted || math.Abs(float64(l[0].Refraction)) > 1e-9 || math.Abs(float64(l[2].Refraction)) > 1e-9 {
		t.Errorf("%+v", l)
	}
}

func TestPlacementStops(t *testing.T) {
	for _, c := range []struct {
		in   SulcusFacts
		want []string
	}{
		{SulcusFacts{}, nil},
		{SulcusFacts{HapticsInSulcus: true, OnePieceSoftAcrylic: No}, nil},
		{SulcusFacts{HapticsInSulcus: true, OnePieceSoftAcrylic: Yes}, []string{"one-piece-acrylic-in-sulcus"}},
		{SulcusFacts{HapticsInSulcus: true}, []string{"placement-not-asked"}},
		{SulcusFacts{TensionRing: true, TornCapsulorhexis: No, OpenPosteriorCapsule: No}, nil},
		{SulcusFacts{TensionRing: true, TornCapsulorhexis: Yes, OpenPosteriorCapsule: No}, []string{"tension-ring-torn-capsule"}},
		{SulcusFacts{TensionRing: true, OpenPosteriorCapsule: Yes}, []string{"tension-ring-torn-capsule"}},
		{SulcusFacts{TensionRing: true, TornCapsulorhexis: No}, []string{"placement-not-asked"}},
	} {
		if got := codesOf(CheckPlacement(c.in)); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %v", c.in, got)
		}
	}
	if got := codesOf(CheckChamberLens(ChamberFacts{})); len(got) != 4 {
		t.Errorf("%v", got)
	}
	good := ChamberFacts{LensLength: mm(12.5), Iridectomy: Yes, Depth: mm(3.0), Cells: pure(1500)}
	if got := codesOf(CheckChamberLens(good)); got != nil {
		t.Errorf("%v", got)
	}
	good.Depth, good.Cells = mm(2.99), pure(1499)
	if got := codesOf(CheckChamberLens(good)); !slices.Equal(got, []string{"chamber-lens-shallow", "chamber-lens-cells"}) {
		t.Errorf("%v", got)
	}
	for _, r := range finding.Rules() {
		if (r.Code == "one-piece-acrylic-in-sulcus" || r.Code == "tension-ring-torn-capsule") && r.Severity != finding.Stop {
			t.Errorf("%s is no stop", r.Code)
		}
	}
}

// TestChamberVergence: the deeper the lens, the stronger it must be.
func TestChamberVergence(t *testing.T) {
	r, err := ChamberByVergence(SecondLens{K: 45, Vertex: 12, Before: 12.5})
	if err != nil || !(r.Low < r.High) || r.Low < 18 || r.High > 20 {
		t.Errorf("%v %v", r, err)
	}
	if d, err := onlyA(119.2).ChangeTo(onlyA(118.7)); err != nil || math.Abs(float64(d)+0.5) > 1e-9 {
		t.Errorf("119.2 to 118.7: %v %v", d, err) // the teaching page prints −0.5 D
	}
	if _, err := onlyA(119).ChangeTo(Constants{}); !errors.Is(err, ErrConstantNeeded) {
		t.Error(err)
	}
}

func alike() FirstEye {
	return FirstEye{Error: dp(0.8), DaysToRefraction: pure(30), LengthDifference: mm(0.3), KDifference: dp(-0.6), ACDDifference: mm(0.1), SameModel: Yes, SameMethod: Yes, InBag: Yes, Complication: No}
}

func TestSecondEye(t *testing.T) {
	a := AdjustSecondEye(alike(), -0.25)
	if !a.Eligible || a.Weight != 0.5 || math.Abs(float64(a.Target)+0.65) > 1e-12 || !finding.Has(a.Findings, "second-eye-adjusted") {
		t.Errorf("%+v", a)
	}
	for _, c := range []struct {
		name   string
		change func(*FirstEye)
		code   string
	}{
		{"lengths", func(f *FirstEye) { f.LengthDifference = mm(0.31) }, "second-eye-not-comparable"},
		{"K", func(f *FirstEye) { f.KDifference = dp(0.61) }, "second-eye-not-comparable"},
		{"depth", func(f *FirstEye) { f.ACDDifference = mm(-0.31) }, "second-eye-not-comparable"},
		{"depth not recorded", func(f *FirstEye) { f.ACDDifference.Known = false }, "second-eye-not-comparable"},
		{"not a number", func(f *FirstEye) { f.KDifference = dp(math.NaN()) }, "second-eye-not-comparable"},
		{"early", func(f *FirstEye) { f.DaysToRefraction = pure(27) }, "second-eye-not-comparable"},
		{"other lens", func(f *FirstEye) { f.SameModel = No }, "second-eye-not-comparable"},
		{"method not asked", func(f *FirstEye) { f.SameMethod = "" }, "second-eye-not-comparable"},
		{"sulcus", func(f *FirstEye) { f.InBag = No }, "second-eye-not-comparable"},
		{"complication", func(f *FirstEye) { f.Complication = Yes }, "second-eye-not-comparable"},
		{"small", func(f *FirstEye) { f.Error = dp(0.49) }, "second-eye-error-small"},
		{"blunder", func(f *FirstEye) { f.Error = dp(-2.01) }, "second-eye-blunder-first"},
		{"no result", func(f *FirstEye) { f.Error.Known = false }, "second-eye-not-comparable"},
	} {
		f := alike()
		c.change(&f)
		if a := AdjustSecondEye(f, 0); a.Eligible || a.Weight != 0 || a.Target != 0 || !finding.Has(a.Findings, c.code) {
			t.Errorf("%s: %+v", c.name, a)
		}
	}
	edge := alike()
	for _, e := range []float64{0.5, 2, -0.5, -2} {
		edge.Error = dp(e)
		if a := AdjustSecondEye(edge, 0); !a.Eligible || math.Abs(float64(a.Target)+e/2) > 1e-12 {
			t.Errorf("%v: %+v", e, a)
		}
	}
}

// TestPairTheory: no weight beats the correlation itself.
func TestPairTheory(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rho := unit.Ratio(rapid.Float64Range(-1, 1).Draw(t, "rho"))
		best, err1 := Pair{rho, rho}.ResidualSD()
		other, err2 := Pair{rho, unit.Ratio(rapid.Float64Range(-2, 2).Draw(t, "w"))}.ResidualSD()
		if err1 != nil || err2 != nil || best > other+1e-12 || math.Abs(float64(best)-math.Sqrt(float64(1-rho*rho))) > 1e-7 {
			t.Fatalf("%v against %v: %v %v", best, other, err1, err2)
		}
	})
	if _, err := (Pair{2, 0}).ResidualSD(); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestChildren(t *testing.T) {
	for age := 0.0; age <= 216; age += 0.25 {
		list, err := ChildTargets(Child{AgeMonths: unit.Constant(age), AxialLength: mm(20)})
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range list {
			if math.IsNaN(x.Low) || x.Low > x.High || !x.Ref.Grade.Valid() || x.Table == "" {
				t.Errorf("%v months: %+v", age, x)
			}
		}
		if age >= 12 && age < 168 && len(list) < 1 || age >= 12 && age < 96 && len(list) < 4 {
			t.Errorf("%v months: only %d tables", age, len(list))
		}
	}
	if _, err := ChildTargets(Child{AgeMonths: 217}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	for _, c := range []struct {
		age, al float64
		want    []string
	}{
		{3, 17.5, []string{"child-targets-differ", "child-immersion", "child-infant-trial", "child-short-eye"}},
		{7, 19, []string{"child-targets-differ", "child-immersion"}},
		{30, 21, []string{"child-targets-differ", "child-immersion", "child-myopic-shift"}},
	} {
		if got := codesOf(ChildFindings(Child{unit.Constant(c.age), mm(c.al)})); !slices.Equal(got, c.want) {
			t.Errorf("%v: %v", c.age, got)
		}
	}
	s := bagSolution(t)
	emm, _ := s.Power(0)
	r, err := ChildTarget{Kind: ReducePercent, Low: 20, High: 20}.Refraction(s)
	back, _ := s.Power(r.Low)
	if err != nil || r.Low != r.High || r.Low <= 0 || math.Abs(float64(back-0.8*emm)) > 1e-9 {
		t.Errorf("%v %v", r, err)
	}
	if r, err := (ChildTarget{Kind: AimRefraction, Low: -2, High: -1}).Refraction(s); err != nil || r != (Range{-2, -1}) {
		t.Errorf("%v %v", r, err)
	}
	if r, err := (ChildTarget{Kind: ReducePower, Low: 2, High: 2}).Refraction(s); err != nil || r.Low <= 1 || r.Low >= 2 {
		t.Errorf("%v %v", r, err)
	}
	if r, err := (ChildTarget{Kind: FixedPower, Low: 24, High: 24}).Refraction(s); err != nil || r.Low >= 0 {
		t.Errorf("%v %v", r, err)
	}
}

func TestGrowth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(0, 10).Draw(t, "from")
		s := Span{unit.Year(a), unit.Year(a + rapid.Float64Range(0.1, 10).Draw(t, "years"))}
		mean, band, err := GrowthLens.Expected(s)
		if err != nil || !(mean < 0 && band.Low < mean && mean < band.High) {
			t.Fatalf("%v %v %v", mean, band, err)
		}
		slope, err := RateOfGrowth(mean, s)
		if err != nil || math.Abs(float64(slope-GrowthLens.Slope)) > 1e-9 {
			t.Fatalf("%v %v", slope, err)
		}
	})
	for _, bad := range []Span{{-1, 2}, {3, 2}, {1, 21}, {unit.Year(math.NaN()), 3}} {
		if _, _, err := GrowthAphakic.Expected(bad); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	if _, err := RateOfGrowth(1, Span{2, 2}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestHistorical(t *testing.T) {
	for _, m := range HistoricalMethods {
		if HistoricalMethodNamed(m.ID) != m || MethodNamed(m.ID) != nil || OperatedMethodNamed(m.ID) != nil {
			t.Errorf("%s", m.ID)
		}
		in := HistoricalInput{AxialLength: 23.5, K: 43.5, Vertex: 12, Constants: published}
		s, err := m.Solve(in)
		if err != nil {
			t.Fatal(err)
		}
		p, _ := s.Power(-1)
		r, err := s.Refraction(p)
		if err != nil || math.Abs(float64(r)+1) > 1e-9 || s.Position.Known != (m.ID == "binkhorst-2") {
			t.Errorf("%s: %v %v", m.ID, r, err)
		}
		var missing *MissingError
		in.Constants = Constants{}
		if _, err := m.Solve(in); !errors.As(err, &missing) || missing.Field != m.Key {
			t.Errorf("%s: %v", m.ID, err)
		}
		in.Constants, in.K = published, 7.8
		if _, err := m.Solve(in); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", m.ID, err)
		}
	}
	// Binkhorst II scales the depth by the length up to 26 mm, as printed.
	long, _ := HistoricalMethodNamed("binkhorst-2").Solve(HistoricalInput{AxialLength: 28, K: 43.5, Vertex: 12, Constants: Constants{PACD: mm(5.2)}})
	d, r4 := 5.2*26/23.45, 4*337.5/43.5
	if p, err := long.Power(0); err != nil || math.Abs(float64(p)-1336*(r4-28)/((28-d)*(r4-d))) > 1e-9 {
		t.Errorf("long eye: %v %v", p, err)
	}
	// SRK I: P = A − 2.5·AL − 0.9·K, as the review prints it.
	s, _ := HistoricalMethodNamed("srk-1").Solve(HistoricalInput{AxialLength: 20.5, K: 44, Vertex: 12, Constants: onlyA(118.4)})
	if p, _ := s.Power(0); math.Abs(float64(p)-(118.4-2.5*20.5-0.9*44)) > 1e-9 {
		t.Errorf("%v", p)
	}
}

// TestUnusualNothingStrangeEscapes feeds any number to what stands beside the
// methods.
func TestUnusualNothingStrangeEscapes(t *testing.T) {
	any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, 12, 43.5}), rapid.Float64Range(-10, 60))
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return any.Draw(t, name) }
		sound := func(what string, v float64, err error) {
			if math.IsNaN(v) || math.IsInf(v, 0) || err != nil && v != 0 {
				t.Fatalf("%s: %v beside %v", what, v, err)
			}
		}
		in := SecondLens{K: unit.Dioptre(draw("K")), Position: unit.Millimetre(draw("d")), Vertex: unit.Millimetre(draw("V")), Before: unit.Dioptre(draw("pre")), Target: unit.Dioptre(draw("post"))}
		p, err := RefractiveVergence(in)
		sound("vergence", float64(p), err)
		p, err = LensExchange(in, unit.Dioptre(draw("old")))
		sound("exchange", float64(p), err)
		r, err := ChamberByVergence(in)
		sound("chamber", float64(r.Low+r.High), err)
		s, err := Sulcus(BagLens{Power: unit.Dioptre(draw("P")), K: in.K, Position: in.Position})
		sound("sulcus", float64(s.Recomputed), err)
		th := thickEye()
		th.AxialLength, th.K, th.ACD.Value, th.C.Value = unit.Millimetre(draw("AL")), in.K, unit.Millimetre(draw("ACD")), unit.Constant(draw("C"))
		th.Index.Value, th.ShapeFactor.Value, th.Thickness.Value = unit.Index(draw("n")), unit.Constant(draw("X")), unit.Millimetre(draw("T"))
		ts, err := SolveThick(th)
		sound("thick", float64(ts.Position), err)
		if err == nil {
			p, err := ts.Power(in.Target)
			sound("thick power", float64(p), err)
			p, err = ts.Refraction(in.Before)
			sound("thick refraction", float64(p), err)
		}
		for _, m := range HistoricalMethods {
			set := published
			set.A.Value, set.PACD.Value = unit.Constant(draw("A")), unit.Millimetre(draw("pACD"))
			h, err := m.Solve(HistoricalInput{AxialLength: th.AxialLength, K: in.K, Vertex: in.Vertex, Constants: set})
			if err == nil {
				p, err := h.Power(in.Target)
				sound(m.ID, float64(p), err)
			}
		}
		a := AdjustSecondEye(FirstEye{Error: dp(draw("error")), DaysToRefraction: pure(draw("days"))}, 0)
		sound("second eye", float64(a.Target), nil)
	})
}
