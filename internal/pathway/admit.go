package pathway

import (
	"context"
	"strings"

	"linn/eye"
	"linn/internal/care/casebook"
	"linn/unit"
)

// Admission is the form of a new eye: a person, new or known by the second
// identifier, one eye of theirs, and the theatre list where it is known.
type Admission struct {
	NewPatient
	Side string
	List string // ISO date as typed, "" for none
}

// Admit opens a case for one eye as one write: nothing is kept when any of it
// is refused. Somebody whose second identifier is in the record already must
// be the same person by name, and by sex and birth where both are recorded.
func (p *Pathway) Admit(ctx context.Context, by casebook.Actor, a Admission) (id string, err error) {
	err = p.do(ctx, by, VerbOpenCase, func(t *turn) error {
		listing, err := t.listing(Listing{Date: a.List})
		if err != nil {
			return err
		}
		if listing != nil && !May(t.by.Role, VerbList) {
			return refuse("list-not-yours", "list")
		}
		patient, err := t.knownOrNew(a.NewPatient)
		if err != nil {
			return err
		}
		if id, err = t.openCase(patient, eye.Side(a.Side)); err != nil || listing == nil {
			return err
		}
		return t.change(id, Newest, casebook.VerbList, "", func(c *caseAt) error {
			c.List = listing
			return nil
		})
	})
	return id, err
}

// knownOrNew finds the patient of a form, or adds one.
func (t *turn) knownOrNew(form NewPatient) (string, error) {
	patient, known, err := t.patientWith(line(form.Identifier))
	if err != nil {
		return "", err
	}
	if !known || line(form.Identifier) == "" {
		return t.addPatient(form)
	}
	is, err := casebook.Identify(t.tx, patient)
	if err != nil {
		return "", err
	}
	if !strings.EqualFold(line(form.Name), is.Name) {
		return "", refuse("identifier-known", "identifier", value("got", is.Identifier))
	}
	if form.Sex != "" && is.Sex != "" && eye.Sex(form.Sex) != is.Sex {
		return "", refuse("person-differs", "sex", value("got", is.Identifier))
	}
	return patient, t.sameBirth(form, is)
}

// sameBirth refuses a birth date or an age that the record contradicts: it is
// another person, or a slip. The other parts of the form are not taken; the
// record's stand.
func (t *turn) sameBirth(form NewPatient, is casebook.Identity) error {
	if strings.TrimSpace(form.Born) == "" {
		return nil
	}
	var typed casebook.Identity
	if r := born(&typed, form.Born, t.today()); r != nil {
		return refuse(r.Code, r.Field, r.Values...)
	}
	mine, ok := typed.AgeOn(t.today())
	theirs, known := is.AgeOn(t.today())
	exact := typed.BirthDate.Exact() && is.BirthDate.Exact()
	if exact && typed.BirthDate != is.BirthDate || ok && known && (mine > theirs+birthSlack || theirs > mine+birthSlack) {
		return refuse("person-differs", "born", value("got", is.Identifier))
	}
	return nil
}

// birthSlack is how far two ages of one person may lie apart when one of them
// is an estimate or a year alone: our own choice.
const birthSlack unit.Year = 2
