package pathway

import (
	"context"
	"errors"
	"fmt"
	"time"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

// Newest stands for "whatever is the newest revision" where a change names
// the revision it was made from. It is for callers that showed nobody a
// revision: an import, the demo.
const Newest = -1

// turn is one person doing one thing in one transaction.
type turn struct {
	*Pathway
	tx    casebook.Tx
	verb  Verb
	by    casebook.Actor
	now   time.Time // in the ward's zone
	stamp casebook.Stamp
	log   []casebook.Access
	sent  Sending
	glass []casebook.Glass // the role does not allow the verb; these patients may be looked at

	// What one transaction reads again and again.
	lenses  []ShelfLens
	settled *LocalProtocol
	pasts   map[string][]casebook.Version[casebook.Case]
}

func (t *turn) today() unit.Date { return unit.DateOf(t.now) }

// do runs fn as one write by a permitted person. Lines of the access log are
// written with it.
func (p *Pathway) do(ctx context.Context, by casebook.Actor, verb Verb, fn func(*turn) error) error {
	return p.Store.Do(ctx, func(tx casebook.Tx) error {
		t, err := p.turn(tx, by, verb)
		if err != nil {
			return err
		}
		t.sent = sendingOf(ctx)
		if err := fn(t); err != nil {
			return err
		}
		return t.writeLog(tx)
	})
}

// look runs fn on one state of the record and then writes down who looked at
// what; without that line nothing is shown.
func (p *Pathway) look(ctx context.Context, by casebook.Actor, verb Verb, fn func(*turn) error) error {
	var seen *turn
	err := p.Store.View(ctx, func(tx casebook.Tx) (err error) {
		if seen, err = p.turn(tx, by, verb); err != nil {
			return err
		}
		return fn(seen)
	})
	if err != nil || len(seen.log) == 0 {
		return err
	}
	return p.Store.Do(ctx, seen.writeLog)
}

func (p *Pathway) turn(tx casebook.Tx, by casebook.Actor, verb Verb) (*turn, error) {
	now := p.Clock()
	actor, err := permit(tx, by, verb)
	glass, broken := brokenGlass(tx, by, verb, err, now)
	if err != nil && !broken {
		return nil, err
	}
	return &turn{Pathway: p, tx: tx, verb: verb, by: actor, now: now, glass: glass,
		stamp: casebook.StampOf(func() time.Time { return now }, actor)}, nil
}

// touch notes an access for the log.
func (t *turn) touch(what, patient, caseID string) {
	detail := string(t.verb)
	if t.glass != nil {
		detail = throughGlass + detail
	}
	t.log = append(t.log, casebook.Access{At: t.stamp.At, Zone: t.stamp.Zone, Actor: t.by.ID, What: what,
		Patient: patient, Case: caseID, Detail: detail})
}

func (t *turn) writeLog(tx casebook.Tx) error {
	for _, a := range t.log {
		if err := tx.LogAccess(a); err != nil {
			return fmt.Errorf("pathway: access log: %w", err)
		}
	}
	return nil
}

// history reads all states of a case, once.
func (t *turn) history(id string) ([]casebook.Version[casebook.Case], error) {
	if h, ok := t.pasts[id]; ok {
		return h, nil
	}
	h, err := casebook.History[casebook.Case](t.tx, id)
	if err == nil {
		t.pasts = with(t.pasts, id, h)
	}
	return h, err
}

// caseAt is a case at one revision.
type caseAt struct {
	casebook.Case
	id     string
	number int
	head   casebook.Revision
}

// load reads a case as it was at revision seen.
func (t *turn) load(id string, seen int) (caseAt, error) {
	c, head, err := casebook.Load[casebook.Case](t.tx, id)
	if err == nil {
		err = t.sees(c.Patient)
	}
	if err != nil {
		return caseAt{}, err
	}
	if seen == Newest || seen == head.Number {
		return caseAt{c, id, head.Number, head}, nil
	}
	for r, err := range t.tx.Chain(casebook.KindCase, id) {
		if err != nil {
			return caseAt{}, err
		}
		if r.Number == seen {
			return caseAt{c, id, seen, head}, casebook.Decode(r, &c)
		}
	}
	return caseAt{}, refuse("no-such-revision", "")
}

// store writes the case as the revision after the one it was loaded at. A
// state that says nothing new is not written.
func (t *turn) store(was, is caseAt, verb casebook.Verb, reason string) error {
	same, err := sameState(was.Case, is.Case)
	if err != nil || same {
		return err
	}
	is.Verb, is.Reason, is.Once = verb, reason, t.sent.Once
	if _, err := casebook.Revise(t.tx, t.stamp, is.id, is.number, is.Case); err != nil {
		return conflict(t.tx, err)
	}
	t.touch(casebook.AccessChange, is.Patient, is.id)
	delete(t.pasts, is.id)
	return nil
}

// sameState compares all but verb, reason and the key it was sent under.
func sameState(a, b casebook.Case) (bool, error) {
	a.Verb, a.Reason, b.Verb, b.Reason, a.Once, b.Once = "", "", "", "", "", ""
	x, errX := casebook.Encode(a)
	y, errY := casebook.Encode(b)
	return string(x) == string(y), errors.Join(errX, errY)
}

// change loads a case, lets edit change a copy of it and stores the result.
func (t *turn) change(id string, seen int, verb casebook.Verb, reason string, edit func(*caseAt) error) error {
	seen, stored, err := t.sentBefore(id, seen)
	if err != nil || stored {
		return err
	}
	was, err := t.load(id, seen)
	if err != nil {
		return err
	}
	is, err := t.load(id, seen) // a second copy: maps and slices are not shared
	if err != nil {
		return err
	}
	if err := edit(&is); err != nil {
		return err
	}
	return t.store(was, is, verb, reason)
}

// writable refuses to change a case that is closed, or whose plan is signed
// and in force, or whose patient was erased.
func (t *turn) writable(c *caseAt) error {
	switch c.State() {
	case casebook.StateClosed:
		return refuse("case-closed", "", value("why", c.Closed))
	case casebook.StateSigned:
		return refuse("case-signed", "")
	}
	return t.identified(c)
}

func (t *turn) identified(c *caseAt) error {
	patient, err := casebook.Resolve(t.tx, c.Patient)
	if err != nil {
		return err
	}
	p, _, err := casebook.Load[casebook.Patient](t.tx, patient)
	if err == nil && p.Erased {
		return refuse("patient-erased", "")
	}
	return err
}

// answer is what a form gives back: the refusals of an error, if it is one.
func answer(err error) (finding.Refusals, bool) {
	var r finding.Refusals
	return r, errors.As(err, &r)
}
