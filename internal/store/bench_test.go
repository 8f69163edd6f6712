package store

import (
	"fmt"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
	"linn/unit"
)

// typical fills a case as it stands when its plan is signed.
func typical(c *casebook.Case, i int) {
	set(c, "axial_length_mm", fmt.Sprintf("%.2f", 21.5+float64(i%400)/100))
	set(c, "k_flat_d", "43.25")
	set(c, "k_steep_d", "44.00")
	set(c, "acd_mm", "3.15")
	set(c, "target_d", "-0.25")
	c.Second = map[string]casebook.SecondEntry{"axial_length_mm": {Imported: true}, "k_flat_d": {Text: "43.25", By: "bo", At: at(i).At}, "k_steep_d": {Text: "44", By: "bo", At: at(i).At}}
	c.List = &casebook.Listing{Date: listDay(i), Place: "Hall", Order: i % 12}
	c.Chosen = &casebook.Chosen{Lens: "tarn-2", Model: "Tarn 2", Power: 21.5}
	plan := make([]byte, 0, 3000)
	for n := range 60 {
		plan = fmt.Appendf(plan, `"step_%d":"23.45 mm 43.62 D",`, n)
	}
	c.Signed = &casebook.Signed{Plan: append(append([]byte{'{'}, plan[:len(plan)-1]...), '}'), By: "bo", At: at(i).At, PlanNumber: 1, Sheet: i + 1}
}

// listDay puts twelve cases on a list, in the order of their admission.
func listDay(i int) unit.Date { return unit.DateOf(at(0).At.AddDate(0, 0, i/12)) }

func benchEngines(b *testing.B, run func(*testing.B, casebook.Store)) {
	for _, name := range []string{"sqlite", "sqlite encrypted", "sqlite runner-up", "memory"} {
		b.Run(name, func(b *testing.B) { run(b, engines[name](b).store) })
	}
}

// BenchmarkAppend revises one case: load, decode, encode, hash, append,
// project, commit to the disk.
func BenchmarkAppend(b *testing.B) {
	benchEngines(b, func(b *testing.B, s casebook.Store) {
		_, id := admitted(b, s, 1)
		i := 0
		for b.Loop() {
			do(b, s, func(tx casebook.Tx) error {
				_, err := revise(tx, id, i, func(c *casebook.Case) { typical(c, i) })
				return err
			})
			i++
		}
	})
}

const wardCases = 10000

func fillWard(b *testing.B, s casebook.Store) {
	do(b, s, func(tx casebook.Tx) error {
		for i := range wardCases {
			_, id, err := admit(tx, uint64(i))
			if err != nil {
				return err
			}
			if _, err := revise(tx, id, i, func(c *casebook.Case) { typical(c, i) }); err != nil {
				return err
			}
		}
		return nil
	})
}

// BenchmarkWard lists 10 000 cases and opens their patients' names.
func BenchmarkWard(b *testing.B) {
	benchEngines(b, func(b *testing.B, s casebook.Store) {
		fillWard(b, s)
		for _, c := range []struct {
			name string
			q    casebook.WardQuery
			open bool
		}{{"rows", casebook.WardQuery{}, false}, {"with names", casebook.WardQuery{}, true}, {"one list", casebook.WardQuery{List: listDay(wardCases / 2)}, true}, {"first 200", casebook.WardQuery{Limit: 200}, true}} {
			b.Run(c.name, func(b *testing.B) {
				for b.Loop() {
					view(b, s, func(tx casebook.Tx) error {
						rows, err := tx.Ward(c.q)
						for _, w := range rows {
							if !c.open {
								break
							}
							if _, err := w.Person.Identity(); err != nil || w.Side != eye.Right {
								return err
							}
						}
						return err
					})
				}
			})
		}
	})
}

// BenchmarkVerify walks a record of 10 000 cases.
func BenchmarkVerify(b *testing.B) {
	benchEngines(b, func(b *testing.B, s casebook.Store) {
		fillWard(b, s)
		for b.Loop() {
			sound(b, s)
		}
	})
}
