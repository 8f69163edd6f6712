package casebook

import (
	"errors"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"
)

// Limits of a revision. A payload beyond the limit is noise, not a case.
const (
	maxPayload = 4 << 20
	maxName    = 200
)

// CheckAppend is the rule of every store for adding r after head; exists is
// false when the chain has no revision yet. It returns a *ConflictError when
// the chain has moved on, a *FormatError when the chain or r is written in a
// format this program does not know, and other errors for a broken revision.
func CheckAppend(tx Tx, head Revision, exists bool, r Revision) error {
	if err := wellFormed(r); err != nil {
		return err
	}
	number, prev := 1, Genesis(r.Kind, r.Chain)
	if exists {
		number, prev = head.Number+1, head.Hash
	}
	if r.Number != number || r.Prev != prev {
		return &ConflictError{Mine: r, Theirs: head}
	}
	if exists {
		if err := understood(head); err != nil {
			return err
		}
	}
	if err := understood(r); err != nil {
		return err
	}
	return sameEye(tx, head, exists, r)
}

func wellFormed(r Revision) error {
	bad := func(what string) error { return fmt.Errorf("casebook: %s %s: %s", r.Kind, r.Chain, what) }
	for _, s := range []string{r.Chain, r.Format, r.Zone, r.Actor} {
		if s == "" || len(s) > maxName || !utf8.ValidString(s) || slices.Contains([]byte(s), 0) {
			return bad("chain, format, zone and actor are needed, short and plain text")
		}
	}
	switch {
	case !slices.Contains(Kinds, r.Kind):
		return bad("no such kind of chain")
	case r.At.IsZero() || r.At.Year() > 9999:
		return bad("the instant is missing")
	case len(r.Payload) > maxPayload:
		return bad("the payload is too large")
	case r.Hash != r.Sum():
		return bad("the hash is not the revision's")
	}
	return nil
}

// sameEye holds a case to its patient, who is in the record, and its side:
// what belongs to another eye is another case.
func sameEye(tx Tx, head Revision, exists bool, r Revision) error {
	if r.Kind != KindCase {
		return nil
	}
	var was, is Case
	if err := Decode(r, &is); err != nil {
		return err
	}
	if is.Patient == "" || is.Side.Other() == "" {
		return errors.New("casebook: a case needs a patient and a side")
	}
	if is.Eye.Side != "" && is.Eye.Side != is.Side {
		return fmt.Errorf("casebook: readings of the %s in a case of the %s", is.Eye.Side.Words(), is.Side.Words())
	}
	if !exists {
		if _, err := tx.Head(KindPatient, is.Patient); err != nil {
			return fmt.Errorf("casebook: the patient of a new case: %w", err)
		}
		return nil
	}
	if err := Decode(head, &was); err != nil {
		return err
	}
	if was.Patient != is.Patient || was.Side != is.Side {
		return errors.New("casebook: a case keeps its patient and its side")
	}
	return nil
}

// Revise appends the state p to its chain. seen is the number of the revision
// p was made from, 0 for a new chain: when the chain has moved on meanwhile
// the error is a *ConflictError with both versions.
func Revise(tx Tx, stamp Stamp, chain string, seen int, p Payload) (Revision, error) {
	payload, err := Encode(p)
	if err != nil {
		return Revision{}, err
	}
	r := Revision{Kind: p.Kind(), Chain: chain, Number: seen + 1, Format: p.Format(), At: stamp.At.UTC(), Zone: stamp.Zone,
		Actor: stamp.Actor, Payload: payload, Prev: Genesis(p.Kind(), chain)}
	switch head, err := tx.Head(r.Kind, chain); {
	case err == nil:
		r.Prev = head.Hash
	case !errors.Is(err, ErrAbsent):
		return Revision{}, err
	}
	r.Hash = r.Sum()
	return r, tx.Append(r)
}

// Load reads the newest state of a chain and its revision. The error is
// ErrAbsent when the chain does not exist, and a *FormatError when a newer
// program wrote it; the state then holds what was understood.
func Load[P Payload](tx Tx, chain string) (P, Revision, error) {
	var p P
	r, err := tx.Head(p.Kind(), chain)
	if err != nil {
		return p, r, err
	}
	return p, r, Decode(r, &p)
}

// Version is one state of a chain with its revision.
type Version[P Payload] struct {
	Revision Revision
	State    P
}

// History reads all states of a chain, the first first.
func History[P Payload](tx Tx, chain string) ([]Version[P], error) {
	var list []Version[P]
	var zero P
	for r, err := range tx.Chain(zero.Kind(), chain) {
		if err != nil {
			return list, err
		}
		v := Version[P]{Revision: r}
		if err := Decode(r, &v.State); err != nil {
			return list, err
		}
		list = append(list, v)
	}
	return list, nil
}

// All reads the newest state of every chain of P's kind.
func All[P Payload](tx Tx) ([]Version[P], error) {
	var list []Version[P]
	var zero P
	for r, err := range tx.Heads(zero.Kind()) {
		if err != nil {
			return list, err
		}
		v := Version[P]{Revision: r}
		if err := Decode(r, &v.State); err != nil {
			return list, err
		}
		list = append(list, v)
	}
	return list, nil
}

// ClockBehind reports whether now lies before the last revision, and when that
// was written: at a start, the sign of a wrong clock. The order of the record
// does not depend on it.
func ClockBehind(tx Tx, now time.Time) (last time.Time, behind bool, err error) {
	r, err := tx.Last()
	if errors.Is(err, ErrAbsent) {
		return time.Time{}, false, nil
	}
	return r.At, err == nil && now.Before(r.At), err
}
