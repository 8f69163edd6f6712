package casebook_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"linn/eye"
	"linn/internal/care/casebook"
)

// The chance and the clock of the examples: a counter and one evening in an
// invented island hospital.
type counter struct{ n byte }

func (c *counter) Read(p []byte) (int, error) {
	for i := range p {
		c.n++
		p[i] = c.n
	}
	return len(p), nil
}

func evening() time.Time {
	return time.Date(2026, 3, 4, 17, 30, 0, 0, time.FixedZone("Nepal", 5*3600+45*60))
}

var (
	ann = casebook.Actor{ID: "ann", Name: "Ann Example", Role: casebook.Technician}
	bo  = casebook.Actor{ID: "bo", Name: "Bo Example", Role: casebook.Surgeon, Supervisor: true}
)

// admit opens a patient and a case of the right eye and returns their chains.
func admit(store casebook.Store, name string) (patient, eyeCase string, err error) {
	stamp := casebook.StampOf(evening, ann)
	random := &counter{n: name[0]}
	err = store.Do(context.Background(), func(tx casebook.Tx) (err error) {
		if patient, err = casebook.NewID(random, stamp.At); err != nil {
			return err
		}
		if eyeCase, err = casebook.NewID(random, stamp.At); err != nil {
			return err
		}
		key, err := casebook.NewKey(random)
		if err != nil {
			return err
		}
		who := casebook.Identity{Name: name, Identifier: "H-0001", Sex: eye.Female, Allergies: casebook.Stated{Asked: true}}
		sealed, err := casebook.Seal(who, patient, key, random)
		if err != nil {
			return err
		}
		if _, err = casebook.NewPatient(tx, stamp, patient, key, sealed); err != nil {
			return err
		}
		c := casebook.Case{Patient: patient, Side: eye.Right, Verb: casebook.VerbOpen}
		_, err = casebook.Revise(tx, stamp, eyeCase, 0, c)
		return err
	})
	return patient, eyeCase, err
}

// Enter a reading: load the newest state, change it, append it as the revision
// after the one that was read.
func ExampleRevise() {
	store := casebook.NewMemory()
	_, id, err := admit(store, "Mira Example")
	if err != nil {
		fmt.Println(err)
		return
	}
	err = store.Do(context.Background(), func(tx casebook.Tx) error {
		c, head, err := casebook.Load[casebook.Case](tx, id)
		if err != nil {
			return err
		}
		if refused := eye.FieldNamed("axial_length_mm").Set(&c.Eye, "23,45"); refused != nil {
			return *refused
		}
		c.Verb = casebook.VerbMeasure
		r, err := casebook.Revise(tx, casebook.StampOf(evening, ann), id, head.Number, c)
		fmt.Println("revision", r.Number, "at", casebook.Instant(r.At), r.Zone)
		fmt.Println(string(r.Payload[bytes.Index(r.Payload, []byte(`"side"`)):]))
		return err
	})
	fmt.Println(err)
	// Output:
	// revision 2 at 2026-03-04T11:45:00.000000000Z Nepal
	// "side":"right","verb":"measure","eye":{"axial_length_mm":"23,45"}}
	// <nil>
}

// Two people edit the same revision: the second is told, and sees both.
func ExampleConflictError() {
	store := casebook.NewMemory()
	_, id, err := admit(store, "Mira Example")
	if err != nil {
		fmt.Println(err)
		return
	}
	write := func(who casebook.Actor, length string) error {
		return store.Do(context.Background(), func(tx casebook.Tx) error {
			c, _, err := casebook.Load[casebook.Case](tx, id)
			if err != nil {
				return err
			}
			if refused := eye.FieldNamed("axial_length_mm").Set(&c.Eye, length); refused != nil {
				return *refused
			}
			_, err = casebook.Revise(tx, casebook.StampOf(evening, who), id, 1, c) // both had read revision 1
			return err
		})
	}
	fmt.Println(write(ann, "23.45"))
	err = write(bo, "23.54")
	var conflict *casebook.ConflictError
	if errors.As(err, &conflict) {
		changes, err := casebook.Diff(conflict.Theirs.Payload, conflict.Mine.Payload)
		if err != nil {
			fmt.Println(err)
		}
		for _, c := range changes {
			fmt.Printf("%s: %s wrote %s, %s wrote %s\n", c.Field, conflict.Theirs.Actor, c.Old, conflict.Mine.Actor, c.New)
		}
	}
	// Output:
	// <nil>
	// eye.axial_length_mm: ann wrote 23.45, bo wrote 23.54
}

// The Ward is a projection of the newest revisions; the identity is opened
// row by row.
func ExampleTx_ward() {
	store := casebook.NewMemory()
	if _, _, err := admit(store, "Mira Example"); err != nil {
		fmt.Println(err)
		return
	}
	err := store.View(context.Background(), func(tx casebook.Tx) error {
		rows, err := tx.Ward(casebook.WardQuery{State: casebook.StateOpen})
		for _, row := range rows {
			who, err := row.Person.Identity()
			if err != nil {
				return err
			}
			fmt.Println(who.Name, who.Identifier, row.Side.Words(), "lacks", row.Lacks)
		}
		return err
	})
	fmt.Println(err)
	// Output:
	// Mira Example H-0001 RIGHT EYE lacks [axial_length_mm k_flat_d k_steep_d second-entry target_d lens list read-back signature]
	// <nil>
}

// Erasing destroys the key; the chain still verifies.
func ExampleErasePatient() {
	store := casebook.NewMemory()
	patient, _, err := admit(store, "Mira Example")
	if err != nil {
		fmt.Println(err)
		return
	}
	err = store.Do(context.Background(), func(tx casebook.Tx) error {
		stamp := casebook.StampOf(evening, bo)
		fmt.Println("alone:", casebook.ErasePatient(tx, stamp, "bo", patient, "court order 12"))
		fmt.Println("with Ann:", casebook.ErasePatient(tx, stamp, "ann", patient, "court order 12"))
		_, err := casebook.Identify(tx, patient)
		fmt.Println("who:", err)
		report, err := casebook.Verify(tx, nil)
		fmt.Println("sound:", report.Sound())
		return err
	})
	fmt.Println(err)
	// Output:
	// alone: casebook: this needs two different people
	// with Ann: <nil>
	// who: erased: the key was destroyed
	// sound: true
	// <nil>
}

// Verify names the first broken link of each chain.
func ExampleVerify() {
	store := casebook.NewMemory()
	_, _, err := admit(store, "Mira Example")
	if err != nil {
		fmt.Println(err)
		return
	}
	err = store.Do(context.Background(), func(tx casebook.Tx) error {
		if err := casebook.AppendWardHead(tx, casebook.StampOf(evening, bo), "backup"); err != nil {
			return err
		}
		report, err := casebook.Verify(tx, nil)
		fmt.Println(report.Chains, "chains,", report.Revisions, "revisions, sound:", report.Sound())
		return err
	})
	fmt.Println(err)
	// Output:
	// 3 chains, 3 revisions, sound: true
	// <nil>
}
