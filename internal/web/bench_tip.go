package web

import (
	"math"
	"strings"

	"linn/internal/pathway"
	"linn/unit"
)

var tipKnobs = []knob{
	{key: "frequency_khz", unit: "kHz", low: 1, high: 200, from: 25, to: 60, step: 0.5, usual: "40"},
	{key: "stroke_um", unit: "µm", low: 0.1, high: 5000, from: 10, to: 200, step: 1, usual: "90"},
	{key: "power_pct", unit: "%", low: 0, high: 100, from: 0, to: 100, step: 1, usual: "60"},
	{key: "way", words: []string{"longitudinal", "torsional"}, usual: "longitudinal"},
	{key: "rhythm", words: []string{"continuous", "pulsed"}, usual: "pulsed"},
	{key: "pulses_per_s", unit: "1/s", low: 0.1, high: 500, from: 1, to: 100, step: 1, usual: "15"},
	{key: "duty_pct", unit: "%", low: 1, high: 100, from: 5, to: 100, step: 1, usual: "50"},
	{key: "pedal_s", unit: "s", low: 0, high: 3600, from: 1, to: 120, step: 1, usual: "30"},
}

var tipPresets = []preset{
	{"continuous", map[string]string{"rhythm": "continuous"}},
	{"pulse", nil},
	{"burst", map[string]string{"pulses_per_s": "3.3", "duty_pct": "10", "power_pct": "50"}},
	{"short", map[string]string{"pulses_per_s": "56", "duty_pct": "33"}},
	{"torsional", map[string]string{"way": "torsional", "frequency_khz": "32", "stroke_um": "130", "rhythm": "continuous"}},
}

func (s *server) playTip(in *played) (a benchAnswer) {
	var t pathway.TipInput
	t.Motion.Frequency, t.Motion.Stroke = unit.Kilohertz(in.value("frequency_khz")), unit.Micrometre(in.value("stroke_um"))
	t.Drive.Power, t.Drive.Time = unit.Percent(in.value("power_pct")), unit.Second(in.value("pedal_s"))
	if in.word("way") == "torsional" {
		t.Drive.Way = pathway.Torsional
	}
	per, duty := in.number("pulses_per_s"), in.number("duty_pct")
	if len(in.refused) > 0 {
		return a
	}
	if in.word("rhythm") == "pulsed" {
		if t.Drive.On, t.Drive.Off, a.refused = pathway.Rhythm(per.Value, unit.Percent(duty.Value)); len(a.refused) > 0 {
			return a
		}
	}
	tip, refused := pathway.Tip(t)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.findings = benchFindings(tip.Findings)
	row := func(key, value string) {
		a.rows = append(a.rows, BenchRow{s.t("tip." + key), value, s.t("tip.why." + key)})
	}
	row("stroke", tip.Motion.Stroke.String())
	row("velocity", three(float64(tip.Moves.Velocity), "m/s"))
	row("mean", three(float64(tip.Moves.MeanSpeed), "m/s"))
	row("acceleration", s.t("tip.acceleration.is", "a", three(float64(tip.Moves.Acceleration), "m/s²"), "g", three(float64(tip.Moves.Gravities), "g")))
	row("pressure", s.t("tip.pressure.is", "disc", three(float64(tip.Near.Disc), "bar"), "rim", three(float64(tip.Near.Rim), "bar")))
	row("plane", s.t("tip.plane.is", "plane", three(float64(tip.Near.Plane), "bar"), "wave", three(float64(tip.Near.Wavelength), "mm"), "size", unit.Fixed(float64(tip.Near.Size), 3)))
	row("mode", s.t("tip.mode.is", "mode", s.t("tip.mode."+string(tip.Mode)), "duty", tip.Duty))
	row("effective", s.t("tip.effective.is", "time", three(float64(tip.Energy.Effective), "s"), "power", tip.Energy.MeanPower))
	a.figures = []benchFigure{s.motionFigure(&tip, in), s.powerFigure(t, &tip)}
	a.notes = []string{s.t("tip.note")}
	return a
}

// three writes three figures, thousands apart.
func three(v float64, u string) string {
	if v == 0 || math.IsInf(v, 0) {
		return unit.Fixed(v, 0) + unit.Thin + u
	}
	d := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	p := math.Pow(10, float64(d))
	text := unit.Fixed(math.Round(v*p)/p, max(d, 0))
	whole, rest, _ := strings.Cut(text, ".")
	for i := len(whole) - 3; i > 0 && len(whole) > 4; i -= 3 {
		whole = whole[:i] + unit.Thin + whole[i:]
	}
	if rest != "" {
		whole += "." + rest
	}
	return whole + unit.Thin + u
}

// motionFigure is place and speed of the tip over two cycles.
func (s *server) motionFigure(tip *pathway.TipAnswer, in *played) benchFigure {
	cycle := 1000 / float64(tip.Motion.Frequency) // µs
	half, peak := float64(tip.Motion.Stroke)/2, float64(tip.Moves.Velocity)
	wide, narrow := both("motion", func(id string, width float64) *drawing {
		full := max(half, in.value("stroke_um")/2)
		ax := niceAxis(0, full, s.t("axis.tip"))
		ax.low = -ax.high
		ch := newChart(id, width, 300, s.t("tip.motion"), s.t("tip.motion.desc"), niceAxis(0, 2*cycle, s.t("axis.us")), ax)
		var place, speed [][2]float64
		for i := range 201 {
			t := 2 * cycle * float64(i) / 200
			w := 2 * math.Pi * t / cycle
			place, speed = append(place, [2]float64{t, half * math.Sin(w)}), append(speed, [2]float64{t, half * math.Cos(w)})
		}
		ch.curve(place, "stroke", ink("water"), "stroke-width", "3")
		ch.curve(speed, "stroke", ink("vermillion"), "stroke-width", "2", "stroke-dasharray", "8 5")
		ch.text(ch.px(cycle/4), ch.py(half)-8, s.t("tip.place"), "font-size", "14", "fill", ink("ink"), "text-anchor", "middle")
		ch.text(ch.px(cycle), ch.py(half)-8, s.t("tip.speed", "peak", three(peak, "m/s")), "font-size", "14", "fill", ink("ink"), "text-anchor", "middle")
		return ch.drawing
	})
	return benchFigure{"motion", wide, narrow, s.t("tip.motion.says", "stroke", tip.Motion.Stroke, "hair", unit.Micrometre(70))}
}

// powerFigure is the power over the first moments.
func (s *server) powerFigure(t pathway.TipInput, tip *pathway.TipAnswer) benchFigure {
	span := 400.0 // ms
	on, off := 1000*float64(t.Drive.On), 1000*float64(t.Drive.Off)
	if on+off > 0 {
		span = min(max(4*(on+off), 100), 4000)
	}
	p := float64(t.Drive.Power)
	wide, narrow := both("power", func(id string, width float64) *drawing {
		ch := newChart(id, width, 240, s.t("tip.power"), s.t("tip.power.desc"), niceAxis(0, span, s.t("axis.ms")), axis{0, 100, 25, 0, s.t("axis.power")})
		for at := 0.0; at < ch.x.high; at += on + off {
			end := min(at+on, ch.x.high)
			if off == 0 {
				end = ch.x.high
			}
			ch.rect(ch.px(at), ch.py(p), ch.px(end)-ch.px(at), ch.py(0)-ch.py(p), "fill", ink("band"), "stroke", ink("water"), "stroke-width", "1.5")
			if off == 0 {
				break
			}
		}
		mean := float64(tip.Energy.MeanPower)
		ch.line(ch.px(0), ch.py(mean), ch.left+ch.wide, ch.py(mean), "stroke", ink("vermillion"), "stroke-width", "2.5", "stroke-dasharray", "8 5")
		ch.text(ch.left+ch.wide, ch.py(mean)-6, s.t("tip.mean-power", "mean", tip.Energy.MeanPower), "font-size", "14", "fill", ink("ink"), "text-anchor", "end")
		return ch.drawing
	})
	return benchFigure{"power", wide, narrow, s.t("tip.power.says")}
}
