package pathway

import (
	"context"
	"maps"
	"slices"
	"strings"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/operation"
	"linn/source"
	"linn/unit"
)

// Operating is what was written down of an operation, texts as typed. A field
// that is not named stays; an empty text takes it away.
type Operating struct {
	Case string
	Seen int // revision of the case the form was made from

	Values     map[string]string // by key of operation.Fields
	Hands      map[string]string // step → person
	Supervisor *string           // who stood beside a trainee; nil: not asked

	// Complications are all of them, nil: not asked.
	Complications []operation.Complication

	// Now puts the clock of this moment into a field that takes one.
	Now string

	// AsPlanned says that the planned lens is in the eye, its label read aloud
	// by two.
	AsPlanned bool

	// Confirm confirms a lens that is not the plan's, by whose eye it is.
	Confirm *Whose

	Done   bool   // the patient leaves the table: close the record and the case
	Reason string // of a change after the record was closed
}

// Whose is name and side as somebody typed them.
type Whose struct{ Name, Side string }

var noPlan = finding.Declare(finding.Rule{Code: "operation-unplanned", Severity: finding.Caution, Limit: "an operation without a signed plan in force",
	Ref: source.Ref{Key: source.OwnChoice, Where: "operation against plan", Grade: source.Own}})

// Operate writes down the operation as it is done. Nothing that was done is
// refused: what cannot be read, or is not the plan, is kept and said, and only
// keeps the record from being closed. A change after that needs a reason.
func (p *Pathway) Operate(ctx context.Context, by casebook.Actor, o Operating) (j Journey, err error) {
	err = p.do(ctx, by, VerbOperate, func(t *turn) error {
		c, err := t.load(o.Case, Newest)
		if err != nil {
			return err
		}
		verb := casebook.VerbOperate
		if c.Operated() {
			verb = casebook.VerbCorrect
			if o.Reason, err = t.reason(c.Patient, o.Reason); err != nil {
				return err
			}
		}
		err = t.change(o.Case, o.Seen, verb, line(o.Reason), func(c *caseAt) error { return t.operate(c, o) })
		if err != nil {
			return err
		}
		j, err = t.journey(o.Case)
		return err
	})
	return j, err
}

func (t *turn) operate(c *caseAt, o Operating) error {
	if c.State() == casebook.StateClosed && !c.Operated() {
		return refuse("operation-not-open", "")
	}
	if err := t.identified(c); err != nil {
		return err
	}
	plan, err := t.plannedOf(c)
	if err != nil {
		return err
	}
	if c.Operation == nil {
		first := plan.Prefill()
		c.Operation = &first
	}
	r := c.Operation
	if err := t.typed(c, r, o); err != nil {
		return err
	}
	if o.AsPlanned && plan.HasLens {
		r.Set(operation.KeyModel, plan.Model)
		r.Set(operation.KeyPower, unit.Signed(float64(plan.Power), 2))
		r.Set(operation.KeyLabel, "read-aloud")
	}
	if o.Confirm != nil {
		if err := t.confirmLens(c, plan, *o.Confirm); err != nil {
			return err
		}
	}
	if !o.Done || r.Done != nil {
		return nil
	}
	if err := closable(r, plan, t.today()); err != nil {
		return err
	}
	r.Done = &operation.Act{By: t.by.ID, At: t.stamp.At}
	if c.State() != casebook.StateClosed {
		c.Closed = casebook.ClosedOperated
	}
	return nil
}

// typed takes over what the form names.
func (t *turn) typed(c *caseAt, r *operation.Record, o Operating) error {
	for _, key := range slices.Sorted(maps.Keys(o.Values)) {
		f := operation.FieldNamed(key)
		if f == nil {
			return refuse("unknown-key", key)
		}
		if f.Kind == operation.Text {
			if err := t.plain(c.Patient, o.Values[key]); err != nil {
				return err
			}
		}
		r.Set(key, o.Values[key])
	}
	if f := operation.FieldNamed(o.Now); f != nil && f.Kind == operation.Clock {
		r.Set(o.Now, t.now.Format("15:04"))
	}
	for _, step := range operation.HeldSteps {
		if who, named := o.Hands[step]; named {
			if err := t.onDesk(who, step); err != nil {
				return err
			}
			r.Hold(step, who)
		}
	}
	if o.Supervisor != nil {
		if err := t.onDesk(*o.Supervisor, "supervisor"); err != nil {
			return err
		}
		r.Supervisor = *o.Supervisor
	}
	if o.Complications == nil {
		return nil
	}
	for _, k := range o.Complications {
		if err := t.plain(c.Patient, k.Note); err != nil {
			return err
		}
	}
	r.Complications = slices.DeleteFunc(slices.Clone(o.Complications), func(k operation.Complication) bool { return k.Kind == "" })
	return nil
}

// onDesk refuses a person who is not on the Desk; "" is nobody.
func (t *turn) onDesk(id, field string) error {
	if id == "" {
		return nil
	}
	if _, _, err := casebook.Load[casebook.Person](t.tx, id); err != nil {
		if absentIsNone(err) == nil {
			return refuse("no-person", field)
		}
		return err
	}
	return nil
}

// confirmLens notes that somebody who typed whose eye it is means this lens.
func (t *turn) confirmLens(c *caseAt, plan operation.Planned, w Whose) error {
	root, err := casebook.Resolve(t.tx, c.Patient)
	if err != nil {
		return err
	}
	who, err := casebook.Identify(t.tx, root)
	if err != nil {
		return err
	}
	var bad finding.Refusals
	if !strings.EqualFold(line(w.Name), line(who.Name)) {
		bad = append(bad, finding.Refusal{Code: "confirm-name", Field: "name"})
	}
	if line(strings.ToLower(w.Side)) != string(c.Side) {
		bad = append(bad, finding.Refusal{Code: "confirm-side", Field: "side"})
	}
	if err := bad.Err(); err != nil {
		return err
	}
	_, planned := c.Operation.Differs(plan)
	c.Operation.Confirmed = &operation.Confirmed{Act: operation.Act{By: t.by.ID, At: t.stamp.At}, Lens: c.Operation.Lens(), Plan: planned}
	return nil
}

// closable says everything that keeps a record from being closed: a stop, and
// what nobody can do without.
func closable(r *operation.Record, plan operation.Planned, today unit.Date) error {
	var bad finding.Refusals
	for _, key := range []string{operation.KeyDay, operation.KeyTechnique, operation.KeyPlace} {
		if r.Values[key] == "" {
			bad = append(bad, finding.Refusal{Code: "operation-needs", Field: key})
		}
	}
	for _, f := range operation.Check(*r, plan, today) {
		if f.Severity == finding.Stop {
			bad = append(bad, finding.Refusal{Code: "operation-stop", Field: f.Field, Values: finding.Values{value("why", f.Code)}})
		}
	}
	return bad.Err()
}

// plannedOf is what the signed plan in force says of the operation.
func (t *turn) plannedOf(c *caseAt) (p operation.Planned, err error) {
	if c.List != nil {
		p.List = c.List.Date
	}
	if c.Signed == nil || c.Reopened != "" {
		return p, nil
	}
	was, err := signedPlan(c.Signed)
	if err != nil {
		return p, err
	}
	p.Surgeon, p.Placement = c.Signed.By, string(was.Input.Eye.Placement)
	if c.Signed.ListDate.Known() {
		p.List = c.Signed.ListDate
	}
	if was.Input.Chosen == nil {
		return p, nil
	}
	p.Model, p.Power, p.HasLens = was.Input.Chosen.Model, was.Input.Chosen.Power, true
	shelf, err := t.shelf()
	for _, l := range shelf {
		if c.Chosen != nil && l.ID == c.Chosen.Lens {
			p.OnePiece = l.Pieces == casebook.OnePiece
		}
	}
	return p, err
}
