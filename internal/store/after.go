package store

import (
	"database/sql"
	"strings"

	"linn/internal/care/casebook"
	"linn/unit"
)

const upsertOperated = "INSERT INTO operated_now (id, patient, side, operated_on, bed, due_from, due_until, number)" +
	" VALUES (?, ?, ?, ?, ?, ?, ?, ?)" +
	" ON CONFLICT (id) DO UPDATE SET patient = excluded.patient, side = excluded.side, operated_on = excluded.operated_on, bed = excluded.bed," +
	" due_from = excluded.due_from, due_until = excluded.due_until, number = excluded.number"

// projectOperated brings the row of an operated eye up to date.
func (t *tx) projectOperated(r casebook.Revision) error {
	o, is, err := casebook.ProjectOperated(r)
	if err != nil || !is {
		return err
	}
	return t.exec("project operated eye", upsertOperated, o.Case, o.Patient, string(o.Side), o.On.String(), o.Bed, o.From.String(), o.Until.String(), o.Number)
}

// schemaAfter is the schema from which on there are operated eyes and
// attachments. An older record that is opened for reading only has none.
const schemaAfter = 2

// Operated lists the operated eyes that fit q.
func (t *tx) Operated(q casebook.OperatedQuery) (list []casebook.OperatedRow, err error) {
	if t.schema < schemaAfter {
		return nil, nil
	}
	query, args := operatedQuery(q)
	err = t.rows("operated eyes", query, args, func(rows *sql.Rows) error {
		var o casebook.OperatedRow
		var on, from, until string
		if err := rows.Scan(&o.Case, &o.Patient, &o.Side, &on, &o.Bed, &from, &until, &o.Number); err != nil {
			return err
		}
		o.On, o.From, o.Until = dateIn(on), dateIn(from), dateIn(until)
		list = append(list, o)
		return nil
	})
	return list, err
}

// dateIn reads a date of a projection; one that was tampered with reads as
// zero, and Verify finds the row stale.
func dateIn(text string) unit.Date {
	d, err := unit.ParseDate(text)
	if err != nil {
		return unit.Date{}
	}
	return d
}

func operatedQuery(q casebook.OperatedQuery) (string, []any) {
	var where []string
	var args []any
	if q.Since.Known() {
		where, args = append(where, "operated_on >= ?"), append(args, q.Since.String())
	}
	if q.Expected.Known() {
		where, args = append(where, "(due_from <> '' AND due_from <= ?)"), append(args, q.Expected.String())
	}
	query := "SELECT id, patient, side, operated_on, bed, due_from, due_until, number FROM operated_now"
	if where != nil {
		query += " WHERE " + strings.Join(where, " OR ")
	}
	query += " ORDER BY bed, operated_on, id"
	if q.Limit > 0 {
		query, args = query+" LIMIT ?", append(args, q.Limit)
	}
	return query, args
}

// PutAttachment keeps a box under its address.
func (t *tx) PutAttachment(patient string, box []byte) (address casebook.Digest, err error) {
	if !t.writing {
		return address, casebook.ErrReadOnly
	}
	address = casebook.AddressOf(box)
	if err := casebook.CheckAttachment(patient, box); err != nil {
		return address, err
	}
	var owner string
	kept, err := t.one("attachment", "SELECT patient FROM attachment WHERE address = ?", []any{address.String()}, &owner)
	switch {
	case err != nil:
		return address, err
	case kept && owner != patient:
		return address, casebook.ErrOtherPatient
	case kept:
		return address, nil
	}
	return address, t.exec("keep attachment", "INSERT INTO attachment (address, patient, box) VALUES (?, ?, ?)", address.String(), patient, box)
}

// Attachment returns the box under address.
func (t *tx) Attachment(address casebook.Digest) (patient string, box []byte, err error) {
	if t.schema < schemaAfter {
		return "", nil, casebook.ErrAbsent
	}
	found, err := t.one("attachment", "SELECT patient, box FROM attachment WHERE address = ?", []any{address.String()}, &patient, &box)
	if err == nil && !found {
		err = casebook.ErrAbsent
	}
	return patient, box, err
}

// Attachments lists the addresses.
func (t *tx) Attachments() (list []casebook.Digest, err error) {
	if t.schema < schemaAfter {
		return nil, nil
	}
	err = t.rows("attachments", "SELECT address FROM attachment ORDER BY address", nil, func(rows *sql.Rows) error {
		var text string
		if err := rows.Scan(&text); err != nil {
			return err
		}
		var d casebook.Digest
		err := d.UnmarshalText([]byte(text))
		list = append(list, d)
		return err
	})
	return list, err
}
