package pathway

import (
	"strings"
	"testing"

	"linn/finding"
	"linn/internal/care/casebook"
)

func TestAnswersAreKeptAndJudged(t *testing.T) {
	w, id := gated(t)
	j, err := w.Findings(w.ctx(), w.who["tina"], FindingsForm{Case: id, Seen: Newest, Answers: map[string]string{"iop_mmhg": "32", "cataract": "brunescent", "pupil_dilated_mm": "wide", "arcus": ""}})
	w.must(err)
	if j.Care.Decided.Answers["iop_mmhg"] != "32" || j.Care.Unread["pupil_dilated_mm"] != "wide" || j.Care.Refused["pupil_dilated_mm"].Code != "not-a-number" {
		t.Errorf("%+v", j.Care)
	}
	f := w.finding(j, "pressure-first")
	if !f.Gate || f.Passed != nil || !unmetHas(j, NeedGates) || !unmetHas(j, NeedReadable) {
		t.Errorf("%+v", f)
	}
	j, err = w.Pass(w.ctx(), w.who["senior"], GatePass{Case: id, Seen: Newest, Code: "pressure-first", Field: "iop_mmhg", Reason: "drops given, comes down"})
	w.must(err)
	if w.finding(j, "pressure-first").Passed == nil {
		t.Error("passed and not shown")
	}
	j, err = w.Findings(w.ctx(), w.who["tina"], FindingsForm{Case: id, Seen: Newest, Answers: map[string]string{"iop_mmhg": "40", "pupil_dilated_mm": ""}})
	w.must(err)
	if w.finding(j, "pressure-first").Passed != nil || len(j.Care.Unread) != 0 {
		t.Error("a pass at one pressure is no pass at another")
	}
	if _, err := w.Findings(w.ctx(), w.who["tina"], FindingsForm{Case: id, Seen: Newest, Answers: map[string]string{"blood_status": "x"}}); codes(err) != "unknown-key" {
		t.Error(err)
	}
}

func (w *testWard) finding(j Journey, code string) Judged {
	w.t.Helper()
	for _, f := range j.Findings {
		if f.Code == code {
			return f
		}
	}
	w.t.Fatalf("no %s", code)
	return Judged{}
}

// A technique against the leans is recorded with its reason, never without.
func TestChoiceAgainstLeansNeedsItsReason(t *testing.T) {
	w, id := gated(t)
	w.must(second(w.Findings(w.ctx(), w.who["tina"], FindingsForm{Case: id, Seen: Newest, Answers: map[string]string{"cataract": "brunescent"}})))
	form := DecideForm{Case: id, Seen: Newest, Technique: "phaco", Anaesthesia: "sub-tenon"}
	if _, err := w.Decide(w.ctx(), w.who["sam"], form); codes(err) != "technique-reason" {
		t.Error(err)
	}
	form.Reason = "Mira Example asked for it"
	if _, err := w.Decide(w.ctx(), w.who["sam"], form); codes(err) != "reason-names-patient" {
		t.Error(err)
	}
	form.Reason = "manual surgery is not offered here"
	j, err := w.Decide(w.ctx(), w.who["sam"], form)
	w.must(err)
	if d := j.Care.Decided; d.Technique != "phaco" || d.By != w.who["sam"].ID || d.Reason != form.Reason || d.Answers["cataract"] != "brunescent" {
		t.Errorf("%+v", d)
	}
	form.Technique = "laser"
	if _, err := w.Decide(w.ctx(), w.who["sam"], form); codes(err) != "unknown-word" {
		t.Error(err)
	}
}

var lidocaine = map[string]string{"drug": "lidocaine", "route": "peribulbar", "strength_percent": "2", "volume_ml": "5"}

// Whoever drew a drug up does not check it; a changed line loses its checker.
func TestDrugsAreCheckedByASecondPerson(t *testing.T) {
	w, id := gated(t)
	nora, sam := w.who["nora"], w.who["sam"]
	j, err := w.DrawUp(w.ctx(), nora, DrugsForm{Case: id, Seen: Newest, Weight: "50", Lines: []map[string]string{lidocaine, {}}})
	w.must(err)
	if d := j.Care.Now.Dose; len(d.Lines) != 1 || d.Total == nil || !finding.Has(d.All(), "dose-not-checked") {
		t.Errorf("%+v", d)
	}
	if _, err := w.CheckDrugs(w.ctx(), nora, id, Newest); codes(err) != "own-drug" {
		t.Error(err)
	}
	j, err = w.CheckDrugs(w.ctx(), sam, id, Newest)
	w.must(err)
	if finding.Has(j.Care.Now.Dose.All(), "dose-not-checked") {
		t.Error("checked by two people")
	}
	j, err = w.DrawUp(w.ctx(), nora, DrugsForm{Case: id, Seen: Newest, Weight: "50", Lines: []map[string]string{lidocaine}})
	w.must(err)
	if j.Care.Drugs.Lines[0]["checked_by"] != sam.ID {
		t.Error("an unchanged line keeps its checker")
	}
	more := map[string]string{"drug": "lidocaine", "route": "peribulbar", "strength_percent": "2", "volume_ml": "8"}
	j, err = w.DrawUp(w.ctx(), nora, DrugsForm{Case: id, Seen: Newest, Weight: "50", Lines: []map[string]string{more}})
	w.must(err)
	if j.Care.Drugs.Lines[0]["checked_by"] != "" || !w.finding(j, "anaesthetic-over").Gate {
		t.Errorf("%+v", j.Care.Drugs)
	}
	for _, c := range []struct{ key, text, code string }{{"volume_ml", "", "needed"}, {"drug", "lignocane", "unknown-drug"}, {"strength_percent", "200", "out-of-range"}} {
		l := map[string]string{}
		for k, v := range lidocaine {
			l[k] = v
		}
		l[c.key] = c.text
		if _, err := w.DrawUp(w.ctx(), nora, DrugsForm{Case: id, Seen: Newest, Lines: []map[string]string{l}}); codes(err) != c.code {
			t.Errorf("%s=%s: %v", c.key, c.text, err)
		}
	}
	if _, err := w.DrawUp(w.ctx(), nora, DrugsForm{Case: id, Seen: Newest, Weight: "0"}); codes(err) != "out-of-range" {
		t.Error(err)
	}
}

// Consent is a source of its own: what it says must equal plan, mark and list.
func TestConsentThatDisagreesStops(t *testing.T) {
	w, id := gated(t) // RIGHT EYE
	carl := w.who["carl"]
	form := ConsentForm{Case: id, Seen: Newest, Side: "right", Procedure: "phaco", Language: "Nepali", Signature: "thumbprint", Witness: "Bina Sample", Interpreter: "Ram Sample", Risks: []string{"infection"}, Trainee: "no"}
	j, err := w.Consent(w.ctx(), carl, form)
	w.must(err)
	if hasCode(j, "consent-eye-disagrees") || j.Care.Beside.Witness != "Bina Sample" || j.Care.Consent.Trainee != "no" {
		t.Errorf("%+v", j.Care.Beside)
	}
	raw, err := casebook.Encode(casebook.Case{Consent: j.Care.Consent})
	w.must(err)
	if strings.Contains(string(raw), "Bina") || strings.Contains(string(raw), "Ram") {
		t.Error("names stand in the record unsealed")
	}
	j, err = w.Say(w.ctx(), w.who["sam"], SaidForm{Case: id, Seen: Newest, What: "mark", Side: "left"})
	w.must(err)
	if f := w.finding(j, "consent-eye-disagrees"); f.Severity != finding.Stop || f.MayPass || !unmetHas(j, NeedNoStop) {
		t.Errorf("%+v", f)
	}
	j, err = w.Say(w.ctx(), w.who["sam"], SaidForm{Case: id, Seen: Newest, What: "mark", Side: "right"})
	w.must(err)
	j, err = w.Say(w.ctx(), w.who["nora"], SaidForm{Case: id, Seen: Newest, What: "list", Side: "right", Procedure: "msics"})
	w.must(err)
	if hasCode(j, "consent-eye-disagrees") || !hasCode(j, "consent-procedure-disagrees") {
		t.Errorf("%v", j.Findings)
	}
	form.Refused = true
	j, err = w.Consent(w.ctx(), carl, form)
	w.must(err)
	if !hasCode(j, "consent-refused") {
		t.Error("a refusal stops")
	}
	for _, c := range []struct {
		spoil func(*ConsentForm)
		want  string
	}{{func(f *ConsentForm) { f.Side = "" }, "needed"}, {func(f *ConsentForm) { f.Witness = "" }, "needed"}, {func(f *ConsentForm) { f.Risks = nil }, "needed"},
		{func(f *ConsentForm) { f.Procedure = "laser" }, "needed"}, {func(f *ConsentForm) { f.Language = " " }, "needed"}} {
		f := form
		f.Refused = false
		c.spoil(&f)
		if _, err := w.Consent(w.ctx(), carl, f); codes(err) != c.want {
			t.Errorf("%+v: %v", f, err)
		}
	}
}

// Local limits carry who approved them and when; drop schedules are texts.
func TestLimitsAreApproved(t *testing.T) {
	w, id := gated(t)
	admin := w.who["admin"]
	form := LimitsForm{Seen: Newest, Values: map[string]string{"lidocaine.mg": "150"}, Drops: map[string]string{"usual": "as the pharmacy sheet says"}}
	if err := w.SetLimits(w.ctx(), admin, form); codes(err) != "needed" {
		t.Error(err)
	}
	form.By, form.On = "Dr Alder, drug committee", "2026-02-01"
	w.must(w.SetLimits(w.ctx(), admin, form))
	p, err := w.Protocol(w.ctx(), admin)
	w.must(err)
	if l := p.DoseLimits()["lidocaine.mg"]; l.Value != 150 || l.By != form.By || l.On.String() != form.On || p.Drop("usual") == "" {
		t.Errorf("%+v", l)
	}
	j, err := w.DrawUp(w.ctx(), w.who["nora"], DrugsForm{Case: id, Seen: Newest, Lines: []map[string]string{lidocaine}})
	w.must(err)
	if f := j.Care.Now.Dose.Total.Fraction.Value; f < 0.66 || f > 0.67 { // 100 of 150 mg
		t.Errorf("%v", f)
	}
	form.Values = map[string]string{"lidocaine.mg": ""}
	w.must(w.SetLimits(w.ctx(), admin, form))
	if p, _ := w.Protocol(w.ctx(), admin); len(p.DoseLimits()) != 0 {
		t.Error("empty text takes the default again")
	}
	form.Values = map[string]string{"lidocaine.mg": "0"}
	if err := w.SetLimits(w.ctx(), admin, form); codes(err) != "out-of-range" {
		t.Error(err)
	}
}

// What the day of surgery brings stops a signed plan as well: its sheet loses
// its number until plan, consent and mark agree again.
func TestDisagreementStopsASignedPlan(t *testing.T) {
	w, id := newCase(t) // RIGHT EYE
	w.signed(id)
	sheet, err := w.Sheet(w.ctx(), w.who["sam"], id)
	w.must(err)
	if !sheet.Valid || sheet.Number == "" {
		t.Fatal("a signed sheet has a number")
	}
	for _, side := range []string{"left", "right"} {
		valid := side == "right"
		j, err := w.Say(w.ctx(), w.who["nora"], SaidForm{Case: id, Seen: Newest, What: "mark", Side: side})
		w.must(err)
		sheet, err := w.Sheet(w.ctx(), w.who["sam"], id)
		w.must(err)
		if hasCode(j, "consent-eye-disagrees") == valid || sheet.Valid != valid || (sheet.Number != "") != valid || finding.Has(sheet.Alerts, "consent-eye-disagrees") == valid {
			t.Errorf("mark on the %s: valid %v, number %q, alerts %v", side, sheet.Valid, sheet.Number, sheet.Alerts)
		}
	}
	wrong := map[string]string{"drug": "moxifloxacin", "route": "intracameral", "strength_percent": "0.5", "volume_ml": "0.5"}
	j, err := w.DrawUp(w.ctx(), w.who["nora"], DrugsForm{Case: id, Seen: Newest, Lines: []map[string]string{wrong}})
	w.must(err)
	if sheet, err = w.Sheet(w.ctx(), w.who["sam"], id); err != nil || sheet.Valid || !hasCode(j, "strength-swapped") {
		t.Errorf("five times the dose: %v %v", sheet.Valid, err)
	}
}
