package pathway

import (
	"context"
	"encoding/json"
	"slices"
	"strings"

	"linn/calc/fluidics"
	"linn/finding"
	"linn/internal/care/casebook"
)

// ShelfMachine is a machine on the Shelf with what its measurements say.
type ShelfMachine struct {
	ID     string
	Number int // of the newest revision
	Name   string
	Data   MachineData
	Fit    Calibrated
}

// MachineForm is what was measured on a machine, as typed: part → rows → key.
// A row without any text was not measured.
type MachineForm struct {
	Name, Gauge, Incision string
	Parts                 map[string][]map[string]string
}

// file writes the form in the format linn.calibration/1; a number as typed.
func (f MachineForm) file() ([]byte, error) {
	out := map[string]any{"format": fluidics.MeasuredFormat, "machine": line(f.Name)}
	for key, text := range map[string]string{"tip_gauge": f.Gauge, "incision_mm": f.Incision} {
		if strings.TrimSpace(text) != "" {
			out[key] = strings.TrimSpace(text)
		}
	}
	for _, part := range fluidics.MeasuredParts {
		var rows []map[string]string
		for _, row := range f.Parts[part.Key] {
			typed := map[string]string{}
			for _, field := range part.Fields {
				if text := strings.TrimSpace(row[field.Key]); text != "" {
					typed[field.Key] = text
				}
			}
			if len(typed) > 0 {
				rows = append(rows, typed)
			}
		}
		if len(rows) > 0 {
			out[part.Key] = rows
		}
	}
	return json.Marshal(out)
}

// AddMachine puts a machine with its measurements on the Shelf, or writes
// newer measurements of one that is there. It is refused where the data cannot
// support any part that was measured.
func (p *Pathway) AddMachine(ctx context.Context, by casebook.Actor, id string, seen int, f MachineForm) (string, error) {
	err := p.do(ctx, by, VerbMachine, func(t *turn) error {
		if line(f.Name) == "" || len(f.Name) > maxText {
			return refuse("needed", "machine")
		}
		file, err := f.file()
		if err != nil {
			return err
		}
		_, fit, refused := Calibrate(file)
		if refused = append(refused, fit.Refused...); len(refused) > 0 {
			return placeless(refused)
		}
		var head casebook.Revision
		if id == "" {
			id, err = casebook.NewID(t.Random, t.now)
			seen = Newest
		} else {
			_, head, err = casebook.Load[casebook.Machine](t.tx, id)
		}
		if err != nil {
			return err
		}
		if err := t.freshMachine(line(f.Name), id); err != nil {
			return err
		}
		return t.revise(id, seen, head, casebook.Machine{Verb: casebook.VerbCalibrate, Name: line(f.Name), Measured: file})
	})
	return id, err
}

// placeless takes the places in a file from refusals: nobody typed the file.
func placeless(list finding.Refusals) finding.Refusals {
	for i := range list {
		list[i].Line, list[i].Column = 0, 0
	}
	return list
}

func (t *turn) freshMachine(name, own string) error {
	all, err := casebook.All[casebook.Machine](t.tx)
	if err != nil {
		return err
	}
	for _, other := range all {
		if other.Revision.Chain != own && strings.EqualFold(other.State.Name, name) {
			return refuse("model-known", "machine", value("got", name))
		}
	}
	return nil
}

// Machines lists the machines by name, each with what its measurements say.
func (p *Pathway) Machines(ctx context.Context, by casebook.Actor) (list []ShelfMachine, err error) {
	err = p.look(ctx, by, VerbShelf, func(t *turn) error {
		list, err = t.machines()
		return err
	})
	return list, err
}

func (t *turn) machines() (list []ShelfMachine, err error) {
	all, err := casebook.All[casebook.Machine](t.tx)
	for _, v := range all {
		m := ShelfMachine{ID: v.Revision.Chain, Number: v.Revision.Number, Name: v.State.Name}
		var refused finding.Refusals
		if m.Data, m.Fit, refused = Calibrate(v.State.Measured); len(refused) > 0 {
			m.Fit = Calibrated{} // written by a program with other bounds: nothing is said of it
		}
		list = append(list, m)
	}
	slices.SortFunc(list, func(a, b ShelfMachine) int { return strings.Compare(a.Name, b.Name) })
	return list, err
}
