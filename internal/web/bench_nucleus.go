package web

import (
	"fmt"
	"math"

	"linn/internal/pathway"
	"linn/unit"
)

func nucleusKnobs() []knob {
	return []knob{
		{key: "nuclear_grade", low: 0.1, high: 6.9, from: 1, to: 6, step: 0.1, usual: "4"},
		{key: "power_pct", unit: "%", low: 1, high: 100, from: 5, to: 100, step: 1, usual: "40"},
		{key: "duty_pct", unit: "%", low: 1, high: 100, from: 5, to: 100, step: 1, usual: "50"},
		chamberKnob("flow_ml_min", false),
		chamberKnob("vacuum_limit_mmhg", false),
		{key: "tip_gauge", words: []string{"19", "20", "21", "22"}, usual: "20"},
		chamberKnob("bottle_cm", false),
		{key: "nucleus_mm3", unit: "mm³", low: 10, high: 200, from: 40, to: 140, step: 5, usual: "75", more: true},
		chamberKnob("line_compliance_ul_per_mmhg", true),
	}
}

var nucleusPresets = []preset{
	{"soft", map[string]string{"nuclear_grade": "2", "power_pct": "20"}},
	{"medium", map[string]string{"nuclear_grade": "3"}},
	{"hard", map[string]string{"nuclear_grade": "5", "power_pct": "60"}},
}

func (s *server) playNucleus(in *played) (a benchAnswer) {
	texts := map[string]string{"occlusion_s": "1"}
	for _, key := range []string{"flow_ml_min", "vacuum_limit_mmhg", "tip_gauge", "bottle_cm", "line_compliance_ul_per_mmhg"} {
		texts[key] = in.typed[key]
	}
	settings, refused := pathway.ChamberTexts(texts)
	p := pathway.UsualPiece()
	p.Grade, p.Power, p.Duty = pathway.Grade(in.value("nuclear_grade")), unit.Percent(in.value("power_pct")), unit.Percent(in.value("duty_pct"))
	p.Volume = unit.CubicMillimetre(in.value("nucleus_mm3"))
	if len(in.refused)+len(refused) > 0 {
		a.refused = refused
		return a
	}
	c, refused := pathway.ChamberOf(settings)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	p.Flow, p.Leak = settings.Flow.Or(30), c.Answer.Steady.Leak
	if p.Bore, a.refused = pathway.NeedleBore(settings.TipGauge.Value); len(a.refused) > 0 {
		return a
	}
	list, refused := pathway.Nucleus(p, settings)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.findings = benchFindings(list[0].Findings)
	t := BenchTable{Title: s.t("nucleus.table"), How: s.t("nucleus.how"), Head: []string{s.t("nucleus.technique"), s.t("nucleus.piece"), s.t("nucleus.total"), s.t("nucleus.effective"), s.t("nucleus.fluid"), s.t("nucleus.vacuum"), s.t("chamber.lost")}}
	for _, one := range list {
		piece, vacuum, lost := s.t("nucleus.passes"), s.t("nucleus.none"), s.t("nucleus.none")
		if !one.Each.Passes {
			piece, vacuum = s.aboutText(float64(one.Each.Blocked), "s"), s.aboutText(float64(one.Vacuum), "mmHg")
			lost = s.rangeText(float64(one.Spread.Lost.Low), float64(one.Spread.Lost.High), "µL")
		}
		t.Rows = append(t.Rows, []string{s.t("technique." + one.Technique.Name), piece, s.aboutText(float64(one.Total.Time), "s"), s.aboutText(float64(one.Total.Effective), "s"),
			s.aboutText(float64(one.Total.Fluid), "mL"), vacuum, lost})
	}
	a.tables = []BenchTable{t}
	a.figures = []benchFigure{s.nucleusFigure(list)}
	a.notes = []string{s.t("nucleus.note")}
	return a
}

// nucleusFigure draws each way of dividing with the time one piece blocks the
// tip.
func (s *server) nucleusFigure(list []pathway.NucleusCourse) benchFigure {
	most := 0.0
	for _, one := range list {
		most = max(most, float64(one.Each.Blocked))
	}
	wide, narrow := both("nucleus", func(id string, width float64) *drawing {
		const row = 56.0
		d := newDrawing(id, width, 30+row*float64(len(list)), s.t("nucleus.figure"), s.t("nucleus.figure.desc"))
		name, bar := 210.0, 190.0
		if width < 500 {
			name, bar = 62, 62
		}
		for i, one := range list {
			y := 36 + row*float64(i)
			divided(d, 30, y, 22, one.Technique.Pieces, float64(one.Technique.Groove))
			label := s.t("technique." + one.Technique.Name)
			if width < 500 {
				d.text(name, y-6, label, "font-size", "14", "fill", ink("ink"))
			} else {
				d.text(name-10, y+5, label, "font-size", "15", "fill", ink("ink"), "text-anchor", "end")
			}
			d.b.WriteString("")
			long := (width - bar - 110) * float64(one.Each.Blocked) / max(most, 1e-9)
			at := bar + 14
			if width < 500 {
				y += 12
			}
			d.rect(at, y-9, max(long, 1), 16, "fill", ink("band"), "stroke", ink("water"), "stroke-width", "1.5")
			text := s.t("nucleus.times", "n", one.Technique.Pieces, "time", pathway.TwoFigures(float64(one.Each.Blocked))+unit.Thin+"s")
			if one.Each.Passes {
				text = s.t("nucleus.passes")
			}
			d.text(at+max(long, 1)+8, y+5, text, "font-size", "14", "fill", ink("soft"))
		}
		return d
	})
	return benchFigure{"nucleus", wide, narrow, s.t("nucleus.figure.says")}
}

// divided draws a nucleus from the front with its cracks and its groove.
func divided(d *drawing, x, y, r float64, pieces int, groove float64) {
	d.circle(x, y, r, "fill", ink("amber"), "fill-opacity", "0.35", "stroke", ink("ink"), "stroke-width", "1.5")
	if pieces > 1 {
		for i := range pieces {
			a := 2*math.Pi*float64(i)/float64(pieces) - math.Pi/2
			d.path(fmt.Sprintf("M%s %sL%s %s", px(x), px(y), px(x+r*math.Cos(a)), px(y+r*math.Sin(a))), "stroke", ink("ink"), "stroke-width", "1.5", "fill", "none")
		}
	}
	if groove > 0 {
		d.rect(x-3, y-r*0.85, 6, r*1.7, "fill", ink("ground"), "stroke", ink("ink"), "stroke-width", "1")
	}
}
