package pathway

import (
	"errors"
	"fmt"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
)

// Errors that callers branch on. A refusal that people can mend is a
// finding.Refusals; who may not is a *ForbiddenError; two people at once is a
// *Conflict. Everything else is a fault of the machinery.
var (
	ErrAbsent = casebook.ErrAbsent // no such case, patient, person or lens
	ErrErased = casebook.ErrErased // the patient was erased

	ErrReadOnly = casebook.ErrReadOnly // the record is open for reading only
	ErrDiskFull = casebook.ErrDiskFull
	ErrDisk     = casebook.ErrDisk
	ErrDamaged  = casebook.ErrDamaged
)

// Conflict says that somebody else wrote a newer revision of the case after
// the one this change was made from. Nothing of the change was kept; both
// versions are here.
type Conflict struct {
	Case    string
	Mine    casebook.Case // what would have been written
	Theirs  casebook.Case // what stands now
	Base    casebook.Case // what the change was made from
	Number  int           // of the revision that stands now
	By      string        // name of who wrote it
	ByID    string
	At      time.Time
	Changes []casebook.Change // from theirs (Old) to mine (New)
}

func (c *Conflict) Error() string {
	return fmt.Sprintf("pathway: case %s moved on to revision %d", c.Case, c.Number)
}

// conflict reads both versions out of the store's error.
func conflict(tx casebook.Tx, err error) error {
	var e *casebook.ConflictError
	if !errors.As(err, &e) || e.Mine.Kind != casebook.KindCase {
		return err
	}
	c := &Conflict{Case: e.Mine.Chain, Number: e.Theirs.Number, At: e.Theirs.At, By: nameOf(tx, e.Theirs.Actor), ByID: e.Theirs.Actor}
	if err := casebook.Decode(e.Mine, &c.Mine); err != nil {
		return err
	}
	if err := casebook.Decode(e.Theirs, &c.Theirs); err != nil {
		return err
	}
	for r, err := range tx.Chain(e.Mine.Kind, e.Mine.Chain) {
		if err != nil {
			return err
		}
		if r.Number == e.Mine.Number-1 {
			if err := casebook.Decode(r, &c.Base); err != nil {
				return err
			}
		}
	}
	changes, err := casebook.Diff(e.Theirs.Payload, e.Mine.Payload)
	if err != nil {
		return err
	}
	c.Changes = changes
	return c
}

// BaseText is what stood in a field, as typed, when the change was made. known
// is false for the eye that the conflict is not about.
func (c *Conflict) BaseText(side eye.Side, key string) (text string, known bool) {
	if side == c.Base.Side {
		return textOf(&caseAt{Case: c.Base}, "", key), true
	}
	return "", false
}

// refuse makes the refusals of one reason.
func refuse(code, field string, values ...finding.Value) error {
	return finding.Refusals{{Code: code, Field: field, Values: values}}
}

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

// nameOf is a person's name for people, their id when the Desk lacks them.
func nameOf(tx casebook.Tx, id string) string {
	p, _, err := casebook.Load[casebook.Person](tx, id)
	if err != nil || p.Name == "" {
		return id
	}
	return p.Name
}

// absentIsNone forgives that something is not in the record.
func absentIsNone(err error) error {
	if errors.Is(err, ErrAbsent) {
		return nil
	}
	return err
}
