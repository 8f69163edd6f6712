package pathway

import (
	"encoding/json"
	"errors"
	"strings"
	"sync"

	"linn/internal/care/casebook"
	"linn/unit"
)

// register is what the program remembers of the record between two pages: who
// carries which second identifier, which the record holds sealed, and the rows
// of the Ward with what they were made from. It follows the record, revision
// by revision; a person found through it is looked up again, and a row is used
// only while nothing it was made from has been written to.
type register struct {
	mu       sync.Mutex
	last     casebook.Revision // the revision it has followed to
	of       map[string]string // patient → identifier, folded; nil before the first use
	carriers map[string]map[string]bool
	touched  map[string]int64 // patient → last sequence of the person's or a case's revision
	common   int64            // last sequence of what every row depends on: shelf, protocol, people
	rows     map[string]rowMade
	operated int64 // last sequence of a case that has an operation: what visits are due hangs on
	due      *dueMade
}

// dueMade is how many visits are due and what that was counted from.
type dueMade struct {
	count    DueCount
	sequence int64
	day      unit.Date
}

// rowMade is a row of the Ward and what it was made from.
type rowMade struct {
	row      WardRow
	kin      []string // all records that are this person
	sequence int64    // the record as it was made from
	day      unit.Date
	off      bool
}

// mostRows bounds the rows that are kept: more than a Ward shows.
const mostRows = 4 * WardLimit

// candidates lists the patients who carry an identifier, or did until the
// newest revisions. A writing transaction asks before it writes: what is not
// kept must not be learnt.
func (p *register) candidates(tx casebook.Tx, identifier string) (list []string, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if err := p.catchUp(tx, true); err != nil {
		return nil, err
	}
	for id := range p.carriers[fold(identifier)] {
		list = append(list, id)
	}
	return list, nil
}

// row returns the row of a case when nothing it was made from has changed.
func (p *register) row(id string, day unit.Date, off bool) (WardRow, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	m, ok := p.rows[id]
	if !ok || m.day != day || m.off != off || p.common > m.sequence {
		return WardRow{}, false
	}
	for _, k := range m.kin {
		if p.touched[k] > m.sequence {
			return WardRow{}, false
		}
	}
	return m.row, true
}

func (p *register) keep(m rowMade) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.rows) >= mostRows {
		clear(p.rows)
	}
	p.rows[m.row.Case] = m
}

// dueCount returns the count when no operated eye was written to since.
func (p *register) dueCount(sequence int64, day unit.Date) (DueCount, bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	d := p.due
	if d == nil || d.day != day || sequence < d.sequence || p.operated > d.sequence {
		return DueCount{}, false
	}
	return d.count, true
}

func (p *register) keepDue(d dueMade) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.due = &d
}

// seen follows the record and returns its newest sequence.
func (p *register) seen(tx casebook.Tx) (sequence int64, err error) {
	last, err := tx.Last()
	if err != nil {
		return 0, absentIsNone(err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	return last.Sequence, p.catchUp(tx, false)
}

func fold(identifier string) string { return strings.ToLower(strings.ToUpper(identifier)) }

func (p *register) catchUp(tx casebook.Tx, writing bool) error {
	err := p.follow(tx, writing)
	if err != nil {
		p.of = nil // begin again
	}
	return err
}

// follow reads the revisions written since. A revision that is no longer the
// one it was says that the record is another one: then all is read anew. A
// reader may see an older state than another has followed to; a writer may
// not.
func (p *register) follow(tx casebook.Tx, writing bool) error {
	if p.of == nil {
		return p.begin(tx)
	}
	met := p.last.Sequence == 0
	for r, err := range tx.Since(p.last.Sequence - 1) {
		switch {
		case err != nil:
			return err
		case r.Sequence == p.last.Sequence:
			if met = r.Hash == p.last.Hash; !met {
				return p.begin(tx)
			}
			continue
		case !met:
			return p.begin(tx)
		}
		if err := p.learn(tx, r); err != nil {
			return err
		}
		p.last = casebook.Revision{Sequence: r.Sequence, Hash: r.Hash}
	}
	if !met && writing {
		return p.begin(tx)
	}
	return nil
}

// begin reads every patient.
func (p *register) begin(tx casebook.Tx) error {
	p.of, p.carriers, p.last = map[string]string{}, map[string]map[string]bool{}, casebook.Revision{}
	p.touched, p.common, p.rows = map[string]int64{}, 0, map[string]rowMade{}
	p.operated, p.due = 0, nil
	last, err := tx.Last()
	if err != nil {
		return absentIsNone(err)
	}
	rows, err := tx.Patients()
	if err != nil {
		return err
	}
	for _, r := range rows {
		who, err := r.Identity()
		if err != nil && !errors.Is(err, ErrErased) {
			return err
		}
		p.put(r.Patient, who.Identifier)
	}
	p.last = casebook.Revision{Sequence: last.Sequence, Hash: last.Hash}
	return nil
}

// learn takes one revision in.
func (p *register) learn(tx casebook.Tx, r casebook.Revision) error {
	var says struct {
		Patient    string `json:"patient"`     // of a case
		MergedInto string `json:"merged_into"` // of a patient

		Operation json.RawMessage `json:"operation"` // of a case; never taken away again
	}
	switch r.Kind {
	case casebook.KindCase, casebook.KindPatient:
		if err := json.Unmarshal(r.Payload, &says); err != nil {
			return err
		}
	case casebook.KindWard:
		return nil
	default:
		p.common = r.Sequence
		return nil
	}
	if r.Kind == casebook.KindCase {
		p.touched[says.Patient] = r.Sequence
		if says.Operation != nil {
			p.operated = r.Sequence
		}
		return nil
	}
	p.touched[r.Chain], p.touched[says.MergedInto] = r.Sequence, r.Sequence
	who, err := casebook.Identify(tx, r.Chain)
	if err != nil && !errors.Is(err, ErrErased) {
		return err
	}
	p.put(r.Chain, who.Identifier)
	return nil
}

func (p *register) put(patient, identifier string) {
	if was, ok := p.of[patient]; ok {
		delete(p.carriers[was], patient)
		if len(p.carriers[was]) == 0 {
			delete(p.carriers, was)
		}
	}
	key := fold(identifier)
	if p.of[patient] = key; key == "" {
		return
	}
	if p.carriers[key] == nil {
		p.carriers[key] = map[string]bool{}
	}
	p.carriers[key][patient] = true
}
