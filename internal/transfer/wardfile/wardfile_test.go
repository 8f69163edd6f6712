package wardfile

import (
	"bytes"
	"errors"
	"testing"
	"time"

	"linn/internal/care/casebook"
)

// FuzzRead: whatever the file, it is refused and nothing kept, or what was
// kept verifies and is written again.
func FuzzRead(f *testing.F) {
	stamp := casebook.Stamp{At: time.Date(2026, 3, 4, 3, 15, 0, 0, time.UTC), Zone: "+05:45", Actor: "bo"}
	m := casebook.NewMemory()
	err := m.Do(f.Context(), func(tx casebook.Tx) error {
		if _, err := casebook.NewPatient(tx, stamp, "P", casebook.Key{1}, "sealed"); err != nil {
			return err
		}
		return casebook.AppendWardHead(tx, stamp, "test")
	})
	if err != nil {
		f.Fatal(err)
	}
	_, err = Write(f.Context(), new(bytes.Buffer), m, Origin{"x", stamp}, nil)
	var unsound *UnsoundError
	if !errors.As(err, &unsound) || unsound.First().What != casebook.FaultSeal {
		f.Fatalf("a record that does not verify: %v", err)
	}
	m = casebook.NewMemory()
	err = m.Do(f.Context(), func(tx casebook.Tx) error {
		_, err := casebook.Revise(tx, stamp, "bo", 0, casebook.Person{Verb: casebook.VerbAdmit, Name: "Bo <&> é", Role: casebook.Nurse, Active: true})
		if err != nil {
			return err
		}
		if err := tx.LogAccess(casebook.Access{At: stamp.At, Zone: "+05:45", Actor: "bo", What: casebook.AccessRead, Patient: "P"}); err != nil {
			return err
		}
		return casebook.AppendWardHead(tx, stamp, "test")
	})
	if err != nil {
		f.Fatal(err)
	}
	var b bytes.Buffer
	if _, err := Write(f.Context(), &b, m, Origin{"x", stamp}, nil); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add(b.Bytes()[:b.Len()/2])
	f.Add([]byte("{\"ward\":{\"format\":\"linn.ward-file/1\"}}\n{\"key\":{\"patient\":\"P\",\"secret\":\"00\"}}\n"))
	f.Fuzz(func(t *testing.T, file []byte) {
		into := casebook.NewMemory()
		sum, err := Read(t.Context(), bytes.NewReader(file), into, nil)
		n := 0
		if viewed := into.View(t.Context(), func(tx casebook.Tx) error {
			for range tx.Since(0) {
				n++
			}
			return nil
		}); viewed != nil || n != sum.Revisions {
			t.Fatalf("%d revisions, summary %+v, %v", n, sum, viewed)
		}
		if err != nil {
			return
		}
		if _, err := Write(t.Context(), new(bytes.Buffer), into, Origin{"x", stamp}, nil); err != nil {
			t.Fatal(err)
		}
	})
}
