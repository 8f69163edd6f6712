package pathway

import (
	"context"
	"slices"
	"strings"
	"time"

	"linn/eye"
	"linn/internal/care/casebook"
)

// Past is one revision as a history shows it.
type Past struct {
	Number int
	At     time.Time // in the ward's zone
	By     string    // name of who wrote it
	Verb   string
	Reason string
	Second string // name of the second person of a merge or an erasure
	Hash   string
}

// Comparison names two revisions of one chain; both zero compare nothing.
type Comparison struct{ Older, Newer int }

// History is a chain from its first revision to its newest, and what differs
// between two of them.
type History struct {
	Case    string // "" for a patient's chain
	Patient string // who it is now, merges followed
	Side    eye.Side
	Who     casebook.Identity // zero when erased
	Erased  bool
	Past    []Past
	Comparison
	Changes []casebook.Change
}

// CaseHistory lists the revisions of a case. Readings that belong to another
// eye stay hidden in every revision that holds them.
func (p *Pathway) CaseHistory(ctx context.Context, by casebook.Actor, id string, between Comparison) (h History, err error) {
	err = p.look(ctx, by, VerbHistory, func(t *turn) error {
		c, err := t.load(id, Newest)
		if err != nil {
			return err
		}
		h = History{Case: id, Side: c.Side}
		if err := t.whoOf(&h, c.Patient); err != nil {
			return err
		}
		t.touch(casebook.AccessRead, h.Patient, id)
		versions, err := t.history(id)
		if err != nil {
			return err
		}
		states := map[int][]byte{}
		for _, v := range versions {
			h.Past = append(h.Past, t.past(v.Revision, v.State.Verb, v.State.Reason, ""))
			shown := casebook.Hide(v.State, v.Revision.Number, c.Masked)
			if states[v.Revision.Number], err = casebook.Encode(shown); err != nil {
				return err
			}
		}
		return t.compare(&h, states, between)
	})
	return h, err
}

// PatientHistory lists the revisions of who a patient is. Of an erased patient
// it says who erased, when and why, and no more.
func (p *Pathway) PatientHistory(ctx context.Context, by casebook.Actor, patient string, between Comparison) (h History, err error) {
	err = p.look(ctx, by, VerbHistory, func(t *turn) error {
		versions, err := casebook.History[casebook.Patient](t.tx, patient)
		if err != nil {
			return err
		}
		if len(versions) == 0 {
			return ErrAbsent
		}
		if err := t.whoOf(&h, patient); err != nil {
			return err
		}
		t.touch(casebook.AccessRead, patient, "")
		states := map[int][]byte{}
		key, err := t.tx.Key(patient)
		readable := err == nil
		for _, v := range versions {
			h.Past = append(h.Past, t.past(v.Revision, v.State.Verb, v.State.Reason, v.State.Second))
			if states[v.Revision.Number], err = identityJSON(v.State, patient, key, readable); err != nil {
				return err
			}
		}
		h.Patient = patient
		return t.compare(&h, states, between)
	})
	return h, err
}

// whoOf fills in who a patient is now.
func (t *turn) whoOf(h *History, patient string) (err error) {
	if h.Patient, err = casebook.Resolve(t.tx, patient); err != nil {
		return err
	}
	if err = t.sees(patient); err != nil {
		return err
	}
	h.Who, err = casebook.Identify(t.tx, h.Patient)
	if h.Erased = isErased(err); h.Erased {
		return nil
	}
	return err
}

func (t *turn) past(r casebook.Revision, verb casebook.Verb, reason, second string) Past {
	p := Past{Number: r.Number, At: r.At.In(t.now.Location()), By: nameOf(t.tx, r.Actor), Verb: string(verb), Reason: reason, Hash: r.Hash.String()}
	if second != "" {
		p.Second = nameOf(t.tx, second)
	}
	return p
}

// compare lists what differs between two states, with names in the place of
// people's identifiers.
func (t *turn) compare(h *History, states map[int][]byte, between Comparison) (err error) {
	if between == (Comparison{}) {
		return nil
	}
	older, known := states[between.Older]
	newer, also := states[between.Newer]
	if !known || !also {
		return refuse("no-such-revision", "")
	}
	h.Comparison = between
	h.Changes, err = casebook.Diff(older, newer)
	h.Changes = slices.DeleteFunc(h.Changes, func(c casebook.Change) bool { return c.Field == "verb" || c.Field == "reason" })
	for i := range h.Changes {
		c := &h.Changes[i]
		if last := c.Field[strings.LastIndex(c.Field, ".")+1:]; last == "by" || last == "supervisor" || last == "second" {
			c.Old, c.New = nameOf(t.tx, c.Old), nameOf(t.tx, c.New)
		}
	}
	return err
}
