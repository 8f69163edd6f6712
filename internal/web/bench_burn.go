package web

import (
	"slices"

	"linn/internal/pathway"
	"linn/unit"
)

var burnKnobs = []knob{
	{key: "power_pct", unit: "%", low: 0, high: 100, from: 0, to: 100, step: 1, usual: "100"},
	{key: "duty_pct", unit: "%", low: 0, high: 100, from: 5, to: 100, step: 1, usual: "100"},
	{key: "way", words: []string{"longitudinal", "torsional"}, usual: "longitudinal"},
	{key: "cooling_ml_min", unit: "mL/min", low: 0, high: 200, from: 0, to: 50, step: 1, usual: "30"},
	{key: "left_ml_min", unit: "mL/min", low: 0, high: 200, from: 0, to: 10, step: 0.1, usual: "0"},
	{key: "after_s", unit: "s", low: 0.1, high: 600, from: 1, to: 30, step: 0.5, usual: "6"},
	{key: "load_gf", unit: "gf", low: 0, high: 500, from: 0, to: 120, step: 5, usual: "30"},
	{key: "with_s", unit: "s", low: 0.1, high: 600, from: 1, to: 30, step: 1, usual: "4", more: true},
	{key: "plugged", words: []string{"no", "yes"}, usual: "no", more: true},
	{key: "burn_index", words: pathway.BurnIndices(), usual: "burn", more: true},
}

var burnPresets = []preset{
	{"stop", nil},
	{"pulsed", map[string]string{"duty_pct": "33", "after_s": "20"}},
	{"torsional", map[string]string{"way": "torsional"}},
	{"drip", map[string]string{"left_ml_min": "1"}},
	{"plug", map[string]string{"plugged": "yes", "cooling_ml_min": "0"}},
	{"pressing", map[string]string{"load_gf": "90", "left_ml_min": "5"}},
}

func (s *server) playBurn(in *played) (a benchAnswer) {
	var b pathway.BurnInput
	b.Phase.Power, b.Phase.Duty = unit.Percent(in.value("power_pct")), unit.Percent(in.value("duty_pct"))
	b.Phase.Load, b.Phase.Flow, b.Phase.Plugged = unit.GramForce(in.value("load_gf")), unit.MillilitrePerMinute(in.value("cooling_ml_min")), in.word("plugged") == "yes"
	b.With, b.After, b.Left, b.Index = unit.Second(in.value("with_s")), unit.Second(in.value("after_s")), unit.MillilitrePerMinute(in.value("left_ml_min")), in.word("burn_index")
	if in.word("way") == "torsional" {
		b.Way = pathway.Torsional
	}
	if len(in.refused) > 0 {
		return a
	}
	burn, refused := pathway.Burn(b)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.findings = benchFindings(burn.Findings)
	row := func(key, value string) {
		a.rows = append(a.rows, BenchRow{s.t("burn." + key), value, s.t("burn.why." + key)})
	}
	o := &burn.Outcome
	reach := func(r unit.Reading[unit.Second]) string {
		switch {
		case !r.Known:
			return s.t("burn.never")
		case r.Value <= b.With:
			return s.t("burn.at-once")
		}
		return s.t("burn.after", "time", s.aboutText(float64(r.Value-b.With), "s"))
	}
	row("with", degrees(o.Phases[0].Wound))
	row("to45", reach(o.To45))
	row("to60", reach(o.To60))
	row("index", reach(o.BurnAt))
	row("peak", degrees(o.Peak))
	least := s.t("burn.least.none")
	if burn.Least.Known {
		least = s.aboutText(float64(burn.Least.Value), "mL/min")
	}
	row("least", least)
	row("chamber", degrees(o.ChamberPeak))
	row("heat", three(float64(burn.Rest.Heat), "W"))
	a.figures = []benchFigure{s.burnFigure(&burn, float64(b.With))}
	a.notes = []string{s.t("burn.note")}
	return a
}

// degrees writes a temperature of the model; above boiling it means nothing.
func degrees(t unit.Celsius) string {
	if t > 100 {
		return "> 100" + unit.Thin + "°C"
	}
	return pathway.TwoFigures(float64(t)) + unit.Thin + "°C"
}

func (s *server) burnFigure(b *pathway.BurnAnswer, stop float64) benchFigure {
	end := float64(b.Course[len(b.Course)-1].At)
	hot := slices.MaxFunc(b.Course, func(x, y pathway.HeatPoint) int { return int(1000 * (x.Wound - y.Wound)) })
	wide, narrow := both("burn", func(id string, width float64) *drawing {
		ch := newChart(id, width, 320, s.t("burn.figure"), s.t("burn.figure.desc"), niceAxis(0, end, s.t("axis.time")), axis{20, min(max(70, 10+10*float64(int(float64(hot.Wound)/10)+1)), 110), 10, 0, s.t("axis.celsius")})
		ch.band(60, 110, "fill", ink("stop-ground"))
		for _, level := range []struct {
			at    float64
			key   string
			token string
		}{{60, "burn.line60", "stop"}, {45, "burn.line45", "edge"}} {
			ch.line(ch.left, ch.py(level.at), ch.left+ch.wide, ch.py(level.at), "stroke", ink(level.token), "stroke-width", "2")
			ch.text(ch.left+6, ch.py(level.at)-6, s.t(level.key), "font-size", "14", "fill", ink("ink"))
		}
		ch.line(ch.px(stop), ch.top, ch.px(stop), ch.top+ch.tall, "stroke", ink("edge"), "stroke-width", "1.5", "stroke-dasharray", "4 4")
		ch.text(ch.px(stop)+5, ch.top+13, s.t("burn.stops"), "font-size", "14", "fill", ink("soft"))
		var pts [][2]float64
		for _, p := range b.Course {
			pts = append(pts, [2]float64{float64(p.At), float64(p.Wound)})
		}
		ch.curve(pts, "stroke", ink("vermillion"), "stroke-width", "3")
		return ch.drawing
	})
	return benchFigure{"burn", wide, narrow, s.t("burn.figure.says")}
}
