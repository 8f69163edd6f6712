package web

import (
	"math"
	"slices"
	"strconv"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// chamberSlides are the useful stretch of each setting; what is typed may go as
// far as the settings' own bounds.
var chamberSlides = map[string][4]string{ // from, to, step, usual
	"bottle_cm": {"20", "140", "1", "90"}, "forced_mmhg": {"20", "100", "1", "50"}, "flow_ml_min": {"5", "60", "1", "30"}, "vacuum_limit_mmhg": {"50", "650", "10", "400"},
	"line_compliance_ul_per_mmhg": {"0.02", "0.8", "0.01", "0.3"}, "incision_mm": {"1.8", "2.8", "0.1", "2.2"}, "bypass_mm": {"0", "0.3", "0.005", "0"},
	"leak_ml_min_per_mmhg": {"0", "0.4", "0.01", "0.1"}, "wound_factor": {"0.5", "4", "0.1", "1.5"}, "pump_droop": {"0.02", "1", "0.02", "0.1"}, "line_bore_mm": {"1", "2.5", "0.05", "1.5"},
	"chamber_volume_ul": {"50", "260", "5", "140"}, "head_offset_cm": {"-20", "20", "1", "0"}, "occlusion_s": {"0.1", "4", "0.1", "1"}, "break_s": {"0", "1", "0.05", "0"},
}

// chamberOrder is the order of the form; those after "" stand among the rarer.
var chamberOrder = []string{"supply", "bottle_cm", "forced_mmhg", "flow_ml_min", "vacuum_limit_mmhg", "pump", "tip_gauge", "incision_mm", "line_compliance_ul_per_mmhg", "bypass_mm", "break_s", "",
	"occlusion_s", "chamber_volume_ul", "leak_ml_min_per_mmhg", "wound_factor", "pump_droop", "line_bore_mm", "head_offset_cm"}

func chamberKnobs() (list []knob) {
	more := false
	for _, key := range chamberOrder {
		switch key {
		case "":
			more = true
		case "supply":
			list = append(list, knob{key: key, words: []string{"bottle", "forced"}, usual: "bottle"})
		case "pump":
			list = append(list, knob{key: key, words: []string{"peristaltic", "vacuum"}, usual: "peristaltic"})
		case "tip_gauge":
			list = append(list, knob{key: key, words: []string{"19", "20", "21", "22"}, usual: "20"})
		default:
			list = append(list, chamberKnob(key, more))
		}
	}
	return append(list, knob{key: "altitude_m", unit: "m", low: -400, high: 5000, more: true, may: true},
		knob{key: "mean_arterial_mmhg", unit: "mmHg", low: 30, high: 180, more: true, may: true})
}

func chamberKnob(key string, more bool) knob {
	slide := chamberSlides[key]
	number := func(i int) float64 {
		v, err := strconv.ParseFloat(slide[i], 64)
		if err != nil {
			panic("web: slide of " + key) // our own table
		}
		return v
	}
	k := knob{key: key, from: number(0), to: number(1), step: number(2), usual: slide[3], more: more}
	for _, f := range pathway.ChamberFields() {
		if f.Key == key {
			k.unit, k.low, k.high = f.Unit, f.Bounds.Low, f.Bounds.High
		}
	}
	return k
}

var chamberPresets = []preset{
	{"reference", nil},
	{"stiff", map[string]string{"line_compliance_ul_per_mmhg": "0.1", "bypass_mm": "0.175", "break_s": "0.3"}},
	{"soft", map[string]string{"line_compliance_ul_per_mmhg": "0.6", "vacuum_limit_mmhg": "600", "bottle_cm": "60"}},
	{"small", map[string]string{"tip_gauge": "22", "incision_mm": "1.8"}},
	{"forced", map[string]string{"supply": "forced", "forced_mmhg": "50"}},
	{"vacuum", map[string]string{"pump": "vacuum", "vacuum_limit_mmhg": "150"}},
	{"gentle", map[string]string{"vacuum_limit_mmhg": "200", "flow_ml_min": "20", "bottle_cm": "80"}},
}

// chamberSettings reads the settings' knobs of a page.
func chamberSettings(in *played) (pathway.ChamberSettings, finding.Refusals) {
	texts := map[string]string{}
	for key, text := range in.typed {
		texts[key] = text
	}
	if in.word("supply") == "forced" {
		delete(texts, "bottle_cm")
		delete(texts, "head_offset_cm")
	} else {
		delete(texts, "forced_mmhg")
	}
	if in.word("pump") == "vacuum" {
		delete(texts, "flow_ml_min")
		delete(texts, "pump_droop")
	}
	return pathway.ChamberTexts(texts)
}

func (s *server) playChamber(in *played) (a benchAnswer) {
	settings, refused := chamberSettings(in)
	place := pathway.Place{Altitude: unit.Reading[unit.Metre]{}}
	if v := in.number("altitude_m"); v.Known {
		place.Altitude = unit.Known(unit.Metre(v.Value))
	}
	if v := in.number("mean_arterial_mmhg"); v.Known {
		place.MeanArterial = unit.Known(unit.MillimetreHg(v.Value))
	}
	if a.refused = refused; len(a.refused)+len(in.refused) > 0 {
		return a
	}
	c, refused := pathway.ChamberOf(settings)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	lines, refused := pathway.ChamberLines(&c)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.findings = benchFindings(c.Findings)
	more, refused := place.Findings(&c)
	a.findings, a.refused = append(a.findings, more...), refused
	a.rows = s.chamberRows(&c)
	a.tables = append(a.tables, s.changesTable(&c))
	a.figures = []benchFigure{s.chamberDrawing(&c, lines), s.pressureFigure(&c, lines), s.vacuumFigure(&c, lines)}
	return a
}

// benchFindings leaves out what the page itself says, worst first.
func benchFindings(list []finding.Finding) []finding.Finding {
	list = slices.DeleteFunc(slices.Clone(list), func(f finding.Finding) bool { return f.Code == "reference-model" || f.Code == "reference-values" })
	slices.SortStableFunc(list, func(x, y finding.Finding) int { return int(y.Severity) - int(x.Severity) })
	return list
}

// aboutText writes a number of the model with its two figures.
func (s *server) aboutText(v float64, u string) string {
	return s.t("chamber.about", "got", pathway.TwoFigures(v)+unit.Thin+u)
}

func (s *server) rangeText(low, high float64, u string) string {
	l, h := pathway.TwoFigures(low), pathway.TwoFigures(high)
	if l == h {
		return s.aboutText(low, u)
	}
	return s.t("chamber.range", "low", l, "high", h+unit.Thin+u)
}

// lostText is a range of what the chamber loses, ending at the whole of it.
func (s *server) lostText(c *pathway.ChamberAnswer, low, high float64, u string) string {
	switch {
	case c.Spread.Lost.Low >= c.Holds():
		return s.t("chamber.whole")
	case c.Spread.Lost.High >= c.Holds():
		return s.t("chamber.to-whole", "low", pathway.TwoFigures(low)+unit.Thin+u)
	}
	return s.rangeText(low, high, u)
}

// pressureText says a chamber's pressure, or that there is none to read.
func (s *server) pressureText(p unit.MillimetreHg) string {
	if float64(p) < pathway.FormedAbove() {
		return s.t("chamber.not-formed")
	}
	return s.aboutText(float64(p), "mmHg")
}

func (s *server) chamberRows(c *pathway.ChamberAnswer) []BenchRow {
	a, sp := &c.Answer, &c.Spread
	rise := s.t("chamber.not-reached")
	if sp.Rise.Known() {
		rise = s.rangeText(float64(sp.Rise.Low), float64(sp.Rise.High), "s")
	}
	stays := s.t("chamber.formed")
	if n := len(sp.CollapsesAt); n == len(sp.Tried) {
		stays = s.t("chamber.collapses")
	} else if n > 0 {
		stays = s.t("chamber.collapses.from", "line", sp.CollapsesAt[0])
	}
	row := func(key, value string) BenchRow {
		return BenchRow{s.t("chamber." + key), value, s.t("bench.why." + key)}
	}
	return []BenchRow{
		row("stays", stays),
		row("open", s.pressureText(a.Open)),
		row("blocked", s.pressureText(a.Blocked)),
		row("rise", rise),
		row("lost", s.lostText(c, float64(sp.Lost.Low), float64(sp.Lost.High), "µL")),
		row("excursion", s.lostText(c, float64(sp.Excursion.Low), float64(sp.Excursion.High), "mm")),
		row("recovery", s.rangeText(float64(sp.Recovery.Low), float64(sp.Recovery.High), "s")),
		row("flows", s.t("chamber.flows.are", "in", pathway.TwoFigures(float64(a.Steady.Irrigation)), "tip", pathway.TwoFigures(float64(a.Steady.Tip)), "leak", pathway.TwoFigures(float64(a.Steady.Leak)), "unit", "mL/min")),
	}
}

// changesTable is what each setting alone would do in the model.
func (s *server) changesTable(c *pathway.ChamberAnswer) BenchTable {
	t := BenchTable{Title: s.t("bench.changes"), How: s.t("bench.changes.how"), Head: []string{s.t("bench.changes.what"), s.t("chamber.lost"), s.t("chamber.open"), s.t("bench.why")}}
	list, refused := pathway.ChamberChanges(c.Settings)
	if len(refused) > 0 {
		return t
	}
	for _, ch := range list {
		what := s.t("bench.change", "what", s.label(ch.Key), "from", unit.Fixed(ch.From, decimals(ch.From)), "to", unit.Fixed(ch.To, decimals(ch.To))+unit.Thin+ch.Unit)
		lost := s.t("bench.change.lost", "from", pathway.TwoFigures(float64(min(c.Answer.Lost, c.Holds()))), "to", pathway.TwoFigures(float64(min(ch.Answer.Lost, c.Holds())))+unit.Thin+"µL")
		t.Rows = append(t.Rows, []string{what, lost, s.pressureText(ch.Answer.Open), s.t("bench.why." + ch.Key)})
	}
	return t
}

// decimals is how many a setting is written with.
func decimals(v float64) int {
	for d := range 3 {
		p := math.Pow(10, float64(d))
		if math.Abs(v*p-math.Round(v*p)) < 1e-6 {
			return d
		}
	}
	return 3
}

// lineInks tell the lines apart: colour, dash and a name at the line.
var lineInks = [][2]string{{"blue", "none"}, {"ink", "none"}, {"vermillion", "9 5"}, {"water", "3 4"}}

func (s *server) lineName(l unit.MicrolitrePerMmHg) string {
	return s.t("bench.line", "line", unit.Fixed(float64(l), decimals(float64(l))))
}

// pressureFigure is the chamber's pressure over the trial. What lies under the
// level of collapse is not drawn as a pressure.
func (s *server) pressureFigure(c *pathway.ChamberAnswer, lines []pathway.LineTrace) benchFigure {
	hold := float64(c.Settings.Break().Hold)
	top := 60.0
	for _, l := range lines {
		for _, p := range l.Samples {
			top = max(top, float64(p.Chamber))
		}
	}
	wide, narrow := both("pressure", func(id string, width float64) *drawing {
		ch := newChart(id, width, 300, s.t("bench.pressure"), s.t("bench.pressure.desc"), niceAxis(0, hold+1.2, s.t("axis.time")), niceAxis(0, top, s.t("axis.pressure")))
		ch.band(0, pathway.FormedAbove(), "fill", ink("stop-ground"), "stroke", ink("stop"), "stroke-width", "1.5")
		ch.text(ch.px(0)+8, ch.py(0)-5, s.t("bench.collapse"), "font-size", "14", "font-weight", "700", "fill", ink("stop"))
		s.marks(ch, hold)
		for i, l := range lines {
			var pts [][2]float64
			for _, p := range l.Samples {
				pts = append(pts, [2]float64{float64(p.At), max(float64(p.Chamber), 0)})
			}
			ch.curve(pts, "stroke", ink(lineInks[i%4][0]), "stroke-width", "2.5", "stroke-dasharray", lineInks[i%4][1])
		}
		s.lineKey(ch.drawing, ch.left+ch.wide, ch.py(0)-16, lines)
		return ch.drawing
	})
	return benchFigure{"pressure", wide, narrow, s.t("bench.pressure.says")}
}

// marks draws when the tip is blocked and when it breaks.
func (s *server) marks(ch *chart, hold float64) {
	ch.line(ch.px(hold), ch.top, ch.px(hold), ch.top+ch.tall, "stroke", ink("edge"), "stroke-width", "1.5", "stroke-dasharray", "4 4")
	ch.text(ch.px(hold)+5, ch.top+13, s.t("bench.break"), "font-size", "14", "fill", ink("soft"))
	ch.text(ch.px(hold)-5, ch.top+13, s.t("bench.blocked"), "font-size", "14", "fill", ink("soft"), "text-anchor", "end")
}

// lineKey names the lines, the last one lowest.
func (s *server) lineKey(d *drawing, right, bottom float64, lines []pathway.LineTrace) {
	for i, l := range lines {
		y := bottom - 20*float64(len(lines)-1-i)
		d.text(right, y, s.lineName(l.Line), "font-size", "14", "fill", ink("ink"), "text-anchor", "end")
		d.line(right-136, y-5, right-102, y-5, "stroke", ink(lineInks[i%4][0]), "stroke-width", "3", "stroke-dasharray", lineInks[i%4][1])
	}
}

func (s *server) vacuumFigure(c *pathway.ChamberAnswer, lines []pathway.LineTrace) benchFigure {
	hold := float64(c.Settings.Break().Hold)
	limit := float64(c.Settings.VacuumLimit.Value)
	wide, narrow := both("vacuum", func(id string, width float64) *drawing {
		ch := newChart(id, width, 280, s.t("bench.vacuum"), s.t("bench.vacuum.desc"), niceAxis(0, hold+1.2, s.t("axis.time")), niceAxis(0, limit*1.1, s.t("axis.vacuum")))
		ch.line(ch.px(0), ch.py(limit), ch.left+ch.wide, ch.py(limit), "stroke", ink("water"), "stroke-width", "1.5", "stroke-dasharray", "2 4")
		ch.text(ch.left+ch.wide, ch.py(limit)-6, s.t("bench.limit"), "font-size", "14", "fill", ink("water"), "text-anchor", "end")
		for i, l := range lines {
			var pts [][2]float64
			for _, p := range l.Samples {
				pts = append(pts, [2]float64{float64(p.At), -float64(p.Node)})
			}
			ch.curve(pts, "stroke", ink(lineInks[i%4][0]), "stroke-width", "2.5", "stroke-dasharray", lineInks[i%4][1])
		}
		s.lineKey(ch.drawing, ch.left+ch.wide, ch.py(limit/2), lines)
		return ch.drawing
	})
	return benchFigure{"vacuum", wide, narrow, s.t("bench.vacuum.says")}
}

// keyWords is a key of a file format in words.
func (s *server) keyWords(key string) string { return locale.Field(s.lang, key) }
