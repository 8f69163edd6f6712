package pathway

import (
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

func admission(name, identifier, side string) Admission {
	return Admission{NewPatient: NewPatient{Name: name, Identifier: identifier, Sex: "female", Born: "1959-02-09"}, Side: side}
}

// A new eye is one write: a person is added with it, or found, and nothing is
// kept of a form that is refused.
func TestAdmit(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		a := admission("Mira Example", "H-0001", "right")
		a.List = "2026-03-05"
		id, err := w.Admit(w.ctx(), w.who["nora"], a)
		w.must(err)
		j := w.check(id)
		if j.Who.Name != "Mira Example" || j.Side != eye.Right || j.List.Date.String() != "2026-03-05" || j.Revision != 2 {
			t.Errorf("%+v", j)
		}
		a = admission("mira  EXAMPLE", "h-0001", "left")
		a.Born = "67"
		left, err := w.Admit(w.ctx(), w.who["tina"], a)
		w.must(err)
		if got := w.check(left); got.Patient != j.Patient || got.FellowCase != id || got.Who.Name != "Mira Example" {
			t.Errorf("the known person is %+v", got.Who)
		}
	})
}

func TestAdmitRefuses(t *testing.T) {
	for _, c := range []struct {
		name, code, by string
		change         func(*Admission)
	}{
		{"another name", "identifier-known", "nora", func(a *Admission) { a.Name = "Mara Example" }},
		{"another sex", "person-differs", "nora", func(a *Admission) { a.Sex = "male" }},
		{"another birth date", "person-differs", "nora", func(a *Admission) { a.Born = "1959-02-10" }},
		{"another age", "person-differs", "nora", func(a *Admission) { a.Born = "70" }},
		{"an unreadable birth date", "born-unreadable", "nora", func(a *Admission) { a.Born = "spring" }},
		{"a case that is open", "case-exists", "nora", func(a *Admission) { a.Side = "right" }},
		{"no side", "needed", "nora", func(a *Admission) { a.Side = "" }},
		{"a wrong side", "needed", "nora", func(a *Admission) { a.Side = "both" }},
		{"no name", "needed", "nora", func(a *Admission) { a.Name, a.Identifier = "", "H-0002" }},
		{"no identifier", "needed", "nora", func(a *Admission) { a.Identifier = "" }},
		{"a list of the past", "list-past", "nora", func(a *Admission) { a.List = "2026-03-02" }},
		{"a list by a technician", "list-not-yours", "tina", func(a *Admission) { a.List = "2026-03-05" }},
		{"an infant by years", "born-infant", "nora", func(a *Admission) { a.Identifier, a.Born = "H-0002", "0" }},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := newWard(t, casebook.NewMemory(), nepal)
			_, err := w.Admit(w.ctx(), w.who["nora"], admission("Mira Example", "H-0001", "right"))
			w.must(err)
			before := w.all()
			a := admission("Mira Example", "H-0001", "left")
			c.change(&a)
			_, err = w.Admit(w.ctx(), w.who[c.by], a)
			w.refused(err, c.code)
			if w.all() != before {
				t.Error("something of the refused form was kept")
			}
		})
	}
}
