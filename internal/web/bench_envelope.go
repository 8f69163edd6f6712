package web

import (
	"math"
	"net/url"
	"strconv"

	"linn/internal/pathway"
	"linn/unit"
)

// The flows of the envelope's maps, and how fine each map is.
var envelopeFlows = []float64{10, 20, 30, 40, 50, 60}

const envelopeGrid = 20

// envelopeKnobs are the chamber's without those the maps run over.
func envelopeKnobs() (list []knob) {
	for _, k := range chamberKnobs() {
		switch k.key {
		case "altitude_m", "mean_arterial_mmhg", "pump", "line_compliance_ul_per_mmhg", "pump_droop":
		default:
			list = append(list, k)
		}
	}
	return list
}

// playEnvelope draws more maps with every answer while the page's script asks
// on, and all of them at once without it.
func (s *server) playEnvelope(in *played) (a benchAnswer) {
	texts := map[string]string{}
	for _, k := range in.page.knobs {
		texts[k.key] = in.typed[k.key]
	}
	if in.word("supply") == "forced" {
		delete(texts, "bottle_cm")
		delete(texts, "head_offset_cm")
	} else {
		delete(texts, "forced_mmhg")
	}
	settings, refused := pathway.ChamberTexts(texts)
	if a.refused = refused; len(refused)+len(in.refused) > 0 {
		return a
	}
	maps := len(envelopeFlows)
	if in.part {
		maps = 1
	}
	if n, err := strconv.Atoi(in.query.Get("maps")); err == nil && n > 0 && n <= len(envelopeFlows) {
		maps = n
	}
	for _, flow := range envelopeFlows[:maps] {
		l, refused := pathway.Envelope(settings, unit.MillilitrePerMinute(flow), envelopeGrid)
		if len(refused) > 0 {
			a.refused = refused
			return a
		}
		a.figures = append(a.figures, s.envelopeMap(&l, settings))
	}
	if maps < len(envelopeFlows) {
		q := url.Values{}
		for key, text := range in.typed {
			q.Set(key, text)
		}
		q.Set("maps", strconv.Itoa(min(2*maps, len(envelopeFlows))))
		a.next = "/bench/envelope?" + q.Encode()
	}
	a.progress = s.t("bench.envelope.progress", "n", maps, "of", len(envelopeFlows))
	a.notes = []string{s.t("bench.envelope.note")}
	return a
}

// envelopeMap shows over vacuum limit and supply where the chamber stays
// formed with every line, with some, with none.
func (s *server) envelopeMap(l *pathway.EnvelopeLayer, set pathway.ChamberSettings) benchFigure {
	name := "flow-" + unit.Fixed(float64(l.Flow), 0)
	supply := "axis.bottle"
	if l.Forced {
		supply = "axis.forced"
	}
	n := len(l.Limits)
	wide, narrow := both(name, func(id string, width float64) *drawing {
		w := min(width, 520)
		dx, dy := float64(l.Limits[1]-l.Limits[0]), l.Supplies[1]-l.Supplies[0]
		y := niceAxis(l.Supplies[0]-dy/2, l.Supplies[n-1]+dy/2, s.t(supply))
		y.low, y.high, y.step = l.Supplies[0], l.Supplies[n-1], (l.Supplies[n-1]-l.Supplies[0])/5
		ch := newChart(id, w, 300, s.t("bench.envelope.map", "flow", l.Flow), s.t("bench.envelope.desc"), axis{100, 600, 100, 0, s.t("axis.limit")}, y)
		for i, row := range l.Formed {
			for j, formed := range row {
				fill := [...]string{"stop-ground", "pool", "band"}[formed]
				x0, y0 := max(float64(l.Limits[j])-dx/2, 100), min(l.Supplies[i]+dy/2, y.high)
				x1, y1 := min(float64(l.Limits[j])+dx/2, 600), max(l.Supplies[i]-dy/2, y.low)
				ch.rect(ch.px(x0), ch.py(y0), ch.px(x1)-ch.px(x0)+0.5, ch.py(y1)-ch.py(y0)+0.5, "fill", ink(fill))
			}
		}
		at := float64(set.Bottle.Or(90))
		if l.Forced {
			at = float64(set.Forced.Value)
		}
		limit := float64(set.VacuumLimit.Or(400))
		s.envelopeEdges(ch, l, [2]float64{ch.px(limit), ch.py(at)})
		if at >= y.low && at <= y.high && limit >= 100 && limit <= 600 {
			ch.circle(ch.px(limit), ch.py(at), 7, "fill", ink("ground"), "stroke", ink("ink"), "stroke-width", "3")
			ch.text(ch.px(limit)+12, ch.py(at)+5, s.t("bench.envelope.here"), "font-size", "14", "font-weight", "700", "fill", ink("ink"))
		}
		return ch.drawing
	})
	return benchFigure{name, wide, narrow, s.t("bench.envelope.says", "flow", l.Flow)}
}

// envelopeEdges draws the borders of the regions and names them, beside the
// point that is set and not over it.
func (s *server) envelopeEdges(ch *chart, l *pathway.EnvelopeLayer, here [2]float64) {
	dx, dy := float64(l.Limits[1]-l.Limits[0]), l.Supplies[1]-l.Supplies[0]
	for i, row := range l.Formed {
		for j, formed := range row {
			x, y := float64(l.Limits[j]), l.Supplies[i]
			if j+1 < len(row) && row[j+1] != formed {
				ch.line(ch.px(x+dx/2), ch.py(min(y+dy/2, ch.y.high)), ch.px(x+dx/2), ch.py(max(y-dy/2, ch.y.low)), "stroke", ink("ink"), "stroke-width", "2")
			}
			if i+1 < len(l.Formed) && l.Formed[i+1][j] != formed {
				ch.line(ch.px(max(x-dx/2, 100)), ch.py(y+dy/2), ch.px(min(x+dx/2, 600)), ch.py(y+dy/2), "stroke", ink("ink"), "stroke-width", "2")
			}
		}
	}
	for _, formed := range []pathway.Formed{pathway.Never, pathway.SomeLines, pathway.EveryLine} {
		sx, sy, n := 0.0, 0.0, 0.0
		for i, row := range l.Formed {
			for j, f := range row {
				if f == formed {
					sx, sy, n = sx+float64(l.Limits[j]), sy+l.Supplies[i], n+1
				}
			}
		}
		if n >= 24 {
			x, y := ch.px(sx/n), ch.py(sy/n)+5
			if math.Abs(y-here[1]) < 22 && math.Abs(x-here[0]) < 120 {
				y = here[1] + 26
			}
			ch.text(x, y, s.t("bench.envelope."+[...]string{"never", "some", "every"}[formed]), "font-size", "14", "fill", ink("ink"), "text-anchor", "middle")
		}
	}
}
