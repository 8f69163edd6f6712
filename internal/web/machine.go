package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// MachineView is the guided page on which a machine is measured.
type MachineView struct {
	Frame
	Name, Gauge, Incision string
	Gauges                []Option
	Parts                 []MachinePart
	Refused               []string
}

// MachinePart is one kind of measurement with its rows.
type MachinePart struct {
	Key, Name, How string
	Heads          []string
	Rows           []MachineRow
}

// MachineRow is one measurement's fields.
type MachineRow struct {
	Number int
	Fields []FieldView
}

// machineRows is how many rows each part offers.
var machineRows = map[string]int{"head": 2, "free_flow": 4, "rise": 4, "gauge": 3, "leak": 5}

func (s *server) machine(w http.ResponseWriter, r *http.Request, by Actor) error {
	if !s.Pathway.May(by, ToMeasureMachine) {
		return ErrForbidden
	}
	return s.machinePage(w, r, by, MachineForm{Gauge: "20", Incision: "2.2"}, nil)
}

func (s *server) machinePage(w http.ResponseWriter, r *http.Request, by Actor, f MachineForm, refused finding.Refusals) error {
	v := MachineView{Frame: s.frame(r, by, s.t("machine.heading"), "shelf"), Name: f.Name, Gauge: f.Gauge, Incision: f.Incision}
	for i, one := range refused {
		if reason := one.Values.Get("reason"); reason != "" {
			refused[i].Values = finding.Values{{Name: "reason", Text: s.t("fit." + reason)}}
		}
	}
	v.Refused = s.refusalText(refused)
	for _, g := range []string{"19", "20", "21", "22"} {
		v.Gauges = append(v.Gauges, Option{g, s.t("word.tip_gauge." + g), g == f.Gauge})
	}
	for _, part := range pathway.MeasuredParts() {
		p := MachinePart{Key: part.Key, Name: capital(locale.Field(s.lang, part.Key)), How: s.t("machine.how." + part.Key)}
		for n := range machineRows[part.Key] {
			row := MachineRow{Number: n + 1}
			for _, field := range part.Fields {
				id := part.Key + "." + strconv.Itoa(n) + "." + field.Key
				text := ""
				if n < len(f.Parts[part.Key]) {
					text = f.Parts[part.Key][n][field.Key]
				}
				row.Fields = append(row.Fields, FieldView{ID: strings.ReplaceAll(id, ".", "-"), Name: id, Value: text, Unit: field.Unit, Number: true,
					Full: s.t("machine.field", "field", locale.Field(s.lang, field.Key), "part", locale.Field(s.lang, part.Key), "n", n+1)})
			}
			p.Rows = append(p.Rows, row)
		}
		for _, field := range part.Fields {
			p.Heads = append(p.Heads, capital(locale.Field(s.lang, field.Key)))
		}
		v.Parts = append(v.Parts, p)
	}
	status := http.StatusOK
	if len(refused) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "machine", "page", v)
}

func (s *server) addMachine(w http.ResponseWriter, r *http.Request, by Actor) error {
	f := MachineForm{Name: r.PostForm.Get("name"), Gauge: r.PostForm.Get("tip_gauge"), Incision: r.PostForm.Get("incision_mm"), Parts: map[string][]map[string]string{}}
	for _, part := range pathway.MeasuredParts() {
		for n := range machineRows[part.Key] {
			row := map[string]string{}
			for _, field := range part.Fields {
				row[field.Key] = r.PostForm.Get(part.Key + "." + strconv.Itoa(n) + "." + field.Key)
			}
			f.Parts[part.Key] = append(f.Parts[part.Key], row)
		}
	}
	err := s.Pathway.AddMachine(r.Context(), by, f)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.machinePage(w, r, by, f, slices.Clone(refused))
	}
	if err == nil {
		s.to(w, r, "/shelf")
	}
	return err
}
