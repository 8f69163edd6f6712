package pathway

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// recalls asks without names and returns the cases, newest last.
func (w *testWard) recalls(q RecallQuery) []Touched {
	w.t.Helper()
	list, err := w.RecallUnattended(w.ctx(), q, false)
	w.must(err)
	return list
}

// A recall lists every signed plan that a version, constant or device touched,
// also one that was reopened since, and nothing else.
func TestRecall(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id, other := w.open(patient, eye.Right), w.open(w.patient("Tomas Example", "H-0002"), eye.Left)
		w.ready(id)
		sheet := w.signed(id)
		for name, c := range map[string]struct {
			q     RecallQuery
			where string // "" when nothing is touched
		}{
			"method and version":    {RecallQuery{Method: "srk-t", Version: "1"}, "srk-t 1"},
			"method, any version":   {RecallQuery{Method: "srk-t"}, "srk-t 1"},
			"another version":       {RecallQuery{Method: "srk-t", Version: "2"}, ""},
			"a method of no plan":   {RecallQuery{Method: "masket"}, ""},
			"program":               {RecallQuery{Program: w.Program}, "program " + w.Program},
			"a part of the version": {RecallQuery{Program: w.Program[:3]}, ""},
			"lens":                  {RecallQuery{Lens: " test  lens"}, "Test Lens"},
			"another lens":          {RecallQuery{Lens: "Test"}, ""},
			"constant":              {RecallQuery{Lens: "Test Lens", Constant: "a"}, "a 118.9000"},
			"constant and value":    {RecallQuery{Lens: "Test Lens", Constant: "a", Value: "118,90"}, "a 118.9000"},
			"another value":         {RecallQuery{Lens: "Test Lens", Constant: "a", Value: "118.91"}, ""},
		} {
			list := w.recalls(c.q)
			if c.where == "" {
				if len(list) != 0 {
					t.Errorf("%s: %+v", name, list)
				}
				continue
			}
			if len(list) != 1 || list[0].Case != id || !list[0].Signed || !list[0].InForce || list[0].Operated || list[0].Sheet != sheet.Sheet || !slices.Contains(list[0].Where, c.where) {
				t.Errorf("%s: %+v", name, list)
			}
		}
		w.must(second(w.Reopen(w.ctx(), w.who["sam"], id, Newest, "another look")))
		if list := w.recalls(RecallQuery{Method: "srk-t"}); len(list) != 1 || list[0].InForce {
			t.Errorf("reopened: %+v", list)
		}
		w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: other, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: {"axial_length_mm": "23.5", "device": "Biometer 7"}}})))
		if list := w.recalls(RecallQuery{Device: "biometer 7"}); len(list) != 1 || list[0].Case != other || list[0].Signed || list[0].Where[0] != "eye.device" {
			t.Errorf("device: %+v", list)
		}
		w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: other, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: {"device": "Biometer 8"}}})))
		if list := w.recalls(RecallQuery{Device: "Biometer 7"}); len(list) != 1 || list[0].InForce {
			t.Errorf("device of an earlier revision: %+v", list)
		}
		w.must(w.Close(w.ctx(), w.who["sam"], other, Newest, ClosedOperated, ""))
		if list := w.recalls(RecallQuery{Device: "Biometer 7"}); len(list) != 1 || !list[0].Operated {
			t.Errorf("operated: %+v", list)
		}
		for _, bad := range []RecallQuery{{}, {Lot: "1", Device: "x"}, {Version: "1"}, {Lens: "x", Value: "1"}, {Constant: "a"}} {
			_, err := w.RecallUnattended(w.ctx(), bad, false)
			w.refused(err, "recall-one")
		}
		_, err := w.RecallUnattended(w.ctx(), RecallQuery{Lens: "x", Constant: "a", Value: "many"}, false)
		w.refused(err, "not-a-number")
	})
}

// Names are given only with a line in the access log, and not of who was
// erased.
func TestRecallWithNames(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		w.ready(w.open(patient, eye.Right))
		w.signed(w.recallsAll()[0].Chain)
		before := len(w.log(LogQuery{Limit: 1000}))
		if list := w.recalls(RecallQuery{Method: "srk-t"}); len(list) != 1 || list[0].Who != nil || len(w.log(LogQuery{Limit: 1000})) != before {
			t.Errorf("without names: %+v", list)
		}
		list, err := w.RecallUnattended(w.ctx(), RecallQuery{Method: "srk-t"}, true)
		w.must(err)
		l := w.log(LogQuery{Limit: 1})[0]
		if len(list) != 1 || list[0].Who == nil || list[0].Who.Name != "Mira Example" || l.What != casebook.AccessExport || l.Detail != "recall" || l.Patient != patient {
			t.Errorf("with names: %+v, log %+v", list, l)
		}
		w.must(w.Erase(w.ctx(), w.who["sam"], w.who["admin"], patient, "asked for"))
		list, err = w.RecallUnattended(w.ctx(), RecallQuery{Method: "srk-t"}, true)
		w.must(err)
		if len(list) != 1 || list[0].Who != nil || !list[0].NameGone {
			t.Errorf("erased: %+v", list)
		}
	})
}

func (w *testWard) recallsAll() (heads []casebook.Revision) {
	w.must(w.Store.View(w.ctx(), func(tx casebook.Tx) error {
		for r, err := range tx.Heads(casebook.KindCase) {
			if err != nil {
				return err
			}
			heads = append(heads, r)
		}
		return nil
	}))
	return heads
}

// Lots are found in any section, by the words their keys are made of, and a
// text elsewhere is not taken for one.
func TestRecallFindsLotsInAnySection(t *testing.T) {
	find := func(lot, payload string) []string {
		t.Helper()
		m, err := RecallQuery{Lot: lot}.matcher()
		if err != nil {
			t.Fatal(err)
		}
		where, err := m.find(casebook.Revision{Payload: []byte(payload)}, nil)
		if err != nil {
			t.Fatal(err)
		}
		return where
	}
	const payload = `{"operation":{"lens":{"model":"Tarn 2","lot":"A1B2C3","serial":"SN 00042"},"lots":[{"what":"dye","number":"D-7"},{"what":"viscoelastic","number":"V-9"}],
		"steriliser_load":"L 12","load_number":31,"note":"A1B2C3"},"eye":{"device":"A1B2C3"}}`
	for lot, want := range map[string]string{"a1b2c3": "operation.lens.lot", "SN  00042": "operation.lens.serial", "D-7": "operation.lots.number", "L 12": "operation.steriliser_load",
		"31": "operation.load_number", "Tarn 2": "", "A1B2C": ""} {
		if got := strings.Join(find(lot, payload), " "); got != want {
			t.Errorf("%s: %q, want %q", lot, got, want)
		}
	}
	if !hasOperation(casebook.Revision{Payload: []byte(payload)}) || hasOperation(casebook.Revision{Payload: []byte(`{"operation":null}`)}) {
		t.Error("an operation is not told")
	}
	if !json.Valid([]byte(payload)) {
		t.Fatal("payload")
	}
}
