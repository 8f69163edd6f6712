package pathway

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/operation"
	"linn/source"
	"linn/unit"
)

// Hand is the eye whose lens is asked for. It never holds the planned power:
// two people read the box without knowing it.
type Hand struct {
	Case       string
	Revision   int
	Row        WardRow
	Sheet      int
	PlanNumber int
	SameName   bool     // another eye of a person of this name stands on the list
	Models     []string // on the Shelf
	People     []HandPerson
	Last       *operation.InHand // the box that agreed last
}

// HandPerson is somebody who may read a box.
type HandPerson struct{ ID, Name string }

// Box is one box as scanned and read.
type Box struct {
	Case string
	Seen int
	Hand operation.InHand // its act, sheet and stops are written here
}

// BoxAnswer is what comes of holding a box against the plan.
type BoxAnswer struct {
	Hand
	Agrees   bool
	Power    unit.Dioptre // where the box agrees
	Cylinder string
	Findings []finding.Finding
}

var implanted = finding.Declare(finding.Rule{Code: "hand-implanted", Severity: finding.Stop, Absolute: true, Limit: "product and serial number were already taken for another eye",
	Ref: source.Ref{Key: source.LensInHand, Where: "one box, one eye", Grade: source.Own}})

// InHand finds the eye of today's list by the code on its sheet or the
// identifier on the wristband. An old sheet, another day's, and a wristband
// that stands for two eyes are refused.
func (p *Pathway) InHand(ctx context.Context, by casebook.Actor, code string) (h Hand, err error) {
	err = p.look(ctx, by, VerbScan, func(t *turn) error {
		rows, err := t.tx.Ward(casebook.WardQuery{List: t.today()})
		if err != nil {
			return err
		}
		row, err := t.scanned(rows, code)
		if err != nil {
			return err
		}
		h, err = t.hand(row)
		for _, other := range rows {
			if who, err := other.Person.Identity(); err == nil && other.Person.Patient != row.Person.Patient && strings.EqualFold(line(who.Name), line(h.Row.Who.Name)) {
				h.SameName = true
			}
		}
		t.touch(casebook.AccessRead, row.Patient, row.Case)
		return err
	})
	return h, err
}

// SheetCode is what the mark on a sheet says before its number.
const SheetCode = "linn:"

// scanned finds the row that a code stands for.
func (t *turn) scanned(rows []casebook.WardRow, code string) (casebook.WardRow, error) {
	code = line(code)
	if code == "" {
		return casebook.WardRow{}, refuse("hand-no-code", "code")
	}
	if len(code) > len(SheetCode) && strings.EqualFold(code[:len(SheetCode)], SheetCode) {
		return t.bySheet(rows, code[len(SheetCode):])
	}
	var found []casebook.WardRow
	for _, row := range rows {
		who, err := row.Person.Identity()
		if err == nil && strings.EqualFold(line(who.Identifier), code) && row.State != casebook.StateClosed {
			found = append(found, row)
		}
	}
	switch len(found) {
	case 1:
		return found[0], nil
	case 0:
		return casebook.WardRow{}, refuse("hand-nobody", "code", value("got", clip(code)))
	}
	return casebook.WardRow{}, refuse("hand-two-eyes", "code", value("got", clip(code)))
}

func (t *turn) bySheet(rows []casebook.WardRow, number string) (casebook.WardRow, error) {
	n, err := strconv.Atoi(number)
	if err != nil || n < 1 {
		return casebook.WardRow{}, refuse("hand-nobody", "code", value("got", clip(SheetCode+number)))
	}
	for _, row := range rows {
		if row.Sheet == n && row.State == casebook.StateSigned {
			return row, nil
		}
	}
	for _, row := range rows {
		versions, err := t.history(row.Case)
		if err != nil {
			return casebook.WardRow{}, err
		}
		if slices.ContainsFunc(versions, func(v casebook.Version[casebook.Case]) bool {
			return v.State.Signed != nil && v.State.Signed.Sheet == n
		}) {
			return casebook.WardRow{}, refuse("hand-old-sheet", "code", value("number", number))
		}
	}
	return casebook.WardRow{}, refuse("hand-no-sheet", "code", value("number", number))
}

// hand is the eye of a row, if its sheet may be used.
func (t *turn) hand(row casebook.WardRow) (h Hand, err error) {
	c, err := t.load(row.Case, Newest)
	if err != nil {
		return h, err
	}
	if err := t.inForce(c); err != nil {
		return h, err
	}
	h = Hand{Case: row.Case, Revision: c.head.Number, Sheet: c.Signed.Sheet, PlanNumber: c.Signed.PlanNumber, Last: c.InHand}
	if h.Row, _, err = t.wardRow(row, "", madeAnew); err != nil {
		return h, err
	}
	h.Row.Model, h.Row.Power = "", unit.Reading[unit.Dioptre]{} // nobody is to read them here
	shelf, err := t.shelf()
	for _, l := range shelf {
		if !slices.Contains(h.Models, l.Model) {
			h.Models = append(h.Models, l.Model)
		}
	}
	slices.Sort(h.Models)
	if err != nil {
		return h, err
	}
	h.People, err = t.readers()
	return h, err
}

// readers are the people who may read a box.
func (t *turn) readers() (list []HandPerson, err error) {
	for r, err := range t.tx.Heads(casebook.KindPerson) {
		if err != nil {
			return nil, err
		}
		var p casebook.Person
		if err := casebook.Decode(r, &p); err != nil {
			return nil, err
		}
		if p.Active && slices.Contains(permitted[VerbScan], p.Role) {
			list = append(list, HandPerson{r.Chain, p.Name})
		}
	}
	return list, nil
}

// inForce refuses an eye whose sheet may not be used today.
func (t *turn) inForce(c caseAt) error {
	if c.Operation != nil && c.Operation.Done != nil || c.State() == casebook.StateClosed {
		return refuse("case-closed", "", value("why", c.Closed))
	}
	s, err := t.gather(c)
	if err != nil {
		return err
	}
	out, err := t.sheet(&s)
	if err != nil {
		return err
	}
	if !out.Valid || c.Signed.ListDate != t.today() {
		return refuse("hand-not-in-force", "code")
	}
	return nil
}

// Scan holds a box against the signed plan. Every box is kept, those that do
// not agree as well. A stop has no override: it ends with the right box, the
// right eye, or a new plan and its sheet. What agrees goes into the record of
// the operation.
func (p *Pathway) Scan(ctx context.Context, by casebook.Actor, b Box) (a BoxAnswer, err error) {
	err = p.do(ctx, by, VerbScan, func(t *turn) error {
		if err := b.complete(); err != nil {
			return err
		}
		err := t.change(b.Case, b.Seen, casebook.VerbScan, "", func(c *caseAt) (err error) {
			if err := errors.Join(t.onDesk(b.Hand.First.Who, "first_reader"), t.onDesk(b.Hand.Second.Who, "second_reader")); err != nil {
				return err
			}
			if err := t.inForce(*c); err != nil {
				return err
			}
			a, err = t.judge(c, b.Hand)
			return err
		})
		if err != nil {
			return err
		}
		found, err := t.tx.Ward(casebook.WardQuery{List: t.today()})
		for _, row := range found {
			if row.Case == b.Case && err == nil {
				a.Hand, err = t.hand(row)
			}
		}
		return err
	})
	return a, err
}

// complete refuses a box that was not read whole.
func (b *Box) complete() error {
	var bad finding.Refusals
	h := &b.Hand
	for _, f := range [][2]string{{"model", h.Model}, {"first_reader", h.First.Who}, {"first_power", h.First.Power}, {"first_cylinder", h.First.Cylinder},
		{"second_reader", h.Second.Who}, {"second_power", h.Second.Power}, {"second_cylinder", h.Second.Cylinder}} {
		if line(f[1]) == "" {
			bad = append(bad, finding.Refusal{Code: "hand-needs", Field: f[0]})
		}
	}
	return bad.Err()
}

func (t *turn) judge(c *caseAt, h operation.InHand) (a BoxAnswer, err error) {
	was, err := t.plannedOf(c)
	if err != nil {
		return a, err
	}
	signed, err := signedPlan(c.Signed)
	if err != nil {
		return a, err
	}
	hand := operation.HandPlan{Planned: was, Cylinder: signed.Input.Eye.ToricCylinder}
	for _, l := range signed.Lenses {
		for _, r := range l.Rescue {
			if l.Model == was.Model && r.Model != "" && r.Power.Known {
				hand.Ladder = append(hand.Ladder, operation.Rung{Place: r.Place, Model: r.Model, Power: unit.Dioptre(r.Power.Value)})
			}
		}
	}
	h.Act, h.Sheet, h.PlanNumber, h.Stops = operation.Act{By: t.by.ID, At: t.stamp.At}, c.Signed.Sheet, c.Signed.PlanNumber, nil
	a.Findings = h.Compare(hand, t.today())
	taken, err := t.taken(c.id, &h)
	if err != nil {
		return a, err
	}
	if taken {
		a.Findings = append(a.Findings, implanted.On("serial", value("serial", h.Serial)))
	}
	for _, f := range a.Findings {
		if f.Severity == finding.Stop {
			h.Stops = append(h.Stops, f.Code)
		}
	}
	slices.SortStableFunc(a.Findings, func(x, y finding.Finding) int { return cmp.Compare(y.Severity, x.Severity) })
	if len(h.Stops) > 0 {
		c.Stopped = append(c.Stopped, h)
		return a, nil
	}
	v, err := unit.ParseNumber(line(h.First.Power))
	a.Agrees, a.Power, a.Cylinder = true, unit.Dioptre(v), operation.Cylinder(h.First.Cylinder)
	c.InHand = &h
	prefillBox(c, was, &h, a.Power)
	return a, err
}

// prefillBox writes the lens that agreed into the record of the operation.
func prefillBox(c *caseAt, plan operation.Planned, h *operation.InHand, power unit.Dioptre) {
	if c.Operation == nil {
		first := plan.Prefill()
		c.Operation = &first
	}
	r := c.Operation
	r.Set(operation.KeyModel, h.Model)
	r.Set(operation.KeyPower, unit.Signed(float64(power), 2))
	r.Set(operation.KeyLabel, "scanned")
	number := h.Serial
	if number == "" {
		number = h.Lot
	}
	r.Set(operation.KeyLensLot, number)
	if h.Place != "" {
		r.Set(operation.KeyPlace, h.Place)
	}
}

// taken reports whether another eye has this very box: its newest box that
// agreed. Only cases that hold the serial's text are read whole.
func (t *turn) taken(id string, h *operation.InHand) (bool, error) {
	if h.Serial == "" {
		return false, nil
	}
	for r, err := range t.tx.Heads(casebook.KindCase) {
		if err != nil {
			return false, err
		}
		if r.Chain == id || !bytes.Contains(r.Payload, []byte(`"in_hand"`)) {
			continue
		}
		var c casebook.Case
		if err := casebook.Decode(r, &c); err != nil && !isNewer(err) {
			return false, err
		}
		if o := c.InHand; o != nil && o.Serial == h.Serial && o.Product == h.Product && (c.Operated() || c.Closed == "") {
			return true, nil
		}
	}
	return false, nil
}
