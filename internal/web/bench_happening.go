package web

import (
	"fmt"
	"math"
	"strings"

	"linn/internal/pathway"
	"linn/unit"
)

// happeningKnobs are what befalls the chamber, then the settings.
func happeningKnobs() []knob {
	words := []string{}
	for _, h := range pathway.Happenings() {
		words = append(words, string(h))
	}
	list := []knob{
		{key: "happening", words: words, usual: string(pathway.PowerFails)},
		{key: "lasts_s", unit: "s", low: 0.1, high: 120, from: 0.5, to: 30, step: 0.5, usual: "3"},
		{key: "noted_s", unit: "s", low: 0.1, high: 60, from: 0.5, to: 10, step: 0.5, usual: "2"},
		{key: "kink_times", low: 0, high: 1e4, from: 0, to: 50, step: 1, usual: "5"},
		{key: "series_pieces", low: 1, high: 40, from: 1, to: 12, step: 1, usual: "4"},
		{key: "air_ul", unit: "µL", low: 0, high: 500, from: 0, to: 200, step: 5, usual: "50"},
	}
	for i, k := range chamberKnobs() {
		switch k.key {
		case "occlusion_s", "altitude_m", "mean_arterial_mmhg":
			continue
		}
		k.more = k.more || i > 4
		list = append(list, k)
	}
	return list
}

// happeningPresets is one for each happening.
func happeningPresets() (list []preset) {
	for _, h := range pathway.Happenings() {
		list = append(list, preset{string(h), map[string]string{"happening": string(h), "lasts_s": unit.Fixed(float64(pathway.UsualScript(h).Lasts), 0)}})
	}
	return append(list, preset{"forced-dark", map[string]string{"supply": "forced", "happening": string(pathway.PowerFails)}})
}

func (s *server) playHappening(in *played) (a benchAnswer) {
	settings, refused := chamberSettings(in)
	script := pathway.Script{Kind: pathway.Happening(in.word("happening")), Lasts: unit.Second(in.value("lasts_s")), Noted: unit.Second(in.value("noted_s")),
		Kink: unit.Ratio(in.value("kink_times")), Pieces: int(math.Round(in.value("series_pieces"))), Air: unit.Microlitre(in.value("air_ul"))}
	if a.refused = refused; len(a.refused)+len(in.refused) > 0 {
		return a
	}
	h, refused := pathway.HappeningOf(settings, script)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.rows = s.happeningRows(&h)
	a.tables = []BenchTable{s.happeningTable(&h)}
	a.figures = []benchFigure{
		s.happeningFigure(&h, "happening-pressure", "axis.pressure", "bench.pressure", 60, func(p *pathway.ChamberSample) float64 { return max(float64(p.Chamber), 0) }),
		s.happeningFigure(&h, "happening-volume", "axis.volume", "happening.volume", 20, func(p *pathway.ChamberSample) float64 {
			return min(max(-float64(p.Volume), 0), float64(h.Holds()))
		}),
	}
	a.notes = []string{s.t("happening.how." + string(script.Kind)), s.t("chamber.ranges"), s.t("happening.command", "line", happeningCommand(&script))}
	return a
}

// happeningCommand is the same on the command line.
func happeningCommand(h *pathway.Script) string {
	line := "linn chamber SETTINGS.json --trace --happening " + string(h.Kind) + " --lasts " + unit.Fixed(float64(h.Lasts), decimals(float64(h.Lasts)))
	switch h.Kind {
	case pathway.AirInLine:
		line += fmt.Sprintf(" --air %g", float64(h.Air))
	case pathway.BottleChange:
		line += fmt.Sprintf(" --noted %g", float64(h.Noted))
	case pathway.KinkedLine:
		line += fmt.Sprintf(" --kink %g", float64(h.Kink))
	case pathway.PieceByPiece:
		line += fmt.Sprintf(" --pieces %d", h.Pieces)
	}
	return line
}

// pressureRange is a range of pressures that may end where there is none to read.
func (s *server) pressureRange(low, high unit.MillimetreHg) string {
	formed := pathway.FormedAbove()
	switch {
	case float64(high) < formed:
		return s.t("chamber.not-formed")
	case float64(low) < formed:
		return s.t("happening.to-not-formed", "high", pathway.TwoFigures(float64(high))+unit.Thin+"mmHg")
	}
	return s.rangeText(float64(low), float64(high), "mmHg")
}

// lostRange is a range of a loss, ending at the whole of the chamber.
func (s *server) lostRange(h *pathway.HappeningAnswer, low, high unit.Microlitre) string {
	switch whole := h.Holds(); {
	case low >= whole:
		return s.t("chamber.whole")
	case high >= whole:
		return s.t("chamber.to-whole", "low", pathway.TwoFigures(float64(low))+unit.Thin+"µL")
	}
	return s.rangeText(float64(low), float64(high), "µL")
}

func (s *server) happeningRows(h *pathway.HappeningAnswer) (rows []BenchRow) {
	row := func(key, value string) {
		rows = append(rows, BenchRow{s.t("happening." + key), value, s.t("happening.why." + key)})
	}
	worst := h.Worst()
	row("worst", s.t("happening.worst.at", "pressure", s.pressureRange(worst.Least.Low, worst.Least.High), "when", s.t("happening.step."+worst.Key)))
	row("collapse", s.collapseText(h))
	var most, in, out, leak unit.Microlitre
	for i := range h.Stretches {
		x := &h.Stretches[i]
		if x.Lost.High > most {
			most, worst = x.Lost.High, x
		}
		in, out, leak = in+x.Irrigated.High, out+x.Aspirated.High, leak+x.Leaked.High
	}
	row("lost", s.t("happening.worst.at", "pressure", s.lostRange(h, worst.Lost.Low, worst.Lost.High), "when", s.t("happening.step."+worst.Key)))
	if h.WithoutAir != nil {
		row("air", s.t("happening.air.is", "without", s.lostRange(h, h.WithoutAir.Low, h.WithoutAir.High), "added", pathway.TwoFigures(float64(h.Added))+unit.Thin+"µL/mmHg"))
	}
	ml := func(v unit.Microlitre) string { return pathway.TwoFigures(float64(v) / 1000) }
	row("fluid", s.t("happening.fluid.is", "in", ml(in), "tip", ml(out), "leak", ml(leak), "unit", "mL"))
	return rows
}

// collapseText says when the chamber collapses, or that it stays formed.
func (s *server) collapseText(h *pathway.HappeningAnswer) string {
	first, lines := math.Inf(1), map[unit.MicrolitrePerMmHg]bool{}
	for i := range h.Stretches {
		for _, c := range h.Stretches[i].Collapses {
			first, lines[c.Line] = min(first, float64(c.At)), true
		}
	}
	switch len(lines) {
	case 0:
		return s.t("happening.formed")
	case len(h.Lines):
		return s.t("happening.collapse.all", "at", pathway.TwoFigures(first)+unit.Thin+"s")
	}
	return s.t("happening.collapse.some", "n", len(lines), "of", len(h.Lines), "at", pathway.TwoFigures(first)+unit.Thin+"s")
}

func (s *server) happeningTable(h *pathway.HappeningAnswer) BenchTable {
	t := BenchTable{Title: s.t("happening.table"), How: s.t("happening.table.how")}
	for _, key := range []string{"step", "time", "least", "most", "lost", "in", "tip", "leak"} {
		t.Head = append(t.Head, s.t("happening.col."+key))
	}
	flow := func(low, high unit.Microlitre) string { return s.rangeText(float64(low), float64(high), "µL") }
	for i := range h.Stretches {
		x := &h.Stretches[i]
		seconds := unit.Fixed(float64(x.Begins), 1) + "–" + unit.Fixed(float64(x.Ends), 1) + unit.Thin + "s"
		t.Rows = append(t.Rows, []string{s.t("happening.step." + x.Key), seconds, s.pressureRange(x.Least.Low, x.Least.High), s.pressureRange(x.Most.Low, x.Most.High),
			s.lostRange(h, x.Lost.Low, x.Lost.High), flow(x.Irrigated.Low, x.Irrigated.High), flow(x.Aspirated.Low, x.Aspirated.High), flow(x.Leaked.Low, x.Leaked.High)})
	}
	return t
}

// happeningFigure is one state over time with every line; the stretches stand
// apart by dotted lines and numbers, named below.
func (s *server) happeningFigure(h *pathway.HappeningAnswer, name, axisKey, title string, least float64, of func(*pathway.ChamberSample) float64) benchFigure {
	top, end := least, float64(h.Stretches[len(h.Stretches)-1].Ends)
	for _, l := range h.Lines {
		for i := range l.Samples {
			top = max(top, of(&l.Samples[i]))
		}
	}
	var names []string
	for i := range h.Stretches {
		names = append(names, fmt.Sprintf("%d %s", i+1, s.t("happening.step."+h.Stretches[i].Key)))
	}
	wide, narrow := both(name, func(id string, width float64) *drawing {
		ch := newChart(id, width, 300, s.t(title), strings.Join(names, ", "), niceAxis(0, end, s.t("axis.time")), niceAxis(0, top*1.12, s.t(axisKey)))
		if axisKey == "axis.pressure" {
			ch.band(0, pathway.FormedAbove(), "fill", ink("stop-ground"), "stroke", ink("stop"), "stroke-width", "1.5")
		}
		for i := range h.Stretches {
			x := &h.Stretches[i]
			ch.line(ch.px(float64(x.Ends)), ch.top, ch.px(float64(x.Ends)), ch.top+ch.tall, "stroke", ink("edge"), "stroke-width", "1", "stroke-dasharray", "4 4")
			ch.text(ch.px(float64(x.Begins+x.Ends)/2), ch.top+13, fmt.Sprint(i+1), "font-size", "14", "fill", ink("soft"), "text-anchor", "middle")
		}
		for i, l := range h.Lines {
			var pts [][2]float64
			for j := range l.Samples {
				pts = append(pts, [2]float64{float64(l.Samples[j].At), of(&l.Samples[j])})
			}
			ch.curve(pts, "stroke", ink(lineInks[i%4][0]), "stroke-width", "2.5", "stroke-dasharray", lineInks[i%4][1])
		}
		s.lineKey(ch.drawing, ch.left+ch.wide, ch.py(top*0.55), h.Lines)
		return ch.drawing
	})
	return benchFigure{name, wide, narrow, s.t(name+".says", "list", strings.Join(names, ", "))}
}
