package web

import (
	"html/template"
	"math"
	"slices"
	"unicode/utf8"

	"linn/internal/locale"
	"linn/unit"
)

// ladderFrame is the paper a ladder is drawn on: powers from left to right,
// refraction up and down.
type ladderFrame struct {
	id                       string
	width, height            float64
	left, right, top, bottom float64 // margins
	power                    float64 // font size of a power
	labels                   bool    // methods are named beside the last rung; else by letter below
	mark                     float64 // half size of a marker
}

var (
	wideLadder   = ladderFrame{"ladder-wide", 1080, 540, 92, 150, 34, 76, 24, true, 8}
	narrowLadder = ladderFrame{"ladder-narrow", 350, 480, 58, 2, 34, 76, 14, false, 5.5}
)

// scale maps powers and refractions onto the paper.
type scale struct {
	f         ladderFrame
	n         int     // rungs
	low, high float64 // D
}

func (sc scale) x(i int) float64 {
	return sc.f.left + (float64(i)+0.5)*sc.rung()
}

func (sc scale) rung() float64 { return (sc.f.width - sc.f.left - sc.f.right) / float64(sc.n) }

func (sc scale) y(refraction float64) float64 {
	return sc.f.top + (sc.high-refraction)/(sc.high-sc.low)*(sc.f.height-sc.f.top-sc.f.bottom)
}

// drawable reports whether any method gives a refraction to draw.
func drawable(l *LensPart) bool {
	return slices.ContainsFunc(l.Methods, func(m MethodAnswer) bool { return len(m.Choices) > 0 })
}

// mostMarks is how many methods a rung has room for. Beyond it those that stand
// apart are left to the table.
const mostMarks = 8

// drawn are the methods the ladder shows: those with a refraction to draw.
func drawn(l *LensPart) (list []MethodAnswer) {
	for _, m := range l.Methods {
		if len(m.Choices) > 0 {
			list = append(list, m)
		}
	}
	if len(list) <= mostMarks {
		return list
	}
	return slices.DeleteFunc(list, func(m MethodAnswer) bool { return m.Apart })
}

// span finds the refractions that must fit, on half dioptres.
func span(l *LensPart) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	add := func(v unit.Dioptre) { low, high = min(low, float64(v)), max(high, float64(v)) }
	for _, m := range drawn(l) {
		for _, c := range m.Choices {
			add(c.Refraction)
		}
	}
	for _, b := range l.Band {
		add(b.Low)
		add(b.High)
	}
	if l.Target.Known {
		add(l.Target.Value)
	}
	return math.Floor((low-0.05)*2) / 2, math.Ceil((high+0.05)*2) / 2
}

func (s *server) ladder(c *EyeCase, f ladderFrame) template.HTML {
	l := &c.Lens
	if f.labels {
		f.right = max(f.right, s.nameRoom(l))
	}
	low, high := span(l)
	sc := scale{f, len(l.Powers), low, high}
	d := newDrawing(f.id, f.width, f.height, s.t("ladder.title", "side", s.side(c.Side)), s.ladderText(l))
	s.drawRungs(d, sc, l)
	s.drawGrid(d, sc)
	s.drawBand(d, sc, l)
	s.drawTarget(d, sc, l)
	s.drawMethods(d, sc, l)
	return d.html()
}

// nameRoom is what the longest name beside the last rung takes, at 16 px.
func (s *server) nameRoom(l *LensPart) float64 {
	most := 0
	for _, m := range drawn(l) {
		most = max(most, utf8.RuneCountInString(locale.Method(s.lang, m.ID)))
	}
	return 36 + 9*float64(most)
}

// figure is the size of a power's figures: as large as its rung lets it be.
func (sc scale) figure() float64 {
	if !sc.f.labels {
		return sc.f.power // 14 px: never smaller, on a phone every second power is written instead
	}
	return max(14, min(sc.f.power, sc.rung()*0.155))
}

// written reports whether the power of a rung has room to be written.
func (sc scale) written(i, chosen int) bool {
	return sc.f.labels || sc.n <= 5 || (i-chosen)%2 == 0
}

// marked is the rung of the chosen power, else of the one that comes nearest.
func marked(l *LensPart) int {
	for i, p := range l.Powers {
		if l.Power.Known && same(p.Power, l.Power.Value) || !l.Power.Known && l.Recommended != nil && same(p.Power, l.Recommended.Power) {
			return i
		}
	}
	return 0
}

func (s *server) ladderText(l *LensPart) string {
	return s.t("ladder.desc", "n", unit.Fixed(float64(len(drawn(l))), 0), "low", l.Powers[0].Power, "high", l.Powers[len(l.Powers)-1].Power,
		"target", reading(s.words, l.Target), "power", reading(s.words, l.Power), "predicted", reading(s.words, l.Predicted))
}

// drawRungs draws each power's column and writes the power below it.
func (s *server) drawRungs(d *drawing, sc scale, l *LensPart) {
	f, foot := sc.f, sc.f.height-sc.f.bottom
	for i, p := range l.Powers {
		x, size, weight := sc.x(i), sc.figure(), "400"
		chosen := l.Power.Known && same(p.Power, l.Power.Value)
		nearest := l.Recommended != nil && same(p.Power, l.Recommended.Power)
		if chosen {
			d.rect(x-sc.rung()/2+2, f.top, sc.rung()-4, f.height-f.top-4, "fill", ink("pool"), "stroke", "none")
			weight = "700"
			if f.labels {
				size *= 1.25
			}
		}
		d.line(x, f.top, x, foot, "stroke", ink("line"), "stroke-width", "1")
		if !sc.written(i, marked(l)) {
			continue
		}
		n := num(p.Power)
		if !f.labels {
			n.Unit = "" // the corner names it
		}
		d.number(x, foot+34, size, n, "text-anchor", "middle", "font-weight", weight)
		switch {
		case p.Out():
			out := s.t("ladder.out")
			if !f.labels {
				out = s.t("ladder.out.short")
			}
			d.text(x, foot+60, out, "font-size", "14", "fill", ink("soft"), "text-anchor", "middle")
		case nearest && !l.Power.Known:
			d.text(x, foot+60, s.t("ladder.nearest"), "font-size", "15", "fill", ink("water"), "text-anchor", "middle")
		case chosen:
			d.text(x, foot+60, s.t("ladder.chosen"), "font-size", "15", "fill", ink("water"), "font-weight", "700", "text-anchor", "middle")
		}
	}
	if f.labels {
		d.text(4, foot+34, s.t("ladder.powers"), "font-size", "14", "fill", ink("soft"))
		return
	}
	d.text(f.width-4, 16, s.t("ladder.powers.right"), "font-size", "14", "fill", ink("soft"), "text-anchor", "end")
}

// drawGrid draws a line at each half dioptre and writes the whole ones.
func (s *server) drawGrid(d *drawing, sc scale) {
	step := 0.5
	if sc.high-sc.low > 5 {
		step = 1
	}
	for v := sc.low; v <= sc.high+1e-9; v += step {
		y := sc.y(v)
		colour := ink("line")
		if math.Abs(v) < 1e-9 {
			colour = ink("edge")
		}
		d.line(sc.f.left, y, sc.f.width-sc.f.right, y, "stroke", colour, "stroke-width", "1")
		n := num(unit.Dioptre(v))
		n.Unit = ""
		d.number(sc.f.left-10, y+5, 14, n, "text-anchor", "end")
	}
	d.text(4, 16, s.t("ladder.refraction"), "font-size", "14", "fill", ink("soft"))
}

// drawBand draws where two of three such eyes would land, rung by rung.
func (s *server) drawBand(d *drawing, sc scale, l *LensPart) {
	var upper, lower [][2]float64
	for i, p := range l.Powers {
		for _, b := range l.Band {
			if same(b.Power, p.Power) {
				upper = append(upper, [2]float64{sc.x(i), sc.y(float64(b.High))})
				lower = append(lower, [2]float64{sc.x(i), sc.y(float64(b.Low))})
			}
		}
	}
	if len(upper) < 2 {
		return
	}
	slices.Reverse(lower)
	d.poly(true, append(slices.Clone(upper), lower...), "fill", ink("band"), "fill-opacity", "0.55", "stroke", ink("water"), "stroke-width", "1", "stroke-dasharray", "1 4", "stroke-linecap", "round")
	// The name stands in the corner that falling lines leave free.
	edge, next := lower[len(lower)-1], lower[len(lower)-2]
	x, foot := edge[0]+16, sc.f.height-sc.f.bottom
	d.line(x, edge[1]+(next[1]-edge[1])*16/(next[0]-edge[0]), x, foot-26, "stroke", ink("water"), "stroke-width", "1")
	d.text(x-6, foot-11, s.t("ladder.band"), "font-size", "14", "fill", ink("ink"), "stroke", ink("ground"), "stroke-width", "4", "paint-order", "stroke")
}

func (s *server) drawTarget(d *drawing, sc scale, l *LensPart) {
	if !l.Target.Known {
		return
	}
	y := sc.y(float64(l.Target.Value))
	d.line(sc.f.left, y, sc.f.width-sc.f.right, y, "stroke", ink("water"), "stroke-width", "3")
	d.text(sc.f.width-sc.f.right-4, y-8, s.t("ladder.target", "target", l.Target.Value), "font-size", "15", "font-weight", "700", "fill", ink("water"),
		"stroke", ink("ground"), "stroke-width", "4", "paint-order", "stroke", "text-anchor", "end")
}

// drawMethods draws each method's line and marks, set apart sideways so that
// marks at one height stay readable, and names it beside its last mark. When
// there are more than a rung has room for, they stand one above the other and
// without their lines: what is seen is how far apart they lie.
func (s *server) drawMethods(d *drawing, sc scale, l *LensPart) {
	type end struct {
		id        string
		x, y      float64
		preferred bool
	}
	var ends []end
	methods := drawn(l)
	shift := min(sc.rung()/float64(len(methods)+1), 17)
	crowded := len(methods) > mostMarks
	if crowded {
		shift = 0
	}
	for k, m := range methods {
		var pts [][2]float64
		for i, p := range l.Powers {
			for _, c := range m.Choices {
				if same(c.Power, p.Power) {
					off := (float64(k) - float64(len(methods)-1)/2) * shift
					pts = append(pts, [2]float64{sc.x(i) + off, sc.y(float64(c.Refraction))})
				}
			}
		}
		if len(pts) == 0 {
			continue
		}
		look := lookOf(m.ID)
		if !crowded {
			d.poly(false, pts, "fill", "none", "stroke", ink(look.colour), "stroke-width", "1.2", "stroke-dasharray", look.dash)
		}
		for _, pt := range pts {
			drawMarker(d, look, pt[0], pt[1], sc.f.mark, m.Preferred)
		}
		last := pts[len(pts)-1]
		ends = append(ends, end{m.ID, last[0], last[1], m.Preferred})
	}
	slices.SortFunc(ends, func(a, b end) int { return int(a.y*10) - int(b.y*10) })
	if !sc.f.labels {
		return // the table below carries the names beside the same marks
	}
	const gap = 21.0 // between names
	x := sc.f.width - sc.f.right + 22
	start := 0.0
	if n := len(ends); n > 0 { // centre the names on their marks
		start = (ends[0].y+ends[n-1].y)/2 - float64(n-1)*gap/2
		start = max(sc.f.top, min(start, sc.f.height-sc.f.bottom-float64(n-1)*gap)) // on the paper
	}
	for i, e := range ends {
		y := start + float64(i)*gap
		look := lookOf(e.id)
		weight := "400"
		if e.preferred {
			weight = "700"
		}
		d.line(e.x+1.4*sc.f.mark+2, e.y, x-16, y, "stroke", ink(look.colour), "stroke-width", "1")
		drawMarker(d, look, x-6, y, sc.f.mark*0.75, e.preferred)
		d.text(x+8, y+5, locale.Method(s.lang, e.id), "font-size", "16", "font-weight", weight, "fill", ink("ink"))
	}
}
