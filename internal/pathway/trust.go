package pathway

import (
	"context"
	"errors"
	"time"

	"linn/internal/care/casebook"
	"linn/internal/care/plan"
)

// LogLine is one line of the access log with the names of today.
type LogLine struct {
	casebook.Access
	Name string // of the person
}

// LogQuery chooses lines of the access log; empty fields choose all.
type LogQuery struct {
	Patient, Actor string
	Before         int64 // only lines with a smaller number; 0: from the newest
	Limit          int
}

// AccessLog lists who looked at or changed what, the newest first.
func (p *Pathway) AccessLog(ctx context.Context, by casebook.Actor, q LogQuery) (list []LogLine, err error) {
	err = p.look(ctx, by, VerbAccessLog, func(t *turn) error {
		lines, err := t.tx.AccessLog(casebook.AccessQuery{Patient: q.Patient, Actor: q.Actor, Before: q.Before, Limit: q.Limit})
		for _, a := range lines {
			list = append(list, LogLine{a, nameOf(t.tx, a.Actor)})
		}
		return err
	})
	return list, err
}

// PatientOf finds the chain of the patient with a second identifier for the
// access log, and tells nothing else about them.
func (p *Pathway) PatientOf(ctx context.Context, by casebook.Actor, identifier string) (patient string, err error) {
	err = p.look(ctx, by, VerbAccessLog, func(t *turn) error {
		found, known, err := t.patientWith(line(identifier))
		if err == nil && !known {
			err = ErrAbsent
		}
		patient = found
		return err
	})
	return patient, err
}

// Verification is what Verify found.
type Verification struct {
	casebook.Report
	Plans   int // signed plans computed again
	Differs []PlanDifference
}

// Sound reports whether every link holds, every projection agrees and every
// signed plan came out again as it was printed.
func (v Verification) Sound() bool { return v.Report.Sound() && len(v.Differs) == 0 }

// PlanDifference is a printed line of a signed plan that comes out otherwise
// today.
type PlanDifference struct {
	Case   string
	Number int // revision that signed it
	Field  string
	Signed string
	Now    string
}

// Verify walks the whole record: every chain link by link, every projection,
// and every signed plan, computed again and compared to the printed digits.
// progress, when not nil, is called now and then.
func (p *Pathway) Verify(ctx context.Context, by casebook.Actor, progress func(revisions int)) (v Verification, err error) {
	err = p.look(ctx, by, VerbVerify, func(t *turn) error {
		v, err = verify(t.tx, progress)
		return err
	})
	return v, err
}

// VerifyUnattended does the same for a command at the machine, which has no
// person.
func (p *Pathway) VerifyUnattended(ctx context.Context, progress func(revisions int)) (v Verification, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		v, err = verify(tx, progress)
		return err
	})
	return v, err
}

// Report is what a walk of the chains found.
type Report = casebook.Report

// VerifyChains walks every chain and projection, and computes no plan again.
func (p *Pathway) VerifyChains(ctx context.Context, progress func(revisions int)) (r Report, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		r, err = casebook.Verify(tx, func(r Report) { progress(r.Revisions) })
		return err
	})
	return r, err
}

// VerifyNewest walks the newest n links.
func (p *Pathway) VerifyNewest(ctx context.Context, n int) (r Report, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		r, err = casebook.VerifyNewest(tx, n)
		return err
	})
	return r, err
}

// FirstHash is the hash of the record's first revision, which tells one ward
// from another; zero when nothing was entered yet.
func (p *Pathway) FirstHash(ctx context.Context) (first casebook.Digest, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		for r, err := range tx.Since(0) {
			first = r.Hash
			return err
		}
		return nil
	})
	return first, err
}

func verify(tx casebook.Tx, progress func(int)) (v Verification, err error) {
	tell := func(r casebook.Report) {
		if progress != nil {
			progress(r.Revisions)
		}
	}
	if v.Report, err = casebook.Verify(tx, tell); err != nil {
		return v, err
	}
	for r, err := range tx.Since(0) {
		if err != nil {
			return v, err
		}
		if r.Kind != casebook.KindCase {
			continue
		}
		var c casebook.Case
		if err := casebook.Decode(r, &c); err != nil || c.Verb != casebook.VerbSign || c.Signed == nil {
			continue // what cannot be read, the report has named
		}
		v.Plans++
		v.Differs = append(v.Differs, recompute(r, *c.Signed)...)
	}
	return v, nil
}

// machine is the actor of what the program does by itself.
const machine = "linn"

// MachineStamp is the stamp of what the program does by itself.
func (p *Pathway) MachineStamp() casebook.Stamp {
	return casebook.StampOf(p.Clock, casebook.Actor{ID: machine})
}

// ListHeads writes every chain's head into the ward chain: at a backup, when
// the server closes, after a verification.
func (p *Pathway) ListHeads(ctx context.Context, why string) error {
	return p.Store.Do(ctx, func(tx casebook.Tx) error {
		return casebook.AppendWardHead(tx, p.MachineStamp(), why)
	})
}

// ClockBehind reports whether the clock stands before the last revision, and
// when that was written.
func (p *Pathway) ClockBehind(ctx context.Context) (last time.Time, behind bool, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		r, err := tx.Last()
		if err != nil {
			if errors.Is(err, ErrAbsent) {
				return nil
			}
			return err
		}
		last = r.At
		behind = p.Clock().Before(last)
		return nil
	})
	return last, behind, err
}

// Count says how often one thing was let through.
type Count struct {
	Code string // of the passed finding, or LoneSignature
	N    int
}

// LoneSignature is the code under which signatures without a second person
// are counted.
const LoneSignature = "lone-signature"

// Tally counts the passes of every rule and the signatures of lone workers,
// over the whole record, by code.
func (p *Pathway) Tally(ctx context.Context, by casebook.Actor) (list []Count, err error) {
	err = p.look(ctx, by, VerbTally, func(t *turn) error {
		list, err = tally(t.tx)
		return err
	})
	return list, err
}

// recompute makes a signed plan again from its own inputs and lists what would
// print otherwise.
func recompute(r casebook.Revision, s casebook.Signed) []PlanDifference {
	p, err := signedPlan(&s)
	if err != nil {
		return []PlanDifference{{r.Chain, r.Number, "plan", "", err.Error()}}
	}
	changes, err := plan.Recompute(p)
	if err != nil {
		return []PlanDifference{{r.Chain, r.Number, "plan", "", err.Error()}}
	}
	var list []PlanDifference
	for _, c := range changes {
		list = append(list, PlanDifference{r.Chain, r.Number, c.Path, c.Was, c.Is})
	}
	return list
}
