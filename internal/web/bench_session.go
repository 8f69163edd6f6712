package web

import (
	"strconv"

	"linn/internal/pathway"
	"linn/unit"
)

var sessionKnobs = []knob{
	{key: "session_min", unit: "min", low: 1, high: 1440, from: 60, to: 600, step: 15, usual: "240"},
	{key: "tables", words: []string{"one", "two"}, usual: "one"},
	{key: "turn_min", unit: "min", low: 0, high: 120, from: 0, to: 30, step: 0.5, usual: "6"},
	{key: "surgery_min", unit: "min", low: 0.5, high: 300, from: 2, to: 45, step: 0.5, usual: "14"},
	{key: "surgery_other_min", unit: "min", low: 0.5, high: 300, from: 2, to: 45, step: 0.5, usual: "9"},
	{key: "cases_month", low: 1, high: 100000, from: 10, to: 500, step: 10, usual: "100"},
	{key: "fixed", low: 0, high: 1e9, usual: "0"},
	{key: "fixed_other", low: 0, high: 1e9, usual: "0"},
	{key: "consumables", low: 0, high: 1e7, usual: "0"},
	{key: "consumables_other", low: 0, high: 1e7, usual: "0"},
	{key: "lens_price", low: 0, high: 1e7, usual: "0", more: true},
	{key: "lens_price_other", low: 0, high: 1e7, usual: "0", more: true},
	{key: "staff_hour", low: 0, high: 1e7, usual: "0", more: true},
}

var sessionPresets = []preset{
	{"usual", nil},
	{"two", map[string]string{"tables": "two"}},
	{"fast", map[string]string{"tables": "two", "turn_min": "3.75", "surgery_other_min": "3.75", "session_min": "60"}},
}

func (s *server) playSession(in *played) (a benchAnswer) {
	money := func(key string) pathway.Money { return pathway.Money(in.value(key)) }
	cases := int(in.value("cases_month"))
	p := pathway.SessionInput{Session: unit.Minute(in.value("session_min")), TwoTables: in.word("tables") == "two",
		Tables: pathway.Tables{Surgery: unit.Minute(in.value("surgery_min")), Turn: unit.Minute(in.value("turn_min"))}, SurgeryOfTwo: unit.Minute(in.value("surgery_other_min")),
		One: pathway.Costs{Fixed: money("fixed"), Cases: cases, Consumables: money("consumables"), Lens: money("lens_price"), Staff: money("staff_hour"), StaffTime: unit.Minute(in.value("surgery_min") + in.value("turn_min"))},
		Two: pathway.Costs{Fixed: money("fixed_other"), Cases: cases, Consumables: money("consumables_other"), Lens: money("lens_price_other"), Staff: money("staff_hour"), StaffTime: unit.Minute(in.value("surgery_other_min") + in.value("turn_min"))}}
	if len(in.refused) > 0 {
		return a
	}
	r, refused := pathway.RunSession(p)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	t := BenchTable{Title: s.t("session.table"), How: s.t("session.table.how"), Head: []string{s.t("session.what"), s.t("session.one"), s.t("session.two"), s.t("session.why")}}
	priced := p.One != (pathway.Costs{Cases: cases, StaffTime: p.One.StaffTime}) || p.Two != (pathway.Costs{Cases: cases, StaffTime: p.Two.StaffTime})
	amount := func(m pathway.Money) string {
		if !priced {
			return s.t("session.unpriced")
		}
		return unit.Fixed(float64(m), 2)
	}
	row := func(key, one, two string) {
		t.Rows = append(t.Rows, []string{s.t("session." + key), one, two, s.t("session.why." + key)})
	}
	row("cycle", r.Cycle[0].String(), r.Cycle[1].String())
	row("holds", strconv.Itoa(r.Holds[0]), strconv.Itoa(r.Holds[1]))
	row("varying", amount(r.Varying[0]), amount(r.Varying[1]))
	row("each", amount(r.Each[0]), amount(r.Each[1]))
	a.tables = []BenchTable{t}
	if priced {
		even := s.t("session.even.never")
		if r.EverEven {
			even = s.t("session.even.from", "n", r.Even)
		}
		a.rows = []BenchRow{{s.t("session.even"), even, s.t("session.why.even")}}
	}
	a.notes = []string{s.t("session.note")}
	return a
}
