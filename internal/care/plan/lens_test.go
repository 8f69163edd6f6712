package plan

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// given is an ordinary eye with every input recorded and all constants of the
// main grid of the reference notes.
func given(al, k, acd float64) (eye.Eye, lenspower.Lens) {
	e := eye.Eye{Side: eye.Right, Age: unit.Known(unit.Year(68)), AxialLength: unit.Known(unit.Millimetre(al)), AxialLengthMethod: eye.Optical,
		KFlat: unit.Known(unit.Dioptre(k)), KSteep: unit.Known(unit.Dioptre(k)), KeratometricIndex: unit.Known(unit.Index(1.3375)),
		ACD: unit.Known(unit.Millimetre(acd)), LensStatus: eye.Phakic, Vitreous: eye.NaturalVitreous, CornealSurgery: eye.NoSurgery,
		Target: unit.Known(unit.Dioptre(0)), Vertex: unit.Known(unit.Millimetre(12))}
	l := lenspower.NewLens()
	l.Model = "Lake 3"
	l.Constants = lenspower.Constants{A: unit.Known(unit.Constant(118.4)), SF: unit.Known(unit.Millimetre(1.4499)),
		PACD: unit.Known(unit.Millimetre(5.1987)), A0: unit.Known(unit.Millimetre(1.5269)), A1: unit.Known(unit.Constant(0.4)), A2: unit.Known(unit.Constant(0.1))}
	return e, l
}

// eightEyes is the reference notes' table of eight eyes by five methods: lens
// position, power for 0, for −0.5 and for −2, lens to the nearest 0.5 and its
// refraction. Computed by independent scripts of its authors, not published.
var eightEyes = map[string][]string{
	"srk-t": {"20.5 46 2.5 4.4002 28.3948 29.0806 31.0746 28.5 -0.0762", "21.5 44.5 2.7 4.5222 26.1100 26.7943 28.7837 26.0 0.0796",
		"22.5 44 2.9 4.7979 23.1943 23.8904 25.9130 23.0 0.1381", "23.5 43.5 3.1 5.0942 20.5637 21.2726 23.3313 20.5 0.0445",
		"24.5 43.25 3.3 5.4117 17.8181 18.5428 20.6458 18.0 -0.1247", "26 42 3.4 5.4740 14.7652 15.4845 17.5719 15.0 -0.1623",
		"28 44 3.5 6.5280 6.8622 7.6604 9.9710 7.0 -0.0857", "30 45 3.6 7.6539 0.1112 1.0018 3.5723 0.0 0.0618"},
	"t2": {"20.5 46 2.5 4.4663 28.5855 29.2748 31.2790 28.5 0.0614", "21.5 44.5 2.7 4.5896 26.2810 26.9689 28.9683 26.5 -0.1583",
		"23.5 43.5 3.1 5.1068 20.5877 21.2974 23.3580 20.5 0.0612", "30 45 3.6 7.4308 0.1090 0.9823 3.5042 0.0 0.0618"},
	"holladay-1": {"20.5 46 2.5 4.4501 28.6825 29.3713 31.3737 28.5 0.1312", "23.5 43.5 3.1 5.1896 20.6064 21.3208 23.3950 20.5 0.0737",
		"30 45 3.6 6.2407 -0.3277 0.4615 2.7475 -0.5 0.1079"},
	"hoffer-q": {"20.5 46 2.5 4.5180 29.1201 29.8157 31.8378 29.0 0.0855", "23.5 43.5 3.1 5.1576 20.5573 21.2736 23.3531 20.5 0.0397",
		"30 45 3.6 6.8949 -0.7892 0.0512 2.4813 -1.0 0.1240"},
	"haigis": {"20.5 46 2.5 4.5769 30.4467 31.1410 33.1592 30.5 -0.0381", "23.5 43.5 3.1 5.1169 21.5888 22.2977 24.3562 21.5 0.0620",
		"30 45 3.6 5.9669 0.5184 1.2879 3.5179 0.5 0.0119"},
}

// tolerance is half the last digit of the table.
const tolerance = 0.00005 + 1e-9

func TestEightEyes(t *testing.T) {
	for id, rows := range eightEyes {
		for _, row := range rows {
			var v [9]float64
			for i, f := range strings.Fields(row) {
				v[i], _ = unit.ParseNumber(f)
			}
			e, l := given(v[0], v[1], v[2])
			m := method(t, Lens(&e, &l), id)
			n := nearestChoice(m.Choices, m.Power)
			near(t, id+" position", m.LensPosition, v[3])
			near(t, id+" power", m.Power, v[4])
			near(t, id+" emmetropia", m.Emmetropia, v[4])
			near(t, id+" lens", n.Power, v[7])
			near(t, id+" refraction", n.Refraction, v[8])
			for i, target := range []unit.Dioptre{-0.5, -2} {
				e.Target.Value = target
				m := method(t, Lens(&e, &l), id)
				near(t, id+" for "+target.String(), m.Power, v[5+i])
				near(t, id+" emmetropia beside a target", m.Emmetropia, v[4])
			}
		}
	}
}

func near(t *testing.T, what string, got Number, want float64) {
	t.Helper()
	if !got.Known || math.Abs(got.Value-want) > tolerance {
		t.Errorf("%s = %v, want %.4f", what, got, want)
	}
}

func method(t *testing.T, a LensAnswer, id string) MethodAnswer {
	t.Helper()
	i := slices.IndexFunc(a.Methods, func(m MethodAnswer) bool { return m.Method == id })
	if i < 0 {
		t.Fatalf("no answer of %s: %v", id, a.Findings)
	}
	return a.Methods[i]
}

func codesOf(list []finding.Finding) (out []string) {
	for _, f := range list {
		out = append(out, f.Code+"/"+f.Severity.String()+"/"+f.Field)
	}
	return out
}

// ordinary are the findings of any single eye without dates and fellow eye.
var ordinary = []string{"measured-on-missing/note/as_of", "fellow-missing/note/other_eye"}

func TestAssumptions(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*eye.Eye)
		want   []string
	}{
		{"everything recorded", func(*eye.Eye) {}, nil},
		{"no target", func(e *eye.Eye) { e.Target = unit.Reading[unit.Dioptre]{} }, []string{"target-assumed/caution/target_d"}},
		{"no index", func(e *eye.Eye) { e.KeratometricIndex = unit.Reading[unit.Index]{} }, []string{"index-assumed/caution/keratometric_index"}},
		{"no length method", func(e *eye.Eye) { e.AxialLengthMethod = "" }, []string{"length-method-missing/caution/axial_length_method"}},
		{"no vertex", func(e *eye.Eye) { e.Vertex = unit.Reading[unit.Millimetre]{} }, []string{"vertex-assumed/note/vertex_mm"}},
		{"states not recorded", func(e *eye.Eye) { e.LensStatus, e.Vitreous, e.CornealSurgery = "", "", "" },
			[]string{"not-recorded/caution/lens_status", "not-recorded/caution/vitreous", "not-recorded/caution/corneal_surgery"}},
		{"age not recorded", func(e *eye.Eye) { e.Age = unit.Reading[unit.Year]{} }, nil},
		{"target at the limit", func(e *eye.Eye) { e.Target.Value = 0.5 }, nil},
		{"hyperopic target in an adult", func(e *eye.Eye) { e.Target.Value = 12 }, []string{"target-hyperopic/caution/target_d"}},
		{"hyperopic target at no age", func(e *eye.Eye) { e.Target.Value, e.Age = 0.75, unit.Reading[unit.Year]{} }, []string{"target-hyperopic/caution/target_d"}},
		{"hyperopic target at 12", func(e *eye.Eye) { e.Target.Value, e.Age.Value = 6, 12 }, []string{"unusual-eye/stop/age_years", "unusual-eye-needs/caution/age_months",
			"child-targets-differ/caution/target_d", "child-immersion/note/axial_length_method", "child-myopic-shift/note/age_years", "child-target-refraction/note/target_d"}},
		{"contact ultrasound", func(e *eye.Eye) { e.AxialLengthMethod = eye.Contact }, []string{"length-offset-contact/note/axial_length_method", "contact-reads-short/note/axial_length_mm"}},
		{"flat and long", func(e *eye.Eye) { e.AxialLength.Value, e.KFlat.Value, e.KSteep.Value = 25.5, 40.5, 40.5 }, []string{"surgery-suspected-flat-long/caution/corneal_surgery", "cornea-flat/note/k_flat_d", "length-long/note/axial_length_mm", "length-adjusted-beside/note/axial_length_mm"}},
		{"sulcus", func(e *eye.Eye) { e.Placement = eye.Sulcus }, []string{"placement-not-bag/caution/placement"}},
		{"bag", func(e *eye.Eye) { e.Placement = eye.Bag }, nil},
	} {
		e, l := given(23.5, 43.5, 3.1)
		c.change(&e)
		got, want := codesOf(Lens(&e, &l).Findings), append(slices.Clone(c.want), ordinary...)
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Errorf("%s: %q, want %q", c.name, got, want)
		}
	}
}

func TestUnusualEyesGetNoNumber(t *testing.T) {
	for name, change := range map[string]func(*eye.Eye){
		"corneal_surgery": func(e *eye.Eye) { e.CornealSurgery = eye.UnknownSurgery },
		"lens_status":     func(e *eye.Eye) { e.LensStatus = eye.Pseudophakic },
		"vitreous":        func(e *eye.Eye) { e.Vitreous = eye.Gas },
		"age_years":       func(e *eye.Eye) { e.Age.Value = 17.99 },
	} {
		e, l := given(23.5, 43.5, 3.1)
		change(&e)
		a := Lens(&e, &l)
		if !slices.Contains(codesOf(a.Findings), "unusual-eye/stop/"+name) {
			t.Errorf("%s: findings %q", name, codesOf(a.Findings))
		}
		for _, m := range a.Methods {
			if m.LensPosition.Known || m.Power.Known || m.Emmetropia.Known || len(m.Choices) > 0 {
				t.Errorf("%s: %s gives a number: %+v", name, m.Method, m)
			}
		}
		if len(a.Methods) != 5 {
			t.Errorf("%s: %d methods", name, len(a.Methods))
		}
	}
	for name, change := range map[string]func(*eye.Eye){
		"18 years": func(e *eye.Eye) { e.Age.Value = 18 },
		"removed":  func(e *eye.Eye) { e.Vitreous = eye.RemovedVitreous },
	} {
		e, l := given(23.5, 43.5, 3.1)
		change(&e)
		if a := Lens(&e, &l); finding.Has(a.Findings, "unusual-eye") || !a.Methods[0].Power.Known {
			t.Errorf("%s is taken for unusual", name)
		}
	}
}

func TestAbsentMethodsAreNamed(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	e.ACD = unit.Reading[unit.Millimetre]{}
	l.Constants = lenspower.Constants{SF: unit.Known(unit.Millimetre(1.45))}
	a := Lens(&e, &l)
	want := map[string]string{"srk-t": "a", "t2": "a", "haigis": "a0"}
	for _, f := range a.Findings {
		if f.Code == "method-absent" && want[f.Method] == f.Field && f.Severity == finding.Note {
			delete(want, f.Method)
		}
	}
	if len(want) > 0 || len(a.Methods) != 2 {
		t.Errorf("not named: %v; %d methods", want, len(a.Methods))
	}
	_, l = given(23.5, 43.5, 3.1)
	if a := Lens(&e, &l); !slices.ContainsFunc(a.Findings, func(f finding.Finding) bool {
		return f.Code == "method-absent" && f.Method == "haigis" && f.Field == "acd_mm"
	}) {
		t.Errorf("haigis without a chamber depth is not named: %v", a.Findings)
	}
}

func TestCuspKeepsItsEntry(t *testing.T) {
	e, l := given(26.5, 48.5, 3.1) // r² − Cw²/4 < 0: see the critical lengths of the reference notes
	m := method(t, Lens(&e, &l), "srk-t")
	if m.Power.Known || m.LensPosition.Known || len(m.Choices) > 0 || !finding.Has(m.Findings, "outside-domain") {
		t.Errorf("srk-t at its cusp: %+v", m)
	}
	if m := method(t, Lens(&e, &l), "t2"); !m.Power.Known {
		t.Errorf("t2 has no cusp: %+v", m)
	}
}

func TestRefuse(t *testing.T) {
	var e eye.Eye
	l := lenspower.NewLens()
	var got []string
	for _, r := range Refuse(&e, &l) {
		got = append(got, r.Code+" "+r.Field)
	}
	want := []string{"missing side", "missing axial_length_mm", "missing k_flat_d", "missing k_steep_d", "missing constants"}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	e, l = given(23.5, 43.5, 3.1)
	e.KSteep.Value = 43.49
	e.Fellow = &eye.Eye{KFlat: unit.Known(unit.Dioptre(44)), KSteep: unit.Known(unit.Dioptre(43))}
	got = nil
	for _, r := range Refuse(&e, &l) {
		got = append(got, r.Code+" "+r.Field)
	}
	if want := []string{"steep-below-flat k_steep_d", "steep-below-flat other_eye.k_steep_d"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// The answer's JSON is the contract's, to the letter.
func TestLensJSON(t *testing.T) {
	e, l := given(23.5, 43.5, 3.1)
	e.CornealSurgery = eye.Graft
	a := Lens(&e, &l)
	a.Methods, a.Findings = a.Methods[:1], a.Findings[:0]
	b, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"format":"linn.lens/1","side":"right","methods":[{"method":"srk-t","version":"1","lens_position_mm":null,"power_d":null,"emmetropia_d":null,"choices":[],"findings":[]}],"findings":[]}`
	if string(b) != want {
		t.Errorf("%s\nwant\n%s", b, want)
	}
}

func TestShelf(t *testing.T) {
	tenth := shelf{10, 30, 0.1}
	for _, c := range []struct {
		s     shelf
		power float64
		want  string
	}{
		{shelf{-10, 40, 0.5}, 20.24, "19 19.5 20 20.5 21"},
		{shelf{-10, 40, 0.5}, 20.25, "19.5 20 20.5 21 21.5"}, // a tie takes the higher power
		{shelf{-10, 40, 0.5}, -3.25, "-4 -3.5 -3 -2.5 -2"},
		{shelf{-10, 40, 0.5}, -0.25, "-1 -0.5 0 0.5 1"},
		{shelf{-10, 40, 0.5}, 40.2, "39 39.5 40"},
		{shelf{-10, 40, 0.5}, 40.25, ""},
		{shelf{-10, 40, 0.5}, -10.3, ""},
		{shelf{6, 30, 1}, 6.4, "6 7 8"},
		{shelf{6.25, 30, 0.25}, 6.4, "6.25 6.5 6.75 7"},
		{tenth, 20.11, "19.9 20 20.1 20.2 20.3"},
		{shelf{20, 20, 0.5}, 20.1, "20"},
		{shelf{20, 21.2, 0.5}, 21.2, "20 20.5 21"}, // 21.2 is not a step
		{shelf{20, 19, 0.5}, 20, ""},
	} {
		var got []string
		for _, p := range c.s.around(c.power) {
			got = append(got, plain(p))
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("%v around %v: %q, want %q", c.s, c.power, s, c.want)
		}
	}
	if !tenth.has(20.1) || tenth.has(20.15) || tenth.has(9.9) || tenth.has(30.1) {
		t.Error("has is wrong about a shelf of tenths")
	}
}

func TestNumbersInJSON(t *testing.T) {
	tenth, fifth := 0.1, 0.2
	for _, c := range []struct {
		n    Number
		want string
	}{{number(math.Copysign(0, -1)), "0"}, {number(math.NaN()), "null"}, {number(math.Inf(1)), "null"}, {number(tenth + fifth), "0.30000000000000004"}, {Number{}, "null"}} {
		b, err := json.Marshal(c.n)
		if err != nil || string(b) != c.want {
			t.Errorf("%v → %s, %v; want %s", c.n, b, err, c.want)
		}
		var back Number
		if err := json.Unmarshal(b, &back); err != nil || back != c.n {
			t.Errorf("%s → %v, %v", b, back, err)
		}
	}
	if _, err := json.Marshal(Number{Value: math.NaN(), Known: true}); err == nil {
		t.Error("NaN was written")
	}
}
