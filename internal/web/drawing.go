package web

import (
	"fmt"
	"html/template"
	"math"

	"linn/eye"
)

// The eye is drawn to one scale for every eye, so that a short eye looks
// short. What was not recorded is drawn dotted at the size below and says so.
const (
	typicalLength    = 23.5 // mm; drawing only
	typicalDepth     = 3.1  // mm; drawing only
	typicalThickness = 4.5  // mm; drawing only
	typicalK         = 43.5 // D; drawing only
	typicalWhite     = 11.8 // mm; drawing only
	globeHeight      = 23.2 // mm; the height of an eye is not measured
	globeFront       = 1.6  // mm behind the corneal vertex; drawing only
)

// eyeFrame is the paper an eye is drawn on.
type eyeFrame struct {
	id            string
	width, height float64
	scale         float64 // pixels in a millimetre
	left, axis    float64 // where the corneal vertex lies
	big           float64 // size of the axial length's figure
}

var (
	wideEye   = eyeFrame{"eye-wide", 420, 476, 13.2, 40, 232, 34}
	narrowEye = eyeFrame{"eye-narrow", 350, 388, 10.2, 34, 186, 28}
)

// eyeShape is what is drawn, in millimetres, with what was really recorded.
type eyeShape struct {
	length, depth, thickness, radius, white float64
	hasLength, hasDepth, hasLens, hasK      bool
}

func shapeOf(e *eye.Eye) eyeShape {
	k := typicalK
	sh := eyeShape{length: float64(e.AxialLength.Or(typicalLength)), depth: float64(e.ACD.Or(typicalDepth)),
		thickness: float64(e.LensThickness.Or(typicalThickness)), white: float64(e.WhiteToWhite.Or(typicalWhite)),
		hasLength: e.AxialLength.Known, hasDepth: e.ACD.Known, hasLens: e.LensThickness.Known,
		hasK: e.KFlat.Known && e.KSteep.Known}
	if sh.hasK {
		k = float64(e.KFlat.Value+e.KSteep.Value) / 2
	}
	sh.radius = 337.5 / k // mm, for the drawing alone: index 1.3375 by the trade's convention
	return sh
}

// dash draws what is not recorded dotted.
func dash(known bool) string {
	if known {
		return "none"
	}
	return "2 5"
}

func (s *server) drawEye(c *EyeCase, f eyeFrame) template.HTML {
	e := &c.Of(c.Side).Eye
	fellow := &c.Of(c.Side.Other()).Eye
	sh := shapeOf(e)
	if wide := f.width - f.left - 12; sh.length*f.scale > wide { // only beyond 28 mm
		f.scale = wide / sh.length
	}
	length := reading(s.words, e.AxialLength)
	d := newDrawing(f.id, f.width, f.height, s.t("drawing.title", "side", s.side(c.Side)), s.drawingText(e))
	if fellow.AxialLength.Known {
		s.drawFellow(d, f, shapeOf(fellow), c.Side.Other())
	}
	drawGlobe(d, f, sh)
	drawFront(d, f, sh)
	s.drawLength(d, f, sh, length, e)
	s.drawParts(d, f, sh, e)
	d.text(f.left-26+5*f.scale+10, f.height-8, s.t("drawing.scale"), "font-size", "14", "fill", ink("soft"))
	y := f.height - 13
	d.line(f.left-26, y, f.left-26+5*f.scale, y, "stroke", ink("ink"), "stroke-width", "3")
	return d.html()
}

// drawingText says the drawing to those who do not see it.
func (s *server) drawingText(e *eye.Eye) string {
	return s.t("drawing.desc", "length", reading(s.words, e.AxialLength), "acd", reading(s.words, e.ACD),
		"lens", reading(s.words, e.LensThickness), "flat", unsigned(s.words, e.KFlat), "steep", unsigned(s.words, e.KSteep))
}

// limbus is how far behind the corneal vertex the eye wall begins, in mm.
func limbus(sh eyeShape) float64 {
	a, b, h := (sh.length-globeFront)/2, globeHeight/2, sh.white/2
	return globeFront + a - a*math.Sqrt(1-h*h/(b*b))
}

// globePath is the eye wall from one limbus round the back to the other.
func globePath(f eyeFrame, sh eyeShape) string {
	a, b := (sh.length-globeFront)/2, globeHeight/2.0
	X, Y := f.left+limbus(sh)*f.scale, sh.white/2*f.scale
	return fmt.Sprintf("M%s %sA%s %s 0 1 1 %s %s", px(X), px(f.axis-Y), px(a*f.scale), px(b*f.scale), px(X), px(f.axis+Y))
}

func drawGlobe(d *drawing, f eyeFrame, sh eyeShape) {
	d.path(globePath(f, sh), "fill", ink("pool"), "stroke", ink("ink"), "stroke-width", "2.5", "stroke-dasharray", dash(sh.hasLength))
}

// drawFront draws cornea, iris and lens.
func drawFront(d *drawing, f eyeFrame, sh eyeShape) {
	at := func(x, y float64) (float64, float64) { return f.left + x*f.scale, f.axis + y*f.scale }
	h := min(sh.white/2, sh.radius*0.95)
	sag := sh.radius - math.Sqrt(sh.radius*sh.radius-h*h)
	x1, y1 := at(sag, -h)
	x2, y2 := at(sag, h)
	r := px(sh.radius * f.scale)
	cornea := fmt.Sprintf("M%s %sA%s %s 0 0 0 %s %s", px(x1), px(y1), r, r, px(x2), px(y2))
	gx, gy := at(limbus(sh), -sh.white/2)
	hx, hy := at(limbus(sh), sh.white/2)
	d.path(fmt.Sprintf("%sL%s %sL%s %sZ", cornea, px(hx), px(hy), px(gx), px(gy)), "fill", ink("pool"), "stroke", ink("pool"), "stroke-width", "1")
	d.path(cornea, "fill", "none", "stroke", ink("ink"), "stroke-width", "3", "stroke-dasharray", dash(sh.hasK))
	for _, v := range []float64{-1, 1} { // limbus: cornea to eye wall
		cx, cy := at(sag, v*h)
		gx, gy := at(limbus(sh), v*sh.white/2)
		d.line(cx, cy, gx, gy, "stroke", ink("ink"), "stroke-width", "2.5", "stroke-linecap", "round")
	}
	const pupil = 2.2 // mm half width, drawing only
	for _, side := range []float64{-1, 1} {
		a, b := at(sh.depth-0.15, side*pupil)
		c, e := at(sh.depth+0.1, side*(h-0.2))
		d.line(a, b, c, e, "stroke", ink("ink"), "stroke-width", "4", "stroke-linecap", "round")
	}
	drawLens(d, f, sh)
}

// drawLens draws the lens as two half ellipses, the back one deeper.
func drawLens(d *drawing, f eyeFrame, sh eyeShape) {
	const half = 4.4 // mm half height, drawing only
	front, back := sh.thickness*0.42, sh.thickness*0.58
	x, y := px(f.left+(sh.depth+front)*f.scale), half*f.scale
	top, foot, ry := px(f.axis-y), px(f.axis+y), px(y)
	p := fmt.Sprintf("M%s %sA%s %s 0 0 0 %s %sA%s %s 0 0 0 %s %sZ", x, top, px(front*f.scale), ry, x, foot, px(back*f.scale), ry, x, top)
	d.path(p, "fill", ink("ground"), "stroke", ink("ink"), "stroke-width", "2", "stroke-dasharray", dash(sh.hasDepth && sh.hasLens))
}

// drawFellow outlines the back of the other eye for comparison.
func (s *server) drawFellow(d *drawing, f eyeFrame, sh eyeShape, side eye.Side) {
	d.path(globePath(f, sh), "fill", "none", "stroke", ink("edge"), "stroke-width", "2", "stroke-dasharray", "6 5")
	d.text(f.width-8, f.height-8, s.t("drawing.fellow", "side", s.side(side)), "font-size", "14", "fill", ink("soft"), "text-anchor", "end")
}

// drawLength writes the axial length inside the eye, along its axis.
func (s *server) drawLength(d *drawing, f eyeFrame, sh eyeShape, n Num, e *eye.Eye) {
	start, end := f.left, f.left+sh.length*f.scale
	y := f.axis
	behind := f.left + (sh.depth+sh.thickness)*f.scale
	d.line(start, y, end, y, "stroke", ink("water"), "stroke-width", "1.5")
	for _, x := range []float64{start, end} {
		d.line(x, y-9, x, y+9, "stroke", ink("water"), "stroke-width", "2.5")
	}
	mid := (behind + end) / 2
	if n.Missing != "" {
		d.text((start+end)/2, y+6*f.scale, s.t("drawing.no-length"), "font-size", "16", "fill", ink("soft"), "text-anchor", "middle")
		return
	}
	d.number(mid, y-14, f.big, Num{Figure: n.Figure, Unit: n.Unit}, "text-anchor", "middle", "font-weight", "700")
	under := n.Spread
	if e.AxialLengthMethod != "" {
		if under != "" {
			under += " " + n.Unit + " "
		}
		under += s.t("word.axial_length_method." + string(e.AxialLengthMethod))
	}
	d.text(mid, y+24, under, "font-size", "15", "fill", ink("soft"), "text-anchor", "middle")
}

// drawParts writes the other numbers above and below, joined to their part.
func (s *server) drawParts(d *drawing, f eyeFrame, sh eyeShape, e *eye.Eye) {
	top, low := 22.0, f.axis+globeHeight/2*f.scale+34
	lead := func(x, y1, y2 float64) {
		d.line(x, y1, x, y2, "stroke", ink("edge"), "stroke-width", "1")
	}
	xs := []float64{f.left, f.left + f.width*0.34, f.left + f.width*0.62}
	labels := []struct {
		key string
		n   Num
		at  float64 // mm
	}{
		{"drawing.acd", reading(s.words, e.ACD), sh.depth},
		{"drawing.lens", reading(s.words, e.LensThickness), sh.depth + sh.thickness},
		{"drawing.white", reading(s.words, e.WhiteToWhite), -1},
	}
	for i, l := range labels {
		d.text(xs[i]-26, top, s.t(l.key), "font-size", "14", "fill", ink("soft"))
		d.number(xs[i]-26, top+24, 20, Num{Figure: l.n.Figure, Unit: l.n.Unit, Missing: l.n.Missing})
	}
	lead(f.left+sh.depth*f.scale, top+32, f.axis)
	x := f.left + (sh.depth+sh.thickness)*f.scale
	d.path(fmt.Sprintf("M%s %sV%sH%sV%s", px(xs[1]-20), px(top+32), px(top+44), px(x), px(f.axis)), "fill", "none", "stroke", ink("edge"), "stroke-width", "1")
	d.text(xs[0]-26, low, s.t("drawing.k"), "font-size", "14", "fill", ink("soft"))
	d.number(xs[0]-26, low+24, 20, unsigned(s.words, e.KFlat))
	d.text(xs[0]-26+f.width*0.34, low, s.t("drawing.k.steep"), "font-size", "14", "fill", ink("soft"))
	d.number(xs[0]-26+f.width*0.34, low+24, 20, unsigned(s.words, e.KSteep))
}
