package plan

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func dioptres(v float64) unit.Reading[unit.Dioptre] { return unit.Known(unit.Dioptre(v)) }

// lasered is an eye after myopic laser surgery with its whole history.
func lasered() (eye.Eye, lenspower.Lens) {
	e, l := given(26.34, 38.44, 3.61)
	e.CornealSurgery = eye.MyopicLaser
	e.KBefore, e.RefractionBefore, e.RefractionAfter = dioptres(43.25), dioptres(-6.5), dioptres(-0.25)
	return e, l
}

// contractOrder are the methods of the answer in the order of the contract,
// written out from its text.
const contractOrder = "srk-t, t2, holladay-1, hoffer-q, haigis, thick-lens, haigis-l, shammas-pl, shammas-phl, masket, masket-modified, wang-koch-maloney, " +
	"feiz-mannis, latkany, adjusted-k, separate-surfaces, jarade-tabbara, rosa, clinical-history, srk-t-dk, t2-dk, holladay-1-dk, hoffer-q-dk, srk-2, binkhorst-2"

func methodsOf(a LensAnswer) (ids []string) {
	for _, m := range a.Methods {
		ids = append(ids, m.Method)
	}
	return ids
}

func TestOrderIsTheContracts(t *testing.T) {
	order := strings.Split(contractOrder, ", ")
	for _, surgery := range []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser, eye.RadialCuts, eye.Graft, eye.UnknownSurgery, eye.NoSurgery} {
		e, l := lasered()
		e.CornealSurgery = surgery
		e.LensThickness, e.PosteriorRFlat, e.PosteriorRSteep = unit.Known(unit.Millimetre(4.5)), unit.Known(unit.Millimetre(6.4)), unit.Known(unit.Millimetre(6.3))
		l.Constants.C, l.Index, l.Thickness, l.ShapeFactor = unit.Known(unit.Constant(0.4)), unit.Known(unit.Index(1.5)), unit.Known(unit.Millimetre(0.7)), unit.Known(unit.Constant(0))
		at := -1
		a := LensWith(&e, &l, Options{Historical: true})
		for _, id := range methodsOf(a) {
			i := slices.Index(order, id)
			if i <= at {
				t.Errorf("%s: %s stands out of order in %q", surgery, id, methodsOf(a))
			}
			at = i
		}
		if !slices.Contains(methodsOf(a), "thick-lens") || !slices.Contains(methodsOf(a), "binkhorst-2") {
			t.Errorf("%s: %q", surgery, methodsOf(a))
		}
	}
}

// The plan's answers are those of the calculation asked by itself: one way in,
// one number out.
func TestAfterLaser(t *testing.T) {
	e, l := lasered()
	a := Lens(&e, &l)
	in := lenspower.OperatedInput{Surgery: e.CornealSurgery, AxialLength: e.AxialLength.Value, K: 38.44, KFlat: dioptres(38.44), ACD: e.ACD, Vertex: 12,
		KBefore: e.KBefore, RefractionBefore: e.RefractionBefore, RefractionAfter: e.RefractionAfter, Constants: l.Constants}
	list, sum := lenspower.SolveOperated(in, 0)
	for _, own := range list {
		id := own.Method.ID
		if id == "latkany-flattest" || id == "adjusted-k-3mm" {
			if slices.Contains(methodsOf(a), id) {
				t.Errorf("%s is no method of the contract", id)
			}
			continue
		}
		m := method(t, a, id)
		if own.Err != nil || math.Abs(m.Power.Value-float64(own.Power)) > 1e-12 || len(m.Choices) != 5 {
			t.Errorf("%s: %+v, by itself %v %v", id, m, own.Power, own.Err)
		}
	}
	s := a.AfterSurgery
	if s == nil || len(s.Methods) != sum.N || math.Abs(s.Median.Value-float64(sum.Median)) > 1e-12 || math.Abs(s.Spread.Value-float64(sum.Spread)) > 1e-12 || s.ExpectedSD.Value != 0.7 {
		t.Errorf("%+v, by itself %+v", s, sum)
	}
	if finding.Has(a.Findings, "unusual-eye") || !finding.Has(a.Findings, "operated-expected-error") {
		t.Errorf("findings %q", codesOf(a.Findings))
	}
	p := Make(Input{Eye: e, Shelf: []Shelved{counted(l, 20, 20.5, 21, 21.5, 22, 22.5, 23)}, Chosen: &Pick{"Lake 3", 22}})
	got := p.Lenses[0].Agreement
	if !slices.Equal(got.Methods, s.Methods) || got.Median != s.Median || got.Spread != s.Spread {
		t.Errorf("the plan says %+v, the answer %+v", got, s)
	}
	if d := p.Decision; d.SD.Value != 0.7 || !d.Predicted.Known || len(d.Repeating) > 0 || len(d.Shares) != 1 || d.Shares[0].Kind != ShareAfterSurgery {
		t.Errorf("decision %+v", d)
	}
	for _, w := range p.Decision.Working {
		if n := len(w.Power); lenspower.OperatedMethodNamed(w.Method) == nil || w.Power[n-1].Name != "after.power" || w.Refraction[len(w.Refraction)-1].Name != "after.refraction" {
			t.Errorf("working of %s", w.Method)
		}
	}
	if diff, err := Recompute(&p); err != nil || len(diff) > 0 {
		t.Errorf("recomputed: %v %v", diff, err)
	}
}

// A length by ultrasound adds its own spread to that of the series.
func TestUltrasoundWidensTheSeries(t *testing.T) {
	e, l := lasered()
	sd := func(m eye.LengthMethod) float64 {
		e.AxialLengthMethod = m
		return Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 22}}).Decision.SD.Value
	}
	if optical, contact, unsaid := sd(eye.Optical), sd(eye.Contact), sd(""); optical != 0.7 || contact <= 0.75 || unsaid != contact {
		t.Errorf("SD %v optical, %v contact, %v not recorded", optical, contact, unsaid)
	}
}

// What is missing is named, method by method; where nothing that counts is
// left there is a stop and no number.
func TestWhatOperatedEyesLack(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*eye.Eye, *lenspower.Lens)
		absent string // "method field" of some that must be named
		stop   string // field of the caution beside the stop, "" for none
	}{
		{"no K before", func(e *eye.Eye, _ *lenspower.Lens) { e.KBefore.Known = false }, "feiz-mannis k_before_d, jarade-tabbara k_before_d, clinical-history k_before_d, hoffer-q-dk k_before_d", ""},
		{"no refraction before", func(e *eye.Eye, _ *lenspower.Lens) { e.RefractionBefore.Known = false }, "masket refraction_before_d, latkany refraction_before_d, adjusted-k refraction_before_d", ""},
		{"no refraction after", func(e *eye.Eye, _ *lenspower.Lens) { e.RefractionAfter.Known = false }, "masket refraction_after_d, clinical-history refraction_after_d", ""},
		{"no chamber depth", func(e *eye.Eye, _ *lenspower.Lens) { e.ACD.Known = false }, "haigis-l acd_mm", ""},
		{"only a surgeon factor", func(_ *eye.Eye, l *lenspower.Lens) {
			l.Constants = lenspower.Constants{SF: unit.Known(unit.Millimetre(1.45))}
		}, "shammas-pl a, haigis-l a0", "a"},
		{"hyperopic", func(e *eye.Eye, _ *lenspower.Lens) {
			e.CornealSurgery, e.KBefore.Known = eye.HyperopicLaser, false
		}, "separate-surfaces k_before_d", ""},
		{"radial", func(e *eye.Eye, _ *lenspower.Lens) { e.CornealSurgery, e.KBefore.Known = eye.RadialCuts, false }, "srk-t-dk k_before_d", "k_before_d"},
		{"radial with K before", func(e *eye.Eye, _ *lenspower.Lens) { e.CornealSurgery = eye.RadialCuts }, "", ""},
		{"graft", func(e *eye.Eye, _ *lenspower.Lens) { e.CornealSurgery, e.KBefore.Known = eye.Graft, false }, "t2-dk k_before_d", "k_before_d"},
		{"unknown", func(e *eye.Eye, _ *lenspower.Lens) { e.CornealSurgery, e.KBefore.Known = eye.UnknownSurgery, false }, "separate-surfaces k_before_d", "k_before_d"},
		{"unknown with K before", func(e *eye.Eye, _ *lenspower.Lens) { e.CornealSurgery = eye.UnknownSurgery }, "", ""},
	} {
		e, l := lasered()
		c.change(&e, &l)
		a := Lens(&e, &l)
		for want := range strings.SplitSeq(c.absent, ", ") {
			id, field, _ := strings.Cut(want, " ")
			if id != "" && !slices.ContainsFunc(a.Findings, func(f finding.Finding) bool { return f.Code == "method-absent" && f.Method == id && f.Field == field }) {
				t.Errorf("%s: %s is not named: %v", c.name, want, a.Findings)
			}
		}
		if stopped := finding.Has(a.Findings, "unusual-eye"); stopped != (c.stop != "") || stopped && !slices.Contains(codesOf(a.Findings), "unusual-eye-lacks/caution/"+c.stop) {
			t.Errorf("%s: stopped %v: %q", c.name, stopped, codesOf(a.Findings))
		}
		if c.stop == "" {
			continue
		}
		for _, m := range a.Methods {
			if m.Power.Known || m.LensPosition.Known || len(m.Choices) > 0 || a.AfterSurgery != nil {
				t.Errorf("%s: %s gives a number beside a stop", c.name, m.Method)
			}
		}
		for _, shelf := range [][]Shelved{{{Lens: l}}, {}} {
			p := Make(Input{Eye: e, Shelf: shelf})
			if len(shelf)+len(c.stop) > 1 && p.Findings[0].Code != "unusual-eye" && (len(shelf) > 0 || c.stop == "k_before_d") {
				t.Errorf("%s: the plan with %d lenses does not stop: %q", c.name, len(shelf), codesOf(p.Findings))
			}
		}
	}
}

// randomEye is any eye the rules let in, operated more often than not.
func randomEye(r *rand.Rand) (eye.Eye, lenspower.Lens) {
	between := func(low, high float64) float64 { return low + r.Float64()*(high-low) }
	maybe := func() bool { return r.IntN(3) > 0 }
	e, l := given(between(17, 36), between(31, 58), between(1.6, 5.4))
	e.KSteep.Value = min(60, e.KFlat.Value+unit.Dioptre(between(0, 4)))
	e.CornealSurgery = []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser, eye.RadialCuts, eye.Graft, eye.UnknownSurgery}[r.IntN(5)]
	e.AxialLengthMethod = []eye.LengthMethod{"", eye.Optical, eye.Immersion, eye.Contact}[r.IntN(4)]
	e.LensStatus = []eye.LensStatus{"", eye.Phakic, eye.Phakic, eye.Pseudophakic}[r.IntN(4)]
	e.Age = unit.Known(unit.Year(between(10, 95)))
	e.Target = dioptres(between(-4, 1))
	e.ACD.Known = maybe()
	if maybe() {
		e.KBefore = dioptres(between(30, 60))
	}
	if maybe() {
		e.RefractionBefore = dioptres(between(-15, 8))
	}
	if maybe() {
		e.RefractionAfter = dioptres(between(-4, 4))
	}
	if maybe() {
		e.LensThickness, e.PosteriorRFlat, e.PosteriorRSteep = unit.Known(unit.Millimetre(between(3, 6))), unit.Known(unit.Millimetre(between(5, 8))), unit.Known(unit.Millimetre(between(5, 8)))
		l.Constants.C, l.Index, l.Thickness, l.ShapeFactor = unit.Known(unit.Constant(0.4)), unit.Known(unit.Index(1.5)), unit.Known(unit.Millimetre(0.7)), unit.Known(unit.Constant(0))
	}
	if r.IntN(4) == 0 {
		l.Constants.A.Known, l.Constants.A0.Known = maybe(), maybe()
	}
	return e, l
}

// Whatever the operated eye: no ordinary method gives a number, and none stands
// in agreement, median, guidance or behind a recommendation. Nor do our thick
// lens and what is not listed in the contract.
func TestNoOrdinaryMethodAfterSurgery(t *testing.T) {
	r := rand.New(rand.NewPCG(1949, 3))
	answered, stopped := 0, 0
	var row Row
	for range 3000 {
		e, l := randomEye(r)
		s := Shelved{Lens: l}
		if r.IntN(3) == 0 { // constants with an origin of their own
			s.Constants = []Constant{{Method: "srk-t", Key: "a", Value: 118.9, Origin: []string{"label", Converted}[r.IntN(2)]}}
		}
		p := Make(Input{Eye: e, Shelf: []Shelved{s}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
		plan := &p.Lenses[0]
		for _, m := range plan.Methods {
			ordinary := lenspower.MethodNamed(m.Method) != nil
			if ordinary && (m.Counts || m.Power.Known || m.Emmetropia.Known || m.LensPosition.Known || len(m.Choices) > 0 || m.SD.Known) {
				t.Fatalf("%s gives a number: %+v of %+v", m.Method, m, e)
			}
			if m.Counts && (m.Constant.Converted || m.Method == lenspower.ThickLensID || !slices.Contains(operatedOrder, m.Method)) {
				t.Fatalf("%s counts: %+v", m.Method, m)
			}
		}
		if len(plan.Guidance) > 0 {
			t.Fatalf("guidance: %+v", plan.Guidance)
		}
		var powers []float64
		for _, id := range plan.Agreement.Methods {
			i := slices.IndexFunc(plan.Methods, func(m MethodPlan) bool { return m.Method == id })
			if lenspower.OperatedMethodNamed(id) == nil || !plan.Methods[i].Counts {
				t.Fatalf("%s is in the agreement", id)
			}
			powers = append(powers, plan.Methods[i].Power.Value)
		}
		if plan.Agreement.Median != median(powers) || (plan.Recommended != nil || p.Decision.Predicted.Known) && len(powers) == 0 {
			t.Fatalf("median %v of %v, recommended %+v", plan.Agreement.Median, powers, plan.Recommended)
		}
		for _, x := range plan.Powers {
			for _, f := range x.Refractions {
				if lenspower.MethodNamed(f.Method) != nil && (f.Counts || f.Refraction.Known) {
					t.Fatalf("%s predicts: %+v", f.Method, f)
				}
			}
		}
		if has := finding.Has(p.All(), "unusual-eye"); has == (len(powers) > 0) && e.LensStatus != eye.Pseudophakic && e.Age.Value >= 18 {
			t.Fatalf("stop %v beside %d methods: %q", has, len(powers), codesOf(p.Findings))
		}
		if len(powers) > 0 {
			answered++
		} else {
			stopped++
		}
		sameRow(t, &row, &e, &l)
	}
	if answered < 500 || stopped < 500 {
		t.Errorf("%d answered, %d stopped: the eyes are too much alike", answered, stopped)
	}
}

// sameRow holds the table's answer against that of one eye.
func sameRow(t *testing.T, r *Row, e *eye.Eye, l *lenspower.Lens) {
	t.Helper()
	r.Options = Options{Historical: true}
	r.Answer(e, l, unit.Reading[unit.Dioptre]{})
	a := LensWith(e, l, r.Options)
	if got := codes(nil, a.Findings); !slices.Equal(r.Codes, got) || len(r.Lines) != len(a.Methods) {
		t.Fatalf("codes %q, %q", r.Codes, got)
	}
	for i, m := range a.Methods {
		x := r.Lines[i]
		if x.Method != m.Method || x.Power != m.Power || x.LensPosition != m.LensPosition || !slices.Equal(x.Codes, codes(nil, m.Findings)) {
			t.Fatalf("%+v, %+v", x, m)
		}
	}
	if _, err := json.Marshal(a); err != nil {
		t.Fatal(err)
	}
}

// The methods after corneal surgery take the constants of the ordinary method
// behind them, Shammas those of SRK/T.
func TestConstantsBehindOperatedMethods(t *testing.T) {
	e, _ := lasered()
	s := Shelved{Lens: lenspower.NewLens(), Constants: []Constant{{Key: "a", Value: 118.4, Origin: "label"}, {Method: "srk-t", Key: "a", Value: 119, Origin: "own-fitted", Eyes: 80},
		{Method: "haigis", Key: "a0", Value: 1.7, Origin: "published"}, {Method: "haigis", Key: "a1", Value: 0.4}, {Method: "haigis", Key: "a2", Value: 0.1}}}
	for _, m := range Make(Input{Eye: e, Shelf: []Shelved{s}}).Lenses[0].Methods {
		want := Used{Key: "a", Value: number(119.0), Origin: "own-fitted", Eyes: 80}
		switch m.Method {
		case "haigis-l":
			want = Used{Key: "a0", Value: number(1.7), A1: number(0.4), A2: number(0.1), Origin: "published"}
		case "shammas-pl", "masket", "latkany", "srk-t-dk", "clinical-history":
		default:
			continue
		}
		if m.Constant != want {
			t.Errorf("%s: %+v", m.Method, m.Constant)
		}
	}
}

func TestThickLensStandsApart(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	if a := Lens(&e, &l); slices.ContainsFunc(a.Findings, func(f finding.Finding) bool { return f.Method == lenspower.ThickLensID }) {
		t.Error("without its constant the thick lens is not spoken of")
	}
	l.Constants.C = unit.Known(unit.Constant(0.4))
	for _, key := range []string{"lens_thickness_mm", "index", "thickness_mm", "shape_factor"} {
		if a := Lens(&e, &l); !slices.ContainsFunc(a.Findings, func(f finding.Finding) bool {
			return f.Code == "method-absent" && f.Method == lenspower.ThickLensID && f.Field == key
		}) {
			t.Errorf("%s is not named: %v", key, a.Findings)
		}
		switch key {
		case "lens_thickness_mm":
			e.LensThickness = unit.Known(unit.Millimetre(4.5))
		case "index":
			l.Index = unit.Known(unit.Index(1.5))
		case "thickness_mm":
			l.Thickness = unit.Known(unit.Millimetre(0.7))
		default:
			l.ShapeFactor = unit.Known(unit.Constant(0))
		}
	}
	if p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}}); len(p.Lenses[0].Methods) != 5 {
		t.Error("a plan under the earlier rules has a thick lens")
	}
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
	m := p.Lenses[0].Methods[5]
	if m.Method != lenspower.ThickLensID || !m.Power.Known || m.Counts || slices.Contains(p.Lenses[0].Agreement.Methods, m.Method) || p.Versions[len(p.Versions)-1].Name != lenspower.ThickLensID {
		t.Errorf("%+v", m)
	}
}

func TestHistoricalOnlyWhenAsked(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	if ids := methodsOf(Lens(&e, &l)); len(ids) != 5 {
		t.Errorf("%q", ids)
	}
	a := LensWith(&e, &l, Options{Historical: true})
	if m := method(t, a, "srk-2"); m.LensPosition.Known || math.Abs(m.Power.Value-(118.4-0.9*43.5-2.5*23.5)) > 1e-9 || !finding.Has(m.Findings, "historical-method") {
		t.Errorf("%+v", m)
	}
	e.CornealSurgery = eye.MyopicLaser
	if m := method(t, LensWith(&e, &l, Options{Historical: true}), "srk-2"); m.Power.Known {
		t.Errorf("a formula of the past answers an operated eye: %+v", m)
	}
}

// A plan signed before there were offsets of the length prints as it did.
func TestEarlierRulesStay(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	e.AxialLengthMethod = eye.Immersion
	in := Input{Eye: e, Shelf: []Shelved{{Lens: l}}}
	was := Make(in)
	if diff, err := Recompute(&was); err != nil || len(diff) > 0 || finding.Has(was.Findings, "length-offset-immersion") {
		t.Errorf("%v %v %q", diff, err, codesOf(was.Findings))
	}
	in.Rules = Rules
	if is := Make(in); !finding.Has(is.Findings, "length-offset-immersion") {
		t.Errorf("%q", codesOf(is.Findings))
	}
}
