package pathway

import (
	"strings"
	"testing"
	"time"

	"linn/eye"
	"linn/internal/care/casebook"
)

// Each missing precondition refuses by its own name, and alone.
func TestSigningNeeds(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(w *testWard, id string)
		code  string
	}{
		{"a stop", func(w *testWard, id string) {
			w.enter(id, "corneal_surgery", "radial")
			w.readBack(id, "nora")
		}, "need-no-stop need-lens need-lens-reason"},
		{"an open gate", func(w *testWard, id string) {
			m := entry2(id, map[string]string{"axial_length_mm": "20.90"}, map[string]string{"axial_length_mm": "20.95"}, true)
			w.must(second(w.Measure(w.ctx(), w.who["tina"], m)))
			w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})))
			w.readBack(id, "nora")
		}, "need-gates"},
		{"typed once", func(w *testWard, id string) {
			w.enter(id, "axial_length_mm", "23.42")
			w.readBack(id, "nora")
		}, "need-two-readings"},
		{"typed twice differently", func(w *testWard, id string) {
			w.enter(id, "axial_length_mm", "23.42")
			w.must(second(w.SecondEntry(w.ctx(), w.who["tom"], entry2(id, map[string]string{"axial_length_mm": "23.43"}, nil, false))))
			w.readBack(id, "nora")
		}, "need-two-readings"},
		{"no length", func(w *testWard, id string) {
			w.must(second(w.Measure(w.ctx(), w.who["tina"], entry2(id, map[string]string{"axial_length_mm": ""}, nil, false))))
		}, "need-measured need-two-readings need-lens need-second-person"},
		{"an unread text", func(w *testWard, id string) {
			w.enter(id, "acd_mm", "thirty")
			w.readBack(id, "nora")
		}, "need-readable"},
		{"no target", func(w *testWard, id string) {
			w.must(w.clearTarget(id))
			w.readBack(id, "nora")
		}, "need-target"},
		{"another lens than recommended, no reason", func(w *testWard, id string) {
			w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: "22.5"})))
			w.readBack(id, "nora")
		}, "need-lens-reason"},
		{"on no list", func(w *testWard, id string) {
			w.must(second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest})))
		}, "need-list"},
		{"no second person", func(w *testWard, id string) { w.enter(id, "pupil_mm", "3.1") }, "need-second-person"},
		{"a second person who signs", func(w *testWard, id string) {
			w.enter(id, "pupil_mm", "3.1")
			w.must(second(w.Choose(w.ctx(), w.who["senior"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: "22.5", Reason: "wish for reading"})))
			w.readBack(id, "sam")
		}, "second-person-signs"},
	} {
		t.Run(c.name, func(t *testing.T) {
			w, id := newCase(t)
			w.ready(id)
			c.spoil(w, id)
			_, err := w.sign(id, "sam")
			w.refused(err, c.code)
			if w.check(id).State == casebook.StateSigned {
				t.Error("signed all the same")
			}
		})
	}
}

// clearTarget empties the target through the record, as a case that never had
// one: the form of the choice leaves an empty field alone.
func (w *testWard) clearTarget(id string) error {
	return w.do(w.ctx(), w.who["sam"], VerbChoose, func(t *turn) error {
		return t.change(id, Newest, casebook.VerbChoose, "", func(c *caseAt) error {
			clearField(&c.Eye, "target_d")
			return nil
		})
	})
}

func TestReasonForAnotherLens(t *testing.T) {
	w, id := newCase(t)
	w.ready(id)
	choose := func(c Choice) {
		c.Case, c.Seen = id, Newest
		w.must(second(w.Choose(w.ctx(), w.who["sam"], c)))
	}
	choose(Choice{Lens: w.lens, Power: "22.5", Reason: "patient wants to read without glasses"})
	w.readBack(id, "nora")
	if got := unmet(w.check(id)); got != "" {
		t.Fatalf("needs %q", got)
	}
	w.enter(id, "acd_mm", "3.20") // the numbers the reason was given for are others now
	if j := w.check(id); !unmetHas(j, NeedLensReason) || j.ReadBack != nil {
		t.Error("the reason outlived the readings")
	}
	choose(Choice{Reason: "as agreed before"})
	if unmetHas(w.check(id), NeedLensReason) {
		t.Error("a reason given alone is not taken")
	}
}

func TestChoosing(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, ordinary, other)
	choose := func(c Choice) (Journey, error) {
		c.Case, c.Seen = id, Newest
		return w.Choose(w.ctx(), w.who["sam"], c)
	}
	_, err := choose(Choice{Lens: w.lens})
	w.refused(err, "needed")
	_, err = choose(Choice{Power: "21"})
	w.refused(err, "needed")
	_, err = choose(Choice{Lens: "no such lens", Power: "21"})
	w.refused(err, ErrAbsent.Error())
	for _, text := range []string{"21.3", "31", "5.5", "twenty", "NaN", "1e1", ""} {
		if text == "" {
			continue
		}
		j, err := choose(Choice{Lens: w.lens, Power: text})
		w.must(err)
		if j.Chosen != nil || !unmetHas(j, NeedReadable) || !unmetHas(j, NeedLens) {
			t.Errorf("power %q: chosen %+v", text, j.Chosen)
		}
		if j.Eyes[eye.Right].Texts["power_d"] != text {
			t.Errorf("power %q is not shown", text)
		}
	}
	j, err := choose(Choice{Lens: w.lens, Power: "21,5", Target: "+0.5x"})
	w.must(err)
	if j.Chosen == nil || j.Chosen.Power != 21.5 || j.Eyes[eye.Right].Refused["target_d"].Code == "" || !unmetHas(j, NeedTarget) {
		t.Errorf("%+v", j.Chosen)
	}
	w.must(w.WithdrawLens(w.ctx(), w.who["senior"], w.lens, Newest, "batch recalled"))
	_, err = choose(Choice{Lens: w.lens, Power: "21"})
	w.refused(err, "lens-withdrawn")
	if j := w.check(id); !unmetHas(j, NeedNoStop) {
		t.Error("a withdrawn lens does not stop")
	}
}

// Whatever the second person read has to be read again when it changes; what
// they did not read may change.
func TestReadBackEndsWithWhatWasRead(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(w *testWard, id, patient string) error
		stands bool
	}{
		{"length", func(w *testWard, id, _ string) error { w.enter(id, "axial_length_mm", "23.42"); return nil }, false},
		{"a text that cannot be read", func(w *testWard, id, _ string) error { w.enter(id, "k_flat_d", "x"); return nil }, false},
		{"measured again", func(w *testWard, id, _ string) error {
			return second(w.MeasureAgain(w.ctx(), w.who["tina"], entry2(id, map[string]string{"axial_length_mm": "23.45"}, nil, false), ""))
		}, false},
		{"measured again, the same", func(w *testWard, id, _ string) error {
			return second(w.MeasureAgain(w.ctx(), w.who["tina"], entry2(id, map[string]string{"axial_length_mm": "23.41"}, nil, false), ""))
		}, true},
		{"power", func(w *testWard, id, _ string) error {
			return second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: "20"}))
		}, false},
		{"name", func(w *testWard, _, patient string) error {
			return w.CorrectPatient(w.ctx(), w.who["nora"], patient, Newest, NewPatient{Name: "Myra Example", Identifier: "H-0001", Born: "1959-02-09"}, "misspelt")
		}, false},
		{"place on the list", func(w *testWard, id, _ string) error {
			return second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-05", Order: 5}))
		}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newWard(t, casebook.NewMemory(), nepal)
			patient := w.patient("Mira Example", "H-0001")
			id := w.open(patient, eye.Right)
			w.ready(id)
			w.must(c.change(w, id, patient))
			if got := w.check(id).ReadBack != nil; got != c.stands {
				t.Errorf("read back stands: %v", got)
			}
		})
	}
}

func TestReadingBack(t *testing.T) {
	w, id := newCase(t)
	read := func(who string, items ...string) error {
		_, err := w.ReadBack(w.ctx(), w.who[who], Reading{Case: id, Seen: Newest, Read: items})
		return err
	}
	w.refused(read("nora", ReadItems...), "not-recorded not-recorded not-recorded not-recorded")
	w.ready(id)
	w.refused(read("nora", "name", "side", "lens"), "not-read not-read")
	w.refused(read("carl", ReadItems...), "forbidden")
	w.refused(read("sam", ReadItems...), "second-person-chose")
	w.refused(read("tina", ReadItems...), "")
}

// Whoever set the lens that stands now has chosen it: a change of the target
// by somebody else does not free its author to read it back.
func TestNobodyReadsBackTheLensTheyChose(t *testing.T) {
	w, id := newCase(t)
	w.ready(id)
	read := func(who string) error {
		_, err := w.ReadBack(w.ctx(), w.who[who], Reading{Case: id, Seen: Newest, Read: ReadItems})
		return err
	}
	w.must(second(w.Choose(w.ctx(), w.who["senior"], Choice{Case: id, Seen: Newest, Target: "-0.50"})))
	w.refused(read("sam"), "second-person-chose") // the lens is still theirs
	w.must(second(w.Choose(w.ctx(), w.who["senior"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: "22.5", Reason: "wish for reading"})))
	w.refused(read("senior"), "second-person-chose")
	w.refused(read("sam"), "")
}

func TestTraineeNeedsASupervisor(t *testing.T) {
	w, id := newCase(t)
	w.ready(id)
	for _, c := range []struct{ name, supervisor, code string }{
		{"nobody", "", "need-supervisor"}, {"themselves", "trudy", "need-supervisor"}, {"a surgeon who is none", "sam", "need-supervisor"},
		{"a nurse", "nora", "forbidden"}, {"a supervisor", "senior", ""},
	} {
		j, err := w.Sign(w.ctx(), w.who["trudy"], Signing{Case: id, Seen: Newest, Supervisor: w.who[c.supervisor]})
		if got := codes(err); got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
		if err == nil && (j.Signed.Name != "trudy" || j.Supervisor != "senior") {
			t.Errorf("signed by %+v, %s", j.Signed, j.Supervisor)
		}
	}
	_, err := w.sign(id, "tina")
	w.refused(err, "forbidden")
	s, err := w.Sheet(w.ctx(), w.who["nora"], id)
	w.must(err)
	if s.Senior == nil || s.Senior.Name != "senior" {
		t.Error("the supervisor is not on the sheet")
	}
}

func TestLoneWorker(t *testing.T) {
	w, id := newCase(t)
	w.ready(id)
	w.now = w.now.Add(time.Hour)
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})))
	w.now = w.now.Add(5 * time.Minute) // what follows is no change to the plan
	alone := func(who, why string) (Journey, error) {
		return w.Sign(w.ctx(), w.who[who], Signing{Case: id, Seen: Newest, Alone: why, Supervisor: w.who["senior"]})
	}
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "-0.5"})))
	from := w.check(id).LoneFrom
	if from.Sub(w.now) != DefaultLoneDelay {
		t.Errorf("from %v, now %v", from, w.now)
	}
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})))
	_, err := alone("sam", "")
	w.refused(err, "need-second-person")
	_, err = alone("sam", "night duty, nobody else on the island")
	w.refused(err, "lone-wait")
	w.now = w.now.Add(DefaultLoneDelay - time.Second)
	_, err = alone("sam", "night duty")
	w.refused(err, "lone-wait")
	w.now = w.now.Add(time.Second)
	_, err = alone("trudy", "night duty")
	w.refused(err, "lone-surgeon-only")
	_, err = alone("sam", "with Mira Example alone")
	w.refused(err, "reason-names-patient")
	j, err := alone("sam", "night duty")
	w.must(err)
	if j.Lone != "night duty" || j.ReadBack != nil {
		t.Errorf("%+v", j)
	}
	s, err := w.Sheet(w.ctx(), w.who["nora"], id)
	w.must(err)
	if s.Lone != "night duty" || s.Second != nil {
		t.Error("the reason is not on the sheet")
	}
	j, err = w.Reopen(w.ctx(), w.who["sam"], id, Newest, "another look")
	w.must(err)
	if j.Lone != "" {
		t.Error("the reason for signing alone outlived the signature")
	}
	list, err := w.Tally(w.ctx(), w.who["audra"])
	w.must(err)
	if len(list) != 1 || list[0] != (Count{LoneSignature, 1}) {
		t.Errorf("tally %+v", list)
	}
}

func TestLoneDelayIsTheProtocols(t *testing.T) {
	w, id := newCase(t)
	w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{LoneDelayMinutes: "40"}))
	w.measure(id, ordinary, other)
	if d := w.check(id).LoneFrom.Sub(w.now); d != 40*time.Minute {
		t.Errorf("delay %v", d)
	}
}

func TestSignedCaseIsNotChangedInPassing(t *testing.T) {
	w, id := newCase(t)
	w.signed(id)
	_, err := w.Measure(w.ctx(), w.who["tina"], entry2(id, map[string]string{"axial_length_mm": "24"}, nil, false))
	w.refused(err, "case-signed")
	if _, err := w.Measure(w.ctx(), w.who["tina"], entry2(id, ordinary, other, false)); err != nil {
		t.Errorf("an unchanged form: %v", err)
	}
	_, err = w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: "20"})
	w.refused(err, "case-signed")
	_, err = w.SecondEntry(w.ctx(), w.who["tom"], entry2(id, map[string]string{"axial_length_mm": "24"}, nil, false))
	w.refused(err, "case-signed")
	_, err = w.sign(id, "sam")
	w.refused(err, "case-signed")
	if w.check(id).State != casebook.StateSigned {
		t.Error("no longer signed")
	}
}

func TestSignSeesOnlyTheNewestRevision(t *testing.T) {
	w, id := newCase(t)
	w.ready(id)
	seen := w.check(id).Revision
	w.must(second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-06"})))
	_, err := w.Sign(w.ctx(), w.who["sam"], Signing{Case: id, Seen: seen})
	w.refused(err, "conflict")
}

// A corrected signed plan is signed again as plan 2 with a new sheet number;
// the old number never comes back.
func TestCorrectReopens(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		w.signed(id)
		m := entry2(id, map[string]string{"axial_length_mm": "23.44"}, nil, true)
		_, err := w.Correct(w.ctx(), w.who["tina"], m, "")
		w.refused(err, "reason-needed")
		_, err = w.Correct(w.ctx(), w.who["tina"], m, "H-0001 misread")
		w.refused(err, "reason-names-patient")
		j, err := w.Correct(w.ctx(), w.who["tina"], m, "print of the device misread")
		w.must(err)
		if j.State != casebook.StateReopened || j.ReadBack != nil || j.PlanNumber != 1 || j.Signed == nil {
			t.Errorf("%+v", j)
		}
		s, err := w.Sheet(w.ctx(), w.who["nora"], id)
		w.must(err)
		if s.Valid || s.Number != "" || s.Signed {
			t.Error("the sheet of a reopened plan is still valid")
		}
		w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})))
		w.readBack(id, "nora")
		j, err = w.sign(id, "sam")
		w.must(err)
		if j.PlanNumber != 2 || j.Sheet != 2 || j.State != casebook.StateSigned {
			t.Errorf("plan %d, sheet %d, %s", j.PlanNumber, j.Sheet, j.State)
		}
		w.sound()
	})
}

func TestRelistingGivesANewSheet(t *testing.T) {
	w, id := newCase(t)
	w.signed(id)
	list := func(date string) (Journey, error) {
		return w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: date})
	}
	j, err := list("2026-03-09")
	w.must(err)
	if j.State != casebook.StateSigned || j.Sheet != 2 || j.ListDate.String() != "2026-03-09" {
		t.Errorf("%+v", j)
	}
	if j, err = list("2026-03-09"); err != nil || j.Sheet != 2 {
		t.Errorf("the same day gave sheet %d, %v", j.Sheet, err)
	}
	_, err = list("2026-12-20") // by then the readings are too old
	w.refused(err, "relist-reopens")
	_, err = list("")
	w.refused(err, "case-signed")
	_, err = list("2026-03-02")
	w.refused(err, "list-past")
	for _, text := range []string{"2026-03", "soon", "2026-02-30"} {
		_, err = list(text)
		w.refused(err, "not-a-date")
	}
}

func TestSheetIsOnlyForItsDay(t *testing.T) {
	w, id := newCase(t)
	w.signed(id)
	sheet := func() TheatreSheet {
		s, err := w.Sheet(w.ctx(), w.who["nora"], id)
		w.must(err)
		return s
	}
	w.now = time.Date(2026, 3, 5, 23, 59, 0, 0, nepal)
	if s := sheet(); !s.Valid || s.Past {
		t.Error("not valid on the evening of its day")
	}
	w.now = time.Date(2026, 3, 6, 0, 1, 0, 0, nepal)
	if s := sheet(); s.Valid || !s.Past || s.Number != "" {
		t.Error("valid on the day after")
	}
	w.must(w.Close(w.ctx(), w.who["sam"], id, Newest, ClosedOperated, ""))
	_, err := w.Sheet(w.ctx(), w.who["nora"], id)
	w.refused(err, "case-closed")
}

// Theatre dates are civil dates of the ward's zone.
func TestCivilDates(t *testing.T) {
	for _, zone := range []*time.Location{nepal, newfoundland} {
		t.Run(zone.String(), func(t *testing.T) {
			w := newWard(t, casebook.NewMemory(), zone)
			id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
			for _, clock := range []time.Time{time.Date(2026, 3, 3, 0, 5, 0, 0, zone), time.Date(2026, 3, 3, 23, 55, 0, 0, zone)} {
				w.now = clock
				if today, _, err := w.Ward(w.ctx(), w.who["carl"], WardQuery{}); err != nil || today.String() != "2026-03-03" {
					t.Errorf("at %s the Ward says %s", clock, today)
				}
				if j := w.check(id); j.AsOf.String() != "2026-03-03" {
					t.Errorf("at %s the plan is of %s", clock, j.AsOf)
				}
				if _, err := w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-03"}); err != nil {
					t.Errorf("at %s today is past: %v", clock, err)
				}
			}
			w.must(w.Store.View(w.ctx(), func(tx casebook.Tx) error {
				r, err := tx.Last()
				if err == nil && (r.At.Location() != time.UTC || !strings.HasPrefix(r.Zone, zone.String())) {
					t.Errorf("instant in %s, zone %q", r.At.Location(), r.Zone)
				}
				return err
			}))
		})
	}
}

// Somebody born on the list's day has their birthday on it, in either zone.
func TestAgeOnTheListsDay(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), newfoundland)
	w.now = time.Date(2026, 3, 3, 23, 0, 0, 0, newfoundland) // already the 4th in UTC
	patient, err := w.AddPatient(w.ctx(), w.who["nora"], NewPatient{Name: "A", Identifier: "H-9", Born: "1959-03-05"})
	w.must(err)
	id := w.open(patient, eye.Right)
	if a := w.check(id).Age; a.Value != 66 {
		t.Errorf("age %v", a.Value)
	}
	w.must(second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-05"})))
	if a := w.check(id).Age; a.Value != 67 {
		t.Errorf("age on the list's day %v", a.Value)
	}
}

// A choice that says nothing new writes nothing and leaves the second person.
func TestChoosingTheSameIsNothing(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, ordinary, other)
	first, err := w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "-0.25", Lens: w.lens, Power: "22"})
	w.must(err)
	w.readBack(id, "nora")
	again, err := w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "-0.25", Lens: w.lens, Power: "22.0"})
	w.must(err)
	if again.Revision != first.Revision+1 || again.ReadBack == nil {
		t.Errorf("revision %d after %d, second person %v", again.Revision, first.Revision+1, again.ReadBack)
	}
}

// Whoever chose the lens is not offered to be its second person.
func TestChooserIsNotOfferedToReadBack(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, ordinary, other)
	_, err := w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "0", Lens: w.lens, Power: "22"})
	w.must(err)
	for who, want := range map[string]bool{"sam": false, "nora": true, "tina": true, "carl": false} {
		j, err := w.Check(w.ctx(), w.who[who], id)
		w.must(err)
		if j.May[VerbReadBack] != want {
			t.Errorf("%s may read back: %v", who, !want)
		}
	}
}
