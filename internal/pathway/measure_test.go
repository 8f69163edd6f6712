package pathway

import (
	"errors"
	"sync"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

func newCase(t *testing.T) (*testWard, string) {
	w := newWard(t, casebook.NewMemory(), nepal)
	return w, w.open(w.patient("Mira Example", "H-0001"), eye.Right)
}

func (w *testWard) enter(id, key, text string) Journey {
	w.t.Helper()
	j, err := w.Measure(w.ctx(), w.who["tina"], entry2(id, map[string]string{key: text}, nil, false))
	w.must(err)
	return j
}

func TestRefusedTextIsKeptShownAndNotUsed(t *testing.T) {
	for _, c := range []struct{ key, text, code string }{
		{"axial_length_mm", "235", "lost-decimal-mark"},
		{"axial_length_mm", "23,4,1", "two-decimal-marks"},
		{"axial_length_mm", "abc", "not-a-number"},
		{"k_flat_d", "7.8", "looks-like-radius"},
		{"k_flat_d", "4350", "lost-decimal-mark"},
		{"lens_status", "cloudy", "unknown-word"},
		{"measured_on", "20.2.2026", "not-a-date"},
	} {
		t.Run(c.key+" "+c.text, func(t *testing.T) {
			w, id := newCase(t)
			w.ready(id)
			j := w.enter(id, c.key, c.text)
			right := j.Eyes[eye.Right]
			if right.Texts[c.key] != c.text || right.Refused[c.key].Code != c.code {
				t.Errorf("shown %q, refused %q", right.Texts[c.key], right.Refused[c.key].Code)
			}
			if got := eye.FieldNamed(c.key).Get(&right.Eye); got != "" {
				t.Errorf("the reading in use is %q", got)
			}
			if _, err := w.sign(id, "sam"); err == nil {
				t.Error("signed with a text nobody could read")
			}
			again := w.check(id) // it is in the record, not only in the answer
			if again.Eyes[eye.Right].Texts[c.key] != c.text {
				t.Error("the text is lost")
			}
			j = w.enter(id, c.key, ordinary[c.key])
			if right := j.Eyes[eye.Right]; right.Texts[c.key] != ordinary[c.key] || len(right.Refused) != 0 {
				t.Error("not mended by typing a good one")
			}
		})
	}
}

func TestMeasureStoresOneRevisionAGroup(t *testing.T) {
	w, id := newCase(t)
	j := w.measure(id, ordinary, other)
	if j.Revision != 2 {
		t.Errorf("revision %d, want 2", j.Revision)
	}
	if again := w.measure(id, ordinary, other); again.Revision != 2 {
		t.Error("the same texts made a new revision")
	}
	if j.Eyes[eye.Left].Texts["axial_length_mm"] != "23.47" || j.Eyes[eye.Right].Texts["axial_length_mm"] != "23.41" {
		t.Errorf("%+v", j.Eyes)
	}
	if j := w.enter(id, "acd_mm", ""); j.Eyes[eye.Right].Eye.ACD.Known {
		t.Error("an emptied field is still used")
	}
}

func TestTypedTextStaysAsTyped(t *testing.T) {
	w, id := newCase(t)
	for _, text := range []string{"23,41", "23.410", "+23.41", "023.41"} {
		w.enter(id, "axial_length_mm", text)
		if got := w.check(id).Eyes[eye.Right].Texts["axial_length_mm"]; got != text {
			t.Errorf("typed %q, stands %q", text, got)
		}
	}
}

func TestUnknownFieldsAreRefusedBeforeAnythingIsStored(t *testing.T) {
	w, id := newCase(t)
	for _, key := range []string{"axial_lenght_mm", "side", "age_years", "target_d", "hospital"} {
		_, err := w.Measure(w.ctx(), w.who["tina"], entry2(id, map[string]string{key: "1", "acd_mm": "3.1"}, nil, false))
		w.refused(err, "unknown-key")
	}
	if j := w.check(id); j.Revision != 1 {
		t.Error("something was stored")
	}
}

func TestSecondEntry(t *testing.T) {
	for _, c := range []struct {
		name, first, second string
		twice               bool
		why                 string
	}{
		{"the same text", "23.41", "23.41", true, ""},
		{"the same number", "23.41", "23,410", true, ""},
		{"digits swapped", "23.41", "23.14", false, AgainDisagrees},
		{"unreadable", "23.41", "2341", false, AgainDisagrees},
	} {
		t.Run(c.name, func(t *testing.T) {
			w, id := newCase(t)
			j := w.enter(id, "axial_length_mm", c.first)
			if len(j.Queue) != 1 || j.Queue[0].Why != AgainSecond {
				t.Fatalf("queue %+v", j.Queue)
			}
			j, err := w.SecondEntry(w.ctx(), w.who["tom"], entry2(id, map[string]string{"axial_length_mm": c.second}, nil, false))
			w.must(err)
			if c.twice != (len(j.Queue) == 0) || !c.twice && (j.Queue[0].Why != c.why || j.Queue[0].Text != c.second) {
				t.Errorf("queue %+v", j.Queue)
			}
			if got := j.Eyes[eye.Right].Texts["axial_length_mm"]; got != c.first {
				t.Errorf("the first entry became %q", got)
			}
			j = w.enter(id, "axial_length_mm", "23.99") // a changed first entry needs a new second
			if len(j.Queue) != 1 || j.Queue[0].Why != AgainSecond {
				t.Errorf("queue after a change %+v", j.Queue)
			}
		})
	}
}

func TestSecondEntryNeedsAFirst(t *testing.T) {
	w, id := newCase(t)
	_, err := w.SecondEntry(w.ctx(), w.who["tom"], entry2(id, map[string]string{"axial_length_mm": "23.41"}, nil, false))
	w.refused(err, "first-entry-missing")
}

func TestImportedCountsAsTwiceUntilTyped(t *testing.T) {
	w, id := newCase(t)
	if j := w.measure(id, ordinary, other); len(j.Queue) != 0 {
		t.Errorf("queue %+v", j.Queue)
	}
	if j := w.enter(id, "k_flat_d", "43.37"); len(j.Queue) != 1 || j.Queue[0].Field != "k_flat_d" {
		t.Errorf("queue %+v", j.Queue)
	}
}

func gated(t *testing.T) (*testWard, string) {
	w, id := newCase(t)
	w.measure(id, changed(ordinary, "axial_length_mm", "20.90"), changed(other, "axial_length_mm", "20.95"))
	return w, id
}

func (w *testWard) gate(j Journey) Judged {
	w.t.Helper()
	for _, f := range j.Findings {
		if f.Code == "length-very-short" {
			return f
		}
	}
	w.t.Fatalf("no gate in %+v", j.Findings)
	return Judged{}
}

func TestMeasuredAgain(t *testing.T) {
	for _, c := range []struct {
		name, again string
		met         bool // the gate
		stands      string
		queued      int
	}{
		{"the same", "20.90", true, "20.90", 0},
		{"agrees within 0.2 mm", "21.05", true, "21.05", 1}, // typed once so far
		{"disagrees", "20.50", false, "20.50", 2},
		{"an ordinary length", "23.41", true, "23.41", 1},
		{"a slip of the finger", "2090", false, "20.90", 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			w, id := gated(t)
			j := w.check(id)
			if f := w.gate(j); !f.open() || f.Limit == "" || len(j.Queue) != 1 || j.Queue[0].Why != f.Code {
				t.Fatalf("gate %+v queue %+v", f, j.Queue)
			}
			j, err := w.Repeat(w.ctx(), w.who["tina"], entry2(id, map[string]string{"axial_length_mm": c.again}, nil, false))
			w.must(err)
			met := true
			for _, n := range j.Needs {
				if n.Code == NeedGates {
					met = n.Met
				}
			}
			if c.name == "an ordinary length" { // then it is the fellow eye that is far off
				met = !hasCode(j, "length-very-short")
			}
			if met != c.met || j.Eyes[eye.Right].Texts["axial_length_mm"] != c.stands {
				t.Errorf("gate met %v, stands %q, findings %+v", met, j.Eyes[eye.Right].Texts["axial_length_mm"], j.Findings)
			}
		})
	}
}

func hasCode(j Journey, code string) bool {
	for _, f := range j.Findings {
		if f.Code == code {
			return true
		}
	}
	return false
}

// Two repeats of one length do not confirm the other reading of K.
func TestRepeatConfirmsOnlyItsOwnReading(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, changed(ordinary, "k_flat_d", "48.00", "k_steep_d", "48.50"), changed(other, "k_flat_d", "48.00", "k_steep_d", "48.25"))
	again := func(key, text string) Journey {
		j, err := w.MeasureAgain(w.ctx(), w.who["tina"], entry2(id, map[string]string{key: text}, nil, false), "asked for")
		w.must(err)
		return j
	}
	if j := again("axial_length_mm", "23.41"); unmetHas(j, NeedGates) != true {
		t.Error("a repeated length confirmed K")
	}
	if j := again("k_flat_d", "48.00"); unmetHas(j, NeedGates) != true {
		t.Error("one power confirmed both")
	}
	if j := again("k_steep_d", "48.25"); unmetHas(j, NeedGates) {
		t.Errorf("both powers repeated, still gated: %+v", j.Findings)
	}
}

func unmetHas(j Journey, code string) bool {
	for _, n := range j.Needs {
		if n.Code == code {
			return !n.Met
		}
	}
	return false
}

func TestPass(t *testing.T) {
	w, id := gated(t)
	g := GatePass{Case: id, Seen: Newest, Code: "length-very-short", Field: "axial_length_mm", Reason: "repeated elsewhere, agrees"}
	with := func(change func(*GatePass)) GatePass { c := g; change(&c); return c }
	for _, c := range []struct {
		name, who string
		pass      GatePass
		code      string
	}{
		{"a surgeon who is no supervisor", "sam", g, "needs-supervisor"},
		{"a technician", "tina", g, "forbidden"},
		{"without a reason", "senior", with(func(g *GatePass) { g.Reason = "  " }), "reason-needed"},
		{"a reason that names the patient", "senior", with(func(g *GatePass) { g.Reason = "MIRA example has short eyes" }), "reason-names-patient"},
		{"the identifier", "senior", with(func(g *GatePass) { g.Reason = "see h-0001" }), "reason-names-patient"},
		{"another field", "senior", with(func(g *GatePass) { g.Field = "k_flat_d" }), "no-such-gate"},
		{"another rule", "senior", with(func(g *GatePass) { g.Code = "cornea-very-flat" }), "no-such-gate"},
		{"a caution without a gate", "senior", with(func(g *GatePass) { g.Code, g.Field = "target-assumed", "target_d" }), "no-such-gate"},
	} {
		_, err := w.Pass(w.ctx(), w.who[c.who], c.pass)
		if got := codes(err); got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
	}
	if j, err := w.Check(w.ctx(), w.who["senior"], id); err != nil || !w.gate(j).MayPass {
		t.Error("the supervisor may not pass")
	}
	j, err := w.Pass(w.ctx(), w.who["senior"], g)
	w.must(err)
	if f := w.gate(j); f.Passed == nil || f.Passed.Name != "senior" || f.Passed.Reason != g.Reason || f.MayPass || unmetHas(j, NeedGates) {
		t.Errorf("passed: %+v", f)
	}
	if _, err := w.Pass(w.ctx(), w.who["senior"], g); codes(err) != "no-such-gate" {
		t.Errorf("passed twice: %v", err)
	}
	j = w.enter(id, "axial_length_mm", "20.80") // other numbers, another finding
	if f := w.gate(j); f.Passed != nil || !unmetHas(j, NeedGates) {
		t.Error("the pass outlived the numbers it was given for")
	}
	list, err := w.Tally(w.ctx(), w.who["audra"])
	w.must(err)
	if len(list) != 1 || list[0] != (Count{"length-very-short", 1}) {
		t.Errorf("tally %+v", list)
	}
}

func TestStopIsNeverPassed(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, changed(ordinary, "corneal_surgery", "radial"), other)
	_, err := w.Pass(w.ctx(), w.who["senior"], GatePass{Case: id, Seen: Newest, Code: "unusual-eye", Field: "corneal_surgery", Reason: "never mind"})
	w.refused(err, "stop-never-passed")
	if j := w.check(id); !unmetHas(j, NeedNoStop) {
		t.Error("no stop")
	}
}

// Two people save from the same revision: the second gets both versions back.
func TestConflictShowsBothVersions(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		m := func(text string, seen int) Measurement {
			m := entry2(id, map[string]string{"axial_length_mm": text}, nil, false)
			m.Seen = seen
			return m
		}
		_, err := w.Measure(w.ctx(), w.who["tina"], m("23.41", 1))
		w.must(err)
		_, err = w.Measure(w.ctx(), w.who["tom"], m("23.14", 1))
		var c *Conflict
		if !errors.As(err, &c) {
			t.Fatalf("no conflict: %v", err)
		}
		if c.By != "tina" || c.Number != 2 || c.Mine.Eye.AxialLength.Text != "23.14" || c.Theirs.Eye.AxialLength.Text != "23.41" {
			t.Errorf("%+v", c)
		}
		found := false
		for _, ch := range c.Changes {
			found = found || ch.Field == "eye.axial_length_mm" && ch.Old == "23.41" && ch.New == "23.14"
		}
		if !found {
			t.Errorf("changes %+v", c.Changes)
		}
		if got := w.check(id).Eyes[eye.Right].Texts["axial_length_mm"]; got != "23.41" {
			t.Errorf("stands %q", got)
		}
		if _, err := w.Measure(w.ctx(), w.who["tom"], m("", 7)); codes(err) != "no-such-revision" {
			t.Errorf("a revision that never was: %v", err)
		}
		// A form that changed nothing is no conflict.
		if j, err := w.Measure(w.ctx(), w.who["tom"], m("", 1)); err != nil || j.Eyes[eye.Right].Texts["axial_length_mm"] != "23.41" {
			t.Errorf("an unchanged form: %v", err)
		}
	})
}

// Of many people who save from one revision at one moment, one is taken and
// every other is told.
func TestManyAtOnce(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		const people = 8
		var wg sync.WaitGroup
		errs := make([]error, people)
		for i := range people {
			wg.Go(func() {
				m := entry2(id, map[string]string{"axial_length_mm": "23.4" + string(rune('0'+i))}, nil, false)
				m.Seen = 1
				_, errs[i] = w.Measure(w.ctx(), w.who["tina"], m)
			})
		}
		wg.Wait()
		taken := 0
		for _, err := range errs {
			switch codes(err) {
			case "":
				taken++
			case "conflict":
			default:
				t.Error(err)
			}
		}
		if j := w.check(id); taken != 1 || j.Revision != 2 {
			t.Errorf("%d taken, revision %d", taken, j.Revision)
		}
		w.sound()
	})
}

// The readings of one eye stand in one place, whichever case they are typed on.
func TestFellowEyeHasOnePlace(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	patient := w.patient("Mira Example", "H-0001")
	right := w.open(patient, eye.Right)
	w.measure(right, ordinary, other)
	w.must(second(w.Measure(w.ctx(), w.who["tina"], entry2(right, nil, map[string]string{"acd_mm": "31.2"}, false))))
	left := w.open(patient, eye.Left) // takes over what was typed beside, unreadable text too
	j := w.check(left)
	if l := j.Eyes[eye.Left]; l.Texts["axial_length_mm"] != "23.47" || l.Texts["acd_mm"] != "31.2" || l.Refused["acd_mm"].Code == "" {
		t.Errorf("left case %+v", l)
	}
	if r := j.Eyes[eye.Right]; r.Texts["axial_length_mm"] != "23.41" || j.FellowCase != right {
		t.Errorf("its fellow %+v", r)
	}
	j, err := w.Measure(w.ctx(), w.who["tina"], entry2(right, nil, map[string]string{"axial_length_mm": "23.50"}, false))
	w.must(err)
	if j.Eyes[eye.Left].Texts["axial_length_mm"] != "23.50" || w.check(left).Eyes[eye.Left].Texts["axial_length_mm"] != "23.50" {
		t.Error("the eye has two lengths")
	}
	blind := entry2(right, nil, map[string]string{"axial_length_mm": "23.60"}, false)
	blind.FellowSeen = 0
	_, err = w.Measure(w.ctx(), w.who["tina"], blind)
	w.refused(err, "fellow-unseen")
	blind.FellowSeen = 1
	_, err = w.Measure(w.ctx(), w.who["tina"], blind)
	w.refused(err, "conflict")
	_, err = w.OpenCase(w.ctx(), w.who["nora"], patient, eye.Left)
	w.refused(err, "case-exists")
}

func second[T any](_ T, err error) error { return err }

// The swap of the sides between two visits is found from the case's own past.
func TestEarlierVisitIsCompared(t *testing.T) {
	w, id := newCase(t)
	early := changed(ordinary, "axial_length_mm", "23.50", "measured_on", "2026-01-10")
	earlyOther := changed(other, "axial_length_mm", "24.15", "measured_on", "2026-01-10")
	w.measure(id, early, earlyOther)
	j := w.measure(id, changed(ordinary, "axial_length_mm", "24.18"), changed(other, "axial_length_mm", "23.52"))
	if !hasCode(j, "sides-maybe-swapped") {
		t.Errorf("not suspected: %+v", j.Findings)
	}
}

func TestDetailsReachThePlan(t *testing.T) {
	w, id := newCase(t)
	m := entry2(id, ordinary, other, true)
	m.Details = map[string]casebook.Detail{"axial_length_mm": {SD: "0.19", N: 5},
		wearDetail: {Method: "rigid", MeasuredOn: mustDate("2026-02-15")}}
	j, err := w.Measure(w.ctx(), w.who["tina"], m)
	w.must(err)
	if !hasCode(j, "length-spread") || !hasCode(j, "contact-lens-recent") {
		t.Errorf("findings %+v", j.Findings)
	}
	if d := j.Eyes[eye.Right].Details["axial_length_mm"]; d.SD != "0.19" || d.N != 5 {
		t.Errorf("detail %+v", d)
	}
}
