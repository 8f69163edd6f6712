package pathway

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
	"strings"
	"testing"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/followup"
)

// uneventful is what is tapped of an ordinary operation with the planned lens.
func uneventful(j Journey) map[string]string {
	return map[string]string{"operated_on": "2026-03-05", "technique": "phaco", "started": "09:41", "ended": "09:52", "anaesthesia": "sub-tenon", "incision_kind": "clear-corneal",
		"viscoelastic": "both", "capsule_opening": "continuous", "hydrodissection": "turns-freely", "nucleus_phaco": "chop", "cortex": "complete",
		"lens_model": j.After.Planned.Model, "lens_d": plain(float64(j.After.Planned.Power)), "lens_place": "bag", "closure": "hydrated", "leak_test": "dry",
		"antibiotic": "intracameral", "complications": "none", "load_number": "L-7", "lens_serial": "S-1"}
}

func (w *testWard) operate(id string, values map[string]string, done bool) (Journey, error) {
	return w.Operate(w.ctx(), w.who["nora"], Operating{Case: id, Seen: Newest, Values: values, Done: done})
}

// operated is an eye whose planned operation was done on its day.
func (w *testWard) operated(patient string, side eye.Side) string {
	w.t.Helper()
	id := w.open(patient, side)
	w.signed(id)
	w.now = time.Date(2026, 3, 5, 10, 0, 0, 0, nepal)
	_, err := w.operate(id, uneventful(w.check(id)), true)
	w.must(err)
	return id
}

func TestOperate(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		w.signed(id)
		j := w.check(id)
		if a := j.After; a.Begun || a.Record.Values["operated_on"] != "2026-03-05" || a.Record.Hands["nucleus"] != w.who["sam"].ID || a.Record.Values["hydrodissection"] != "" {
			t.Errorf("prefilled: %+v", a.Record)
		}
		w.now = time.Date(2026, 3, 5, 9, 40, 0, 0, nepal)
		j, err := w.Operate(w.ctx(), w.who["nora"], Operating{Case: id, Seen: j.Revision, Now: "started", Hands: map[string]string{"nucleus": w.who["trudy"].ID}})
		w.must(err)
		if j.After.Record.Values["started"] != "09:40" || j.After.Hands["nucleus"] != "trudy" || j.State != casebook.StateSigned {
			t.Errorf("%+v", j.After.Record)
		}
		all := uneventful(j)
		all["lens_d"] = "215"
		j, err = w.operate(id, all, false)
		w.must(err) // what was done is never refused
		if j.After.Record.Values["lens_d"] != "215" || j.After.Read["lens_d"].Code != "out-of-range" {
			t.Errorf("as typed: %+v %+v", j.After.Record.Values, j.After.Read)
		}
		_, err = w.operate(id, nil, true)
		w.refused(err, "operation-stop")
		j, err = w.operate(id, map[string]string{"lens_d": plain(float64(j.After.Planned.Power))}, true)
		w.must(err)
		if j.State != casebook.StateClosed || j.Closed != ClosedOperated || j.After.Done == nil || len(j.After.Findings) != 0 || j.After.Status != followup.Waiting {
			t.Errorf("%s %+v %v", j.Closed, j.After.Done, j.After.Findings)
		}
		_, err = w.operate(id, map[string]string{"ended": "09:55"}, false)
		w.refused(err, "reason-needed")
		j, err = w.Operate(w.ctx(), w.who["nora"], Operating{Case: id, Seen: Newest, Values: map[string]string{"ended": "09:55"}, Reason: "clock misread"})
		w.must(err)
		versions, err := w.history(id)
		w.must(err)
		last := versions[len(versions)-1]
		if last.Verb != casebook.VerbCorrect || last.Reason != "clock misread" || versions[len(versions)-2].Operation.Values["ended"] != "09:52" {
			t.Errorf("the correction: %s %q", last.Verb, last.Reason)
		}
		w.sound()
	})
}

// history reads the states of a case.
func (w *testWard) history(id string) (list []casebook.Case, err error) {
	err = w.Store.View(w.ctx(), func(tx casebook.Tx) error {
		h, err := casebook.History[casebook.Case](tx, id)
		for _, v := range h {
			list = append(list, v.State)
		}
		return err
	})
	return list, err
}

// A lens that is not the plan's is confirmed by the name and side of its eye,
// and the next difference again.
func TestOtherLensIsConfirmed(t *testing.T) {
	w, id := newCase(t)
	w.signed(id)
	w.now = time.Date(2026, 3, 5, 10, 0, 0, 0, nepal)
	all := uneventful(w.check(id))
	all["lens_model"] = "Some Other"
	_, err := w.operate(id, all, false)
	w.must(err)
	_, err = w.operate(id, nil, true)
	w.refused(err, "operation-stop")
	confirm := func(name, side string) error {
		_, err := w.Operate(w.ctx(), w.who["sam"], Operating{Case: id, Seen: Newest, Confirm: &Whose{name, side}})
		return err
	}
	name := w.check(id).Who.Name
	w.refused(confirm("Nora Example", "right"), "confirm-name")
	w.refused(confirm(name, "left"), "confirm-side")
	w.refused(confirm("", ""), "confirm-name confirm-side")
	w.must(confirm(strings.ToUpper(name), "right"))
	j, err := w.operate(id, map[string]string{"lens_model": "Yet Another"}, false)
	w.must(err)
	if !finding.Has(j.After.Findings, "operation-lens-differs") {
		t.Error("the confirmation of one lens lets another pass")
	}
	_, err = w.operate(id, map[string]string{"lens_model": "Some Other"}, true)
	w.must(err)
}

// Two people at once: the second sees both, and nothing of either is lost.
func TestTwoWriteAnOperation(t *testing.T) {
	w, id := newCase(t)
	w.signed(id)
	seen := w.check(id).Revision
	w.must(second(w.Operate(w.ctx(), w.who["nora"], Operating{Case: id, Seen: seen, Values: map[string]string{"started": "09:41", "cortex": "complete"}})))
	_, err := w.Operate(w.ctx(), w.who["sam"], Operating{Case: id, Seen: seen, Values: map[string]string{"started": "09:44"}})
	var c *Conflict
	if !errors.As(err, &c) || c.Mine.Operation.Values["started"] != "09:44" || c.Theirs.Operation.Values["started"] != "09:41" || c.Base.Operation != nil {
		t.Fatalf("%v", err)
	}
	if got := w.check(id).After.Record.Values; got["started"] != "09:41" || got["cortex"] != "complete" {
		t.Errorf("what stands: %v", got)
	}
}

// The second eye's plan reopens when the first eye was operated, and not by
// what is seen of it later.
func TestPlanReopensByTheOperationAlone(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	patient := w.patient("Mira Example", "H-0001")
	first := w.open(patient, eye.Left)
	w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: first, Seen: Newest, Eyes: map[eye.Side]map[string]string{eye.Left: other}})))
	id := w.open(patient, eye.Right)
	w.must(second(w.Measure(w.ctx(), w.who["tina"], Measurement{Case: id, Seen: Newest, Imported: true, Eyes: map[eye.Side]map[string]string{eye.Right: ordinary}})))
	w.must(second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-05"})))
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "0"})))
	w.must(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})))
	w.readBack(id, "nora")
	w.must(second(w.sign(id, "sam")))
	w.now = time.Date(2026, 3, 4, 12, 0, 0, 0, nepal)
	half := map[string]string{"operated_on": "2026-03-04", "technique": "msics", "lens_place": "none", "complications": "none"}
	w.must(second(w.operate(first, half, false)))
	if len(w.check(id).Reopens) != 0 {
		t.Error("an operation that is not done reopens")
	}
	w.must(second(w.operate(first, nil, true)))
	if j := w.check(id); len(j.Reopens) != 1 || j.Reopens[0].Code != "plan-fellow-operated" {
		t.Fatalf("%+v", j.Reopens)
	}
	w.must(second(w.Reopen(w.ctx(), w.who["nora"], id, Newest, "")))
	w.readBack(id, "nora")
	w.must(second(w.sign(id, "sam")))
	w.must(second(w.FollowUp(w.ctx(), w.who["tina"], Visiting{Case: first, Seen: Newest, Visit: NewVisit, Kind: "day-1", Values: map[string]string{"unaided_va": "6/12"}})))
	if j := w.check(id); len(j.Reopens) != 0 {
		t.Errorf("a visit of the first eye reopens the second: %+v", j.Reopens)
	}
}

func TestVisits(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		_, err := w.FollowUp(w.ctx(), w.who["tina"], Visiting{Case: id, Seen: Newest, Visit: NewVisit, Kind: "day-1", Values: map[string]string{"pain": "none"}})
		w.refused(err, "not-operated")
		w.must(w.Close(w.ctx(), w.who["sam"], id, Newest, ClosedMistake, ""))
		id = w.operated(patient, eye.Right)
		w.now = time.Date(2026, 3, 6, 8, 0, 0, 0, nepal)
		w.must(second(w.Bed(w.ctx(), w.who["nora"], id, Newest, "04")))
		r, err := w.Round(w.ctx(), w.who["carl"])
		w.must(err)
		if len(r.Beds) != 1 || len(r.Due) != 0 || r.Beds[0].Bed != "04" || r.Beds[0].Day != 1 || r.Beds[0].Status != followup.Due {
			t.Fatalf("%+v", r)
		}
		if n, err := w.Waiting(w.ctx(), w.who["carl"]); err != nil || n != (DueCount{Due: 1}) {
			t.Errorf("%+v %v", n, err)
		}
		visit := Visiting{Case: id, Seen: Newest, Visit: NewVisit, Kind: "day-1", Values: map[string]string{"unaided_va": "0.5", "chamber": "cells"}}
		j, err := w.FollowUp(w.ctx(), w.who["tina"], visit)
		w.must(err)
		if v := j.After.Visits[0]; v.Day != 1 || v.Read["unaided_va"].Code != "acuity-notation" || v.Values["unaided_va"] != "0.5" || v.Name != "tina" {
			t.Errorf("%+v", v)
		}
		visit.Visit, visit.Values = 0, map[string]string{"notation": "decimal"}
		_, err = w.FollowUp(w.ctx(), w.who["tina"], visit)
		w.refused(err, "reason-needed")
		visit.Reason = "chart was not said"
		j, err = w.FollowUp(w.ctx(), w.who["tina"], visit)
		w.must(err)
		if v := j.After.Visits[0]; len(v.Read) != 0 || v.Values["chamber"] != "cells" {
			t.Errorf("%+v", v)
		}
		for _, bad := range []struct {
			v    Visiting
			want string
		}{
			{Visiting{Case: id, Seen: Newest, Visit: NewVisit, Kind: "day-1"}, "visit-empty"},
			{Visiting{Case: id, Seen: Newest, Visit: NewVisit, Kind: "tuesday", Values: map[string]string{"pain": "none"}}, "unknown-word"},
			{Visiting{Case: id, Seen: Newest, Visit: NewVisit, On: "2026-03-09", Kind: "week-1", Values: map[string]string{"pain": "none"}}, "visit-day-ahead"},
			{Visiting{Case: id, Seen: Newest, Visit: NewVisit, Kind: "week-1", Values: map[string]string{"note": "Mira Example is well"}}, "reason-names-patient"},
			{Visiting{Case: id, Seen: Newest, Visit: 7, Kind: "week-1", Reason: "x"}, "no-such-visit"},
		} {
			_, err := w.FollowUp(w.ctx(), w.who["tina"], bad.v)
			w.refused(err, bad.want)
		}
		w.now = time.Date(2026, 3, 25, 8, 0, 0, 0, nepal)
		if n, err := w.Waiting(w.ctx(), w.who["carl"]); err != nil || n != (DueCount{Overdue: 1}) {
			t.Errorf("week 1 over: %+v %v", n, err)
		}
		j, err = w.GiveUp(w.ctx(), w.who["carl"], id, Newest, "not-reached")
		w.must(err)
		if n, _ := w.Waiting(w.ctx(), w.who["carl"]); j.After.Status != followup.Missing || n != (DueCount{}) {
			t.Errorf("given up: %s %+v", j.After.Status, n)
		}
		w.must(second(w.FollowUp(w.ctx(), w.who["tina"], Visiting{Case: id, Seen: Newest, Visit: 0, Withdraw: "of the other eye"})))
		if v := w.check(id).After.Visits[0]; v.Withdrawn == "" || v.Values["chamber"] != "cells" {
			t.Errorf("withdrawn, and kept: %+v", v)
		}
		w.sound()
	})
}

func aPhoto(t *testing.T) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 8, 8)), nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestAttachments(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		photo := aPhoto(t)
		add := func(file []byte, what string) error {
			return second(w.Attach(w.ctx(), w.who["tina"], Attaching{Case: id, Seen: Newest, What: what, File: file}))
		}
		w.must(add(photo, "photo"))
		w.must(add(photo, "photo"))
		w.must(add([]byte("%PDF-1.7\n…"), "scan-of-paper"))
		for _, bad := range []struct {
			file []byte
			what string
			want string
		}{{nil, "photo", "file-missing"}, {[]byte("<svg onload=alert(1)>"), "photo", "file-type"}, {[]byte("MZ\x90"), "photo", "file-type"}, {photo[:9], "photo", "file-broken"},
			{photo, "../../etc", "unknown-word"}, {bytes.Repeat([]byte("\xff\xd8\xff"), MaxAttachment/3+1), "photo", "file-large"}} {
			w.refused(add(bad.file, bad.what), bad.want)
		}
		j := w.check(id)
		if len(j.After.Attached) != 2 || j.After.Attached[0].Type != casebook.JPEG || j.After.Attached[0].Bytes != nil {
			t.Fatalf("%+v", j.After.Attached)
		}
		f, err := w.Attachment(w.ctx(), w.who["audra"], id, 1)
		w.must(err)
		if !bytes.Equal(f.Bytes, photo) {
			t.Error("another file comes back")
		}
		if l := w.log(LogQuery{Limit: 1}); l[0].What != "read" || l[0].Case != id {
			t.Errorf("the look is logged as %+v", l[0])
		}
		for _, n := range []int{0, 3, -1} {
			if _, err := w.Attachment(w.ctx(), w.who["tina"], id, n); !errors.Is(err, ErrAbsent) {
				t.Errorf("number %d: %v", n, err)
			}
		}
		_, err = w.Detach(w.ctx(), w.who["tina"], id, Newest, 1, "")
		w.refused(err, "reason-needed")
		w.must(second(w.Detach(w.ctx(), w.who["tina"], id, Newest, 1, "of another eye")))
		if a := w.check(id).After.Attached; len(a) != 2 || a[0].Withdrawn == "" {
			t.Errorf("withdrawn, and kept: %+v", a)
		}
		w.must(w.Erase(w.ctx(), w.who["senior"], w.who["admin"], patient, "by order"))
		if _, err := w.Attachment(w.ctx(), w.who["audra"], id, 1); !errors.Is(err, ErrErased) {
			t.Errorf("an erased patient's photo: %v", err)
		}
		w.sound()
	})
}

func TestOpenAgain(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	patient := w.patient("Mira Example", "H-0001")
	id := w.operated(patient, eye.Right)
	_, err := w.OpenAgain(w.ctx(), w.who["sam"], id, "just so")
	w.refused(err, "unknown-word")
	next, err := w.OpenAgain(w.ctx(), w.who["sam"], id, "lens-exchange")
	w.must(err)
	a, b := w.check(id).After, w.check(next).After
	if len(a.Later) != 1 || a.Later[0] != (Linked{next, "lens-exchange"}) || b.Before == nil || b.Before.Case != id {
		t.Errorf("%+v, %+v", a.Later, b.Before)
	}
	_, err = w.OpenAgain(w.ctx(), w.who["sam"], id, "return-to-theatre")
	w.refused(err, "case-exists")
	_, err = w.OpenAgain(w.ctx(), w.who["sam"], next, "return-to-theatre")
	w.refused(err, "not-operated")
}

// A record of an operation that no person closed is not one that was done.
func TestUnfinishedOperationIsNotDone(t *testing.T) {
	w, id := newCase(t)
	_, err := w.operate(id, map[string]string{"lens_model": "x"}, true)
	w.refused(err, "operation-needs operation-needs operation-needs")
	j, err := w.operate(id, map[string]string{"technique": "phaco"}, false)
	w.must(err)
	if !finding.Has(j.After.Findings, "operation-unplanned") || j.State != casebook.StateOpen {
		t.Errorf("%v", j.After.Findings)
	}
	w.must(w.Close(w.ctx(), w.who["sam"], id, Newest, ClosedDropped, ""))
	_, err = w.operate(id, map[string]string{"technique": "msics"}, false)
	w.refused(err, "operation-not-open")
}
