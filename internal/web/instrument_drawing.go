package web

import (
	"fmt"
	"html/template"
	"math"
	"regexp"

	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// instrumentFrame is the paper a pseudophakic eye is drawn on. Every eye is
// drawn to one scale.
var instrumentFrame = struct{ width, height, scale, left, axis float64 }{620, 420, 13, 84, 205}

// at turns millimetres of the eye into pixels.
func instrumentAt(z, y float64) (float64, float64) {
	f := instrumentFrame
	return f.left + z*f.scale, f.axis - y*f.scale
}

// drawInstrument draws an eye with its lens to scale: cornea, incision, iris,
// lens in its capsule, retina and rays from far away. The positions are those
// of the model; the wall of the eye, the iris and the capsule's rim are drawn
// where eyes have them.
func (w words) drawInstrument(id string, in *pathway.Instrument) template.HTML {
	f := instrumentFrame
	if wide := f.width - f.left - 20; in.Places.Retina.Value*f.scale > wide {
		panic("web: an eye longer than its paper") // the longest eye that is taken is 38 mm
	}
	d := newDrawing(id, f.width, f.height, w.t("instrument.title", "side", w.side(in.Side)),
		w.t("instrument.desc", "length", mm(in.Places.Retina), "power", power(in.Lens.Power), "thickness", mm(in.Lens.Thickness), "place", mm(in.Places.LensEdge)))
	drawWall(d, in)
	drawRays(d, in)
	drawCornea(d, in)
	drawIris(d, in)
	drawCapsule(d, in)
	drawImplant(d, in)
	w.labelInstrument(d, in)
	return d.html()
}

func mm(n pathway.Number) string    { return unit.Millimetre(n.Value).String() }
func power(n pathway.Number) string { return unit.Dioptre(n.Value).String() }

// part opens and closes a group that tests and scripts find by its name.
func (d *drawing) part(name string, fill func()) {
	fmt.Fprintf(&d.b, `<g data-part="%s">`, template.HTMLEscapeString(name))
	fill()
	d.b.WriteString("</g>")
}

// wall is the outline of the eye behind the limbus.
func wall(in *pathway.Instrument) eyeShape {
	return eyeShape{length: in.Places.Retina.Value, white: in.Places.Height.Value, radius: in.Places.FrontRadius.Value}
}

func drawWall(d *drawing, in *pathway.Instrument) {
	f := instrumentFrame
	d.part("retina", func() {
		d.path(globePath(eyeFrame{left: f.left, axis: f.axis, scale: f.scale}, wall(in)), "fill", ink("pool"), "stroke", ink("ink"), "stroke-width", "2.5")
		x, y := instrumentAt(in.Places.Retina.Value, 0)
		d.circle(x, y, 3.5, "fill", ink("ink"))
	})
}

func drawRays(d *drawing, in *pathway.Instrument) {
	d.part("rays", func() {
		for _, ray := range in.Rays {
			var pts [][2]float64
			for _, p := range ray {
				x, y := instrumentAt(p[0], p[1])
				pts = append(pts, [2]float64{x, y})
			}
			d.poly(false, pts, "fill", "none", "stroke", ink("water"), "stroke-width", "1.2")
		}
	})
}

// arc is the path of a circle of radius r (positive: centre behind) through
// the axis at z, between heights −h and +h.
func arc(z, r, h float64) string {
	if math.IsInf(r, 0) {
		x1, y1 := instrumentAt(z, h)
		x2, y2 := instrumentAt(z, -h)
		return fmt.Sprintf("M%s %sL%s %s", px(x1), px(y1), px(x2), px(y2))
	}
	sag := r - math.Copysign(math.Sqrt(r*r-h*h), r)
	x1, y1 := instrumentAt(z+sag, h)
	x2, y2 := instrumentAt(z+sag, -h)
	radius := px(math.Abs(r) * instrumentFrame.scale)
	sweep := 0 // from above to below round a centre behind
	if (r < 0) != (h < 0) {
		sweep = 1
	}
	return fmt.Sprintf("M%s %sA%s %s 0 0 %d %s %s", px(x1), px(y1), radius, radius, sweep, px(x2), px(y2))
}

func drawCornea(d *drawing, in *pathway.Instrument) {
	p := in.Places
	h := min(p.Height.Value/2, p.FrontRadius.Value*0.93)
	d.part("cornea-front", func() {
		d.path(arc(0, p.FrontRadius.Value, h), "fill", "none", "stroke", ink("ink"), "stroke-width", "2.5")
	})
	edge := p.FrontRadius.Value - math.Sqrt(p.FrontRadius.Value*p.FrontRadius.Value-h*h)
	d.part("limbus", func() {
		z := limbus(wall(in))
		for _, v := range []float64{-1, 1} {
			x1, y1 := instrumentAt(edge, v*h)
			x2, y2 := instrumentAt(z, v*p.Height.Value/2)
			d.line(x1, y1, x2, y2, "stroke", ink("ink"), "stroke-width", "2.5", "stroke-linecap", "round")
		}
	})
	d.part("cornea-back", func() {
		d.path(arc(p.CorneaBack.Value, p.BackRadius.Value, min(h-0.9, p.BackRadius.Value*0.93)), "fill", "none", "stroke", ink("ink"), "stroke-width", "1.5")
	})
	d.part("incision", func() {
		x1, y1 := instrumentAt(edge-0.3, h-0.1)
		x2, y2 := instrumentAt(edge+0.75, h-1.1)
		d.line(x1, y1, x2, y2, "stroke", ink("vermillion"), "stroke-width", "3")
	})
}

func drawIris(d *drawing, in *pathway.Instrument) {
	d.part("iris", func() {
		for _, v := range []float64{-1, 1} {
			x1, y1 := instrumentAt(in.Places.Iris.Value, v*in.Pupil.Value/2)
			x2, y2 := instrumentAt(max(limbus(wall(in))+0.2, in.Places.Iris.Value-0.6), v*(in.Places.Height.Value/2-0.5))
			d.line(x1, y1, x2, y2, "stroke", ink("ink"), "stroke-width", "4", "stroke-linecap", "round")
		}
	})
}

// capsuleHalf is half the height of the capsular bag, in mm; drawing only.
const capsuleHalf = 4.9

func drawCapsule(d *drawing, in *pathway.Instrument) {
	d.part("capsule", func() {
		p := in.Places
		bx, by := instrumentAt(p.LensBack.Value+0.12, 0)
		fx, fy := instrumentAt(p.LensFront.Value-0.12, 2.6)
		tx, ty := instrumentAt(p.LensEdge.Value, capsuleHalf)
		_, low := instrumentAt(0, -capsuleHalf)
		_, fl := instrumentAt(0, -2.6)
		d.path(fmt.Sprintf("M%s %sQ%s %s %s %sQ%s %s %s %sQ%s %s %s %s", px(fx), px(fy), px(fx), px(ty), px(tx), px(ty), px(2*bx-tx), px(by), px(tx), px(low), px(fx), px(low), px(fx), px(fl)),
			"fill", "none", "stroke", ink("edge"), "stroke-width", "1.5", "stroke-dasharray", "4 3")
	})
}

func drawImplant(d *drawing, in *pathway.Instrument) {
	p, l := in.Places, in.Lens
	h := l.Optic.Value / 2
	front, back := lensRadius(l.Front), lensRadius(l.Back)
	turn := ""
	if m := in.Posed; m != nil {
		x, y := instrumentAt(p.LensEdge.Value, 0)
		turn = fmt.Sprintf("translate(0 %s) rotate(%s %s %s)", px(-m.Shift.Value*instrumentFrame.scale), px(m.Tilt.Value), px(x), px(y))
	}
	d.part("haptics", func() {
		for _, v := range []float64{-1, 1} {
			x1, y1 := instrumentAt(p.LensEdge.Value, v*h)
			x2, y2 := instrumentAt(p.LensEdge.Value, v*min(l.Overall.Value/2, capsuleHalf))
			d.line(x1, y1, x2, y2, append([]string{"stroke", ink("blue"), "stroke-width", "2"}, turned(turn)...)...)
		}
	})
	d.part("lens", func() {
		a, b := arc(p.LensFront.Value, front, h), arc(p.LensBack.Value, back, -h)
		d.path(a+"L"+b[1:]+"Z", append([]string{"fill", ink("band"), "stroke", ink("blue"), "stroke-width", "2"}, turned(turn)...)...)
	})
}

// turned is the attribute of a part that lies askew.
func turned(how string) []string {
	if how == "" {
		return nil
	}
	return []string{"transform", how}
}

// lensRadius is a radius as drawn; one that is not known is flat.
func lensRadius(n pathway.Number) float64 {
	if !n.Known {
		return math.Inf(1)
	}
	return n.Value
}

// labelInstrument writes what the parts are above and below the eye, each
// joined to its part; the rows do not meet.
func (w words) labelInstrument(d *drawing, in *pathway.Instrument) {
	p := in.Places
	f := instrumentFrame
	top := func(x, y float64, text string, z, height float64) {
		px0, py0 := instrumentAt(z, height)
		from := y + 5
		if py0 < y {
			from = y - 15
		}
		d.line(x, from, px0, py0, "stroke", ink("edge"), "stroke-width", "1")
		d.text(x, y, text, "font-size", "15", "fill", ink("ink"), "text-anchor", "middle")
	}
	h := p.Height.Value / 2
	rim := p.FrontRadius.Value - math.Sqrt(max(p.FrontRadius.Value*p.FrontRadius.Value-h*h, 0))
	top(f.left-42, f.axis-60, w.t("instrument.label.cornea"), 0.15, 1.2)
	top(f.left+10, 24, w.t("instrument.label.incision"), rim-0.1, h+0.1)
	top(f.left+100, 24, w.t("instrument.label.capsule"), p.LensEdge.Value, capsuleHalf)
	top(f.left-42, f.axis+80, w.t("instrument.label.iris"), p.Iris.Value, -in.Pupil.Value/2-0.6)
	x, y := instrumentAt(p.LensBack.Value, 0)
	d.text(x+14, y-in.Lens.Optic.Value/2*f.scale+4, w.t("instrument.label.lens", "power", power(in.Lens.Power)), "font-size", "16", "font-weight", "700", "fill", ink("blue"))
	d.text(x+14, y+in.Lens.Optic.Value/2*f.scale+8, w.t("instrument.label.place", "place", mm(p.LensEdge)), "font-size", "15", "fill", ink("soft"))
	rx, ry := instrumentAt(p.Retina.Value, 0)
	d.text(rx+12, ry+5, w.t("instrument.label.retina"), "font-size", "15", "fill", ink("ink"))
	below := f.height - 14
	d.line(f.left, below-20, rx, below-20, "stroke", ink("water"), "stroke-width", "2")
	for _, at := range []float64{f.left, rx} {
		d.line(at, below-26, at, below-14, "stroke", ink("water"), "stroke-width", "2")
	}
	d.text((f.left+rx)/2, below, w.t("instrument.label.length", "length", mm(p.Retina)), "font-size", "16", "fill", ink("ink"), "text-anchor", "middle")
}

// standalone are the colours of a picture that stands by itself, from the light
// theme of the pages.
var standalone = map[string]string{"ground": "#FBFAF7", "pool": "#EAF1F3", "band": "#D9E9ED", "ink": "#16212B", "soft": "#414D57", "line": "#D8D5CC",
	"edge": "#7B786E", "water": "#0B5C7A", "blue": "#0072B2", "vermillion": "#D55E00"}

var colourToken = regexp.MustCompile(`var\(--([a-z]+)\)`)

// InstrumentSVG is the drawing as a picture that stands by itself.
func InstrumentSVG(lang locale.Language, in *pathway.Instrument) string {
	text := string(words{lang}.drawInstrument("eye-model", in))
	text = colourToken.ReplaceAllStringFunc(text, func(s string) string { return standalone[colourToken.FindStringSubmatch(s)[1]] })
	return regexp.MustCompile(`font-family="inherit"`).ReplaceAllString(text, `font-family="sans-serif"`) + "\n"
}
