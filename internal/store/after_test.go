package store

import (
	"bytes"
	"errors"
	"reflect"
	"testing"

	"linn/internal/care/casebook"
	"linn/internal/care/followup"
	"linn/internal/care/operation"
	"linn/unit"
)

// operate is a case whose operation is done.
func operate(on, bed string) func(*casebook.Case) {
	return func(c *casebook.Case) {
		c.Closed, c.Bed = casebook.ClosedOperated, bed
		c.Operation = &operation.Record{Done: &operation.Act{By: "ann", At: at(9).At}}
		c.Operation.Set(operation.KeyDay, on)
		c.Operation.Set(operation.KeyTechnique, "phaco")
	}
}

// sampleAfter puts an operated eye with a visit and a file into a record.
func sampleAfter(tx casebook.Tx) error {
	c, head, err := casebook.Load[casebook.Case](tx, "C")
	if err != nil {
		return err
	}
	key, err := tx.Key("P")
	if err != nil {
		return err
	}
	box, err := casebook.SealAttachment([]byte("%PDF-1.4 a sheet"), "P", key)
	if err != nil {
		return err
	}
	address, err := tx.PutAttachment("P", box)
	if err != nil {
		return err
	}
	operate("2026-03-05", "3")(&c)
	c.Verb = casebook.VerbOperate
	c.Visits = []followup.Visit{{On: unit.Date{Year: 2026, Month: 3, Day: 6}, Kind: followup.Day1, Values: map[string]string{"unaided_va": "6/12"}}}
	c.Attached = []casebook.Attached{{Address: address, Type: casebook.PDF, Size: 16, What: "theatre-sheet", By: "ann", At: at(9).At}}
	_, err = casebook.Revise(tx, at(9), "C", head.Number, c)
	return err
}

func suiteOperated(t *testing.T, e *engine) {
	_, first := admitted(t, e.store, 1)
	_, second := admitted(t, e.store, 2)
	_, third := admitted(t, e.store, 3)
	do(t, e.store, func(tx casebook.Tx) error {
		_, err1 := revise(tx, first, 2, operate("2026-03-04", "12"))
		_, err2 := revise(tx, second, 3, operate("2026-03-03", "02"))
		_, err3 := revise(tx, third, 3, func(c *casebook.Case) { c.Closed = "dropped" })
		return errors.Join(err1, err2, err3)
	})
	ask := func(q casebook.OperatedQuery) (ids []string) {
		view(t, e.store, func(tx casebook.Tx) error {
			list, err := tx.Operated(q)
			for _, o := range list {
				ids = append(ids, o.Case)
			}
			return err
		})
		return ids
	}
	day := func(d int) unit.Date { return unit.Date{Year: 2026, Month: 3, Day: d} }
	for _, c := range []struct {
		q    casebook.OperatedQuery
		want []string
	}{
		{casebook.OperatedQuery{}, []string{second, first}},
		{casebook.OperatedQuery{Since: day(4)}, []string{first}},
		{casebook.OperatedQuery{Expected: day(4)}, []string{second}}, // day 1 of the third is the fourth
		{casebook.OperatedQuery{Since: day(5), Expected: day(3)}, nil},
		{casebook.OperatedQuery{Limit: 1}, []string{second}},
	} {
		if got := ask(c.q); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%+v: %v, not %v", c.q, got, c.want)
		}
	}
	do(t, e.store, func(tx casebook.Tx) error {
		_, err := revise(tx, second, 4, func(c *casebook.Case) {
			c.Visits = []followup.Visit{{On: day(4), Kind: followup.Day1}}
		})
		return err
	})
	if got := ask(casebook.OperatedQuery{Expected: day(4)}); got != nil {
		t.Errorf("seen, and still expected: %v", got)
	}
	sound(t, e.store)
	do(t, e.store, func(tx casebook.Tx) error { return tx.Rebuild() })
	sound(t, e.store)
}

func suiteAttachments(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	other, _ := admitted(t, e.store, 2)
	file := append([]byte("\x89PNG\r\n\x1a\n"), bytes.Repeat([]byte{7, 0, 255}, 50000)...)
	var box []byte
	var address casebook.Digest
	do(t, e.store, func(tx casebook.Tx) error {
		key, err := tx.Key(patient)
		if err != nil {
			return err
		}
		if box, err = casebook.SealAttachment(file, patient, key); err != nil {
			return err
		}
		address, err = tx.PutAttachment(patient, box)
		return err
	})
	do(t, e.store, func(tx casebook.Tx) error {
		if again, err := tx.PutAttachment(patient, box); err != nil || again != address {
			t.Errorf("put twice: %v, %v", again, err)
		}
		if _, err := tx.PutAttachment(other, box); !errors.Is(err, casebook.ErrOtherPatient) {
			t.Errorf("another patient's: %v", err)
		}
		if _, err := tx.PutAttachment(patient, nil); err == nil {
			t.Error("nothing was kept")
		}
		_, err := revise(tx, id, 2, func(c *casebook.Case) {
			c.Attached = []casebook.Attached{{Address: address, Type: casebook.PNG, Size: len(file), What: "photo", By: "ann", At: at(2).At}}
		})
		return err
	})
	failed := errors.New("no")
	if err := e.store.Do(t.Context(), func(tx casebook.Tx) error {
		if _, err := tx.PutAttachment(patient, append(bytes.Clone(box), 1)); err != nil {
			t.Error(err)
		}
		return failed
	}); !errors.Is(err, failed) {
		t.Error(err)
	}
	if e.reopen != nil {
		e.reopen()
	}
	view(t, e.store, func(tx casebook.Tx) error {
		who, got, err := tx.Attachment(address)
		if err != nil || who != patient || !bytes.Equal(got, box) {
			t.Errorf("read back: %q, %d bytes of %d, %v", who, len(got), len(box), err)
		}
		key, err := tx.Key(patient)
		if back, err := casebook.UnsealAttachment(got, patient, key); err != nil || !bytes.Equal(back, file) {
			t.Errorf("opened: %v", err)
		}
		if _, err := casebook.UnsealAttachment(got, other, key); !errors.Is(err, casebook.ErrSeal) {
			t.Errorf("under another name: %v", err)
		}
		if list, err := tx.Attachments(); err != nil || len(list) != 1 || list[0] != address {
			t.Errorf("all: %v, %v", list, err)
		}
		if _, _, err := tx.Attachment(casebook.Digest{1}); !errors.Is(err, casebook.ErrAbsent) {
			t.Errorf("none there: %v", err)
		}
		if _, err := tx.PutAttachment(patient, box); !errors.Is(err, casebook.ErrReadOnly) {
			t.Errorf("written while reading: %v", err)
		}
		return err
	})
	sound(t, e.store)
	do(t, e.store, func(tx casebook.Tx) error { // a case that names a file which is not kept
		_, err := revise(tx, id, 3, func(c *casebook.Case) {
			c.Attached = append(c.Attached, casebook.Attached{Address: casebook.Digest{9}, Type: casebook.PDF, What: "other", By: "ann", At: at(3).At})
		})
		return err
	})
	if r := verify(t, e.store); len(r.Broken) != 1 || r.Broken[0].What != casebook.FaultAttachment {
		t.Errorf("a missing file: %+v", r)
	}
}

func TestAttachmentsAreWrittenOnce(t *testing.T) {
	s := opened(t, "")
	patient, _ := admitted(t, s, 1)
	do(t, s, func(tx casebook.Tx) error {
		_, err := tx.PutAttachment(patient, bytes.Repeat([]byte{1}, 64))
		return err
	})
	for _, statement := range []string{"UPDATE attachment SET patient = 'x'", "DELETE FROM attachment", "REPLACE INTO attachment SELECT address, 'x', box FROM attachment"} {
		if _, err := s.write.Exec(statement); err == nil {
			t.Errorf("%s: allowed", statement)
		}
	}
}
