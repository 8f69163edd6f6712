package pathway

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

// NewPatient is the form of a patient, texts as typed. Born is an ISO date at
// any precision, or an age in years. Allergies and Drugs are nil when nobody
// asked, empty when the answer was "none known".
type NewPatient struct {
	Name, Identifier string
	Sex              string
	Born             string
	Allergies, Drugs []string
}

// maxText bounds a typed line of text.
const maxText = 200

// identity reads the form, or says everything that is wrong with it.
func (n NewPatient) identity(today unit.Date) (casebook.Identity, error) {
	var bad finding.Refusals
	id := casebook.Identity{Name: line(n.Name), Identifier: line(n.Identifier), Sex: eye.Sex(n.Sex),
		Allergies: stated(n.Allergies), Drugs: stated(n.Drugs)}
	for _, f := range []struct{ key, text string }{{"name", id.Name}, {"identifier", id.Identifier}} {
		if f.text == "" {
			bad = append(bad, finding.Refusal{Code: "needed", Field: f.key})
		} else if len(f.text) > maxText {
			bad = append(bad, finding.Refusal{Code: "too-long-text", Field: f.key, Values: finding.Values{value("most", strconv.Itoa(maxText))}})
		}
	}
	if n.Sex != "" {
		if r := eye.FieldNamed("sex").Set(new(eye.Eye), n.Sex); r != nil {
			bad = append(bad, *r)
		}
	}
	if err := born(&id, n.Born, today); err != nil {
		bad = append(bad, *err)
	}
	return id, bad.Err()
}

// born reads a birth date or an age into the identity.
func born(id *casebook.Identity, text string, today unit.Date) *finding.Refusal {
	text = strings.TrimSpace(text)
	refused := func(code string) *finding.Refusal {
		return &finding.Refusal{Code: code, Field: "born", Values: finding.Values{value("got", clip(text))}}
	}
	if text == "" {
		return refused("born-needed")
	}
	if age, err := strconv.Atoi(text); err == nil && len(text) <= 3 {
		if age == 0 { // the record takes an estimate of 0 for none, and no age for a grown-up's
			return refused("born-infant")
		}
		if age < 0 || age > 130 {
			return refused("born-age")
		}
		id.EstimatedAge, id.AsOf = age, today
		return nil
	}
	date, err := unit.ParseDate(text)
	switch {
	case err != nil:
		return refused("born-unreadable")
	case today.Before(date):
		return refused("born-later")
	}
	if age, _ := date.AgeOn(today); age > 130 {
		return refused("born-age")
	}
	id.BirthDate = date
	return nil
}

func stated(items []string) casebook.Stated {
	s := casebook.Stated{Asked: items != nil}
	for _, i := range items {
		if i = line(i); i != "" {
			s.Items = append(s.Items, i)
		}
	}
	return s
}

// line is typed text on one line without surrounding space.
func line(s string) string { return strings.Join(strings.Fields(s), " ") }

// clip shortens a stranger's text for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}

// AddPatient opens a patient's chain. A second identifier that another patient
// already has is refused: that is the same person, or a slip.
func (p *Pathway) AddPatient(ctx context.Context, by casebook.Actor, form NewPatient) (patient string, err error) {
	err = p.do(ctx, by, VerbAddPatient, func(t *turn) error {
		patient, err = t.addPatient(form)
		return err
	})
	return patient, err
}

func (t *turn) addPatient(form NewPatient) (string, error) {
	id, err := form.identity(t.today())
	if err != nil {
		return "", err
	}
	if err := t.freshIdentifier(id.Identifier, ""); err != nil {
		return "", err
	}
	patient, err := casebook.NewID(t.Random, t.now)
	if err != nil {
		return "", err
	}
	key, err := casebook.NewKey(t.Random)
	if err != nil {
		return "", err
	}
	sealed, err := casebook.Seal(id, patient, key, t.Random)
	if err != nil {
		return "", err
	}
	t.touch(casebook.AccessChange, patient, "")
	_, err = casebook.NewPatient(t.tx, t.stamp, patient, key, sealed)
	return patient, err
}

// patientWith finds the living record that carries a second identifier.
func (t *turn) patientWith(identifier string) (patient string, known bool, err error) {
	list, err := t.register.candidates(t.tx, identifier)
	if err != nil {
		return "", false, err
	}
	slices.Sort(list)
	for _, id := range list {
		p, _, err := casebook.Load[casebook.Patient](t.tx, id)
		if err != nil {
			return "", false, err
		}
		if p.Erased || p.MergedInto != "" {
			continue
		}
		who, err := casebook.Identify(t.tx, id)
		if err != nil {
			return "", false, err
		}
		if strings.EqualFold(who.Identifier, identifier) {
			return id, true, nil
		}
	}
	return "", false, nil
}

// freshIdentifier refuses a second identifier that another patient carries.
func (t *turn) freshIdentifier(identifier, own string) error {
	other, known, err := t.patientWith(identifier)
	if err == nil && known && other != own {
		return refuse("identifier-known", "identifier", value("got", identifier))
	}
	return err
}

// Found is a patient with who it is.
type Found struct {
	Patient string
	casebook.Identity
}

// FindPatient finds the patient with a second identifier, ErrAbsent when there
// is none.
func (p *Pathway) FindPatient(ctx context.Context, by casebook.Actor, identifier string) (found Found, err error) {
	err = p.look(ctx, by, VerbWard, func(t *turn) error {
		patient, known, err := t.patientWith(line(identifier))
		if err == nil && !known {
			err = ErrAbsent
		}
		if err != nil {
			return err
		}
		t.touch(casebook.AccessRead, patient, "")
		found.Patient = patient
		found.Identity, err = casebook.Identify(t.tx, patient)
		return err
	})
	return found, err
}

// Someone is the person of a case and the revision of who they are.
type Someone struct {
	Found
	Revision int
}

// WhoIs finds the person of a case, to be corrected.
func (p *Pathway) WhoIs(ctx context.Context, by casebook.Actor, caseID string) (who Someone, err error) {
	err = p.look(ctx, by, VerbCorrect, func(t *turn) error {
		c, err := t.load(caseID, Newest)
		if err != nil {
			return err
		}
		if who.Patient, err = casebook.Resolve(t.tx, c.Patient); err != nil {
			return err
		}
		if who.Identity, err = casebook.Identify(t.tx, who.Patient); err != nil {
			return err
		}
		_, head, err := casebook.Load[casebook.Patient](t.tx, who.Patient)
		who.Revision = head.Number
		t.touch(casebook.AccessRead, who.Patient, caseID)
		return err
	})
	return who, err
}

// CorrectPatient changes who a patient is, as a new revision with a reason.
// Every open case of the patient loses its second person, every signed plan is
// reopened: the name on its sheet is no longer right.
func (p *Pathway) CorrectPatient(ctx context.Context, by casebook.Actor, patient string, seen int, form NewPatient, reason string) error {
	return p.do(ctx, by, VerbCorrect, func(t *turn) error {
		reason, err := t.reason(patient, reason)
		if err != nil {
			return err
		}
		id, err := form.identity(t.today())
		if err != nil {
			return err
		}
		if err := errors.Join(namesNobody(id, reason), t.freshIdentifier(id.Identifier, patient)); err != nil {
			return err
		}
		state, head, err := casebook.Load[casebook.Patient](t.tx, patient)
		if err != nil {
			return err
		}
		if state.MergedInto != "" || state.Erased {
			return refuse("patient-gone", "")
		}
		if seen != Newest && seen != head.Number {
			return refuse("patient-moved-on", "")
		}
		key, err := t.tx.Key(patient)
		if err != nil {
			return err
		}
		state.Verb, state.Reason = casebook.VerbCorrect, reason
		if state.Sealed, err = casebook.Seal(id, patient, key, t.Random); err != nil {
			return err
		}
		if _, err := casebook.Revise(t.tx, t.stamp, patient, head.Number, state); err != nil {
			return err
		}
		t.touch(casebook.AccessChange, patient, "")
		return t.unsettle(patient, "patient-corrected")
	})
}

// unsettle takes the second person from every case of a patient and reopens
// what was signed.
func (t *turn) unsettle(patient, why string) error {
	cases, err := t.casesOf(patient)
	if err != nil {
		return err
	}
	for _, c := range cases {
		err := t.change(c.Case, Newest, casebook.VerbReopen, why, func(c *caseAt) error {
			if c.State() == casebook.StateSigned {
				reopen(&c.Case, why)
			}
			if c.State() != casebook.StateClosed {
				c.ReadBack = nil
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// casesOf lists the cases of a patient and of all records merged into it.
func (t *turn) casesOf(patient string) ([]casebook.WardRow, error) {
	root, err := casebook.Resolve(t.tx, patient)
	if err != nil {
		return nil, err
	}
	kin, err := t.tx.Kin(root)
	if err != nil {
		return nil, err
	}
	var cases []casebook.WardRow
	for _, id := range kin {
		own, err := t.tx.Ward(casebook.WardQuery{Patient: id})
		if err != nil {
			return nil, err
		}
		cases = append(cases, own...)
	}
	return cases, nil
}

// MergePatients records that two records are one person; by and second have
// both looked. Every case of both loses its second person.
func (p *Pathway) MergePatients(ctx context.Context, by, second casebook.Actor, patient, into, reason string) error {
	return p.do(ctx, by, VerbMerge, func(t *turn) error {
		if err := t.two(second, patient, reason); err != nil {
			return err
		}
		if err := t.plain(into, reason); err != nil {
			return err
		}
		if err := t.mergeable(patient, into); err != nil {
			return err
		}
		if err := casebook.MergePatient(t.tx, t.stamp, second.ID, patient, into, line(reason)); err != nil {
			return err
		}
		t.touch(casebook.AccessChange, patient, "")
		t.touch(casebook.AccessChange, into, "")
		return t.unsettle(into, "patient-merged")
	})
}

// mergeable says in words what MergePatient would call broken.
func (t *turn) mergeable(patient, into string) error {
	was, _, err := casebook.Load[casebook.Patient](t.tx, patient)
	if err != nil {
		return err
	}
	root, err := casebook.Resolve(t.tx, into)
	if err != nil {
		return err
	}
	target, _, err := casebook.Load[casebook.Patient](t.tx, root)
	if err != nil {
		return err
	}
	switch {
	case root == patient:
		return refuse("merge-same", "")
	case was.MergedInto != "" || was.Erased || target.Erased:
		return refuse("patient-gone", "")
	}
	return t.oneCaseASide(patient, root)
}

// oneCaseASide refuses a merge that would leave two open cases of one eye:
// one has to be closed first, by someone who has looked at both.
func (t *turn) oneCaseASide(patient, root string) error {
	mine, err := t.casesOf(patient)
	if err != nil {
		return err
	}
	theirs, err := t.casesOf(root)
	if err != nil {
		return err
	}
	for _, a := range mine {
		for _, b := range theirs {
			if a.Side == b.Side && a.State != casebook.StateClosed && b.State != casebook.StateClosed {
				return refuse("merge-two-open", "side", value("eye", a.Side.Words()))
			}
		}
	}
	return nil
}

// Erase destroys the key of a patient, and of all records merged into it, by
// lawful order of two people. The chain stays and verifies; nobody can read
// who it was.
func (p *Pathway) Erase(ctx context.Context, by, second casebook.Actor, patient, reason string) error {
	return p.do(ctx, by, VerbErase, func(t *turn) error {
		if err := t.two(second, patient, reason); err != nil {
			return err
		}
		state, _, err := casebook.Load[casebook.Patient](t.tx, patient)
		if err != nil {
			return err
		}
		if state.Erased {
			return refuse("patient-gone", "")
		}
		kin := []string{patient} // a record merged into another is erased by itself
		if state.MergedInto == "" {
			if kin, err = t.tx.Kin(patient); err != nil {
				return err
			}
		}
		return t.eraseAll(second.ID, kin, line(reason))
	})
}

// eraseAll destroys the keys of all records that are one person: each holds
// them under a key of its own.
func (t *turn) eraseAll(second string, kin []string, reason string) error {
	for _, id := range kin {
		state, _, err := casebook.Load[casebook.Patient](t.tx, id)
		if err != nil {
			return err
		}
		if state.Erased {
			continue
		}
		t.touch(casebook.AccessChange, id, "")
		if err := casebook.ErasePatient(t.tx, t.stamp, second, id, reason); err != nil {
			return err
		}
	}
	return nil
}

// two asks for a second permitted person and a reason.
func (t *turn) two(second casebook.Actor, patient, reason string) error {
	if second.ID == "" || second.ID == t.by.ID {
		return refuse("two-people", "second")
	}
	if _, err := permit(t.tx, second, t.verb); err != nil {
		return err
	}
	_, err := t.reason(patient, reason)
	return err
}
