package pathway

import (
	"context"
	"maps"
	"slices"
	"strings"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/followup"
	"linn/internal/care/operation"
	"linn/unit"
)

// NewVisit stands for the index of a visit that is not in the record yet.
const NewVisit = -1

// Visiting is one visit as typed. A field that is not named stays; an empty
// text takes it away.
type Visiting struct {
	Case  string
	Seen  int
	Visit int // index in the case, or NewVisit

	On     string // civil day; "" is today
	Kind   string
	Values map[string]string

	Withdraw string // why the visit was entered by mistake
	Reason   string // of a change to a visit that stands in the record
}

// FollowUp writes down a visit of an operated eye. A visit that stands is
// changed, or withdrawn, with a reason; it never leaves the record.
func (p *Pathway) FollowUp(ctx context.Context, by casebook.Actor, v Visiting) (j Journey, err error) {
	err = p.do(ctx, by, VerbFollowUp, func(t *turn) error {
		reason := line(v.Reason)
		if v.Visit != NewVisit {
			c, err := t.load(v.Case, Newest)
			if err != nil {
				return err
			}
			if reason, err = t.reason(c.Patient, v.Reason+v.Withdraw); err != nil {
				return err
			}
		}
		err := t.change(v.Case, v.Seen, casebook.VerbFollowUp, reason, func(c *caseAt) error {
			if err := t.afterOperation(c); err != nil {
				return err
			}
			return t.visit(c, v)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(v.Case)
		return err
	})
	return j, err
}

// afterOperation refuses what belongs to an operated eye for another.
func (t *turn) afterOperation(c *caseAt) error {
	if !c.Operated() {
		return refuse("not-operated", "")
	}
	return t.identified(c)
}

func (t *turn) visit(c *caseAt, form Visiting) error {
	v := followup.Visit{By: t.by.ID, On: t.today(), Kind: followup.Unplanned}
	switch {
	case form.Visit != NewVisit && (form.Visit < 0 || form.Visit >= len(c.Visits)):
		return refuse("no-such-visit", "")
	case form.Visit != NewVisit:
		v = c.Visits[form.Visit].Clone()
	}
	if err := t.enterVisit(c, &v, form); err != nil {
		return err
	}
	if form.Visit == NewVisit {
		if v.Empty() {
			return refuse("visit-empty", "")
		}
		c.Visits = append(c.Visits, v)
		return nil
	}
	if form.Withdraw != "" {
		v.Withdrawn = line(form.Withdraw)
	}
	c.Visits[form.Visit] = v
	return nil
}

func (t *turn) enterVisit(c *caseAt, v *followup.Visit, form Visiting) error {
	var bad finding.Refusals
	if text := strings.TrimSpace(form.On); text != "" {
		on, err := unit.ParseDate(text)
		if err != nil || !on.Exact() {
			bad = append(bad, finding.Refusal{Code: "not-a-date", Field: "on", Values: finding.Values{value("got", clip(text))}})
		} else if t.today().Before(on) {
			bad = append(bad, finding.Refusal{Code: "visit-day-ahead", Field: "on", Values: finding.Values{value("got", on.String())}})
		}
		v.On = on
	}
	if form.Kind != "" {
		v.Kind = followup.Kind(form.Kind)
	}
	if !slices.Contains(followup.Kinds, v.Kind) {
		bad = append(bad, finding.Refusal{Code: "unknown-word", Field: "kind", Values: finding.Values{value("got", clip(form.Kind)), value("allowed", kindWords())}})
	}
	for _, key := range slices.Sorted(maps.Keys(form.Values)) {
		f := followup.FieldNamed(key)
		if f == nil {
			return refuse("unknown-key", key)
		}
		if f.Kind == operation.Text && !f.Acuity {
			if err := t.plain(c.Patient, form.Values[key]); err != nil {
				return err
			}
		}
		v.Set(key, form.Values[key])
	}
	return bad.Err()
}

func kindWords() string {
	var words []string
	for _, k := range followup.Kinds {
		words = append(words, string(k))
	}
	return strings.Join(words, ", ")
}

// GiveUp notes why nobody expects an operated eye any more; "" takes it back.
func (p *Pathway) GiveUp(ctx context.Context, by casebook.Actor, id string, seen int, why string) (j Journey, err error) {
	err = p.do(ctx, by, VerbTrace, func(t *turn) error {
		err := t.change(id, seen, casebook.VerbFollowUp, why, func(c *caseAt) error {
			if err := t.afterOperation(c); err != nil {
				return err
			}
			if why != "" && !slices.Contains(followup.LostWhy, why) {
				return refuse("unknown-word", "lost", value("got", clip(why)), value("allowed", strings.Join(followup.LostWhy, ", ")))
			}
			if c.Lost = nil; why != "" {
				c.Lost = &followup.Lost{Why: why, On: t.today(), By: t.by.ID}
			}
			return nil
		})
		if err != nil {
			return err
		}
		j, err = t.journey(id)
		return err
	})
	return j, err
}

// Bed says where the morning round finds an operated eye; "" is nowhere.
func (p *Pathway) Bed(ctx context.Context, by casebook.Actor, id string, seen int, bed string) (j Journey, err error) {
	err = p.do(ctx, by, VerbFollowUp, func(t *turn) error {
		if len(line(bed)) > 20 {
			return refuse("too-long-text", "bed", value("most", "20"))
		}
		err := t.change(id, seen, casebook.VerbFollowUp, "", func(c *caseAt) error {
			if err := t.afterOperation(c); err != nil {
				return err
			}
			c.Bed = line(bed)
			return t.plain(c.Patient, bed)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(id)
		return err
	})
	return j, err
}
