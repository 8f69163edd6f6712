package pathway

import (
	"context"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"

	"linn/calc/dose"
	"linn/calc/technique"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/unit"
)

// DrugsForm is the drugs as drawn up, as typed: lines by the keys of the dose
// format. Lines without a drug are left out.
type DrugsForm struct {
	Case   string
	Seen   int
	Weight string
	Lines  []map[string]string
	Drops  string // name of a local drop schedule
}

// DrawUp records drugs as drawn up by this person. A line that could only be
// guessed is refused, and nothing is stored. A line that is new or changed
// loses its checker. On the day of surgery the plan is signed already: drugs
// are recorded beside it.
func (p *Pathway) DrawUp(ctx context.Context, by casebook.Actor, form DrugsForm) (Journey, error) {
	return p.caring(ctx, by, VerbDrugs, casebook.VerbDrugs, form.Case, form.Seen, func(t *turn, c *caseAt) error {
		if err := t.open(c); err != nil {
			return err
		}
		var old []map[string]string
		if c.Drugs != nil {
			old = c.Drugs.Lines
		}
		d := &casebook.Drugs{Weight: strings.TrimSpace(form.Weight), Drops: line(form.Drops)}
		var bad finding.Refusals
		if d.Weight != "" {
			if _, r := dose.ReadWeight(d.Weight, false); r != nil {
				bad = append(bad, *r)
			}
		}
		for i, texts := range form.Lines {
			l, refused := drawn(texts, old, t.by.ID)
			for _, r := range refused {
				r.Field = "drugs[" + strconv.Itoa(i+1) + "]." + r.Field
				bad = append(bad, r)
			}
			if l != nil {
				d.Lines = append(d.Lines, l)
			}
		}
		c.Drugs = d
		return bad.Err()
	})
}

// drawn reads one line. What stood before word for word keeps who prepared and
// who checked it.
func drawn(texts map[string]string, old []map[string]string, by string) (map[string]string, finding.Refusals) {
	l := map[string]string{}
	for key, text := range texts {
		if text = strings.TrimSpace(text); text != "" && key != "prepared_by" && key != "checked_by" {
			l[key] = text
		}
	}
	if l["drug"] == "" && len(l) == 0 {
		return nil, nil
	}
	if _, refused := dose.ReadLine(l); len(refused) > 0 {
		return nil, refused
	}
	l["prepared_by"] = by
	for _, was := range old {
		if sameDrug(was, l) {
			return was, nil
		}
	}
	return l, nil
}

// sameDrug compares two lines but for their people.
func sameDrug(a, b map[string]string) bool {
	for _, key := range dose.Keys() {
		if key != "prepared_by" && key != "checked_by" && a[key] != b[key] {
			return false
		}
	}
	return true
}

// CheckDrugs records that this person read every line against its label. Who
// drew one up does not check it.
func (p *Pathway) CheckDrugs(ctx context.Context, by casebook.Actor, id string, seen int) (Journey, error) {
	return p.caring(ctx, by, VerbDrugs, casebook.VerbDrugs, id, seen, func(t *turn, c *caseAt) error {
		if err := t.open(c); err != nil {
			return err
		}
		if c.Drugs == nil || len(c.Drugs.Lines) == 0 {
			return refuse("no-drugs", "")
		}
		for _, l := range c.Drugs.Lines {
			if l["prepared_by"] == t.by.ID {
				return refuse("own-drug", "checked_by")
			}
			l["checked_by"] = t.by.ID
		}
		return nil
	})
}

// open refuses a case that is closed or whose patient was erased; a signed one
// is open to what the day of surgery brings.
func (t *turn) open(c *caseAt) error {
	if c.State() == casebook.StateClosed {
		return refuse("case-closed", "", value("why", c.Closed))
	}
	return t.identified(c)
}

// ConsentForm is what the patient agreed to, as the signed paper says, with
// the people beside them.
type ConsentForm struct {
	Case                           string
	Seen                           int
	Side, Procedure                string // as on the paper, never filled in from the plan
	Refused                        bool
	Language, Signature            string
	Interpreter, Witness, Guardian string
	Risks                          []string
	Trainee, Teaching              string // yes, no, "" not asked
}

// Signatures are how one can sign.
var Signatures = []string{"signature", "thumbprint"}

// Consent records a consent or a refusal; this person is the counsellor. A
// thumbprint needs a witness; a child needs a guardian.
func (p *Pathway) Consent(ctx context.Context, by casebook.Actor, form ConsentForm) (Journey, error) {
	return p.caring(ctx, by, VerbConsent, casebook.VerbConsent, form.Case, form.Seen, func(t *turn, c *caseAt) error {
		if err := t.open(c); err != nil {
			return err
		}
		s, err := t.gather(*c)
		if err != nil {
			return err
		}
		if bad := form.check(&s); len(bad) > 0 {
			return bad
		}
		x := &casebook.Consent{Side: eye.Side(form.Side), Procedure: form.Procedure, Refused: form.Refused, Counsellor: t.by.ID, Language: line(form.Language),
			Risks: form.Risks, Signature: form.Signature, Trainee: form.Trainee, Teaching: form.Teaching, By: t.by.ID, At: t.stamp.At}
		names, err := json.Marshal(casebook.Beside{Interpreter: line(form.Interpreter), Witness: line(form.Witness), Guardian: line(form.Guardian)})
		if err != nil {
			return err
		}
		key, err := t.tx.Key(s.patient)
		if err != nil {
			return err
		}
		x.For = s.patient
		if x.Sealed, err = casebook.SealText(string(names), s.patient, key, t.Random); err != nil {
			return err
		}
		c.Consent = x
		return nil
	})
}

// check refuses a consent that says too little to be one.
func (f *ConsentForm) check(s *situation) (bad finding.Refusals) {
	need := func(is bool, field string) {
		if is {
			bad = append(bad, finding.Refusal{Code: "needed", Field: field})
		}
	}
	need(eye.Side(f.Side).Other() == "", "consent_side")
	need(!slices.Contains(Techniques, f.Procedure), "consent_procedure")
	if f.Refused {
		return bad
	}
	need(line(f.Language) == "", "language")
	need(!slices.Contains(Signatures, f.Signature), "signature")
	need(f.Signature == "thumbprint" && line(f.Witness) == "", "witness")
	age, known := s.who.AgeOn(s.asOf)
	need(known && age < 18 && line(f.Guardian) == "", "guardian")
	need(len(f.Risks) == 0, "risks_shown")
	return bad
}

// SaidForm is the mark on the skin, or the list as written.
type SaidForm struct {
	Case            string
	Seen            int
	What            string // mark, list
	Side, Procedure string
}

// Say records which eye the mark or the written list names: by itself, never
// copied from the plan.
func (p *Pathway) Say(ctx context.Context, by casebook.Actor, form SaidForm) (Journey, error) {
	return p.caring(ctx, by, VerbConsent, casebook.VerbConsent, form.Case, form.Seen, func(t *turn, c *caseAt) error {
		if err := t.open(c); err != nil {
			return err
		}
		if eye.Side(form.Side).Other() == "" {
			return refuse("needed", "said_side")
		}
		if form.Procedure != "" && !slices.Contains(Techniques, form.Procedure) {
			return refuse("needed", "said_procedure")
		}
		said := &casebook.Said{Side: eye.Side(form.Side), Procedure: form.Procedure, By: t.by.ID, At: t.stamp.At}
		switch form.What {
		case plan.ByMark:
			said.Procedure, c.Mark = "", said
		case plan.ByList:
			c.Listed = said
		default:
			return refuse("needed", "what")
		}
		return nil
	})
}

// doseSetting and dropSetting begin the names of the protocol's settings for
// doses and for drop schedules.
const (
	doseSetting = "dose."
	dropSetting = "drops."
)

// DoseSetting is one target or limit as the Desk shows it.
type DoseSetting struct {
	dose.Setting
	Local dose.Local // zero: not approved here
}

// DoseSettings lists every target and limit with what this unit approved.
func (l LocalProtocol) DoseSettings() (list []DoseSetting) {
	own := l.DoseLimits()
	for _, s := range dose.Settings {
		list = append(list, DoseSetting{s, own[s.Key]})
	}
	return list
}

// DoseLimits are the targets and limits this unit approved. A setting is
// stored as "value|who|date".
func (l LocalProtocol) DoseLimits() dose.Limits {
	limits := dose.Limits{}
	for name, text := range l.Settings {
		key, is := strings.CutPrefix(name, doseSetting)
		parts := strings.Split(text, "|")
		if !is || len(parts) != 3 {
			continue
		}
		on, _ := unit.ParseDate(parts[2])
		limits.Set(dose.Typed{Key: key, Text: parts[0], Local: dose.Local{By: parts[1], On: on}})
	}
	return limits
}

// DropNames are the names of the local drop schedules, in order.
func (l LocalProtocol) DropNames() (list []string) {
	for name := range l.Settings {
		if n, is := strings.CutPrefix(name, dropSetting); is {
			list = append(list, n)
		}
	}
	slices.Sort(list)
	return list
}

// Drop is a local drop schedule as typed, "" when there is none.
func (l LocalProtocol) Drop(name string) string { return l.Settings[dropSetting+name] }

// LimitsForm is the approval of targets and limits: by key, as typed; an empty
// text takes the program's default again. Drops are schedules by name.
type LimitsForm struct {
	Seen   int
	Values map[string]string
	By, On string // who approved, and when
	Drops  map[string]string
	Reason string
}

// SetLimits settles targets, limits and drop schedules. A value that is new
// or changed needs who approved it, and when.
func (p *Pathway) SetLimits(ctx context.Context, by casebook.Actor, form LimitsForm) error {
	return p.settle(ctx, by, settling{form.Seen, form.Reason}, func(_ *turn, was LocalProtocol, is *casebook.Protocol) error {
		var bad finding.Refusals
		for _, key := range slices.Sorted(maps.Keys(form.Values)) {
			bad = append(bad, form.set(is, key, was.DoseLimits())...)
		}
		for name, text := range form.Drops {
			if name, text = line(name), strings.TrimSpace(text); name == "" {
				continue
			} else if text == "" {
				is.Settings = without(is.Settings, dropSetting+name)
			} else {
				is.Settings = with(is.Settings, dropSetting+name, text)
			}
		}
		if len(bad) > 0 {
			return bad
		}
		return nil
	})
}

// set reads one value over what was approved before.
func (f *LimitsForm) set(p *casebook.Protocol, key string, was dose.Limits) finding.Refusals {
	text := strings.TrimSpace(f.Values[key])
	own := dose.Limits{}
	if r := own.Set(dose.Typed{Key: key, Text: text}); r != nil {
		return finding.Refusals{*r}
	}
	if text == "" {
		p.Settings = without(p.Settings, doseSetting+key)
		return nil
	}
	if old, is := was[key]; is && old.Value == own[key].Value {
		return nil
	}
	on, err := unit.ParseDate(strings.TrimSpace(f.On))
	if line(f.By) == "" || strings.Contains(f.By, "|") {
		return finding.Refusals{{Code: "needed", Field: "approved_by"}}
	}
	if err != nil || !on.Exact() {
		return finding.Refusals{{Code: "needed", Field: "approved_on"}}
	}
	p.Settings = with(p.Settings, doseSetting+key, text+"|"+line(f.By)+"|"+on.String())
	return nil
}

// Questions are what the rules ask, by group, for the pages.
type Question = technique.Question

// Questions lists them in order.
func Questions() []Question { return technique.Questions }

// Anaesthesias lists the methods of anaesthesia.
var Anaesthesias = technique.Methods

// Drugs and DrugRoutes list what the check of doses knows.
var (
	Drugs    = dose.Names()
	DrugKeys = dose.Keys()
)
