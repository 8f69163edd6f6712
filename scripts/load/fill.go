package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"linn/eye"
	"linn/internal/access"
	"linn/internal/care/casebook"
	"linn/internal/pathway"
	"linn/internal/store"
	"linn/unit"
)

// password is everybody's here.
const password = "nine green herons wade"

// openCases are the eyes that are still to be done, whatever the record's age.
const openCases = 400

// ward is the record under load.
type ward struct {
	dir, db string
	names   []string // of the people
	open    []string // eyes to be done
	random  *rand.ChaCha8
	now     time.Time
}

func (w *ward) opened(ctx context.Context) (casebook.Store, error) {
	if w.db != "" {
		return store.OpenPostgres(ctx, w.db)
	}
	return store.Open(ctx, w.dir, store.Options{})
}

func (w *ward) fill(ctx context.Context, cases, people int) (err error) {
	w.random, w.now = rand.NewChaCha8([32]byte{7}), time.Now()
	s, err := w.opened(ctx)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if err := w.staff(ctx, s, people); err != nil {
		return err
	}
	const batch = 500
	for from := 0; from < cases; from += batch {
		err := s.Do(ctx, func(tx casebook.Tx) error {
			for i := from; i < min(from+batch, cases); i++ {
				if err := w.add(tx, i, cases-i <= openCases); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
	}
	return nil
}

// staff puts the people on the Desk and lenses on the Shelf.
func (w *ward) staff(ctx context.Context, s casebook.Store, people int) error {
	hash, err := access.NewPassword(password, "")
	if err != nil {
		return err
	}
	p := &pathway.Pathway{Store: s, Clock: func() time.Time { return w.now }, Random: w.random, Program: "load"}
	var first casebook.Actor
	err = s.Do(ctx, func(tx casebook.Tx) error {
		for i := range people {
			id, err := casebook.NewID(w.random, w.now)
			if err != nil {
				return err
			}
			person := casebook.Person{Verb: casebook.VerbAdmit, Name: fmt.Sprintf("Person %02d", i+1), Role: casebook.Surgeon, Supervisor: true, Active: true, Password: hash}
			if _, err := casebook.Revise(tx, w.stamp(id), id, 0, person); err != nil {
				return err
			}
			w.names = append(w.names, person.Name)
			first = person.Actor(id)
		}
		return nil
	})
	for i := 0; i < 3 && err == nil; i++ {
		_, err = p.AddLens(ctx, first, pathway.LensForm{Model: fmt.Sprintf("Load %d", i+1), Numbers: map[string]string{"from_d": "6", "to_d": "30", "step_d": "0.5"},
			Constants: []pathway.ConstantForm{{Name: "a", Value: fmt.Sprintf("118.%d", i+3), Origin: "label"}}})
	}
	return err
}

func (w *ward) stamp(actor string) casebook.Stamp {
	return casebook.Stamp{At: w.now.UTC(), Zone: "+00:00", Actor: actor}
}

// add writes one person with one eye: opened, measured, and when it is an old
// one, signed and closed as operated.
func (w *ward) add(tx casebook.Tx, i int, open bool) error {
	stamp := w.stamp("load")
	patient, err := casebook.NewID(w.random, w.now)
	if err != nil {
		return err
	}
	key, err := casebook.NewKey(w.random)
	if err != nil {
		return err
	}
	who := casebook.Identity{Name: fmt.Sprintf("Invented %06d", i), Identifier: fmt.Sprintf("L-%06d", i), Sex: eye.Female}
	sealed, err := casebook.Seal(who, patient, key, w.random)
	if err != nil {
		return err
	}
	if _, err := casebook.NewPatient(tx, stamp, patient, key, sealed); err != nil {
		return err
	}
	id, err := casebook.NewID(w.random, w.now)
	if err != nil {
		return err
	}
	c := casebook.Case{Patient: patient, Side: eye.Right, Verb: casebook.VerbOpen}
	if i%2 == 1 {
		c.Side = eye.Left
	}
	if _, err := casebook.Revise(tx, stamp, id, 0, c); err != nil {
		return err
	}
	measured(&c, i)
	day := w.now.AddDate(0, 0, i%10)
	c.List = &casebook.Listing{Date: unit.DateOf(day), Place: "Theatre 1", Order: i % 40}
	if _, err := casebook.Revise(tx, stamp, id, 1, c); err != nil || open {
		w.open = append(w.open, id)
		return err
	}
	return w.operated(tx, id, &c, i)
}

func measured(c *casebook.Case, i int) {
	set := func(key, text string) {
		if r := eye.FieldNamed(key).Set(&c.Eye, text); r != nil {
			panic(r)
		}
	}
	c.Verb, c.Eye.Side = casebook.VerbMeasure, c.Side
	for key, text := range map[string]string{"axial_length_method": "optical", "k_flat_d": "43.25", "k_steep_d": "44.00", "k_flat_axis_deg": "176", "k_steep_axis_deg": "86",
		"keratometric_index": "1.3375", "acd_mm": "3.12", "lens_status": "phakic", "vitreous": "natural", "corneal_surgery": "none", "vertex_mm": "12", "target_d": "-0.25"} {
		set(key, text)
	}
	set("axial_length_mm", fmt.Sprintf("%.2f", 22.4+float64(i%200)/100))
	c.Second = map[string]casebook.SecondEntry{"axial_length_mm": {Imported: true}, "k_flat_d": {Imported: true}, "k_steep_d": {Imported: true}}
}

// operated signs the eye and closes it.
func (w *ward) operated(tx casebook.Tx, id string, c *casebook.Case, i int) error {
	steps := map[string]string{}
	for n := range 60 {
		steps[fmt.Sprintf("step_%d", n)] = "23.45 mm, 43.62 D, 21.50 D"
	}
	plan, err := json.Marshal(steps)
	if err != nil {
		return err
	}
	sheet, err := tx.NextSheet(id)
	if err != nil {
		return err
	}
	past := w.now.AddDate(0, 0, -1-i%2000)
	c.List.Date = unit.DateOf(past)
	c.Verb, c.Chosen = casebook.VerbSign, &casebook.Chosen{Model: "Load 1", Power: 21.5}
	c.Signed = &casebook.Signed{Plan: plan, By: "load", At: past.UTC(), PlanNumber: 1, Sheet: sheet, ListDate: c.List.Date}
	r, err := casebook.Revise(tx, w.stamp("load"), id, 2, *c)
	if err != nil {
		return err
	}
	c.Verb, c.Closed = casebook.VerbClose, "operated"
	_, err = casebook.Revise(tx, w.stamp("load"), id, r.Number, *c)
	return err
}
