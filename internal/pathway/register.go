package pathway

import (
	"errors"
	"strings"
	"sync"

	"linn/internal/care/casebook"
)

// register is what the program remembers of who carries which second identifier:
// the record holds it sealed, and opening every seal for every new patient
// would take longer than people wait. It follows the record, revision by
// revision; who is found through it is looked up again.
type register struct {
	mu       sync.Mutex
	last     casebook.Revision // the revision it has followed to
	of       map[string]string // patient → identifier, folded
	carriers map[string]map[string]bool
}

// candidates lists the patients who carry an identifier, or did until the
// newest revisions.
func (p *register) candidates(tx casebook.Tx, identifier string) (list []string, err error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if err := p.follow(tx); err != nil {
		p.of = nil // begin again
		return nil, err
	}
	for id := range p.carriers[fold(identifier)] {
		list = append(list, id)
	}
	return list, nil
}

func fold(identifier string) string { return strings.ToLower(strings.ToUpper(identifier)) }

// follow reads the revisions written since. A revision that is no longer the
// one it was belonged to a write that was not kept, or the record is another:
// then all is read anew.
func (p *register) follow(tx casebook.Tx) error {
	if p.of == nil {
		return p.begin(tx)
	}
	same := p.last.Sequence == 0
	for r, err := range tx.Since(p.last.Sequence - 1) {
		switch {
		case err != nil:
			return err
		case r.Sequence == p.last.Sequence:
			same = r.Hash == p.last.Hash
			continue
		case !same:
			return p.begin(tx)
		}
		if r.Kind == casebook.KindPatient {
			if err := p.learn(tx, r.Chain); err != nil {
				return err
			}
		}
		p.last = casebook.Revision{Sequence: r.Sequence, Hash: r.Hash}
	}
	if !same {
		return p.begin(tx)
	}
	return nil
}

// begin reads every patient.
func (p *register) begin(tx casebook.Tx) error {
	p.of, p.carriers, p.last = map[string]string{}, map[string]map[string]bool{}, casebook.Revision{}
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

func (p *register) learn(tx casebook.Tx, patient string) error {
	who, err := casebook.Identify(tx, patient)
	if err != nil && !errors.Is(err, ErrErased) {
		return err
	}
	p.put(patient, who.Identifier)
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
