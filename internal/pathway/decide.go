package pathway

import (
	"context"
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"linn/calc/dose"
	"linn/calc/technique"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/internal/care/sheet"
)

// Care is what is recorded beside the readings, and what follows from it.
type Care struct {
	Decided casebook.Decided
	Drugs   casebook.Drugs
	Consent *casebook.Consent
	Beside  casebook.Beside // names, unsealed; empty once erased
	Mark    *casebook.Said
	Listed  *casebook.Said
	Now     *plan.ClinicalPlan         // as it stands now, whether signed or not
	Unread  map[string]string          // answers that could not be read, as typed
	Refused map[string]finding.Refusal // and why
	Names   map[string]string          // of the people named, by id
	Drops   []string                   // names of the local drop schedules
}

// answerKey is the beginning of the key under which an answer that could not
// be read is kept.
const answerKey = "answer."

// clinical is the plan's input beside the readings, nil when nothing is
// recorded.
func (t *turn) clinical(s *situation) *plan.Clinical {
	c := &s.Case
	if c.Decided == nil && c.Drugs == nil && c.Consent == nil && c.Mark == nil && c.Listed == nil {
		return nil
	}
	in := &plan.Clinical{AllergiesAsked: s.who.Allergies.Asked, Allergies: dose.AllergyWords(s.who.Allergies.Items)}
	if d := c.Decided; d != nil {
		in.Answers, in.Technique, in.Reason, in.Anaesthesia = d.Answers, d.Technique, d.Reason, d.Anaesthesia
	}
	if d := c.Drugs; d != nil {
		in.Weight, in.Drugs = d.Weight, d.Lines
	}
	for key, v := range s.protocol.DoseLimits() {
		in.Limits = with(in.Limits, key, v.Value)
	}
	for technique, own := range s.protocol.OwnRisks() {
		in.OwnRisk = with(in.OwnRisk, technique, own.Shift)
	}
	in.Statements = append(in.Statements, plan.Statement{By: plan.ByPlan, Side: c.Side, Procedure: in.Technique})
	if x := c.Consent; x != nil {
		in.Refused = x.Refused
		in.Statements = append(in.Statements, plan.Statement{By: plan.ByConsent, Side: x.Side, Procedure: x.Procedure})
	}
	for by, x := range map[string]*casebook.Said{plan.ByMark: c.Mark, plan.ByList: c.Listed} {
		if x != nil {
			in.Statements = append(in.Statements, plan.Statement{By: by, Side: x.Side, Procedure: x.Procedure})
		}
	}
	slices.SortFunc(in.Statements, func(a, b plan.Statement) int { return strings.Compare(b.By, a.By) })
	return in
}

// cared reads what is recorded beside the readings and judges it as it stands.
func (t *turn) cared(s *situation) (out Care, err error) {
	in := t.clinical(s)
	if in == nil {
		in = &plan.Clinical{}
	}
	e := s.eyeForPlan()
	out = Care{Consent: s.Consent, Mark: s.Mark, Listed: s.Listed, Now: in.Decide(&e), Unread: map[string]string{}, Refused: map[string]finding.Refusal{}, Names: map[string]string{}, Drops: s.protocol.DropNames()}
	if s.Decided != nil {
		out.Decided = *s.Decided
	}
	if s.Drugs != nil {
		out.Drugs = *s.Drugs
	}
	for key, text := range beneath(s.Unread, answerKey) {
		out.Unread[key] = text
		if r := (technique.Answers{}).Set(technique.Typed{Key: key, Text: text}); r != nil {
			out.Refused[key] = *r
		}
	}
	for _, l := range out.Drugs.Lines {
		out.Names[l["prepared_by"]], out.Names[l["checked_by"]] = nameOf(t.tx, l["prepared_by"]), nameOf(t.tx, l["checked_by"])
	}
	if c := s.Consent; c != nil {
		out.Names[c.Counsellor] = nameOf(t.tx, c.Counsellor)
		out.Beside, err = t.beside(c)
	}
	return out, err
}

// beside unseals the names of those who stood beside the patient.
func (t *turn) beside(c *casebook.Consent) (b casebook.Beside, err error) {
	if c.Sealed == "" {
		return b, nil
	}
	key, err := t.tx.Key(c.For)
	if errors.Is(err, ErrErased) || errors.Is(err, ErrAbsent) {
		return b, nil
	}
	if err != nil {
		return b, err
	}
	text, err := casebook.UnsealText(c.Sealed, c.For, key)
	if err != nil {
		return b, err
	}
	return b, json.Unmarshal([]byte(text), &b)
}

// standing are the findings of the plan, and of a signed one those that what
// was recorded since adds: a consent that disagrees stops after signing too.
func (t *turn) standing(s *situation, m *made) []finding.Finding {
	list := m.findings()
	if in := t.clinical(s); in != nil && m.plan != nil && s.State() == casebook.StateSigned {
		e := s.eyeForPlan()
		for _, f := range in.Decide(&e).Findings {
			if !slices.ContainsFunc(list, func(x finding.Finding) bool {
				return x.Code == f.Code && x.Field == f.Field && slices.Equal(x.Values, f.Values)
			}) {
				list = append(list, f)
			}
		}
	}
	return list
}

// stopped reports whether what is recorded beside the readings stops now.
func (t *turn) stopped(s *situation) bool {
	in := t.clinical(s)
	if in == nil {
		return false
	}
	e := s.eyeForPlan()
	return finding.Worst(in.Decide(&e).Findings) == finding.Stop
}

// care is what the sheet says of it.
func (t *turn) care(s *situation) *sheet.Care {
	in := t.clinical(s)
	if in == nil {
		return nil
	}
	e := s.eyeForPlan()
	c := &sheet.Care{Clinical: in.Decide(&e), Input: in, Anaesthesia: in.Anaesthesia, Consented: s.Consent != nil && !s.Consent.Refused && s.Consent.Side != "", Names: map[string]string{}}
	for _, l := range in.Drugs {
		for _, id := range []string{l["prepared_by"], l["checked_by"]} {
			c.Names[id] = nameOf(t.tx, id)
		}
	}
	return c
}

// FindingsForm is what is found beside the readings, as typed; an empty text
// is "not answered".
type FindingsForm struct {
	Case    string
	Seen    int
	Answers map[string]string
}

// Findings records answers. One that cannot be read is kept as typed, shown
// and not used. A key that is no question is refused.
func (p *Pathway) Findings(ctx context.Context, by casebook.Actor, form FindingsForm) (Journey, error) {
	return p.caring(ctx, by, VerbFindings, casebook.VerbDecide, form.Case, form.Seen, func(t *turn, c *caseAt) error {
		if err := t.writable(c); err != nil {
			return err
		}
		d := decisionOf(c)
		for key, text := range form.Answers {
			if technique.QuestionNamed(key) == nil {
				return refuse("unknown-key", eye.Clip(key))
			}
			text = strings.TrimSpace(text)
			c.Unread, d.Answers = without(c.Unread, answerKey+key), without(d.Answers, key)
			switch {
			case text == "":
			case (technique.Answers{}).Set(technique.Typed{Key: key, Text: text}) != nil:
				c.Unread = with(c.Unread, answerKey+key, text)
			default:
				d.Answers = with(d.Answers, key, text)
			}
		}
		c.Decided = d
		return nil
	})
}

// decisionOf is a copy of what was decided: the revision before keeps its own.
func decisionOf(c *caseAt) *casebook.Decided {
	if c.Decided == nil {
		return &casebook.Decided{}
	}
	d := *c.Decided
	return &d
}

// DecideForm is the surgeon's choice.
type DecideForm struct {
	Case                           string
	Seen                           int
	Technique, Anaesthesia, Reason string
}

// Decide records technique and anaesthesia. A technique against the leans
// needs its reason.
func (p *Pathway) Decide(ctx context.Context, by casebook.Actor, form DecideForm) (Journey, error) {
	return p.caring(ctx, by, VerbDecide, casebook.VerbDecide, form.Case, form.Seen, func(t *turn, c *caseAt) error {
		if err := t.writable(c); err != nil {
			return err
		}
		if err := t.plain(c.Patient, form.Reason); err != nil {
			return err
		}
		if !slices.Contains(append([]string{""}, Techniques...), form.Technique) {
			return refuse("unknown-word", "technique", value("got", eye.Clip(form.Technique)), value("allowed", strings.Join(Techniques, ", ")))
		}
		if !slices.Contains(append([]string{""}, technique.Methods...), form.Anaesthesia) {
			return refuse("unknown-word", "anaesthesia", value("got", eye.Clip(form.Anaesthesia)), value("allowed", strings.Join(technique.Methods, ", ")))
		}
		d := decisionOf(c)
		d.Technique, d.Anaesthesia, d.Reason, d.By, d.At = form.Technique, form.Anaesthesia, line(form.Reason), t.by.ID, t.stamp.At
		c.Decided = d
		s, err := t.gather(*c)
		if err != nil {
			return err
		}
		e := s.eyeForPlan()
		if now := t.clinical(&s).Decide(&e).Decision; form.Technique != "" && d.Reason == "" && now.Differs(form.Technique) {
			return refuse("technique-reason", "reason")
		}
		return nil
	})
}

// caring runs one change of what is recorded beside the readings.
func (p *Pathway) caring(ctx context.Context, by casebook.Actor, may Verb, verb casebook.Verb, id string, seen int, edit func(*turn, *caseAt) error) (j Journey, err error) {
	err = p.do(ctx, by, may, func(t *turn) error {
		if err := t.change(id, seen, verb, "", func(c *caseAt) error { return edit(t, c) }); err != nil {
			return err
		}
		j, err = t.journey(id)
		return err
	})
	return j, err
}

// CannedCare judges answers and drugs without a record behind them: for the
// gallery of pages.
func CannedCare(side eye.Side, answers map[string]string, lines []map[string]string) Care {
	in := plan.Clinical{Answers: answers, Weight: "50", AllergiesAsked: true, Drugs: lines}
	return Care{Decided: casebook.Decided{Answers: answers}, Drugs: casebook.Drugs{Weight: in.Weight, Lines: lines}, Now: in.Decide(&eye.Eye{Side: side}),
		Names: map[string]string{"p1": "Dr Ines Lark", "p3": "Sister Amara Reed"}}
}
