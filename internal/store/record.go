package store

import (
	"database/sql"
	"errors"
	"fmt"
	"iter"

	"linn/internal/care/casebook"
)

// pageRows is how many revisions are read at a time: a page is held in memory
// while its revisions are walked.
const pageRows = 200

const columns = "r.sequence, r.kind, r.chain, r.number, r.format, r.at, r.zone, r.actor, r.payload, r.prev, r.hash"

// The frequent queries.
const (
	queryHead = "SELECT " + columns + " FROM revision r WHERE r.kind = ? AND r.chain = ? ORDER BY r.number DESC LIMIT 1"
	queryLast = "SELECT " + columns + " FROM revision r ORDER BY r.sequence DESC LIMIT 1"

	queryNextSequence = "SELECT COALESCE(MAX(sequence), 0) + 1 FROM revision"
	insertChain       = "INSERT INTO chain (kind, id) VALUES (?, ?)"
	insertRevision    = "INSERT INTO revision (sequence, kind, chain, number, format, at, zone, actor, payload, prev, hash)" +
		" VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)

func scanRevision(rows *sql.Rows) (r casebook.Revision, err error) {
	var at, prev, hash string
	if err := rows.Scan(&r.Sequence, &r.Kind, &r.Chain, &r.Number, &r.Format, &at, &r.Zone, &r.Actor, &r.Payload, &prev, &hash); err != nil {
		return r, err
	}
	// An instant or a hash that cannot be read was tampered with: it stays
	// zero, so that Verify finds the link broken instead of stopping here.
	if r.At, err = casebook.ParseInstant(at); err != nil {
		r.At = r.At.UTC()
	}
	if r.Prev.UnmarshalText([]byte(prev)) != nil {
		r.Prev = casebook.Digest{}
	}
	if r.Hash.UnmarshalText([]byte(hash)) != nil {
		r.Hash = casebook.Digest{}
	}
	return r, nil
}

func (t *tx) revisions(what, query string, args ...any) (list []casebook.Revision, err error) {
	err = t.rows(what, query, args, func(rows *sql.Rows) error {
		r, err := scanRevision(rows)
		list = append(list, r)
		return err
	})
	return list, err
}

func (t *tx) single(what, query string, args ...any) (casebook.Revision, error) {
	list, err := t.revisions(what, query, args...)
	if err != nil {
		return casebook.Revision{}, err
	}
	if len(list) == 0 {
		return casebook.Revision{}, casebook.ErrAbsent
	}
	return list[0], nil
}

// Head returns the newest revision of a chain.
func (t *tx) Head(kind casebook.Kind, chain string) (casebook.Revision, error) {
	return t.single("head", queryHead, kind, chain)
}

// Last returns the revision with the highest sequence.
func (t *tx) Last() (casebook.Revision, error) { return t.single("last", queryLast) }

// walk yields pages of revisions; page reads the one that follows after, the
// last revision yielded, which is zero at first.
func walk(page func(after casebook.Revision) ([]casebook.Revision, error)) iter.Seq2[casebook.Revision, error] {
	return func(yield func(casebook.Revision, error) bool) {
		var after casebook.Revision
		for {
			list, err := page(after)
			if err != nil {
				yield(casebook.Revision{}, err)
				return
			}
			for _, r := range list {
				if !yield(r, nil) {
					return
				}
			}
			if len(list) < pageRows {
				return
			}
			after = list[len(list)-1]
		}
	}
}

// Chain walks the revisions of one chain.
func (t *tx) Chain(kind casebook.Kind, chain string) iter.Seq2[casebook.Revision, error] {
	const query = "SELECT " + columns + " FROM revision r WHERE r.kind = ? AND r.chain = ? AND r.number > ? ORDER BY r.number LIMIT ?"
	return walk(func(after casebook.Revision) ([]casebook.Revision, error) {
		return t.revisions("chain", query, kind, chain, after.Number, pageRows)
	})
}

// Heads walks the newest revision of every chain of a kind.
func (t *tx) Heads(kind casebook.Kind) iter.Seq2[casebook.Revision, error] {
	const query = "SELECT " + columns + " FROM chain c JOIN revision r ON r.kind = c.kind AND r.chain = c.id" +
		" AND r.number = (SELECT MAX(x.number) FROM revision x WHERE x.kind = c.kind AND x.chain = c.id)" +
		" WHERE c.kind = ? AND c.id > ? ORDER BY c.id LIMIT ?"
	return walk(func(after casebook.Revision) ([]casebook.Revision, error) {
		return t.revisions("heads", query, kind, after.Chain, pageRows)
	})
}

// Since walks all revisions after a sequence number.
func (t *tx) Since(sequence int64) iter.Seq2[casebook.Revision, error] {
	const query = "SELECT " + columns + " FROM revision r WHERE r.sequence > ? ORDER BY r.sequence LIMIT ?"
	return walk(func(after casebook.Revision) ([]casebook.Revision, error) {
		return t.revisions("since", query, max(sequence, after.Sequence), pageRows)
	})
}

// Append adds r to its chain and brings the projections up to date.
func (t *tx) Append(r casebook.Revision) error {
	if !t.writing {
		return casebook.ErrReadOnly
	}
	head, err := t.Head(r.Kind, r.Chain)
	exists := err == nil
	if err != nil && !errors.Is(err, casebook.ErrAbsent) {
		return err
	}
	if err := casebook.CheckAppend(t, head, exists, r); err != nil {
		return err
	}
	if !exists {
		if err := t.exec("open chain", insertChain, r.Kind, r.Chain); err != nil {
			return err
		}
	}
	if _, err := t.one("next sequence", queryNextSequence, nil, &r.Sequence); err != nil {
		return err
	}
	err = t.exec("append", insertRevision, r.Sequence, string(r.Kind), r.Chain, r.Number, r.Format, casebook.Instant(r.At), r.Zone,
		r.Actor, string(r.Payload), r.Prev.String(), r.Hash.String())
	if err != nil {
		return err
	}
	return t.project(r)
}

// NextSheet hands out the next number of a printed sheet.
func (t *tx) NextSheet(caseID string) (int, error) {
	if !t.writing {
		return 0, casebook.ErrReadOnly
	}
	var n int
	if _, err := t.one("next sheet", "SELECT COALESCE(MAX(number), 0) + 1 FROM sheet", nil, &n); err != nil {
		return 0, err
	}
	return n, t.exec("sheet", "INSERT INTO sheet (number, case_id) VALUES (?, ?)", n, caseID)
}

// SkipSheets leaves sheet numbers out.
func (t *tx) SkipSheets(through int) error {
	if !t.writing {
		return casebook.ErrReadOnly
	}
	var last int
	if _, err := t.one("last sheet", "SELECT COALESCE(MAX(number), 0) FROM sheet", nil, &last); err != nil {
		return err
	}
	if through <= last {
		return casebook.ErrSheets
	}
	return t.exec("skip sheets", "INSERT INTO sheet (number, case_id) VALUES (?, '')", through)
}

// PutKey keeps the key of a new patient.
func (t *tx) PutKey(patient string, key casebook.Key) error {
	if !t.writing {
		return casebook.ErrReadOnly
	}
	if err := casebook.CheckKey(patient, key); err != nil {
		return err
	}
	if _, err := t.Key(patient); !errors.Is(err, casebook.ErrAbsent) {
		if err == nil || errors.Is(err, casebook.ErrErased) {
			return casebook.ErrKeyTwice
		}
		return err
	}
	return t.exec("key", "INSERT INTO patient_key (patient, secret) VALUES (?, ?)", patient, fmt.Sprintf("%x", key[:]))
}

// Key returns the patient's key.
func (t *tx) Key(patient string) (casebook.Key, error) {
	var secret string
	found, err := t.one("key", "SELECT secret FROM patient_key WHERE patient = ?", []any{patient}, &secret)
	switch {
	case err != nil:
		return casebook.Key{}, err
	case !found:
		return casebook.Key{}, casebook.ErrAbsent
	case secret == "":
		return casebook.Key{}, casebook.ErrErased
	}
	return parseKey(secret)
}

// DestroyKey overwrites the patient's key.
func (t *tx) DestroyKey(patient string, stamp casebook.Stamp, second string) error {
	if !t.writing {
		return casebook.ErrReadOnly
	}
	if err := casebook.CheckTwo(stamp, second); err != nil {
		return err
	}
	if _, err := t.Key(patient); err != nil {
		return err
	}
	t.destroyed = true
	return t.exec("destroy key", "UPDATE patient_key SET secret = '', destroyed_at = ?, destroyed_by = ?, destroyed_second = ? WHERE patient = ?",
		casebook.Instant(stamp.At), stamp.Actor, second, patient)
}
