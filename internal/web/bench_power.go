package web

import (
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

var powerKnobs = []knob{
	{key: "console_w", unit: "W", low: 0, high: 2000, from: 0, to: 300, step: 5, usual: "120"},
	{key: "microscope_w", unit: "W", low: 0, high: 1000, from: 0, to: 200, step: 5, usual: "40"},
	{key: "monitor_w", unit: "W", low: 0, high: 1000, from: 0, to: 150, step: 5, usual: "0"},
	{key: "other_w", unit: "W", low: 0, high: 5000, from: 0, to: 500, step: 5, usual: "0"},
	{key: "compressor_w", unit: "W", low: 0, high: 5000, from: 0, to: 1000, step: 20, usual: "0"},
	{key: "starting", unit: "×", low: 1, high: 10, from: 1, to: 6, step: 0.5, usual: "5"},
	{key: "power_factor", low: 0.3, high: 1, from: 0.5, to: 1, step: 0.05, usual: "0.7"},
	{key: "battery", words: []string{"lead", "lithium"}, usual: "lead"},
	{key: "battery_ah", unit: "Ah", low: 0.1, high: 10000, from: 5, to: 300, step: 5, usual: "40"},
	{key: "voltage_v", unit: "V", low: 1, high: 800, usual: "12"},
	{key: "ageing_pct", unit: "%", low: 5, high: 100, from: 20, to: 100, step: 5, usual: "80"},
	{key: "goal_min", unit: "min", low: 1, high: 1440, from: 5, to: 240, step: 5, usual: "30"},
	{key: "elapsed_min", unit: "min", low: 0, high: 600, from: 0, to: 60, step: 1, usual: "5", more: true},
	{key: "past_min", more: true, may: true},
	{key: "case_min", unit: "min", low: 0.5, high: 600, from: 5, to: 90, step: 1, usual: "20", more: true},
	{key: "cases", low: 1, high: 200, from: 1, to: 40, step: 1, usual: "10", more: true},
	{key: "irrigation_ml_min", unit: "mL/min", low: 0.1, high: 500, from: 5, to: 80, step: 1, usual: "34", more: true},
	{key: "foot_min", unit: "min", low: 0.1, high: 300, from: 1, to: 40, step: 1, usual: "8", more: true},
	{key: "bottle_ml", unit: "mL", low: 50, high: 5000, from: 250, to: 1000, step: 50, usual: "500", more: true},
	{key: "reserve_ml", unit: "mL", low: 0, high: 500, from: 0, to: 150, step: 10, usual: "50", more: true},
}

var powerPresets = []preset{
	{"microscope", nil},
	{"halogen", map[string]string{"microscope_w": "150", "monitor_w": "50"}},
	{"list", map[string]string{"microscope_w": "150", "monitor_w": "50", "goal_min": "120", "battery_ah": "160"}},
	{"compressor", map[string]string{"compressor_w": "700"}},
}

// pastTimes reads how long operations took: minutes, apart by blanks or
// semicolons.
func pastTimes(in *played) (list []unit.Minute) {
	for _, text := range strings.FieldsFunc(in.typed["past_min"], func(r rune) bool { return r == ' ' || r == ';' || r == '\n' || r == '\t' }) {
		v, err := unit.Parse[unit.Minute](text, "past_min", "min", unit.Bounds{Low: 0.5, High: 600})
		if err != nil {
			in.refused = append(in.refused, finding.Refusal{Code: "past-times", Field: "past_min", Values: finding.Values{{Name: "got", Text: text}}})
			return nil
		}
		list = append(list, v)
	}
	return list
}

func (s *server) playPower(in *played) (a benchAnswer) {
	factor := unit.Ratio(in.value("power_factor"))
	var p pathway.PowerInput
	for _, key := range []string{"console_w", "microscope_w", "monitor_w", "other_w", "compressor_w"} {
		l := pathway.Load{Name: s.keyWords(key), Running: unit.Watt(in.value(key)), Factor: factor, Starting: 1}
		if key == "compressor_w" {
			l.Starting = unit.Ratio(in.value("starting"))
		}
		p.Loads = append(p.Loads, l)
	}
	p.Battery = pathway.Lead()
	if in.word("battery") == "lithium" {
		p.Battery = pathway.Lithium()
	}
	p.Battery.Voltage, p.Battery.Ageing = unit.Volt(in.value("voltage_v")), unit.Ratio(in.value("ageing_pct")/100)
	p.Label, p.Goal, p.Elapsed, p.Past = unit.AmpereHour(in.value("battery_ah")), unit.Minute(in.value("goal_min")), unit.Minute(in.value("elapsed_min")), pastTimes(in)
	p.Case, p.Cases = unit.Minute(in.value("case_min")), int(in.value("cases"))
	p.Bottles = pathway.Bottles{Flow: unit.MillilitrePerMinute(in.value("irrigation_ml_min")), Foot: unit.Minute(in.value("foot_min")), Bottle: unit.Millilitre(in.value("bottle_ml")), Reserve: unit.Millilitre(in.value("reserve_ml"))}
	if len(in.refused) > 0 {
		return a
	}
	r, refused := pathway.Power(p)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.findings = benchFindings(r.Findings)
	row := func(key, value string) {
		a.rows = append(a.rows, BenchRow{s.t("power." + key), value, s.t("power.why." + key)})
	}
	row("running", s.t("power.running.is", "w", unit.Fixed(float64(r.Demand.Running), 0)+unit.Thin+"W", "va", r.Demand.Apparent))
	row("supply", r.Demand.Supply.String())
	row("needs", s.t("power.needs.is", "wh", r.Needs, "ah", r.Charge, "v", p.Battery.Voltage))
	row("lasts", r.Lasts.String())
	remains := s.t("power.remains.unknown", "n", r.Remains.N)
	if r.Remains.Known {
		remains = s.t("power.remains.is", "time", r.Remains.Value, "n", r.Remains.N)
	}
	row("remains", remains)
	row("energy", s.t("power.energy.is", "case", r.PerCase, "list", r.PerList, "n", p.Cases))
	changes := s.t("power.bottles.one")
	if len(r.Bottles.At) > 0 {
		var at []string
		for _, m := range r.Bottles.At {
			at = append(at, unit.Fixed(float64(m), 1))
		}
		changes = s.t("power.bottles.at", "at", strings.Join(at, ", ")+unit.Thin+"min")
	}
	row("bottles", s.t("power.bottles.is", "n", strconv.Itoa(r.Bottles.Needed), "each", unit.Fixed(float64(r.Bottles.Each), 1)+unit.Thin+"min", "changes", changes))
	a.figures = []benchFigure{s.batteryFigure(&r)}
	a.notes = []string{s.t("power.note")}
	return a
}

// batteryFigure sets the minutes the battery lasts beside those that are needed.
func (s *server) batteryFigure(r *pathway.PowerAnswer) benchFigure {
	bars := []struct {
		key, token string
		at         float64
	}{{"power.bar.lasts", "water", float64(r.Lasts)}}
	if r.Remains.Known {
		bars = append(bars, struct {
			key, token string
			at         float64
		}{"power.bar.remains", "vermillion", float64(r.Remains.Value)})
	}
	most := 1.0
	for _, b := range bars {
		most = max(most, b.at)
	}
	wide, narrow := both("battery", func(id string, width float64) *drawing {
		d := newDrawing(id, width, 26+66*float64(len(bars)), s.t("power.figure"), s.t("power.figure.desc"))
		for i, b := range bars {
			y := 24 + 66*float64(i)
			d.text(8, y, s.t(b.key, "time", unit.Minute(b.at)), "font-size", "15", "fill", ink("ink"))
			d.rect(8, y+10, max((width-20)*b.at/most, 2), 22, "fill", ink("band"), "stroke", ink(b.token), "stroke-width", "2")
		}
		return d
	})
	return benchFigure{"battery", wide, narrow, s.t("power.figure.says")}
}
