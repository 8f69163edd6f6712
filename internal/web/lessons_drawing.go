package web

import (
	"fmt"
	"html/template"
	"math"

	"linn/unit"
)

// lessonDrawing draws a step in lines; those with a scale bar are to scale.
func (s *server) lessonDrawing(id, name string) template.HTML {
	d := newDrawing("lesson-"+id, 320, 220, s.t("lesson.drawing."+name), s.t("lesson.drawing."+name+".desc"))
	switch name {
	case "incision":
		s.drawIncision(d)
	case "tunnel":
		s.drawTunnels(d)
	case "sideport":
		s.drawPorts(d)
	case "capsulorhexis":
		s.drawRhexis(d)
	case "hydrodissection":
		s.drawWave(d)
	case "nucleus":
		s.drawPieces(d)
	case "lens":
		s.drawInBag(d)
	}
	return d.html()
}

var (
	thick  = []string{"fill", "none", "stroke", ink("ink"), "stroke-width", "2.5"}
	fine   = []string{"fill", "none", "stroke", ink("soft"), "stroke-width", "1.5"}
	strong = []string{"fill", "none", "stroke", ink("vermillion"), "stroke-width", "3"}
	dotted = []string{"fill", "none", "stroke", ink("water"), "stroke-width", "2.5", "stroke-dasharray", "6 5"}
	pooled = []string{"fill", ink("pool"), "stroke", ink("ink"), "stroke-width", "2"}
	label  = []string{"font-size", "14", "fill", ink("ink")}
	middle = []string{"font-size", "14", "fill", ink("ink"), "text-anchor", "middle"}
)

func (s *server) scaleBar(d *drawing, x, y, perMM, length float64) {
	d.line(x, y, x+perMM*length, y, thick...)
	d.text(x+perMM*length+6, y+5, unit.Fixed(length, 0)+unit.Thin+"mm", label...)
}

// drawIncision is the cornea's edge in section, 60 to the millimetre: 0.7 mm
// thick there, a groove, a tunnel of 2 mm, and the way into the chamber.
func (s *server) drawIncision(d *drawing) {
	const mm = 60
	d.path("M10 70Q160 64 310 96L310 138Q160 106 10 112Z", pooled...)
	d.path(fmt.Sprintf("M66 68L72 90L%d 98L%d 122", 72+2*mm, 72+2*mm+22), strong...)
	d.text(40, 52, s.t("lesson.label.groove"), label...)
	d.text(120, 56, s.t("lesson.label.tunnel"), label...)
	d.text(190, 152, s.t("lesson.label.lip"), label...)
	d.text(14, 176, s.t("lesson.label.chamber"), label...)
	s.scaleBar(d, 14, 205, mm, 1)
}

// drawTunnels are three shapes of a scleral groove beside the limbus, 12 to the
// millimetre, all 6.5 mm wide and 2 mm behind it at their nearest.
func (s *server) drawTunnels(d *drawing) {
	const mm, half = 12.0, 6.5 * 12 / 2
	r := 5.9 * mm
	for i, key := range []string{"straight", "frown", "chevron"} {
		x := 56 + 104*float64(i)
		d.path(fmt.Sprintf("M%.1f %.1fA%.1f %.1f 0 0 1 %.1f %.1f", x-44, 88+r-math.Sqrt(r*r-44*44), r, r, x+44, 88+r-math.Sqrt(r*r-44*44)), fine...)
		y := 88 - 2*mm
		switch key {
		case "straight":
			d.line(x-half, y, x+half, y, strong...)
		case "frown":
			d.path(fmt.Sprintf("M%.1f %.1fQ%.1f %.1f %.1f %.1f", x-half, y-20, x, y+20, x+half, y-20), strong...)
		case "chevron":
			d.path(fmt.Sprintf("M%.1f %.1fL%.1f %.1fL%.1f %.1f", x-half, y-26, x, y, x+half, y-26), strong...)
		}
		d.text(x, 136, s.t("lesson.label."+key), middle...)
	}
	d.text(14, 170, s.t("lesson.label.limbus-below"), label...)
	s.scaleBar(d, 14, 204, mm, 5)
}

// drawPorts is an eye as the surgeon sits at it: main incision and side port.
func (s *server) drawPorts(d *drawing) {
	const x, y, r = 160.0, 96.0, 70.0 // 5.9 mm
	d.circle(x, y, r, thick...)
	d.circle(x, y, 42, fine...)
	at := func(deg float64) (float64, float64) {
		a := deg * math.Pi / 180
		return x + r*math.Cos(a), y - r*math.Sin(a)
	}
	x1, y1 := at(76)
	x2, y2 := at(104)
	d.line(x1, y1, x2, y2, strong...)
	x3, y3 := at(15)
	x4, y4 := at(22)
	d.line(x3, y3, x4, y4, strong...)
	d.text(160, 16, s.t("lesson.label.main"), middle...)
	d.text(238, 74, s.t("lesson.label.side"), label...)
	s.scaleBar(d, 14, 205, r/5.9, 5)
}

// drawRhexis is the capsule's opening inside the outline of a 6 mm optic, 24 to
// the millimetre, with the flap that is led round.
func (s *server) drawRhexis(d *drawing) {
	const mm, x, y = 24.0, 90.0, 92.0
	d.circle(x, y, 3*mm, dotted...)
	r := 5.25 * mm / 2
	d.path(fmt.Sprintf("M%.1f %.1fA%.1f %.1f 0 1 0 %.1f %.1f", x+r, y, r, r, x, y+r), strong...)
	d.path(fmt.Sprintf("M%.1f %.1fQ%.1f %.1f %.1f %.1fQ%.1f %.1f %.1f %.1f", x, y+r, x+44, y+40, x+36, y-6, x+8, y+20, x, y+r), pooled...)
	d.text(182, 60, s.t("lesson.label.optic"), label...)
	d.text(182, 90, s.t("lesson.label.opening"), label...)
	d.text(182, 120, s.t("lesson.label.flap"), label...)
	s.scaleBar(d, 14, 205, mm, 5)
}

// drawWave is the lens in section with fluid passing behind the nucleus.
func (s *server) drawWave(d *drawing) {
	d.path("M40 100Q160 30 280 100Q160 190 40 100Z", pooled...)
	d.path("M66 100Q160 52 254 100Q160 166 66 100Z", fine...)
	d.path("M20 40L84 84", thick...)
	d.path("M84 86Q70 130 160 162", strong...)
	d.path("M148 152L162 163L146 168", strong...)
	d.text(14, 28, s.t("lesson.label.cannula"), label...)
	d.text(160, 114, s.t("lesson.label.nucleus"), middle...)
	d.text(170, 186, s.t("lesson.label.wave"), label...)
}

// drawPieces are four ways to part a nucleus, seen from the front.
func (s *server) drawPieces(d *drawing) {
	for i, key := range []string{"divide", "stop", "direct", "flip"} {
		x, y := 44+78*float64(i), 80.0
		d.circle(x, y, 32, pooled...)
		switch key {
		case "divide":
			d.line(x-26, y, x+26, y, "stroke", ink("ink"), "stroke-width", "9")
			d.line(x, y-26, x, y+26, "stroke", ink("ink"), "stroke-width", "9")
		case "stop":
			d.line(x-26, y, x+26, y, "stroke", ink("ink"), "stroke-width", "9")
			d.line(x-4, y-30, x-4, y-5, strong...)
			d.line(x+10, y+5, x+10, y+28, strong...)
		case "direct":
			for k := range 5 {
				a := float64(k)*2*math.Pi/5 + 0.4
				d.line(x, y, x+32*math.Cos(a), y+32*math.Sin(a), strong...)
			}
		case "flip":
			d.circle(x, y, 18, strong...)
			d.path(fmt.Sprintf("M%.1f %.1fA24 24 0 0 1 %.1f %.1f", x-20, y-13, x+20, y-13), dotted...)
		}
		d.text(x, 136, s.t("lesson.label."+key), "font-size", "13", "fill", ink("ink"), "text-anchor", "middle")
	}
	d.text(14, 174, s.t("lesson.label.grooves"), label...)
	d.text(14, 198, s.t("lesson.label.chops"), label...)
}

// drawInBag is a lens in the bag, 14 to the millimetre: optic 6 mm, overall
// 13 mm, opening 5.25 mm, folds on the back capsule from haptic to haptic.
func (s *server) drawInBag(d *drawing) {
	const mm, x, y = 14.0, 160.0, 100.0
	d.circle(x, y, 5.25*mm, fine...)
	d.circle(x, y, 3*mm, thick...)
	d.circle(x, y, 5.25*mm/2, strong...)
	d.path(fmt.Sprintf("M%.1f %.1fQ%.1f %.1f %.1f %.1f", x+30, y-29, x-10, y-84, x-62, y-66), thick...)
	d.path(fmt.Sprintf("M%.1f %.1fQ%.1f %.1f %.1f %.1f", x-30, y+29, x+10, y+84, x+62, y+66), thick...)
	for _, off := range []float64{-8, 8} {
		d.line(x-20+off, y+24, x+24+off, y-22, dotted...)
	}
	d.text(250, 60, s.t("lesson.label.bag"), label...)
	d.text(250, 104, s.t("lesson.label.folds"), label...)
	s.scaleBar(d, 14, 210, mm, 5)
}
