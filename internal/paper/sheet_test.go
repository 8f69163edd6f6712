package paper

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/internal/care/sheet"
	"linn/internal/locale"
	"linn/unit"
)

// english are the words of the catalogue.
type english struct{}

func (english) T(key string, v ...finding.Value) string { return locale.T(locale.English, key, v...) }
func (english) Finding(f finding.Finding) string        { return locale.Finding(locale.English, f) }
func (english) Severity(s finding.Severity) string      { return locale.Severity(locale.English, s) }
func (english) Field(key string) string                 { return locale.Field(locale.English, key) }
func (english) Method(id string) string                 { return locale.Method(locale.English, id) }

// invented makes the sheet of an invented person; change alters its input.
func invented(change func(*eye.Eye, *sheet.Input)) *sheet.Sheet {
	e := eye.Eye{Side: eye.Right, Age: unit.Known(unit.Year(67)), AxialLength: unit.Known(unit.Millimetre(23.41)), AxialLengthMethod: eye.Optical,
		KFlat: unit.Known(unit.Dioptre(43.12)), KSteep: unit.Known(unit.Dioptre(43.87)), KFlatAxis: unit.Known(unit.NewAxis(171)), KSteepAxis: unit.Known(unit.NewAxis(81)),
		KeratometricIndex: unit.Known(unit.Index(1.3375)), ACD: unit.Known(unit.Millimetre(3.08)), LensStatus: eye.Phakic, Vitreous: eye.NaturalVitreous,
		CornealSurgery: eye.NoSurgery, Target: unit.Known(unit.Dioptre(-0.25)), Vertex: unit.Known(unit.Millimetre(12)), Placement: eye.Bag}
	fellow := e
	fellow.Side, fellow.AxialLength = eye.Left, unit.Known(unit.Millimetre(23.52))
	e.Fellow = &fellow
	l := lenspower.NewLens()
	l.Model = "Lake 3"
	l.Constants = lenspower.Constants{A: unit.Known(unit.Constant(118.4)), SF: unit.Known(unit.Millimetre(1.45)), PACD: unit.Known(unit.Millimetre(5.2))}
	in := sheet.Input{Person: sheet.Person{Name: "Åse Holm Tveit", Identifier: "H-0412", Sex: eye.Female, Born: unit.Date{Year: 1959, Month: 2, Day: 7},
		Age: unit.Known(unit.Year(67)), Allergies: sheet.Stated{Asked: true, Items: []string{"penicillin (rash)", "iodine on the skin"}}},
		List: unit.Date{Year: 2026, Month: 3, Day: 3}, Place: "Theatre 1", Order: 2, PlanNumber: 2, Number: 417, PlanDigest: "9f31c0aa",
		Measured: sheet.Act{Name: "T. Lund", When: "2026-02-20 09:14"}, Second: &sheet.Act{Name: "N. Berg", When: "2026-03-02 16:01"},
		Signed: &sheet.Act{Name: "Dr I. Sund", When: "2026-03-02 16:20"}}
	pick := plan.Pick{Model: "Lake 3", Power: 21}
	if change != nil {
		change(&e, &in)
	}
	p := plan.Make(plan.Input{Eye: e, Shelf: []plan.Shelved{{Lens: l, Stock: []plan.Stock{{Power: 21, Count: 2}, {Power: -3.5, Count: 1}}}}, Chosen: &pick, Program: "0.1.0"})
	in.Plan = &p
	if in.Signed == nil {
		in.Blockers = plan.Ready(&p, plan.State{Identified: true})
	}
	s := sheet.New(in)
	return &s
}

// cases are the sheets that are looked at.
var cases = map[string]func(*eye.Eye, *sheet.Input){
	"signed":   nil,
	"unsigned": func(_ *eye.Eye, in *sheet.Input) { in.Signed, in.Second = nil, nil },
	"phases": func(_ *eye.Eye, in *sheet.Input) {
		for _, phase := range []string{"groove", "segment-removal", "cortex", "washout"} {
			in.Phases = append(in.Phases, sheet.Phase{Phase: phase, Settings: []sheet.Setting{{Key: "bottle_cm", Text: "105 cm"}, {Key: "flow_ml_min", Text: "32.5 mL/min"}, {Key: "vacuum_limit_mmhg", Text: "350 mmHg"}, {Key: "power_pct", Text: "100 %"}}})
		}
		in.Person.Name = "María Encarnación Valladares-Etxeberria de la Fuente Ruiz y Montalbán del Castillo"
	},
	"crowded": func(e *eye.Eye, in *sheet.Input) {
		*e = eye.Eye{Side: eye.Left, AxialLength: unit.Known(unit.Millimetre(20.9)), KFlat: unit.Known(unit.Dioptre(37.5)), KSteep: unit.Known(unit.Dioptre(41)),
			Placement: eye.Sulcus, CornealSurgery: eye.MyopicLaser, LensStatus: eye.Pseudophakic, Vitreous: eye.Oil, Target: unit.Known(unit.Dioptre(12)),
			Fellow: &eye.Eye{Side: eye.Right, AxialLength: unit.Known(unit.Millimetre(26.9)), KFlat: unit.Known(unit.Dioptre(44)), KSteep: unit.Known(unit.Dioptre(46)), AxialLengthMethod: eye.Contact}}
		in.Person.Name = "María Encarnación Valladares-Etxeberria de la Fuente Ruiz y Montalbán del Castillo"
		in.Person.Identifier = "2026/00000417-ISLAND-B"
		in.Second, in.Signed = nil, nil
		in.Lone = "the only person at the outreach clinic that night"
		in.Passes = []sheet.Pass{{Finding: finding.Finding{Code: "length-very-short", Values: finding.Values{{Name: "got", Text: "20.90 mm"}, {Name: "limit", Text: "21.20 mm"}}}, Act: sheet.Act{Name: "Dr I. Sund", Reason: "three readings alike"}}}
	},
}

func render(t *testing.T, s *sheet.Sheet) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Sheet(&b, s, english{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Each case is one page, its text can be read back, and the bytes are the same
// every time. With LINN_LOOK=DIR the pages are kept as pictures.
func TestSheet(t *testing.T) {
	for name, change := range cases {
		s := invented(change)
		pdf := render(t, s)
		if !bytes.Equal(pdf, render(t, invented(change))) {
			t.Errorf("%s: two prints differ", name)
		}
		text, pages := extract(t, pdf)
		if pages != 1 {
			t.Errorf("%s: %d pages", name, pages)
		}
		want := []string{s.SideWords, strings.Fields(s.Person.Name)[0], s.Person.Identifier, locale.T(locale.English, "footer.length")}
		if s.Signed {
			want = append(want, "Sheet 00417", "Valid only for the list of 2026-03-03", "+21.00 D", "PLUS", "T. Lund", "N. Berg", "Dr I. Sund", "penicillin")
		} else {
			want = append(want, "NOT SIGNED")
		}
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%s: %q is not on the sheet", name, w)
			}
		}
		if has := strings.Contains(text, "NOT SIGNED"); has == s.Signed {
			t.Errorf("%s: signed %v, NOT SIGNED printed %v", name, s.Signed, has)
		}
		for _, f := range s.Alerts {
			if f.Severity == finding.Stop && !strings.Contains(text, strings.Fields(locale.Finding(locale.English, f))[0]) {
				t.Errorf("%s: the stop %s is not on the sheet", name, f.Code)
			}
		}
		keep(t, name, pdf)
	}
}

// tool finds a program the tests read prints back with. Without it they are
// skipped, with LINN_STRICT=1 they fail.
func tool(t *testing.T, name, part string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	switch {
	case err == nil:
	case os.Getenv("LINN_STRICT") == "1":
		t.Fatalf("%s of %s is not installed", name, part)
	default:
		t.Skipf("%s of %s is not installed", name, part)
	}
	return path
}

// extract reads the print back with poppler.
func extract(t *testing.T, pdf []byte) (text string, pages int) {
	t.Helper()
	cmd := exec.Command(tool(t, "pdftotext", "poppler-utils"), "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	s := strings.NewReplacer("\u202f", " ", "\u00a0", " ").Replace(string(out))
	return s, strings.Count(s, "\f")
}

func keep(t *testing.T, name string, pdf []byte) {
	t.Helper()
	dir := os.Getenv("LINN_LOOK")
	if dir == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(dir, "sheet-"+name+".pdf"), pdf, 0o600); err != nil {
		t.Fatal(err)
	}
}

func TestSheetRefusesLettersItCannotSet(t *testing.T) {
	s := invented(func(_ *eye.Eye, in *sheet.Input) { in.Person.Name = "सीता थापा" })
	var e *UncoveredError
	if err := Sheet(&bytes.Buffer{}, s, english{}); !errors.As(err, &e) || e.Text != "सीता" && !strings.Contains(s.Person.Name, e.Text) {
		t.Errorf("%v", err)
	}
}

// The mark is read back from the paper by a reader that is not ours.
func TestMarkReadsBack(t *testing.T) {
	s := invented(nil)
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "sheet.pdf"), render(t, s), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(tool(t, "pdftoppm", "poppler-utils"), "-r", "150", "-png", "-singlefile", filepath.Join(dir, "sheet.pdf"), filepath.Join(dir, "sheet")).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	out, err := exec.Command(tool(t, "dmtxread", "dmtx-utils"), "-N", "1", "-m", "20000", filepath.Join(dir, "sheet.png")).Output()
	if want := "linn.sheet/1 00417 right 9f31c0aa"; err != nil || string(out) != want {
		t.Errorf("read %q, %v; want %q", out, err, want)
	}
}
