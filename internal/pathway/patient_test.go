package pathway

import (
	"bytes"
	"errors"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

func TestAddPatientRefusals(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	w.patient("Mira Example", "H-0001")
	good := NewPatient{Name: "Ann", Identifier: "H-0002", Born: "1950", Sex: "female"}
	for _, c := range []struct {
		name   string
		change func(*NewPatient)
		code   string
	}{
		{"nothing", func(p *NewPatient) { *p = NewPatient{} }, "needed needed born-needed"},
		{"no name", func(p *NewPatient) { p.Name = "  " }, "needed"},
		{"known identifier", func(p *NewPatient) { p.Identifier = " h-0001 " }, "identifier-known"},
		{"born tomorrow", func(p *NewPatient) { p.Born = "2026-03-04" }, "born-later"},
		{"born too long ago", func(p *NewPatient) { p.Born = "1850-01-01" }, "born-age"},
		{"age 200", func(p *NewPatient) { p.Born = "200" }, "born-age"},
		{"age 0", func(p *NewPatient) { p.Born = "0" }, "born-infant"},
		{"age -5", func(p *NewPatient) { p.Born = "-5" }, "born-age"},
		{"unreadable", func(p *NewPatient) { p.Born = "about sixty" }, "born-unreadable"},
		{"no such day", func(p *NewPatient) { p.Born = "1950-02-30" }, "born-unreadable"},
		{"sex", func(p *NewPatient) { p.Sex = "f" }, "unknown-word"},
		{"a long name", func(p *NewPatient) { p.Name = string(bytes.Repeat([]byte("x"), 300)) }, "too-long-text"},
		{"good", func(*NewPatient) {}, ""},
	} {
		p := good
		c.change(&p)
		_, err := w.AddPatient(w.ctx(), w.who["nora"], p)
		if got := codes(err); got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
	}
}

func TestBirthPrecisionAndEstimatedAge(t *testing.T) {
	for _, c := range []struct {
		born string
		age  float64
	}{{"1959-02-09", 67}, {"1959-12-31", 66}, {"1959", 67}, {"1959-12", 66}, {"67", 67}} {
		w := newWard(t, casebook.NewMemory(), nepal)
		p, err := w.AddPatient(w.ctx(), w.who["nora"], NewPatient{Name: "A", Identifier: "H-1", Born: c.born})
		w.must(err)
		j := w.check(w.open(p, eye.Right))
		if !j.Age.Known || float64(j.Age.Value) != c.age {
			t.Errorf("born %s: age %+v", c.born, j.Age)
		}
	}
}

func TestFindPatient(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	id := w.patient("Mira Example", "H-0001")
	f, err := w.FindPatient(w.ctx(), w.who["nora"], "h-0001")
	if err != nil || f.Patient != id || f.Name != "Mira Example" {
		t.Errorf("%+v %v", f, err)
	}
	if _, err := w.FindPatient(w.ctx(), w.who["nora"], "H-2"); !errors.Is(err, ErrAbsent) {
		t.Errorf("%v", err)
	}
}

func TestCorrectPatientReopensWhatWasSigned(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		w.signed(id)
		form := NewPatient{Name: "Myra Example", Identifier: "H-0001", Born: "1959-02-09", Sex: "female"}
		w.refused(w.CorrectPatient(w.ctx(), w.who["nora"], patient, Newest, form, ""), "reason-needed")
		w.refused(w.CorrectPatient(w.ctx(), w.who["nora"], patient, Newest, form, "was Mira Example before"), "reason-names-patient")
		w.refused(w.CorrectPatient(w.ctx(), w.who["nora"], patient, Newest, form, "the name is Myra Example"), "reason-names-patient")
		w.refused(w.CorrectPatient(w.ctx(), w.who["nora"], patient, 9, form, "misspelt"), "patient-moved-on")
		w.must(w.CorrectPatient(w.ctx(), w.who["nora"], patient, 1, form, "misspelt"))
		j := w.check(id)
		if j.Who.Name != "Myra Example" || j.State != casebook.StateReopened || j.Reopened != "patient-corrected" {
			t.Errorf("%s %s %s", j.Who.Name, j.State, j.Reopened)
		}
		w.sound()
	})
}

func TestMoveReadings(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		wrong := w.open(w.patient("Doriane Brackwater", "H-0455"), eye.Right)
		right := w.open(w.patient("Dorianne Brackwater", "H-0545"), eye.Right)
		w.signed(wrong)
		w.must(second(w.Measure(w.ctx(), w.who["tina"], entry2(right, map[string]string{"acd_mm": "3.3"}, nil, false))))
		move := Moving{From: wrong, To: right, FromSeen: Newest, ToSeen: Newest, Fields: []string{"axial_length_mm", "k_flat_d"}, Reason: "entered under the sister's name"}
		with := func(change func(*Moving)) Moving { m := move; change(&m); return m }
		for _, c := range []struct {
			m    Moving
			code string
		}{
			{with(func(m *Moving) { m.Reason = "" }), "reason-needed"},
			{with(func(m *Moving) { m.Reason = "belongs to Dorianne Brackwater" }), "reason-names-patient"},
			{with(func(m *Moving) { m.To = wrong }), "move-nothing"},
			{with(func(m *Moving) { m.Fields = nil }), "move-nothing"},
			{with(func(m *Moving) { m.Fields = []string{"acd_mm"} }), "move-onto"},
			{with(func(m *Moving) { m.Fields = []string{"pupil_mm"} }), "move-empty"},
			{with(func(m *Moving) { m.Fields = []string{"side"} }), "unknown-key"},
			{with(func(m *Moving) { m.FromSeen = 1 }), "moved-on"},
			{with(func(m *Moving) { m.To = "nowhere" }), ErrAbsent.Error()},
			{move, ""},
		} {
			if got := codes(w.MoveReadings(w.ctx(), w.who["tina"], c.m)); got != c.code {
				t.Errorf("%q, want %q", got, c.code)
			}
		}
		from, to := w.check(wrong), w.check(right)
		if from.Eyes[eye.Right].Texts["axial_length_mm"] != "" || from.State != casebook.StateReopened || len(from.Masked) != 1 || from.ReadBack != nil {
			t.Errorf("left behind: %+v %s", from.Eyes[eye.Right].Texts, from.State)
		}
		if to.Eyes[eye.Right].Texts["axial_length_mm"] != "23.41" || to.Eyes[eye.Right].Texts["k_flat_d"] != "43.25" || len(to.MovedFrom) != 1 {
			t.Errorf("arrived: %+v", to.Eyes[eye.Right].Texts)
		}
		w.sound()
	})
}

// What was masked does not come back as an earlier visit's reading.
func TestMaskedReadingsAreNobodysPast(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	wrong := w.open(w.patient("Doriane Brackwater", "H-0455"), eye.Right)
	right := w.open(w.patient("Dorianne Brackwater", "H-0545"), eye.Right)
	w.measure(wrong, changed(ordinary, "axial_length_mm", "23.50", "measured_on", "2026-01-10"), changed(other, "axial_length_mm", "24.15", "measured_on", "2026-01-10"))
	w.must(w.MoveReadings(w.ctx(), w.who["tina"], Moving{From: wrong, To: right, FromSeen: Newest, ToSeen: Newest,
		Fields: []string{"axial_length_mm", "k_flat_d", "k_steep_d", "measured_on"}, Reason: "wrong folder"}))
	j := w.measure(wrong, changed(ordinary, "axial_length_mm", "24.18"), changed(other, "axial_length_mm", "23.52"))
	if hasCode(j, "sides-maybe-swapped") {
		t.Error("compared with another person's eye")
	}
}

func TestMerge(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		a, b := w.patient("Mira Example", "H-0001"), w.patient("Mira Exampel", "H-0010")
		right := w.open(a, eye.Right)
		w.signed(right)
		left := w.open(b, eye.Left)
		merge := func(by, second, from, into, reason string) string {
			return codes(w.MergePatients(w.ctx(), w.who[by], w.who[second], from, into, reason))
		}
		for _, c := range []struct{ by, second, from, into, reason, code string }{
			{"nora", "nora", b, a, "same person", "two-people"},
			{"nora", "", b, a, "same person", "two-people"},
			{"nora", "tina", b, a, "same person", "forbidden"},
			{"tina", "nora", b, a, "same person", "forbidden"},
			{"nora", "sam", b, a, "", "reason-needed"},
			{"nora", "sam", b, a, "two numbers for Mira Example", "reason-names-patient"},
			{"nora", "sam", a, a, "same person", "merge-same"},
			{"nora", "sam", b, "nowhere", "same person", ErrAbsent.Error()},
			{"nora", "sam", b, a, "two numbers for one person", ""},
			{"nora", "sam", b, a, "again", "patient-gone"},
			{"nora", "sam", a, b, "the other way round", "merge-same"},
		} {
			if got := merge(c.by, c.second, c.from, c.into, c.reason); got != c.code {
				t.Errorf("%s+%s: %q, want %q", c.by, c.second, got, c.code)
			}
		}
		j := w.check(left)
		if j.Patient != a || j.Who.Identifier != "H-0001" || j.FellowCase != right {
			t.Errorf("the left eye is of %s, fellow %s", j.Who.Identifier, j.FellowCase)
		}
		if j := w.check(right); j.State != casebook.StateReopened || j.FellowCase != left {
			t.Errorf("the right eye is %s", j.State)
		}
		_, err := w.OpenCase(w.ctx(), w.who["nora"], b, eye.Right)
		w.refused(err, "case-exists")
		w.sound()
	})
}

func TestMergeWithTwoOpenCasesOfOneEye(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	a, b := w.patient("Mira Example", "H-0001"), w.patient("Mira Exampel", "H-0010")
	w.open(a, eye.Right)
	double := w.open(b, eye.Right)
	w.refused(w.MergePatients(w.ctx(), w.who["nora"], w.who["sam"], b, a, "one person"), "merge-two-open")
	w.must(w.Close(w.ctx(), w.who["sam"], double, Newest, ClosedMistake, "opened twice"))
	w.must(w.MergePatients(w.ctx(), w.who["nora"], w.who["sam"], b, a, "one person"))
}

func TestErase(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		w.ready(id)
		erase := func(by, second string) string {
			return codes(w.Erase(w.ctx(), w.who[by], w.who[second], patient, "court order 12"))
		}
		for _, c := range [][3]string{{"admin", "admin", "two-people"}, {"admin", "", "two-people"}, {"admin", "nora", "forbidden"},
			{"nora", "admin", "forbidden"}, {"admin", "senior", ""}, {"admin", "senior", "patient-gone"}} {
			if got := erase(c[0], c[1]); got != c[2] {
				t.Errorf("%v: %q", c, got)
			}
		}
		if j := w.check(id); !j.Erased || j.Who.Name != "" || j.Eyes[eye.Right].Texts["axial_length_mm"] != "23.41" || j.May[VerbMeasure] {
			t.Errorf("%+v", j.Who)
		}
		_, err := w.sign(id, "sam")
		w.refused(err, "patient-erased")
		_, err = w.Sheet(w.ctx(), w.who["nora"], id)
		w.refused(err, "patient-erased")
		if _, rows, err := w.Ward(w.ctx(), w.who["nora"], WardQuery{}); err != nil || len(rows) != 0 {
			t.Errorf("%d rows, %v", len(rows), err)
		}
		w.must(w.Store.View(w.ctx(), func(tx casebook.Tx) error {
			for r, err := range tx.Since(0) {
				if err != nil {
					return err
				}
				for _, s := range []string{"Mira", "H-0001"} {
					if bytes.Contains(r.Payload, []byte(s)) {
						t.Errorf("%s revision %d still says %s", r.Kind, r.Number, s)
					}
				}
			}
			return nil
		}))
		w.sound()
	})
}
