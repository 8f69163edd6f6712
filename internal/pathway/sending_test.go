package pathway

import (
	"errors"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// What arrives twice is stored once; what was made from an unanswered piece is
// stored on top of it, and never over somebody else's.
func TestSending(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	tina, nora := w.who["tina"], w.who["nora"]
	send := func(by casebook.Actor, s Sending, seen int, value string) (Journey, error) {
		return w.Measure(WithSending(w.ctx(), s), by, Measurement{Case: id, Seen: seen, Eyes: map[eye.Side]map[string]string{eye.Right: {"acd_mm": value}}})
	}
	j, err := send(tina, Sending{Once: "a"}, 1, "3.11")
	w.must(err)
	if j.Revision != 2 {
		t.Fatalf("revision %d", j.Revision)
	}
	for range 3 {
		j, err = send(tina, Sending{Once: "a"}, 1, "3.11")
		w.must(err)
	}
	if j.Revision != 2 {
		t.Errorf("a piece that arrived four times made revision %d", j.Revision)
	}
	var conflict *Conflict
	if _, err = send(tina, Sending{Once: "b"}, 1, "3.12"); !errors.As(err, &conflict) {
		t.Errorf("an old revision without its forerunner: %v", err)
	}
	j, err = send(tina, Sending{Once: "c", After: "b,a"}, 1, "3.13")
	w.must(err)
	if j.Revision != 3 || j.Eyes[eye.Right].Texts["acd_mm"] != "3.13" {
		t.Errorf("after its forerunner: revision %d %v", j.Revision, j.Eyes[eye.Right].Texts)
	}
	_, err = send(nora, Sending{Once: "n"}, 3, "3.20")
	w.must(err)
	if _, err = send(tina, Sending{Once: "d", After: "a,c"}, 1, "3.14"); !errors.As(err, &conflict) {
		t.Errorf("over somebody else's: %v", err)
	}
	if _, err = send(nora, Sending{Once: "e", After: "c"}, 1, "3.15"); !errors.As(err, &conflict) {
		t.Errorf("with another person's key: %v", err)
	}
	j, err = send(nora, Sending{Once: "c"}, 4, "3.16") // the same key by chance: not the same person's
	w.must(err)
	if j.Revision != 5 {
		t.Errorf("another person's key is taken for a duplicate: revision %d", j.Revision)
	}
	versions, err := w.history2(id)
	w.must(err)
	for n, want := range []string{"", "a", "c", "n", "c"} {
		if versions[n].State.Once != want {
			t.Errorf("revision %d holds key %q, want %q", n+1, versions[n].State.Once, want)
		}
	}
	w.must(second(w.Measure(w.ctx(), tina, Measurement{Case: id, Seen: 5, Eyes: map[eye.Side]map[string]string{eye.Right: {"acd_mm": "3.17"}}})))
	if versions, err = w.history2(id); err != nil || versions[5].State.Once != "" {
		t.Errorf("a revision without a key carries %q on", versions[5].State.Once)
	}
}

func (w *testWard) history2(id string) (list []casebook.Version[casebook.Case], err error) {
	err = w.Store.View(w.ctx(), func(tx casebook.Tx) error {
		list, err = casebook.History[casebook.Case](tx, id)
		return err
	})
	return list, err
}
