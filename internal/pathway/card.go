package pathway

import (
	"context"
	"encoding/json"
	"errors"
	"slices"

	"linn/eye"
	"linn/internal/care/casebook"
	"linn/unit"
)

// Card is a patient with their cases, as one looks at before two records are
// made one, readings are moved, or a key is destroyed.
type Card struct {
	Found
	Age   unit.Reading[unit.Year]
	Also  int // other records that were merged into this one
	Cases []CardCase
}

// CardCase is one case on a card.
type CardCase struct {
	Case     string
	Side     eye.Side
	State    casebook.State
	Revision int
	List     unit.Date
}

// FindCard finds the patient with a second identifier for one of the verbs
// Move, Merge and Erase; ErrAbsent when there is none.
func (p *Pathway) FindCard(ctx context.Context, by casebook.Actor, verb Verb, identifier string) (c Card, err error) {
	if !slices.Contains([]Verb{VerbMove, VerbMerge, VerbErase}, verb) {
		return c, errors.New("pathway: no card for " + string(verb))
	}
	err = p.look(ctx, by, verb, func(t *turn) error {
		patient, known, err := t.patientWith(line(identifier))
		if err == nil && !known {
			err = ErrAbsent
		}
		if err != nil {
			return err
		}
		t.touch(casebook.AccessRead, patient, "")
		c, err = t.card(patient)
		return err
	})
	return c, err
}

func (t *turn) card(patient string) (c Card, err error) {
	c.Patient = patient
	if c.Identity, err = casebook.Identify(t.tx, patient); err != nil {
		return c, err
	}
	if age, ok := c.AgeOn(t.today()); ok {
		c.Age = unit.Known(age)
	}
	rows, err := t.casesOf(patient)
	if err != nil {
		return c, err
	}
	kin, err := t.tx.Kin(patient)
	if err != nil {
		return c, err
	}
	c.Also = len(kin) - 1
	for _, w := range rows {
		c.Cases = append(c.Cases, CardCase{w.Case, w.Side, w.State, w.Number, w.List.Date})
	}
	return c, nil
}

// isErased reports that a patient's key was destroyed.
func isErased(err error) bool { return errors.Is(err, ErrErased) }

// identityJSON is what a revision of a patient says, unsealed where the key is
// still there.
func identityJSON(p casebook.Patient, patient string, key casebook.Key, readable bool) ([]byte, error) {
	says := struct {
		casebook.Identity
		MergedInto string `json:"merged_into,omitempty"`
		Erased     bool   `json:"erased,omitempty"`
		Second     string `json:"second,omitempty"`
	}{MergedInto: p.MergedInto, Erased: p.Erased, Second: p.Second}
	if readable && p.Sealed != "" {
		id, err := casebook.Unseal(p.Sealed, patient, key)
		if err != nil {
			return nil, err
		}
		says.Identity = id
	}
	return json.Marshal(says)
}
