package pathway

import (
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// A signed plan is found to hold no longer, on reading, by each of its causes
// and by no other.
func TestWhatReopensASignedPlan(t *testing.T) {
	for _, c := range []struct {
		name  string
		event func(w *testWard, id, patient string)
		code  string
	}{
		{"nothing", func(*testWard, string, string) {}, ""},
		{"readings beyond the local age", func(w *testWard, _, _ string) {
			w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{ReadingAgeDays: "10"}))
		}, "plan-readings-old"},
		{"a constant", func(w *testWard, _, _ string) {
			w.must(w.EditLens(w.ctx(), w.who["senior"], w.lens, Newest, lensForm("Test Lens", "119.1"), "fitted elsewhere"))
		}, "plan-constant-changed"},
		{"the name of the lens", func(w *testWard, _, _ string) {
			w.must(w.EditLens(w.ctx(), w.who["senior"], w.lens, Newest, lensForm("Test Lens 2", "118.9"), "renamed"))
		}, "plan-lens-renamed"},
		{"the lens withdrawn", func(w *testWard, _, _ string) {
			w.must(w.WithdrawLens(w.ctx(), w.who["senior"], w.lens, Newest, "recalled"))
		}, "plan-lens-withdrawn"},
		{"the power sold out", func(w *testWard, id, _ string) {
			w.must(w.Stock(w.ctx(), w.who["nora"], w.lens, Newest, map[string]string{plain(float64(w.check(id).Chosen.Power)): "0"}))
		}, "plan-stock-changed"},
		{"another power sold out", func(w *testWard, id, _ string) {
			w.must(w.Stock(w.ctx(), w.who["nora"], w.lens, Newest, map[string]string{plain(float64(w.check(id).Chosen.Power)): "2", "10": "0"}))
		}, ""},
		{"a method recalled", func(w *testWard, _, _ string) {
			w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{Recalled: "hoffer-q 0, srk-t 1"}))
		}, "plan-version-recalled"},
		{"the program recalled", func(w *testWard, _, _ string) {
			w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{Recalled: "program 0.1.0-test"}))
		}, "plan-version-recalled"},
		{"another version recalled", func(w *testWard, _, _ string) {
			w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{Recalled: "srk-t 2"}))
		}, ""},
		{"the fellow eye's case opened", func(w *testWard, _, patient string) { w.open(patient, eye.Left) }, ""},
		{"the fellow eye's length", func(w *testWard, _, patient string) {
			left := w.open(patient, eye.Left)
			w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: left, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: {"axial_length_mm": "23.49"}}})))
		}, "plan-fellow-changed"},
		{"the fellow eye's pupil", func(w *testWard, _, patient string) {
			left := w.open(patient, eye.Left)
			w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: left, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: {"pupil_mm": "4"}}})))
		}, ""},
		{"the fellow eye's lens", func(w *testWard, _, patient string) {
			left := w.open(patient, eye.Left)
			w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: left, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: {"lens_status": "pseudophakic"}}})))
		}, "plan-fellow-operated"},
		{"the fellow eye operated", func(w *testWard, _, patient string) {
			w.must(w.Close(w.ctx(), w.who["sam"], w.open(patient, eye.Left), Newest, ClosedOperated, ""))
		}, "plan-fellow-operated"},
		{"the fellow eye not wanted", func(w *testWard, _, patient string) {
			w.must(w.Close(w.ctx(), w.who["sam"], w.open(patient, eye.Left), Newest, ClosedDropped, ""))
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newWard(t, casebook.NewMemory(), nepal)
			patient := w.patient("Mira Example", "H-0001")
			id := w.open(patient, eye.Right)
			w.signed(id)
			c.event(w, id, patient)
			j := w.check(id)
			var got []string
			for _, f := range j.Reopens {
				got = append(got, f.Code)
			}
			if strings.Join(got, " ") != c.code {
				t.Fatalf("reopens with %q, want %q", got, c.code)
			}
			s, err := w.Sheet(w.ctx(), w.who["nora"], id)
			w.must(err)
			if s.Valid != (c.code == "") || (s.Number != "") != s.Valid {
				t.Errorf("sheet valid %v, number %q", s.Valid, s.Number)
			}
			if c.code == "" {
				_, err := w.Reopen(w.ctx(), w.who["nora"], id, Newest, "")
				w.refused(err, "reason-needed")
				return
			}
			_, rows, err := w.Ward(w.ctx(), w.who["nora"], WardQuery{Text: "Mira right"})
			w.must(err)
			if m := rows[0].Missing; m == nil || m.Finding == nil || m.Finding.Code != c.code || rows[0].Progress.Sheet {
				t.Errorf("the Ward says %+v", m)
			}
			j, err = w.Reopen(w.ctx(), w.who["nora"], id, Newest, "")
			w.must(err)
			if j.State != casebook.StateReopened || !strings.HasPrefix(j.Reopened, c.code) || j.ReadBack != nil {
				t.Errorf("%+v", j)
			}
			w.sound()
		})
	}
}

// A first eye that was done before the second was signed reopens nothing.
func TestFellowDoneBeforeSigning(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	patient := w.patient("Mira Example", "H-0001")
	left := w.open(patient, eye.Left)
	w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: left, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: other}})))
	w.must(w.Close(w.ctx(), w.who["sam"], left, Newest, ClosedOperated, ""))
	id := w.open(patient, eye.Right)
	w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: id, Seen: Newest, Imported: true, Eyes: map[eye.Side]map[string]string{eye.Right: ordinary}})))
	w.must(second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-05"})))
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "0"})))
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})))
	w.readBack(id, "nora")
	j, err := w.sign(id, "sam")
	w.must(err)
	if len(j.Reopens) != 0 || j.Eyes[eye.Left].Texts["axial_length_mm"] != "23.47" {
		t.Errorf("reopens %+v, fellow %+v", j.Reopens, j.Eyes[eye.Left].Texts)
	}
	_, err = w.Measure(w.ctx(), w.who["tina"], entry2(id, nil, map[string]string{"axial_length_mm": "23.40"}, false))
	w.refused(err, "case-closed") // the first eye's record is closed
}

func TestReopenByHand(t *testing.T) {
	w, id := newCase(t)
	_, err := w.Reopen(w.ctx(), w.who["nora"], id, Newest, "too early")
	w.refused(err, "not-signed")
	w.signed(id)
	j, err := w.Reopen(w.ctx(), w.who["nora"], id, Newest, "patient asks for another target")
	w.must(err)
	if j.State != casebook.StateReopened || j.Signed == nil || !j.May[VerbMeasure] {
		t.Errorf("%s %v", j.State, j.May)
	}
	w.readBack(id, "nora")
	j, err = w.sign(id, "sam")
	w.must(err)
	if j.PlanNumber != 2 || j.Reopened != "" {
		t.Errorf("plan %d, reopened %q", j.PlanNumber, j.Reopened)
	}
}
