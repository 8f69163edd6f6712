package dose

import (
	"math"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linn/finding"
	"linn/internal/checkvalue"
	"linn/unit"
)

func line(t testing.TB, text string) Line {
	t.Helper()
	texts := map[string]string{}
	for _, part := range strings.Split(text, ";") {
		key, v, _ := strings.Cut(part, "=")
		texts[key] = v
	}
	l, refused := ReadLine(texts)
	if len(refused) > 0 {
		t.Fatalf("%s: %v", text, refused)
	}
	return l
}

func one(t testing.TB, text string) Checked {
	t.Helper()
	return Check(Input{AllergiesAsked: true, Lines: []Line{line(t, text+";prepared_by=A;checked_by=B")}}).Lines[0]
}

type row struct {
	t *testing.T
	f *checkvalue.File
	r checkvalue.Row
}

func (x row) s(name string) string {
	x.t.Helper()
	s, err := x.f.Text(x.r, name)
	if err != nil {
		x.t.Fatal(err)
	}
	return s
}

var outputs = map[string]func(x row) map[string]float64{
	"cefuroxime.txt": func(x row) map[string]float64 {
		c := one(x.t, "drug=cefuroxime;route=intracameral;powder_mg="+x.s("powder")+";diluent=made-up-to;diluent_ml="+x.s("whole")+";volume_ml=0.1")
		return map[string]float64{"strength": float64(c.Concentration)}
	},
	"moxifloxacin.txt": func(x row) map[string]float64 {
		return map[string]float64{"dose": float64(one(x.t, "drug=moxifloxacin;route=intracameral;strength_percent="+x.s("strength")+";volume_ml="+x.s("volume")).Dose)}
	},
	"percent.txt": func(x row) map[string]float64 {
		return map[string]float64{"concentration": float64(line(x.t, "drug=lidocaine;route=peribulbar;volume_ml=1;"+x.s("as")+"="+x.s("strength")).Stock.Value)}
	},
	"dilution.txt": func(x row) map[string]float64 {
		c := one(x.t, "drug="+x.s("drug")+";route="+x.s("route")+";powder_mg="+x.s("powder")+";diluent=made-up-to;diluent_ml="+x.s("whole")+
			";take_ml="+x.s("take")+";dilute=added-to;dilute_ml="+x.s("add")+";volume_ml="+x.s("volume"))
		return map[string]float64{"stock": c.Working[0].Value, "strength": float64(c.Concentration), "dose": float64(c.Dose)}
	},
	"added.txt": func(x row) map[string]float64 {
		c := one(x.t, "drug="+x.s("drug")+";route="+x.s("route")+";powder_mg="+x.s("powder")+";diluent=added-to;diluent_ml="+x.s("added")+";volume_ml=0.1")
		return map[string]float64{"strength": float64(c.Concentration)}
	},
	"moxifloxacin-dilution.txt": func(x row) map[string]float64 {
		c := one(x.t, "drug=moxifloxacin;route=intracameral;strength_percent=0.5;take_ml=3;dilute_ml=7;dilute=added-to;volume_ml="+x.s("volume"))
		return map[string]float64{"strength": float64(c.Concentration), "dose": 1000 * float64(c.Dose)}
	},
	"adrenaline.txt": func(x row) map[string]float64 {
		c := one(x.t, "drug=adrenaline;route=irrigation;strength_one_in=1000;volume_ml="+x.s("volume")+";bottle_ml="+x.s("bottle"))
		return map[string]float64{"concentration": 1000 * float64(c.Concentration), "one": c.Concentration.Ratio()}
	},
	"anaesthetic.txt": func(x row) map[string]float64 {
		in := Input{AllergiesAsked: true, Lines: []Line{line(x.t, "drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml="+x.s("lidocaine")+";with_adrenaline="+x.s("adrenaline"))}}
		if b := x.s("bupivacaine"); b != "-" {
			in.Lines = append(in.Lines, line(x.t, "drug=bupivacaine;route=peribulbar;strength_percent=0.5;volume_ml="+b))
		}
		in.Weight, _ = ReadWeight(x.s("weight"), false)
		a := Check(in)
		return map[string]float64{"mg": float64(a.Anaesthetic.Parts[0].Dose), "fraction": a.Anaesthetic.Fraction}
	},
	"per-kilogram.txt": func(x row) map[string]float64 {
		in := Input{AllergiesAsked: true, Lines: []Line{line(x.t, "drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml="+x.s("volume")+";with_adrenaline="+x.s("adrenaline"))}}
		in.Weight, _ = ReadWeight(x.s("weight"), false)
		out := map[string]float64{"perkg": Check(in).Anaesthetic.Parts[0].PerKg.Value}
		if x.f.Printed(x.r, "most") {
			most, _ := MostVolume(in, in.Lines[0])
			out["most"] = float64(most)
		}
		return out
	},
}

// TestCheckValues holds every check file to what it prints.
func TestCheckValues(t *testing.T) {
	files, err := checkvalue.LoadTree(".")
	if err != nil || len(files) != len(outputs) {
		t.Fatalf("%d check files, %d known: %v", len(files), len(outputs), err)
	}
	for i := range files {
		for _, r := range files[i].Rows {
			for name, got := range outputs[filepath.Base(files[i].Path)](row{t, &files[i], r}) {
				if err := files[i].Compare(r, name, got); err != nil {
					t.Error(err)
				}
			}
		}
	}
}

func codes(list []finding.Finding) (out []string) {
	for _, f := range list {
		if f.Code != notApproved.Code {
			out = append(out, f.Code)
		}
	}
	return out
}

// TestTarget tries the shares at and beside each limit, and the exchange of
// strengths. Limits of the program, not of a source.
func TestTarget(t *testing.T) {
	const moxi = "drug=moxifloxacin;route=intracameral;"
	for text, want := range map[string]string{
		moxi + "strength_percent=0.5;volume_ml=0.1":                                          "",
		moxi + "strength_percent=0.1;volume_ml=0.5":                                          "",
		moxi + "strength_mg_ml=5;volume_ul=100":                                              "",
		moxi + "strength_mg_ml=5;volume_ml=0.08":                                             "",         // 0.8
		moxi + "strength_mg_ml=5;volume_ml=0.079":                                            "dose-off", // 0.79
		moxi + "strength_mg_ml=5;volume_ml=0.12":                                             "",         // 1.2
		moxi + "strength_mg_ml=5;volume_ml=0.121":                                            "dose-off", // 1.21
		moxi + "strength_mg_ml=5;volume_ml=0.15":                                             "dose-off", // 1.5
		moxi + "strength_mg_ml=5;volume_ml=0.151":                                            "dose-outside",
		moxi + "strength_mg_ml=5;volume_ml=0.05":                                             "dose-off", // 0.5
		moxi + "strength_mg_ml=5;volume_ml=0.049":                                            "dose-outside",
		moxi + "strength_percent=0.5;volume_ml=0.5":                                          "dose-outside strength-swapped",
		moxi + "strength_percent=0.1;volume_ml=0.1":                                          "dose-outside strength-swapped",
		"drug=cefuroxime;route=intracameral;strength_mg_ml=10;volume_ml=0.1":                 "",
		"drug=cefuroxime;route=intracameral;strength_mg_ml=10;volume_ml=0.12":                "", // as measured in practice
		"drug=cefuroxime;route=intracameral;strength_mg_ml=90;volume_ml=0.1":                 "dose-outside",
		"drug=trypan-blue;route=intracameral;strength_percent=0.06;volume_ml=0.2":            "",
		"drug=trypan-blue;route=intracameral;strength_percent=0.4;volume_ml=0.2":             "dose-outside",
		"drug=dexamethasone;route=subconjunctival;strength_mg_ml=4;volume_ml=0.5":            "",
		"drug=adrenaline;route=irrigation;strength_one_in=1000;volume_ml=0.5;bottle_ml=500":  "",
		"drug=adrenaline;route=irrigation;strength_one_in=10000;volume_ml=0.5;bottle_ml=500": "dose-outside",
		"drug=adrenaline;route=irrigation;strength_one_in=1000;volume_ml=5;bottle_ml=500":    "dose-outside",
		"drug=phenylephrine;route=intracameral;strength_percent=1.5;volume_ml=0.1":           "dose-target-missing",
		"drug=vancomycin;route=intracameral;strength_mg_ml=10;volume_ml=0.1":                 "dose-target-missing vancomycin-prophylaxis",
		"drug=proparacaine;route=topical;strength_percent=0.5;volume_ml=0.1":                 "",
		"drug=proparacaine;route=topical;strength_percent=2;volume_ml=0.1":                   "strength-unusual",
		"drug=gentamicin;route=subconjunctival;strength_mg_ml=40;volume_ml=0.5":              "dose-target-missing aminoglycoside-near-wound",
		"drug=moxifloxacin;route=wound-hydration;strength_percent=0.5;volume_ml=0.5":         "dose-target-missing antibiotic-into-wound",
	} {
		if got := strings.Join(codes(one(t, text).Findings), " "); got != want {
			t.Errorf("%s: %q, want %q", text, got, want)
		}
	}
}

// TestAbsolute: arithmetic and allergy stop, and nobody passes them.
func TestAbsolute(t *testing.T) {
	for _, r := range []finding.Rule{doseOutside, swapped, allergyNamed} {
		if r.Severity != finding.Stop || !r.Absolute || r.Gate {
			t.Errorf("%+v", r)
		}
	}
	if totalOver.Severity != finding.Caution || !totalOver.Gate || totalNear.Severity != finding.Note {
		t.Error("the total over the limit is a gate, near it a note")
	}
}

func with(in Input, t *testing.T, lines ...string) Answer {
	in.AllergiesAsked = true
	for _, text := range lines {
		in.Lines = append(in.Lines, line(t, text+";prepared_by=A;checked_by=B"))
	}
	return Check(in)
}

// TestTotal: routes and top-ups add up; the lower of mg/kg and the ceiling
// holds; without a weight there is no verdict per kg.
func TestTotal(t *testing.T) {
	fifty, _ := ReadWeight("50", false)
	heavy, _ := ReadWeight("100", false)
	for _, c := range []struct {
		weight unit.Reading[unit.Kilogram]
		lines  []string
		want   string
		share  float64
	}{
		{fifty, []string{"drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=5"}, "", 100. / 150},
		{fifty, []string{"drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=5", "drug=lidocaine;route=sub-tenon;strength_percent=2;volume_ml=1;top_up=yes"}, "anaesthetic-near", 120. / 150},
		{fifty, []string{"drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=7.5"}, "anaesthetic-near", 1},
		{fifty, []string{"drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=7.6"}, "anaesthetic-over", 152. / 150},
		{heavy, []string{"drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=9"}, "anaesthetic-near", 0.9}, // ceiling 200 mg, not 300
		{unit.Reading[unit.Kilogram]{}, []string{"drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=5"}, "weight-missing", 0.5},
		{unit.Reading[unit.Kilogram]{}, []string{"drug=ropivacaine;route=peribulbar;strength_percent=0.75;volume_ml=5"}, "anaesthetic-limit-missing", 0},
		{fifty, []string{"drug=proparacaine;route=topical;strength_percent=0.5;volume_ml=0.1"}, "anaesthetic-limit-missing", 0},
	} {
		a := with(Input{Weight: c.weight}, t, c.lines...)
		if got := strings.Join(codes(a.Findings), " "); got != c.want {
			t.Errorf("%v: %q, want %q", c.lines, got, c.want)
		}
		if c.share > 0 && math.Abs(a.Anaesthetic.Fraction-c.share) > 1e-12 {
			t.Errorf("%v: %v", c.lines, a.Anaesthetic.Fraction)
		}
		if a.Anaesthetic != nil && !c.weight.Known && (a.Anaesthetic.Parts[0].PerKg.Known || a.Anaesthetic.Parts[0].ByWeight) {
			t.Error("a verdict per kg without a weight")
		}
	}
}

// TestMannitol: texts print 1 to 2 g/kg; the default ceiling is 1.
func TestMannitol(t *testing.T) {
	sixty, _ := ReadWeight("60", false)
	for volume, want := range map[string]string{"75": "", "150": "", "200": "mannitol-high", "300": "mannitol-high", "301": "mannitol-over", "600": "mannitol-over"} {
		a := with(Input{Weight: sixty}, t, "drug=mannitol;route=intravenous;strength_percent=20;volume_ml="+volume)
		if got := strings.Join(codes(a.Lines[0].Findings), " "); got != want {
			t.Errorf("%s ml: %q, want %q", volume, got, want)
		}
	}
	a := with(Input{}, t, "drug=mannitol;route=intravenous;strength_percent=20;volume_ml=600")
	if got := codes(a.Lines[0].Findings); len(got) != 1 || got[0] != "weight-missing" || a.Lines[0].Share.Known {
		t.Errorf("%v", got)
	}
}

// TestLocalLimits: a unit's own value holds, and is no longer called ours.
func TestLocalLimits(t *testing.T) {
	limits := Limits{}
	for key, text := range map[string]string{"moxifloxacin.intracameral": "0.15", "lidocaine.mg": "400", "lidocaine.mg_per_kg": "4"} {
		if r := limits.Set(Typed{key, text, Local{By: "A", On: unit.Date{Year: 2025, Month: 1, Day: 2}}}); r != nil {
			t.Fatal(r)
		}
	}
	eighty, _ := ReadWeight("80", false)
	a := with(Input{Weight: eighty, Limits: limits}, t, "drug=moxifloxacin;route=intracameral;strength_mg_ml=1.5;volume_ml=0.1", "drug=lidocaine;route=peribulbar;strength_percent=2;volume_ml=8")
	if len(a.All()) != 0 || math.Abs(a.Anaesthetic.Fraction-0.5) > 1e-12 {
		t.Errorf("%v %v", a.All(), a.Anaesthetic.Fraction)
	}
	if limits.Set(Typed{Key: "moxifloxacin.intracameral"}); len(limits) != 2 {
		t.Error("empty text takes the default again")
	}
	if r := limits.Set(Typed{Key: "moxifloxacin.intracameral", Text: "0"}); r == nil {
		t.Error("a target of 0")
	}
}

func TestAllergies(t *testing.T) {
	const cef = "drug=cefuroxime;route=intracameral;strength_mg_ml=10;volume_ml=0.1"
	for _, c := range [][3]string{{cef, "Penicillin", "allergy-related"}, {cef, "amoxicillin (rash)", "allergy-related"}, {cef, "Cephalosporins", "allergy-named"}, {cef, "cefuroxime", "allergy-named"}, {cef, "dust", ""},
		{"drug=moxifloxacin;route=intracameral;strength_percent=0.5;volume_ml=0.1", "ciprofloxacin", "allergy-named"},
		{"drug=trypan-blue;route=intracameral;strength_percent=0.06;volume_ml=0.1", "Trypan  blue", "allergy-named"}} {
		a := with(Input{Allergies: []string{c[1]}}, t, c[0])
		if got := strings.Join(codes(a.Lines[0].Findings), " "); got != c[2] {
			t.Errorf("%s with %s: %q", c[0], c[1], got)
		}
	}
	if a := Check(Input{Lines: []Line{line(t, cef)}}); !finding.Has(a.All(), "allergy-not-asked") || !finding.Has(a.All(), "dose-not-checked") {
		t.Errorf("%v", a.All())
	}
	if a := Check(Input{AllergiesAsked: true, Lines: []Line{line(t, cef+";prepared_by=Ann;checked_by= ANN ")}}); !finding.Has(a.All(), "dose-not-checked") {
		t.Error("one person twice")
	}
}

// TestRefused: what could only be guessed is refused, with its reason.
func TestRefused(t *testing.T) {
	const drug = `{"drugs":[{"drug":"lidocaine","route":"peribulbar","strength_percent":2,"volume_ml":5}]}`
	if _, refused := Parse([]byte(drug)); len(refused) > 0 {
		t.Fatal(refused)
	}
	for _, c := range []struct{ old, is, code, field string }{
		{`{"drugs"`, `{"weight_kg":0,"drugs"`, "out-of-range", "weight_kg"},
		{`{"drugs"`, `{"weight_kg":-4,"drugs"`, "out-of-range", "weight_kg"},
		{`{"drugs"`, `{"weight_kg":60,"weight_lb":132,"drugs"`, "two-units", "weight_kg"},
		{`{"drugs"`, `{"age_years":140,"drugs"`, "out-of-range", "age_years"},
		{`"strength_percent":2`, `"strength_percent":200`, "out-of-range", "drugs[1].strength_percent"},
		{`"strength_percent":2`, `"strength":2`, "unknown-key", "drugs[1].strength"},
		{`"strength_percent":2`, `"strength_percent":2,"strength_mg_ml":20`, "two-units", "drugs[1].strength_mg_ml"},
		{`"strength_percent":2,`, ``, "needed", "drugs[1].strength_mg_ml"},
		{`"volume_ml":5`, `"volume_l":0.005`, "no-litres", "drugs[1].volume_l"},
		{`"volume_ml":5`, `"volume_ml":"5 l"`, "not-a-number", "drugs[1].volume_ml"},
		{`"volume_ml":5`, `"volume_ml":500`, "out-of-range", "drugs[1].volume_ml"},
		{`,"volume_ml":5`, ``, "needed", "drugs[1].volume_ml"},
		{`"lidocaine"`, `"lignocane"`, "unknown-drug", "drugs[1].drug"},
		{`"lidocaine"`, `"methylene-blue"`, "unknown-drug", "drugs[1].drug"},
		{`"route":"peribulbar",`, ``, "needed", "drugs[1].route"},
		{`"peribulbar"`, `"intravenous"`, "unknown-word", "drugs[1].route"},
		{`"strength_percent":2`, `"powder_mg":500,"diluent_ml":10`, "needed", "drugs[1].diluent"},
		{`"strength_percent":2`, `"strength_percent":2,"take_ml":3,"dilute":"added-to"`, "needed", "drugs[1].dilute_ml"},
		{`"strength_percent":2`, `"strength_percent":2,"take_ml":3,"dilute_ml":2,"dilute":"made-up-to"`, "made-up-below-part", "drugs[1].dilute_ml"},
		{`{"drugs"`, `{"dose":5,"drugs"`, "unknown-key", "dose"},
		{`{"drugs"`, `{"limits":{"lidocaine.mg":0},"drugs"`, "out-of-range", "lidocaine.mg"},
		{`{"drugs"`, `{"limits":{"lidocain.mg":200},"drugs"`, "unknown-key", "lidocain.mg"},
		{`{"drugs"`, `{"format":"linn.dose/9","drugs"`, "unknown-format", "format"},
		{drug, `{}`, "needed", "drugs"}, {drug, ``, "empty-file", ""}, {drug, `{"drugs":{}}`, "wrong-kind", "drugs"}, {drug, `{"drugs":[3]}`, "wrong-kind", "drugs[1]"},
	} {
		_, refused := Parse([]byte(strings.Replace(drug, c.old, c.is, 1)))
		if len(refused) != 1 || refused[0].Code != c.code || refused[0].Field != c.field {
			t.Errorf("%s: %v", c.is, refused)
		}
	}
}

// TestArithmetic: the dose follows volume and strength in proportion, in
// whatever unit they were given.
func TestArithmetic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mgMl, ul := rapid.Float64Range(0.01, 250).Draw(t, "mg/ml"), rapid.IntRange(1, 1000).Draw(t, "ul")
		l := Line{Drug: "moxifloxacin", Route: Intracameral, Stock: unit.Known(unit.MilligramPerMillilitre(mgMl)), Volume: unit.Known(unit.Microlitre(ul).Millilitre())}
		c := Check(Input{Lines: []Line{l}}).Lines[0]
		if want := mgMl * float64(ul) / 1000; math.Abs(float64(c.Dose)-want) > 1e-12*want+1e-15 || math.Abs(c.Share.Value-want/0.5) > 1e-9*(1+want) {
			t.Fatalf("%v, want %v", c.Dose, want)
		}
		stops := finding.Worst(c.Findings) == finding.Stop
		if x := c.Share.Value; stops != (x < 0.5-1e-9 || x > 1.5+1e-9) {
			t.Fatalf("share %v, stop %v", x, stops)
		}
	})
	pounds, _ := ReadWeight("110", true)
	if math.Abs(float64(pounds.Value)-49.8951607) > 1e-7 { // 110 lb, exact by definition
		t.Errorf("%v", pounds.Value)
	}
}

// TestSettingsSay: every setting has a source, every disagreement is told.
func TestSettingsSay(t *testing.T) {
	seen := map[string]bool{}
	for _, s := range Settings {
		if seen[s.Key] || s.Ref.Key == "" || !s.Ref.Grade.Valid() || s.Unit == "" {
			t.Errorf("%+v", s)
		}
		seen[s.Key] = true
	}
	if s := SettingNamed("lidocaine.mg_per_kg"); s.Says == "" || s.Default != 3 {
		t.Errorf("%+v", s)
	}
}

func FuzzParse(f *testing.F) {
	f.Add([]byte(`{"weight_kg":50,"drugs":[{"drug":"lidocaine","route":"peribulbar","strength_percent":2,"volume_ml":5}]}`))
	f.Add([]byte(`{"drugs":[{"drug":"cefuroxime","route":"intracameral","powder_mg":750,"diluent_ml":7.5,"diluent":"added-to","volume_ml":0.1}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		in, refused := Parse(data)
		if len(refused) > 0 {
			return
		}
		for _, c := range Check(in).Lines {
			if d := float64(c.Dose); !(d > 0) || math.IsInf(d, 0) {
				t.Fatalf("dose %v of %s", d, data)
			}
		}
	})
}
