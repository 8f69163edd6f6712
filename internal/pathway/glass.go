package pathway

import (
	"context"
	"errors"
	"slices"
	"strconv"
	"strings"
	"time"

	"linn/internal/care/casebook"
)

// glassLasts is how long one may look after breaking the glass, our own
// choice: an emergency is seen through in an hour, or somebody who may is
// there by then.
const glassLasts = time.Hour

// throughGlass stands before the verb in the access log.
const throughGlass = "glass-"

// behindGlass are the verbs that a broken glass opens: looking, at one patient.
// Nothing is changed through it, so that what is signed or entered always
// stands for a role.
var behindGlass = []Verb{VerbEye, VerbSheet, VerbHistory}

// ThroughGlass lists what the access log says of looks through broken glass.
func ThroughGlass() (list []string) {
	for _, v := range behindGlass {
		list = append(list, throughGlass+string(v))
	}
	return list
}

// brokenGlass lists the patients that a person may look at though their role
// does not allow it.
func brokenGlass(tx casebook.Tx, by casebook.Actor, verb Verb, why error, now time.Time) (list []casebook.Glass, broken bool) {
	var forbidden *ForbiddenError
	if !errors.As(why, &forbidden) || !slices.Contains(behindGlass, verb) {
		return nil, false
	}
	person, _, err := casebook.Load[casebook.Person](tx, by.ID)
	if err != nil || !person.Active {
		return nil, false
	}
	for _, g := range person.Glass {
		if now.Before(g.Until) && !now.Before(g.Since) {
			list = append(list, g)
		}
	}
	return list, len(list) > 0
}

// sees refuses a patient for whom the glass was not broken.
func (t *turn) sees(patient string) error {
	if t.glass == nil {
		return nil
	}
	root, err := casebook.Resolve(t.tx, patient)
	if err != nil {
		return err
	}
	for _, g := range t.glass {
		own, err := casebook.Resolve(t.tx, g.Patient)
		if err != nil {
			return err
		}
		if own == root {
			return nil
		}
	}
	return &ForbiddenError{Verb: t.verb, Role: t.by.Role}
}

// leastGlassReason is how many letters a reason has at least: our own choice,
// more than a slip of the finger.
const leastGlassReason = 8

// BreakGlass opens one patient to a person whose role does not allow it, for
// an hour, with a reason. It is refused to those who may look anyway.
func (p *Pathway) BreakGlass(ctx context.Context, by casebook.Actor, caseID, reason string) error {
	return p.do(ctx, by, VerbBreakGlass, func(t *turn) error {
		c, err := t.load(caseID, Newest)
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(behindGlass, func(v Verb) bool { return !May(t.by.Role, v) }) {
			return refuse("glass-not-needed", "")
		}
		reason, err := t.reason(c.Patient, reason)
		if err != nil {
			return err
		}
		if len([]rune(reason)) < leastGlassReason {
			return refuse("glass-reason-short", "reason", value("least", strconv.Itoa(leastGlassReason)))
		}
		person, head, err := casebook.Load[casebook.Person](t.tx, t.by.ID)
		if err != nil {
			return err
		}
		person.Verb, person.Reason = casebook.Verb(VerbBreakGlass), ""
		person.Glass = append(person.Glass, casebook.Glass{Patient: c.Patient, Case: caseID, Since: t.stamp.At, Until: t.stamp.At.Add(glassLasts), Reason: reason})
		t.touch(casebook.AccessRead, c.Patient, caseID)
		return t.revise(t.by.ID, Newest, head, person)
	})
}

// BrokenGlass is one look through broken glass, as it is reviewed.
type BrokenGlass struct {
	casebook.Glass
	Person   string // chain of who broke it
	Name     string
	N        int // the person's how manieth, from 0
	Reviewer string
	Own      bool // the reader's own: somebody else reviews it
}

// Glasses lists every broken glass, those nobody reviewed first, then the
// newest first.
func (p *Pathway) Glasses(ctx context.Context, by casebook.Actor) (list []BrokenGlass, err error) {
	err = p.look(ctx, by, VerbReview, func(t *turn) error {
		people, err := casebook.All[casebook.Person](t.tx)
		for _, v := range people {
			for n, g := range v.State.Glass {
				b := BrokenGlass{Glass: g, Person: v.Revision.Chain, Name: v.State.Name, N: n, Own: v.Revision.Chain == t.by.ID}
				b.Since, b.Until = g.Since.In(t.now.Location()), g.Until.In(t.now.Location())
				if g.Reviewed != nil {
					b.Reviewer = nameOf(t.tx, g.Reviewed.By)
				}
				list = append(list, b)
			}
		}
		return err
	})
	slices.SortFunc(list, func(a, b BrokenGlass) int {
		if (a.Reviewed == nil) != (b.Reviewed == nil) {
			return strings.Compare(a.Reviewer, b.Reviewer) // the one nobody reviewed has none
		}
		return b.Since.Compare(a.Since)
	})
	return list, err
}

// ReviewGlass says what was found about a broken glass. Nobody reviews their
// own, and a review stands.
func (p *Pathway) ReviewGlass(ctx context.Context, by casebook.Actor, personID string, n int, note string) error {
	return p.do(ctx, by, VerbReview, func(t *turn) error {
		person, head, err := casebook.Load[casebook.Person](t.tx, personID)
		if err != nil {
			return err
		}
		switch {
		case personID == t.by.ID:
			return refuse("glass-own", "")
		case n < 0 || n >= len(person.Glass):
			return ErrAbsent
		case person.Glass[n].Reviewed != nil:
			return refuse("glass-reviewed", "")
		}
		note, err := t.reason(person.Glass[n].Patient, note)
		if err != nil {
			return err
		}
		person.Verb, person.Reason = casebook.Verb(VerbReview), ""
		person.Glass[n].Reviewed = &casebook.Review{By: t.by.ID, At: t.stamp.At, Note: note}
		return t.revise(personID, Newest, head, person)
	})
}
