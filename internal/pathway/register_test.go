package pathway

import (
	"context"
	"errors"
	"reflect"
	"testing"
	"time"

	"linn/eye"
	"linn/internal/care/casebook"
)

// wards is the Ward as the program remembers it, and as one that has just
// started sees it.
func (w *testWard) wards() (remembered, anew []WardRow) {
	w.t.Helper()
	_, remembered, err := w.Ward(w.ctx(), w.who["sam"], WardQuery{})
	w.must(err)
	fresh := &Pathway{Store: w.Store, Clock: w.Clock, Random: w.Random, Program: w.Program, Off: w.Off}
	_, anew, err = fresh.Ward(w.ctx(), w.who["sam"], WardQuery{})
	w.must(err)
	return remembered, anew
}

// A row that was remembered is the row that would be made anew, whatever
// happened to its eye, its fellow, its person, the shelf, the protocol, the
// day.
func TestRememberedRowsAreTrue(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient, twin := w.patient("Mira Example", "H-0001"), w.patient("Mira Exampel", "H-0009")
		id := w.open(patient, eye.Right)
		fellow := w.open(patient, eye.Left)
		third := w.open(w.patient("Tomas Example", "H-0002"), eye.Right)
		steps := []struct {
			name string
			do   func()
		}{
			{"nothing", func() {}},
			{"readings", func() { w.measure(id, ordinary, nil) }},
			{"readings of another", func() { w.measure(third, ordinary, nil) }},
			{"the fellow's readings", func() {
				w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: fellow, Seen: Newest, Imported: true, Eyes: map[eye.Side]map[string]string{eye.Left: changed(other, "axial_length_mm", "26.40")}})))
			}},
			{"signed", func() { w.signed(id) }},
			{"the constant", func() {
				w.must(w.EditLens(w.ctx(), w.who["senior"], w.lens, Newest, lensForm("Test Lens", "119.1"), "fitted elsewhere"))
			}},
			{"the protocol", func() {
				w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{ReadingAgeDays: "5", Seen: Newest}))
			}},
			{"a day", func() { w.now = w.now.AddDate(0, 0, 9) }},
			{"merged", func() {
				w.must(w.MergePatients(w.ctx(), w.who["nora"], w.who["sam"], twin, patient, "one person"))
			}},
			{"calculation off", func() { w.Off = true }},
			{"closed", func() { w.must(w.Close(w.ctx(), w.who["sam"], fellow, Newest, ClosedOperated, "")) }},
		}
		for _, s := range steps {
			s.do()
			remembered, anew := w.wards()
			if !reflect.DeepEqual(remembered, anew) {
				t.Errorf("after %s:\n%+v\nanew\n%+v", s.name, remembered, anew)
			}
		}
	})
}

// An identifier is found from the moment it is kept, not when it was not kept,
// and not after it was corrected away or erased.
func TestIdentifiersFollowTheRecord(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		found := func(identifier, want string) {
			t.Helper()
			got := ""
			w.must(w.Store.Do(w.ctx(), func(tx casebook.Tx) error {
				id, _, err := (&turn{Pathway: w.Pathway, tx: tx}).patientWith(identifier)
				got = id
				return err
			}))
			if got != want {
				t.Errorf("%s: %q, want %q", identifier, got, want)
			}
		}
		found("H-0001", "")
		a := w.patient("Mira Example", "H-0001")
		found("h-0001", a)
		refused := errors.New("not kept")
		err := w.Store.Do(w.ctx(), func(tx casebook.Tx) error {
			if _, _, err := (&turn{Pathway: w.Pathway, tx: tx}).patientWith("H-0002"); err != nil {
				return err
			}
			key, who := casebook.Key{9}, casebook.Identity{Name: "Nobody", Identifier: "H-0002"}
			sealed, err := casebook.Seal(who, "nobody", key, chance())
			if err != nil {
				return err
			}
			if _, err := casebook.NewPatient(tx, w.MachineStamp(), "nobody", key, sealed); err != nil {
				return err
			}
			return refused
		})
		if !errors.Is(err, refused) {
			t.Fatal(err)
		}
		found("H-0002", "")
		b := w.patient("Tomas Example", "H-0002")
		found("H-0002", b)
		w.must(w.Erase(w.ctx(), w.who["sam"], w.who["admin"], b, "asked for"))
		found("H-0002", "")
		// Another program writes to the same record.
		beside := &Pathway{Store: w.Store, Clock: w.Clock, Random: w.Random, Program: w.Program}
		c, err := beside.AddPatient(w.ctx(), w.who["nora"], NewPatient{Name: "Ana Example", Identifier: "H-0003", Sex: "female", Born: "1950", Allergies: []string{}})
		w.must(err)
		found("H-0003", c)
	})
}

// A record that turns out to be another one, as after a restore, is read anew.
func TestRegisterNoticesAnotherRecord(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	w.patient("Mira Example", "H-0001")
	w.wards()
	v := newWard(t, casebook.NewMemory(), nepal)
	v.now = v.now.Add(time.Hour)
	b := v.patient("Tomas Example", "H-0001")
	v.patient("Ana Example", "H-0002")
	w.Store = v.Store
	w.must(w.Store.Do(context.Background(), func(tx casebook.Tx) error {
		id, known, err := (&turn{Pathway: w.Pathway, tx: tx}).patientWith("H-0001")
		if id != b || !known {
			t.Errorf("%q %v", id, known)
		}
		return err
	}))
}
