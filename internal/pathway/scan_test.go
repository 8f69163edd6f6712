package pathway

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/operation"
	"linn/unit"
)

func (w *testWard) box(j Journey, serial string) Box {
	power := plain(float64(j.After.Planned.Power))
	return Box{Case: j.Case, Seen: Newest, Hand: operation.InHand{Product: "05060917510011", Lot: "A1", Serial: serial, Expiry: unit.Date{Year: 2027, Month: 11, Day: 30},
		Model: j.After.Planned.Model, First: operation.Reader{Who: w.who["nora"].ID, Power: power, Cylinder: "0"}, Second: operation.Reader{Who: w.who["sam"].ID, Power: power, Cylinder: "0"}}}
}

// sheetCode is what the mark on the signed sheet says.
func (w *testWard) sheetCode(j Journey) string {
	return fmt.Sprintf("linn:%05d", j.Sheet)
}

// From the sheet in hand to the box that agrees, and every way to a stop.
func TestScan(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		j := w.signed(id)
		nora := w.who["nora"]
		_, err := w.InHand(w.ctx(), nora, w.sheetCode(j))
		w.refused(err, "hand-no-sheet") // the list is another day's
		w.now = time.Date(2026, 3, 5, 9, 0, 0, 0, nepal)
		for code, want := range map[string]string{"": "hand-no-code", "linn:99999": "hand-no-sheet", "linn:x": "hand-nobody", "H-0002": "hand-nobody"} {
			_, err := w.InHand(w.ctx(), nora, code)
			w.refused(err, want)
		}
		if _, err := w.InHand(w.ctx(), w.who["carl"], w.sheetCode(j)); err == nil {
			t.Error("a counsellor holds a lens")
		}
		for _, code := range []string{w.sheetCode(j), "h-0001"} {
			h, err := w.InHand(w.ctx(), nora, code)
			w.must(err)
			if h.Case != id || h.Row.Who.Name != "Mira Example" || h.PlanNumber != 1 || len(h.People) == 0 || !slices.Contains(h.Models, "Test Lens") {
				t.Errorf("%q: %+v", code, h)
			}
		}
		wrong := w.box(j, "S1")
		wrong.Hand.First.Power, wrong.Hand.Second.Power = "12.5", "12.5"
		a, err := w.Scan(w.ctx(), nora, wrong)
		w.must(err)
		if a.Agrees || a.Findings[0].Code != "hand-power" {
			t.Errorf("wrong box: %+v", a)
		}
		_, err = w.Scan(w.ctx(), nora, Box{Case: id, Seen: Newest})
		w.refused(err, strings.TrimSpace(strings.Repeat("hand-needs ", 7)))
		a, err = w.Scan(w.ctx(), nora, w.box(j, "S1"))
		w.must(err)
		if !a.Agrees || a.Power != j.After.Planned.Power || len(a.Findings) != 0 {
			t.Errorf("right box: %+v", a)
		}
		c := w.newest(id)
		if len(c.Stopped) != 1 || c.Stopped[0].Stops[0] != "hand-power" || c.InHand.Serial != "S1" || c.Operation.Values["lens_serial"] != "S1" || c.Operation.Values["lens_label"] != "scanned" ||
			c.Operation.Values["lens_place"] != "" {
			t.Errorf("kept: %+v %+v", c.Stopped, c.Operation)
		}
		w.sound()
	})
}

func (w *testWard) newest(id string) (c casebook.Case) {
	w.t.Helper()
	list, err := w.history(id)
	w.must(err)
	return list[len(list)-1]
}

// A sheet that was printed before the plan changed is told apart from one of
// another day, and a wristband never stands for two eyes.
func TestOldSheetAndTwoEyes(t *testing.T) {
	w := newWard(t, engines["memory"](t), nepal)
	patient := w.patient("Mira Example", "H-0001")
	right := w.open(patient, eye.Right)
	j := w.signed(right)
	w.now = time.Date(2026, 3, 5, 9, 0, 0, 0, nepal)
	old := w.sheetCode(j)
	_, err := w.Reopen(w.ctx(), w.who["sam"], right, Newest, "target changed by the patient")
	w.must(err)
	_, err = w.InHand(w.ctx(), w.who["nora"], old)
	w.refused(err, "hand-old-sheet")
	_, err = w.InHand(w.ctx(), w.who["nora"], "H-0001")
	w.refused(err, "hand-not-in-force")
	_, err = w.Scan(w.ctx(), w.who["nora"], w.box(j, "S1"))
	w.refused(err, "hand-not-in-force")
	w.readBack(right, "nora")
	j2, err := w.sign(right, "sam")
	w.must(err)
	_, err = w.InHand(w.ctx(), w.who["nora"], old)
	w.refused(err, "hand-old-sheet")
	h, err := w.InHand(w.ctx(), w.who["nora"], w.sheetCode(j2))
	w.must(err)
	if h.PlanNumber != 2 {
		t.Errorf("plan %d", h.PlanNumber)
	}
	left := w.open(patient, eye.Left)
	_, err = w.List(w.ctx(), w.who["carl"], Listing{Case: left, Seen: Newest, Date: "2026-03-05", Place: "Theatre 1", Order: 3})
	w.must(err)
	_, err = w.InHand(w.ctx(), w.who["nora"], "H-0001")
	w.refused(err, "hand-two-eyes")
}

// One box, one eye; and two people of one name are said to be two.
func TestSecondImplantOfOneSerial(t *testing.T) {
	w := newWard(t, engines["memory"](t), nepal)
	first, second := w.open(w.patient("Mira Example", "H-0001"), eye.Right), w.open(w.patient("mira  example", "H-0002"), eye.Right)
	one, two := w.signed(first), w.signed(second)
	w.now = time.Date(2026, 3, 5, 9, 0, 0, 0, nepal)
	h, err := w.InHand(w.ctx(), w.who["nora"], w.sheetCode(two))
	w.must(err)
	if !h.SameName {
		t.Error("nobody says that two of this name are on the list")
	}
	a, err := w.Scan(w.ctx(), w.who["nora"], w.box(one, "S1"))
	w.must(err)
	if !a.Agrees {
		t.Fatalf("%+v", a.Findings)
	}
	a, err = w.Scan(w.ctx(), w.who["nora"], w.box(two, "S1"))
	w.must(err)
	if a.Agrees || !slices.ContainsFunc(a.Findings, func(f finding.Finding) bool { return f.Code == "hand-implanted" }) {
		t.Errorf("taken twice: %+v", a.Findings)
	}
	a, err = w.Scan(w.ctx(), w.who["nora"], w.box(two, "S2"))
	w.must(err)
	if !a.Agrees {
		t.Errorf("another box: %+v", a.Findings)
	}
}

// A lens of the signed rescue ladder agrees once its place is chosen, and not
// before.
func TestRescueLensInHand(t *testing.T) {
	w := newWard(t, engines["memory"](t), nepal)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	j := w.signed(id)
	w.now = time.Date(2026, 3, 5, 9, 0, 0, 0, nepal)
	signed, err := signedPlan(w.newest(id).Signed)
	w.must(err)
	var tried []string
	for _, l := range signed.Lenses {
		for _, r := range l.Rescue {
			if l.Model != j.After.Planned.Model || !r.Power.Known || r.Model == "" {
				continue
			}
			b := w.box(j, "R-"+r.Place)
			b.Hand.Model, b.Hand.Place = r.Model, r.Place
			b.Hand.First.Power, b.Hand.Second.Power = plain(r.Power.Value), plain(r.Power.Value)
			a, err := w.Scan(w.ctx(), w.who["nora"], b)
			w.must(err)
			if !a.Agrees || w.newest(id).Operation.Values["lens_place"] != r.Place {
				t.Errorf("%s: %+v", r.Place, a.Findings)
			}
			tried = append(tried, r.Place)
		}
	}
	if !slices.Contains(tried, "sulcus") {
		t.Errorf("only %v was tried", tried)
	}
}
