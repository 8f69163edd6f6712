package plan

import (
	"encoding/json"
	"math"
	"slices"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// counted is a shelf with one model in the powers named.
func counted(l lenspower.Lens, powers ...unit.Dioptre) Shelved {
	s := Shelved{Lens: l, Stock: []Stock{}}
	for _, p := range powers {
		s.Stock = append(s.Stock, Stock{p, 2})
	}
	return s
}

func TestPlanOfAnOrdinaryEye(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	p := Make(Input{Eye: e, Shelf: []Shelved{counted(l, 20, 20.5, 21)}, Chosen: &Pick{"Lake 3", 20.5}, Program: "test"})
	lens := p.Lenses[0]
	if want := []string{"srk-t", "t2", "holladay-1", "hoffer-q", "haigis"}; !slices.Equal(lens.Agreement.Methods, want) {
		t.Errorf("methods that count: %q", lens.Agreement.Methods)
	}
	// Powers of the reference table: 20.5637 20.5877 20.6064 20.5573 21.5888.
	near(t, "median power", lens.Agreement.Median, 20.5877)
	if got := lens.Agreement.Spread.Value; math.Abs(got-(21.5888-20.5573)) > 2*tolerance { // both ends are rounded
		t.Errorf("spread %v", got)
	}
	if r := lens.Recommended; r == nil || r.Power.Value != 20.5 || r.Reason != Nearest || r.Methods != 5 {
		t.Errorf("recommended %+v", r)
	}
	d := p.Decision
	near(t, "predicted with +20.50 D", d.Predicted, 0.0612) // median of 0.0445 0.0612 0.0737 0.0397 and Haigis
	if !d.SD.Known || d.SD.Value < 0.4 || d.SD.Value > 0.7 {
		t.Errorf("SD %v: outside what optical biometry is published to reach", d.SD)
	}
	sum := 0.0
	for _, s := range d.Shares {
		sum += s.Share.Value
	}
	if math.Abs(sum-100) > 1e-9 {
		t.Errorf("shares add to %v", sum)
	}
	if len(d.Working) != 5 || d.Working[0].Power[len(d.Working[0].Power)-1].Name != "thin-eye.power" {
		t.Errorf("workings: %d", len(d.Working))
	}
}

// The same input always makes the same plan, a plan survives its JSON, and
// what was signed prints the same when it is made again.
func TestPlanRoundTrip(t *testing.T) {
	e, l := given(22.31, 44.25, 2.94)
	e.AxialLength.Text, e.Target.Value = "22,31", -0.5
	fellow := e
	fellow.Side = eye.Left
	e.Fellow = &fellow
	in := Input{Eye: e, Shelf: []Shelved{counted(l, 24, 24.5)}, Chosen: &Pick{"Lake 3", 24.5}, Program: "test", MaxAgeDays: 90,
		Details: map[string]Detail{"axial_length_mm": {SD: number(0.03), N: 5}, "k_flat_d": {SD: number(0.1), N: 3}},
		Lengths: []Length{{number(22.11), eye.Contact}}, ContactLenses: &Wear{Kind: "soft", DaysOut: number(3.0)}}
	first, err := json.Marshal(Make(in))
	if err != nil {
		t.Fatal(err)
	}
	var back Plan
	if err := json.Unmarshal(first, &back); err != nil {
		t.Fatal(err)
	}
	again, err := json.Marshal(Make(back.Input))
	if err != nil || string(again) != string(first) {
		t.Errorf("the plan made from its own JSON differs (%v)\n%s\n%s", err, first, again)
	}
	if diff, err := Recompute(&back); err != nil || len(diff) > 0 {
		t.Errorf("recomputed: %v %v", diff, err)
	}
	if text := back.Input.Eye.AxialLength.Text; text != "22,31" {
		t.Errorf("as typed: %q", text)
	}
}

func TestRecomputeTellsWhatPrintsOtherwise(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}})
	p.Lenses[0].Methods[1].Power.Value += 0.004 // prints 20.59, as before
	p.Lenses[0].Methods[2].Power.Value += 0.01
	diff, err := Recompute(&p)
	if err != nil || len(diff) != 1 || diff[0] != (Difference{"lenses.0.methods.2.power_d", "20.62", "20.61"}) {
		t.Errorf("%v %v", diff, err)
	}
}

// A converted constant is shown and never counts.
func TestConvertedConstantsDoNotCount(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	l.Constants = lenspower.Constants{A: unit.Known(unit.Constant(118.4))}
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}})
	if got := p.Lenses[0].Agreement.Methods; !slices.Equal(got, []string{"srk-t", "t2"}) {
		t.Errorf("count: %q", got)
	}
	for _, g := range p.Lenses[0].Guidance {
		if slices.Contains(g.Counts, "hoffer-q") || slices.Contains(g.Counts, "haigis") {
			t.Errorf("guidance counts a converted constant: %+v", g)
		}
	}
	// Said by its origin instead of by the absence of its own constant.
	s := Shelved{Lens: lenspower.NewLens(), Constants: []Constant{{Key: "a", Value: 118.4, Origin: Converted}}}
	p = Make(Input{Eye: e, Shelf: []Shelved{s}})
	if l := p.Lenses[0]; len(l.Agreement.Methods) > 0 || l.Recommended != nil || len(l.Guidance) > 0 || !finding.Has(l.Findings, "no-method-counts") {
		t.Errorf("a converted A counts: %+v", l)
	}
}

func TestConstantOfOneMethodGoesFirst(t *testing.T) {
	e, _ := given(23.5, 43.5, 3.1)
	s := Shelved{Lens: lenspower.NewLens(), Constants: []Constant{{Method: "srk-t", Key: "a", Value: 119, Origin: "own-fitted", Eyes: 80}, {Key: "a", Value: 118.4, Origin: "label"}}}
	l := Make(Input{Eye: e, Shelf: []Shelved{s}}).Lenses[0]
	if u := l.Methods[0].Constant; u.Value.Value != 119 || u.Origin != "own-fitted" || u.Eyes != 80 {
		t.Errorf("srk-t uses %+v", u)
	}
	if u := l.Methods[1].Constant; u.Value.Value != 118.4 || u.Origin != "label" {
		t.Errorf("t2 uses %+v", u)
	}
}

func TestRecommendation(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	for _, c := range []struct {
		name   string
		stock  []unit.Dioptre
		want   float64
		reason string
	}{
		{"all there", []unit.Dioptre{20, 20.5, 21}, 20.5, Nearest},
		{"nearest sold out", []unit.Dioptre{20, 21}, 21, NearestInStock}, // the median leaves −0.28 with 21, +0.40 with 20
		{"only one", []unit.Dioptre{19.5}, 19.5, NearestInStock},
		{"nothing near", []unit.Dioptre{10}, 0, ""},
	} {
		r := Make(Input{Eye: e, Shelf: []Shelved{counted(l, c.stock...)}}).Lenses[0]
		switch {
		case c.reason == "":
			if r.Recommended != nil || !finding.Has(r.Findings, "out-of-stock") {
				t.Errorf("%s: %+v %v", c.name, r.Recommended, codesOf(r.Findings))
			}
		case r.Recommended == nil || r.Recommended.Power.Value != c.want || r.Recommended.Reason != c.reason:
			t.Errorf("%s: %+v, want %v %s", c.name, r.Recommended, c.want, c.reason)
		}
	}
}

// Where no method holds, nothing is recommended.
func TestUnusualEyeGetsNoAdvice(t *testing.T) {
	for name, change := range map[string]func(*eye.Eye){
		"radial cuts without K before": func(e *eye.Eye) { e.CornealSurgery = eye.RadialCuts },
		"after laser, filled with oil": func(e *eye.Eye) { e.CornealSurgery, e.Vitreous = eye.MyopicLaser, eye.Oil },
		"aphakic":                      func(e *eye.Eye) { e.LensStatus = eye.Aphakic },
	} {
		e, l := given(23.5, 43.5, 3.1)
		change(&e)
		p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}})
		lens := p.Lenses[0]
		if lens.Recommended != nil || len(lens.Agreement.Methods) > 0 || len(lens.Guidance) > 0 || len(lens.Powers) > 0 || p.Decision.Predicted.Known || len(p.Decision.Working) > 0 {
			t.Errorf("%s: advice: %+v", name, lens)
		}
		if p.Findings[0].Code != "unusual-eye" {
			t.Errorf("%s: the stop does not stand first: %q", name, codesOf(p.Findings))
		}
	}
}

func TestDecision(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	for _, c := range []struct {
		name string
		pick Pick
		want string
	}{
		{"as advised", Pick{"Lake 3", 20.5}, ""},
		{"another model", Pick{"Lake 4", 20.5}, "lens-unknown/stop/"},
		{"not a step", Pick{"Lake 3", 20.6}, "power-not-made/stop/"},
		{"beyond the range", Pick{"Lake 3", 41}, "power-not-made/stop/"},
		{"sold out", Pick{"Lake 3", 21.5}, "chosen-not-in-stock/caution/"},
		{"far from the target", Pick{"Lake 3", 22.5}, "chosen-far-from-target/caution/"},
		{"digits exchanged", Pick{"Lake 3", 2.5}, "chosen-far-from-target/caution/"},
	} {
		p := Make(Input{Eye: e, Shelf: []Shelved{counted(l, 20.5, 22.5, 2.5)}, Chosen: &c.pick})
		got := codesOf(p.Decision.Findings)
		if c.want == "" && len(got) > 0 || c.want != "" && !slices.Contains(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Repeating never makes a prediction less sure, and optical biometry beats
// contact ultrasound.
func TestRepeating(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	e.AxialLengthMethod = eye.Contact
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}})
	if len(p.Decision.Repeating) != 3 {
		t.Fatalf("%+v", p.Decision.Repeating)
	}
	for _, r := range p.Decision.Repeating {
		if !r.After.Known || r.After.Value >= r.Before.Value || r.Before != p.Decision.SD {
			t.Errorf("%+v", r)
		}
	}
	e.AxialLengthMethod = ""
	q := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 20.5}})
	if q.Decision.SD != p.Decision.SD || q.Decision.Length != eye.Contact || !finding.Has(q.Findings, "spread-assumed") {
		t.Errorf("without a method the widest spread is taken and named: %v %v", q.Decision.SD, codesOf(q.Findings))
	}
}

func TestPowerFarFromTheMeanIsALine(t *testing.T) {
	e, l := given(21.3, 44, 2.8)
	if p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}}); !finding.Has(p.Findings, "power-far-from-mean") {
		t.Errorf("%q", codesOf(p.Findings))
	}
	e, l = given(23.43, 43.9, 3.1)
	if p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}}); finding.Has(p.Findings, "power-far-from-mean") {
		t.Errorf("the mean eye is far from the mean")
	}
}

func TestReady(t *testing.T) {
	e, l := given(20.9, 43.5, 3.1) // shorter than 21.2 mm: a gate
	p := Make(Input{Eye: e, Shelf: []Shelved{{Lens: l}}, Chosen: &Pick{"Lake 3", 30}})
	gate := p.Findings[0]
	if !gate.Gate {
		t.Fatalf("no gate: %q", codesOf(p.Findings))
	}
	values := map[string]string{}
	for _, v := range gate.Values {
		values[v.Name] = v.Text
	}
	all := State{Identified: true, Entered: map[string]bool{"axial_length_mm": true, "k_flat_d": true, "k_steep_d": true},
		Passed: []Pass{{gate.Code, gate.Field, values}}, ReadBack: true}
	for _, c := range []struct {
		name   string
		change func(*State, *Plan)
		want   []string
	}{
		{"ready", func(*State, *Plan) {}, nil},
		{"nobody named", func(s *State, _ *Plan) { s.Identified = false }, []string{BlockIdentity}},
		{"text nobody could read", func(s *State, _ *Plan) { s.Unread = 1 }, []string{BlockUnread}},
		{"gate not passed", func(s *State, _ *Plan) { s.Passed = nil }, []string{BlockGate}},
		{"passed at another value", func(s *State, _ *Plan) { s.Passed[0].Values = map[string]string{"got": "20.80"} }, []string{BlockGate}},
		{"length entered once", func(s *State, _ *Plan) { s.Entered = map[string]bool{"k_flat_d": true, "k_steep_d": true} }, []string{BlockTwice}},
		{"no lens", func(_ *State, p *Plan) { p.Decision = nil }, []string{BlockLens}},
		{"no second person", func(s *State, _ *Plan) { s.ReadBack = false }, []string{BlockSecond}},
		{"alone without reason or time", func(s *State, _ *Plan) { s.ReadBack, s.Lone = false, &Lone{} }, []string{BlockLoneReason, BlockLoneWait}},
		{"alone", func(s *State, _ *Plan) { s.ReadBack, s.Lone = false, &Lone{"night list", true} }, nil},
		{"trainee alone", func(s *State, _ *Plan) { s.SeniorNeeded = true }, []string{BlockSenior}},
		{"a stop", func(_ *State, p *Plan) {
			p.Findings = append([]finding.Finding{unusualEye.On("vitreous")}, p.Findings...)
		}, []string{BlockStop}},
	} {
		s, plan := all, p
		s.Passed = slices.Clone(all.Passed)
		c.change(&s, &plan)
		var got []string
		for _, b := range Ready(&plan, s) {
			got = append(got, b.Code)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// Row and Lens are two ways to one answer.
func TestRowAgreesWithLens(t *testing.T) {
	var r Row
	for _, al := range []float64{19, 21.7, 23.5, 26.5, 31, 37} {
		e, l := given(al, 48.6, 2.9)
		e.Target = unit.Reading[unit.Dioptre]{}
		a := Lens(&e, &l)
		r.Answer(&e, &l, unit.Reading[unit.Dioptre]{})
		if len(r.Lines) != len(a.Methods) {
			t.Fatalf("AL %v: %d lines, %d methods", al, len(r.Lines), len(a.Methods))
		}
		for i, m := range a.Methods {
			x := r.Lines[i]
			if x.Method != m.Method || x.Power != m.Power || x.LensPosition != m.LensPosition {
				t.Errorf("AL %v %s: %+v", al, m.Method, x)
			}
			if n := nearestChoice(m.Choices, m.Power); n != nil && (x.Chosen != n.Power || x.Refraction != n.Refraction) {
				t.Errorf("AL %v %s: chosen %+v, nearest %+v", al, m.Method, x, n)
			}
			if got := codes(nil, m.Findings); !slices.Equal(x.Codes, got) {
				t.Errorf("AL %v %s: codes %q, %q", al, m.Method, x.Codes, got)
			}
		}
		if got := codes(nil, a.Findings); !slices.Equal(r.Codes, got) {
			t.Errorf("AL %v: codes %q, %q", al, r.Codes, got)
		}
	}
}
