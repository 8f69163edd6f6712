package store

import (
	"cmp"
	"database/sql"
	"encoding/hex"
	"errors"
	"strings"

	"linn/internal/care/casebook"
	"linn/unit"
)

const upsertCase = "INSERT INTO case_now (id, patient, side, state, list_date, list_place, list_order, model, power_d, sheet, lacks, number, changed)" +
	" VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)" +
	" ON CONFLICT (id) DO UPDATE SET patient = excluded.patient, side = excluded.side, state = excluded.state, list_date = excluded.list_date," +
	" list_place = excluded.list_place, list_order = excluded.list_order, model = excluded.model, power_d = excluded.power_d," +
	" sheet = excluded.sheet, lacks = excluded.lacks, number = excluded.number, changed = excluded.changed"

const upsertPatient = "INSERT INTO patient_now (id, sealed, merged_into, erased, number) VALUES (?, ?, ?, ?, ?)" +
	" ON CONFLICT (id) DO UPDATE SET sealed = excluded.sealed, merged_into = excluded.merged_into, erased = excluded.erased, number = excluded.number"

// project brings the projection of r's chain up to date.
func (t *tx) project(r casebook.Revision) error {
	switch r.Kind {
	case casebook.KindCase:
		w, err := casebook.ProjectCase(r)
		if err != nil {
			return err
		}
		err = t.exec("project case", upsertCase, w.Case, w.Patient, string(w.Side), string(w.State), w.List.Date.String(), w.List.Place,
			w.List.Order, w.Model, float64(w.Power), w.Sheet, strings.Join(w.Lacks, ","), w.Number, casebook.Instant(w.Changed))
		if err != nil {
			return err
		}
		return t.projectOperated(r)
	case casebook.KindPatient:
		p, err := casebook.ProjectPatient(r)
		if err != nil {
			return err
		}
		erased := 0
		if p.Erased {
			erased = 1
		}
		return t.exec("project patient", upsertPatient, p.Patient, p.Sealed, p.MergedInto, erased, p.Number)
	}
	return nil
}

// Rebuild derives the projections anew.
func (t *tx) Rebuild() error {
	if !t.writing {
		return casebook.ErrReadOnly
	}
	for _, clear := range []string{"DELETE FROM case_now", "DELETE FROM patient_now", "DELETE FROM operated_now"} {
		if err := t.exec("clear projection", clear); err != nil {
			return err
		}
	}
	for _, kind := range []casebook.Kind{casebook.KindPatient, casebook.KindCase} {
		for r, err := range t.Heads(kind) {
			if err != nil {
				return err
			}
			if err := t.project(r); err != nil {
				return err
			}
		}
	}
	return nil
}

// patientColumns may be null where they are joined.
const patientColumns = "p.id, p.sealed, p.merged_into, p.erased, p.number, k.secret"

type patientScan struct {
	id, sealed, into, secret sql.NullString
	erased, number           sql.NullInt64
}

func (s *patientScan) targets() []any {
	return []any{&s.id, &s.sealed, &s.into, &s.erased, &s.number, &s.secret}
}

func (s *patientScan) row() (p casebook.PatientRow, err error) {
	p = casebook.PatientRow{Patient: s.id.String, Sealed: s.sealed.String, MergedInto: s.into.String, Erased: s.erased.Int64 != 0, Number: int(s.number.Int64)}
	if s.secret.String != "" {
		p.Key, err = parseKey(s.secret.String)
	}
	return p, err
}

func parseKey(secret string) (key casebook.Key, err error) {
	n, err := hex.Decode(key[:], []byte(secret[:min(len(secret), 2*len(key))]))
	if err != nil || n != len(key) || len(secret) != 2*n {
		return casebook.Key{}, errors.New("store: a patient's key is damaged")
	}
	return key, nil
}

// Patients lists every patient.
func (t *tx) Patients() (list []casebook.PatientRow, err error) {
	query := "SELECT " + patientColumns + " FROM patient_now p LEFT JOIN patient_key k ON k.patient = p.id ORDER BY p.id"
	err = t.rows("patients", query, nil, func(rows *sql.Rows) error {
		var s patientScan
		if err := rows.Scan(s.targets()...); err != nil {
			return err
		}
		p, err := s.row()
		list = append(list, p)
		return err
	})
	return list, err
}

// queryKin walks the merges backwards; UNION ends a circle.
const queryKin = "WITH RECURSIVE kin (id) AS (SELECT CAST(? AS TEXT) UNION SELECT p.id FROM patient_now p JOIN kin k ON p.merged_into = k.id" +
	" WHERE p.merged_into <> '') SELECT id FROM kin ORDER BY id"

// Kin lists a patient with the records merged into it.
func (t *tx) Kin(patient string) (list []string, err error) {
	err = t.rows("kin", queryKin, []any{patient}, func(rows *sql.Rows) error {
		var id string
		err := rows.Scan(&id)
		list = append(list, id)
		return err
	})
	return list, err
}

// Ward lists the eye cases that fit q.
func (t *tx) Ward(q casebook.WardQuery) (list []casebook.WardRow, err error) {
	query, args := wardQuery(q)
	err = t.rows("ward", query, args, func(rows *sql.Rows) error {
		w, err := scanWard(rows)
		list = append(list, w)
		return err
	})
	if err != nil {
		return nil, err
	}
	return list, casebook.FollowMerges(t, list)
}

func wardQuery(q casebook.WardQuery) (string, []any) {
	var where []string
	var args []any
	only := func(column, value string) {
		if value != "" {
			where, args = append(where, column+" = ?"), append(args, value)
		}
	}
	only("n.patient", q.Patient)
	only("n.state", string(q.State))
	only("n.list_date", q.List.String())
	if q.Open {
		where = append(where, "n.state <> 'closed'")
	}
	query := "SELECT n.id, n.patient, n.side, n.state, n.list_date, n.list_place, n.list_order, n.model, n.power_d, n.sheet, n.lacks, n.number, n.changed, " +
		patientColumns + " FROM case_now n LEFT JOIN patient_now p ON p.id = n.patient LEFT JOIN patient_key k ON k.patient = p.id"
	if where != nil {
		query += " WHERE " + strings.Join(where, " AND ")
	}
	query += " ORDER BY CASE WHEN n.list_date = '' THEN 1 ELSE 0 END, n.list_date, n.list_order, n.id"
	if q.Limit > 0 {
		query, args = query+" LIMIT ?", append(args, q.Limit)
	}
	return query, args
}

func scanWard(rows *sql.Rows) (w casebook.WardRow, err error) {
	var s patientScan
	var date, lacks, changed string
	fields := []any{&w.Case, &w.Patient, &w.Side, &w.State, &date, &w.List.Place, &w.List.Order, &w.Model, &w.Power, &w.Sheet, &lacks, &w.Number, &changed}
	if err := rows.Scan(append(fields, s.targets()...)...); err != nil {
		return w, err
	}
	// A projection that was tampered with reads as zero and Verify finds it
	// stale; Rebuild mends it.
	if date != "" {
		if d, err := unit.ParseDate(date); err == nil {
			w.List.Date = d
		}
	}
	if lacks != "" {
		w.Lacks = strings.Split(lacks, ",")
	}
	if at, err := casebook.ParseInstant(changed); err == nil {
		w.Changed = at
	}
	w.Person, err = s.row()
	return w, err
}

// LogAccess adds a line to the access log.
func (t *tx) LogAccess(a casebook.Access) error {
	if !t.writing {
		return casebook.ErrReadOnly
	}
	if err := casebook.CheckAccess(a); err != nil {
		return err
	}
	var n int64
	if _, err := t.one("next access", queryNextAccess, nil, &n); err != nil {
		return err
	}
	return t.exec("log access", insertAccess, n, casebook.Instant(a.At), a.Zone, a.Actor, a.What, a.Patient, a.Case, a.Detail)
}

const (
	queryNextAccess = "SELECT COALESCE(MAX(number), 0) + 1 FROM access"
	insertAccess    = "INSERT INTO access (number, at, zone, actor, what, patient, case_id, detail) VALUES (?, ?, ?, ?, ?, ?, ?, ?)"
)

// AccessLog lists the lines that fit q.
func (t *tx) AccessLog(q casebook.AccessQuery) (list []casebook.Access, err error) {
	where, args := []string{"number > 0"}, []any{}
	only := func(condition string, is bool, value any) {
		if is {
			where, args = append(where, condition), append(args, value)
		}
	}
	only("patient = ?", q.Patient != "", q.Patient)
	only("actor = ?", q.Actor != "", q.Actor)
	only("number < ?", q.Before != 0, q.Before)
	query := "SELECT number, at, zone, actor, what, patient, case_id, detail FROM access WHERE " + strings.Join(where, " AND ") + " ORDER BY number DESC LIMIT ?"
	args = append(args, cmp.Or(q.Limit, casebook.AccessLimit))
	err = t.rows("access log", query, args, func(rows *sql.Rows) error {
		var a casebook.Access
		var at string
		if err := rows.Scan(&a.Number, &at, &a.Zone, &a.Actor, &a.What, &a.Patient, &a.Case, &a.Detail); err != nil {
			return err
		}
		var err error
		a.At, err = casebook.ParseInstant(at)
		list = append(list, a)
		return err
	})
	return list, err
}

// standing are the queries that are kept prepared.
var standing = []string{queryHead, queryLast, queryNextSequence, insertChain, insertRevision, upsertCase, upsertPatient, queryNextAccess, insertAccess}
