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

// typed enters texts as a file would: "key value, key value".
func typed(t *testing.T, e *eye.Eye, texts string) {
	t.Helper()
	for pair := range strings.SplitSeq(texts, ", ") {
		key, text, _ := strings.Cut(pair, " ")
		f := eye.FieldNamed(key)
		if f == nil {
			t.Fatalf("no key %q", key)
		}
		if r := f.Set(e, text); r != nil {
			t.Fatalf("%s: %v", pair, r)
		}
	}
}

// Each kind of unusual eye: what opens the way to an answer, and what is named
// when any of it is missing.
var adaptedKinds = []struct {
	name, always, needs string
	methods             string // that count
}{
	{"aphakic by refraction", "lens_status aphakic", "refraction_now_d 11.5", "refractive-vergence"},
	{"aphakic by light", "lens_status aphakic", "axial_length_mode aphakic", "srk-t-adapted, t2-adapted, holladay-1-adapted, hoffer-q-adapted"},
	{"exchange", "lens_status pseudophakic, axial_length_mode phakic", "second_lens exchange, implant_d 22, refraction_now_d -3", ""},
	{"piggyback", "lens_status pseudophakic", "second_lens piggyback, refraction_now_d 3", "piggyback"},
	{"oil by light", "vitreous oil", "oil_stays no, axial_length_mode oil", "srk-t-adapted, t2-adapted, holladay-1-adapted, hoffer-q-adapted, haigis-adapted"},
	{"oil by ultrasound", "vitreous oil, axial_length_method immersion, axial_length_mm 33, lens_thickness_mm 4.5",
		"velocity_m_s 1532, oil_rule segment, oil_viscosity_cst 1000, oil_stays yes", "srk-t-adapted, t2-adapted, holladay-1-adapted, hoffer-q-adapted, haigis-adapted"},
	{"gas by ultrasound", "vitreous gas, axial_length_method immersion, axial_length_mm 38", "velocity_m_s 1000", "srk-t-adapted, t2-adapted, holladay-1-adapted, hoffer-q-adapted, haigis-adapted"},
	{"child", "age_years 4", "age_months 49, target_d 3", "srk-t-adapted, t2-adapted, holladay-1-adapted, hoffer-q-adapted, haigis-adapted"},
}

func TestAdaptedEyes(t *testing.T) {
	for _, c := range adaptedKinds {
		if c.methods == "" { // wrong mode: its own test
			continue
		}
		all := strings.Split(c.needs, ", ")
		for left := -1; left < len(all); left++ { // −1: everything is there
			e, l := given(23.5, 43.5, 3.1)
			e.Target = unit.Reading[unit.Dioptre]{}
			typed(t, &e, c.always)
			for i, need := range all {
				if i != left {
					typed(t, &e, need)
				}
			}
			p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
			got := p.Lenses[0].Agreement.Methods
			stop := finding.Has(p.Findings, "unusual-eye")
			if left < 0 {
				if stop || !slices.Equal(got, strings.Split(c.methods, ", ")) || !finding.Has(p.Findings, "unusual-eye-adapted") || !p.Decision.Predicted.Known || len(p.Decision.Working) < len(got) {
					t.Errorf("%s: %q counts, findings %q, decision %+v", c.name, got, codesOf(p.Findings), p.Decision)
				}
				if diff, err := Recompute(&p); err != nil || len(diff) > 0 {
					t.Errorf("%s: recomputed: %v %v", c.name, diff, err)
				}
				continue
			}
			key, _, _ := strings.Cut(all[left], " ")
			if !stop || len(got) > 0 || !slices.ContainsFunc(p.Findings, func(f finding.Finding) bool { return f.Code == "unusual-eye-needs" && f.Field == key }) {
				t.Errorf("%s without %s: %q counts, findings %q", c.name, key, got, codesOf(p.Findings))
			}
		}
	}
}

// An aphakic eye: the refraction its own optics give it asks for the lens that
// the same optics ask for. Published refractive vergence, own arithmetic of the
// eye: AL 23.5, K 43.5, engine position.
func TestAphakicByLengthAndRefractionAgree(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	typed(t, &e, "lens_status aphakic, axial_length_mode aphakic, target_d 0")
	srk := lenspower.MethodNamed("srk-t")
	c, _, _ := srk.Resolve(l.Constants)
	now, err := srk.Refraction(lenspower.Input{AxialLength: 23.5, K: 43.5, Vertex: 12, Constant: c}, 0)
	if err != nil {
		t.Fatal(err)
	}
	e.Unusual.RefractionNow = unit.Known(now)
	a := Lens(&e, &l)
	by, length := method(t, a, Secondary).Power.Value, method(t, a, "srk-t-adapted").Power.Value
	if math.Abs(by-length) > 0.35 { // K is taken at 1.3375 by the one and at 1.333 by the other
		t.Errorf("by refraction %v, by length %v", by, length)
	}
}

// The numbers of the answer are those of the calculation by itself.
func TestAdaptedNumbers(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	typed(t, &e, "vitreous oil, oil_stays yes, axial_length_mode oil, target_d -0.5")
	own := method(t, Lens(&e, &l), "srk-t-adapted")
	ordinary, _ := given(23.5, 43.5, 3.1)
	ordinary.Target = dioptres(-0.5)
	plain := method(t, Lens(&ordinary, &l), "srk-t")
	if added := 1000 * (1.4034 - 1.336) / (23.5 - 3.1); math.Abs(own.Power.Value-plain.Power.Value-added) > 1e-9 {
		t.Errorf("oil adds %v, not %v", own.Power.Value-plain.Power.Value, added)
	}
	e, _ = given(23.5, 43.5, 3.1)
	typed(t, &e, "lens_status pseudophakic, second_lens exchange, implant_d 22, refraction_now_d -3, target_d -3")
	if p := method(t, Lens(&e, &l), Exchange).Power.Value; math.Abs(p-22) > 1e-9 {
		t.Errorf("nothing to change, and the lens becomes %v", p)
	}
}

// An optical length taken in another mode is a stop.
func TestWrongModeIsAStop(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	typed(t, &e, "lens_status aphakic, axial_length_mode phakic, refraction_now_d 11")
	a := Lens(&e, &l)
	if !slices.Contains(codesOf(a.Findings), "length-mode-differs/stop/axial_length_mode") || slices.Contains(methodsOf(a), "srk-t-adapted") {
		t.Errorf("%q %q", codesOf(a.Findings), methodsOf(a))
	}
}

// A scar: without a choice both K are asked for, with one the answer carries its
// larger spread and the line for every print.
func TestSubstituteK(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	e.KFlat, e.KSteep = unit.Reading[unit.Dioptre]{}, unit.Reading[unit.Dioptre]{}
	typed(t, &e, "axial_scar yes")
	if r := Refuse(&e, &l); len(r) != 2 || r[0].Code != "scar-without-k" || r[0].Field != "k_flat_d" {
		t.Errorf("refused %v", r)
	}
	fellow, _ := given(23.4, 43.5, 3.1)
	fellow.Side = eye.Left
	e.Fellow = &fellow
	spread := func(k string) float64 {
		typed(t, &e, "k_substitute "+k)
		if r := Refuse(&e, &l); r != nil {
			t.Fatal(r)
		}
		p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
		if !finding.Has(p.All(), "k-substituted") || finding.Worst(p.All()) == finding.Stop || !p.MeanK.Known {
			t.Errorf("%s: %q", k, codesOf(p.Findings))
		}
		return p.Decision.SD.Value
	}
	ordinary, _ := given(23.5, 43.5, 3.1)
	measured := Make(Input{Eye: ordinary, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules}).Decision.SD.Value
	if own, mean := spread("fellow"), spread("mean"); !(measured < own && own > 0.9 && own < mean) {
		t.Errorf("SD %v measured, %v of the fellow eye, %v of the mean", measured, own, mean)
	}
	e.Fellow = nil
	typed(t, &e, "k_substitute fellow")
	if r := Refuse(&e, &l); len(r) != 1 || r[0].Field != "other_eye.k_flat_d" {
		t.Errorf("without a fellow eye: %v", r)
	}
}

// Corneas and lids: what is seen is said, and keratoconus doubles the band.
func TestConditions(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	e.MeasuredOn = unit.Date{Year: 2026, Month: 3, Day: 1}
	sd := func() float64 {
		return Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules}).Decision.SD.Value
	}
	before := sd()
	typed(t, &e, "pterygium yes, pterygium_removed_on 2026-02-01, keratoconus yes, lashes_on_eye yes, tension_ring yes, capsulorhexis torn, placement chamber")
	if after := sd(); math.Abs(after-2*before) > 1e-9 {
		t.Errorf("the band is %v, was %v", after, before)
	}
	got := codesOf(Lens(&e, &l).Findings)
	for _, want := range []string{"pterygium-first/caution/k_flat_d", "pterygium-recent/caution/k_flat_d", "keratoconus-hyperopic-error/caution/k_flat_d", "trichiasis-first/caution/cornea",
		"tension-ring-torn-capsule/stop/tension_ring", "chamber-lens-ask/caution/iridectomy", "chamber-lens-ask/caution/lens_length_mm", "chamber-lens-ask/caution/cell_count_per_mm2"} {
		if !slices.Contains(got, want) {
			t.Errorf("%s is not said: %q", want, got)
		}
	}
	typed(t, &e, "placement sulcus")
	l.OnePieceSoftAcrylic = lenspower.Yes
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
	if !finding.Has(p.Decision.Findings, "one-piece-acrylic-in-sulcus") {
		t.Errorf("%q", codesOf(p.Decision.Findings))
	}
}

// Whatever the eye: an ordinary method of an eye it does not hold for gives no
// number and stands in no agreement, median or guidance; with a stop nothing
// counts, without one nothing is lacking that every way needs.
func TestNoOrdinaryMethodInUnusualEyes(t *testing.T) {
	r := rand.New(rand.NewPCG(1849, 11))
	answered, stopped := 0, 0
	var row Row
	for range 1500 {
		e, l := randomEye(r)
		randomUnusual(t, r, &e)
		p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
		plan := &p.Lenses[0]
		special := isUnusual(&e) || operated(&e)
		for _, m := range plan.Methods {
			ordinary := lenspower.MethodNamed(m.Method) != nil
			if special && ordinary && (m.Counts || m.Power.Known || m.LensPosition.Known || len(m.Choices) > 0 || m.SD.Known) {
				t.Fatalf("%s gives a number: %+v of %+v", m.Method, m, e)
			}
			if m.Counts && m.Constant.Converted {
				t.Fatalf("%s counts with a converted constant", m.Method)
			}
		}
		if special && len(plan.Guidance) > 0 {
			t.Fatalf("guidance %+v", plan.Guidance)
		}
		if finding.Has(p.Findings, "unusual-eye") {
			stopped++
			if len(plan.Agreement.Methods) > 0 || plan.Recommended != nil || p.Decision.Predicted.Known {
				t.Fatalf("an answer beside a stop: %+v", plan.Agreement)
			}
			if isUnusual(&e) && !operated(&e) && !finding.Has(p.Findings, "unusual-eye-needs") && !finding.Has(p.Findings, "length-mode-differs") {
				t.Fatalf("a stop that names nothing: %q of %+v", codesOf(p.Findings), e)
			}
		} else if special && len(plan.Agreement.Methods) > 0 {
			answered++
		}
		if Refuse(&e, &l) == nil {
			sameRow(t, &row, &e, &l)
		}
		if _, err := json.Marshal(p); err != nil {
			t.Fatal(err)
		}
	}
	if answered < 150 || stopped < 150 {
		t.Errorf("%d answered, %d stopped", answered, stopped)
	}
}

func randomUnusual(t *testing.T, r *rand.Rand, e *eye.Eye) {
	one := func(key string, words ...string) {
		if i := r.IntN(len(words) + 1); i < len(words) {
			typed(t, e, key+" "+words[i])
		}
	}
	if r.IntN(4) > 0 {
		e.CornealSurgery = eye.NoSurgery
	}
	one("lens_status", "phakic", "aphakic", "pseudophakic")
	one("vitreous", "natural", "removed", "oil", "gas")
	one("axial_length_mode", "phakic", "aphakic", "pseudophakic", "oil")
	one("velocity_m_s", "1532", "1555")
	one("oil_rule", "segment", "mean", "whole")
	one("oil_stays", "yes", "no")
	one("oil_viscosity_cst", "1000", "5000", "1300")
	one("implant_material", "pmma", "acrylic")
	one("implant_thickness_mm", "0.8")
	one("implant_d", "12", "22")
	one("refraction_now_d", "-4", "0.5", "11")
	one("second_lens", "exchange", "piggyback")
	one("placement", "bag", "sulcus", "chamber")
	if r.IntN(4) == 0 {
		e.Age = unit.Reading[unit.Year]{}
		one("age_months", "3", "30", "100")
	}
}

// A working ends in the number that is shown, in the bag and in the sulcus.
func TestAdaptedWorkings(t *testing.T) {
	for _, state := range []string{"vitreous oil, oil_stays yes, axial_length_mode oil", "vitreous oil, oil_stays yes, axial_length_mode oil, placement sulcus",
		"lens_status aphakic, axial_length_mode aphakic, refraction_now_d 11, placement sulcus", "lens_status pseudophakic, second_lens exchange, implant_d 22, refraction_now_d -3"} {
		e, l := given(23.5, 43.5, 3.1)
		typed(t, &e, state)
		p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}, Rules: Rules})
		if len(p.Decision.Working) == 0 {
			t.Fatalf("%s: no working", state)
		}
		for _, w := range p.Decision.Working {
			i := slices.IndexFunc(p.Lenses[0].Methods, func(m MethodPlan) bool { return m.Method == w.Method })
			at := slices.IndexFunc(p.Lenses[0].Powers, func(x PowerPlan) bool { return x.Power.Value == 20.5 })
			power, refraction := w.Power[len(w.Power)-1], w.Refraction[len(w.Refraction)-1]
			if math.Abs(power.Value.Value-p.Lenses[0].Methods[i].Power.Value) > 1e-9 || math.Abs(refraction.Value.Value-p.Lenses[0].Powers[at].Refractions[i].Refraction.Value) > 1e-9 {
				t.Errorf("%s: the working of %s ends in %v and %v", state, w.Method, power, refraction)
			}
		}
	}
}
