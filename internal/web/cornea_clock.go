package web

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"linn/internal/pathway"
	"linn/unit"
)

// Clock is the cornea as seen from the surgeon's seat.
type Clock = pathway.Clock

// drawClock draws the cornea as the surgeon sees it: hours, NASAL and TEMPORAL,
// steep meridian, incision, side ports, marks of a toric lens. size is the
// width in pixels; below 300 only every third hour is written.
func (s *server) drawClock(k *Clock, id string, size float64) template.HTML {
	d := newDrawing(id, size, size*0.86, s.t("clock.title", "side", s.side(k.Side), "seat", s.t("word.surgeon_seat."+string(k.Seat))), s.clockText(k))
	c := face{d, size / 2, size * 0.43, size * 0.26}
	c.d.circle(c.x, c.y, c.r, "fill", ink("pool"), "stroke", ink("ink"), "stroke-width", "2")
	c.closed(k)
	for i, h := range k.Hours {
		x1, y1 := c.at(h.X, h.Y, 0.94)
		x2, y2 := c.at(h.X, h.Y, 1)
		c.d.line(x1, y1, x2, y2, "stroke", ink("ink"), "stroke-width", "1.5")
		if size < 300 && (i+1)%3 != 0 {
			continue
		}
		x, y := c.at(h.X, h.Y, 0.82)
		c.d.text(x, y+5, strconv.Itoa(i+1), "font-size", "14", "text-anchor", "middle", "fill", ink("soft"), "class", "hour")
	}
	c.meridian(k.Steep, 0.97, "stroke", ink("water"), "stroke-width", "2.5", "stroke-dasharray", "8 6", "class", "steep")
	if k.Toric == pathway.ToricChosen {
		c.meridian(k.Lens, 0.5, "stroke", ink("ink"), "stroke-width", "5", "class", "lens-marks")
	} else {
		c.meridian(k.Lens, 0.5, "stroke", ink("soft"), "stroke-width", "5", "stroke-dasharray", "2 5", "class", "lens-advised")
	}
	c.cut(k)
	for _, w := range []struct {
		key string
		p   [2]float64
	}{{"nasal", [2]float64{k.Nasal.X, k.Nasal.Y}}, {"temporal", [2]float64{k.Temporal.X, k.Temporal.Y}}, {"superior", [2]float64{k.Superior.X, k.Superior.Y}}, {"inferior", [2]float64{k.Inferior.X, k.Inferior.Y}}} {
		if small := w.key == "superior" || w.key == "inferior"; small && size < 300 {
			continue // the hours say it, and the paper is narrow
		}
		c.word(s.t("paper.clock."+w.key), w.p, w.key)
	}
	return d.html()
}

// face is a drawing with the circle on it.
type face struct {
	d       *drawing
	x, y, r float64
}

func (c face) at(x, y, k float64) (float64, float64) { return c.x + x*c.r*k, c.y + y*c.r*k }

// closed hatches the hours that are not to be cut, inside the limbus.
func (c face) closed(k *Clock) {
	for _, x := range k.Closed {
		way := ""
		for i, p := range x.Edge {
			x1, y1 := c.at(p.X, p.Y, 1)
			x2, y2 := c.at(p.X, p.Y, 0.9)
			if i%2 == 0 {
				c.d.line(x1, y1, x2, y2, "stroke", ink("ink"), "stroke-width", "1", "class", "closed-hatch")
			}
			step := "L"
			if i == 0 {
				step = "M"
			}
			way += step + px(x2) + " " + px(y2)
		}
		c.d.path(way, "fill", "none", "stroke", ink("ink"), "stroke-width", "1", "class", "closed")
	}
}

// word writes beside the circle what lies there.
func (c face) word(text string, p [2]float64, class string) {
	x, y := c.at(p[0], p[1], 1.1)
	anchor := "middle"
	switch {
	case p[0] > 0.5:
		anchor = "start"
	case p[0] < -0.5:
		anchor = "end"
	case p[1] > 0:
		y += 10
	}
	size := "14"
	if c.r < 90 {
		size = "11"
	}
	c.d.text(x, y+4, text, "font-size", size, "font-weight", "700", "text-anchor", anchor, "fill", ink("ink"), "class", class)
}

func (c face) meridian(m *clockMeridian, long float64, a ...string) {
	if m == nil {
		return
	}
	x1, y1 := c.at(m.From.X, m.From.Y, long)
	x2, y2 := c.at(m.To.X, m.To.Y, long)
	c.d.line(x1, y1, x2, y2, a...)
}

// cut draws the incision as a thick arc with a mark outside, and side ports.
func (c face) cut(k *Clock) {
	for _, p := range k.Ports {
		x, y := c.at(p.X, p.Y, 1)
		c.d.circle(x, y, 4, "fill", ink("ink"), "class", "port")
	}
	i := k.Incision
	if i == nil {
		return
	}
	x1, y1 := c.at(i.From.X, i.From.Y, 1)
	x2, y2 := c.at(i.To.X, i.To.Y, 1)
	c.d.path(fmt.Sprintf("M%s %sA%s %s 0 0 0 %s %s", px(x1), px(y1), px(c.r), px(c.r), px(x2), px(y2)), "fill", "none", "stroke", ink("ink"), "stroke-width", "8", "class", "incision")
	x, y := c.at(i.Middle.X, i.Middle.Y, 1)
	c.d.circle(x, y, 2.5, "fill", ink("ground"), "class", "incision-middle")
}

// clockMeridian is a line of the clock.
type clockMeridian = pathway.ClockMeridian

// clockText says the drawing to those who do not see it.
func (s *server) clockText(k *Clock) string {
	text := s.t("clock.desc", "left", s.t("paper.clock."+k.Left()), "right", s.t("paper.clock."+k.Right()))
	for _, line := range s.clockSays(k) {
		text += " " + line + "."
	}
	return text
}

// clockSays is what the drawing shows, in words.
func (s *server) clockSays(k *Clock) (list []string) {
	list = append(list, s.t("clock.seat", "seat", s.t("word.surgeon_seat."+string(k.Seat))))
	if c := k.Incision; c != nil {
		list = append(list, s.t("clock.incision", "hour", c.Hour, "at", unit.Degree(c.Middle.At).String(), "width", unit.Millimetre(c.Width.Value).String(), "type", s.t("word.incision_type."+string(c.Type))))
	}
	if m := k.Steep; m != nil {
		list = append(list, s.t("clock.steep", "axis", m.Axis.String()))
	}
	for _, x := range k.Closed {
		list = append(list, s.t("clock.closed", "hours", closedHours(x), "why", s.whyClosed(x)))
	}
	if line := s.toricLine(k); line != "" {
		list = append(list, line)
	}
	return list
}

// toricLine says whose the numbers of a toric lens are, "" without one.
func (s *server) toricLine(k *Clock) string {
	if k.Toric == "" {
		return ""
	}
	args := []any{"axis", "", "cylinder", unit.Dioptre(k.Cylinder.Value).Unsigned(), "left", "", "reason", ""}
	if k.Lens != nil {
		args[1] = k.Lens.Axis.String()
	}
	if c := k.Chosen; c != nil {
		args[5] = unit.Dioptre(c.Sphere.Value).String() + " / " + unit.Dioptre(c.Residual.Value).String() + " × " + unit.Axis(c.Axis.Value).String()
		if c.Differs && c.Reason != "" {
			args[7] = " " + s.t("clock.toric.reason", "reason", c.Reason)
		}
	}
	return s.t("clock.toric."+string(k.Toric), args...)
}

// closedHours writes "11–1" or "6".
func closedHours(x pathway.ClosedHours) string {
	from, to := unit.Fixed(float64(x.From), -1), unit.Fixed(float64(x.To), -1)
	if from == to {
		return from
	}
	return from + "–" + to
}

func (s *server) whyClosed(x pathway.ClosedHours) string {
	if x.Why == "" {
		return s.t("clock.closed.no-reason")
	}
	return x.Why
}

// plane is a double-angle plot: meridians at half the angle, 0 right, 90 left.
type plane struct {
	d           *drawing
	x, y, scale float64 // pixels in a dioptre
}

// newPlane draws rings and meridian labels up to most dioptres.
func newPlane(id string, most float64, title, desc string) plane {
	const size = 340.0
	d := newDrawing(id, size, size, title, desc)
	p := plane{d, size / 2, size / 2, 130 / most}
	step := 0.5
	switch {
	case most > 4:
		step = 2
	case most > 1.6:
		step = 1
	}
	for r := step; r <= most+1e-9; r += step {
		d.circle(p.x, p.y, r*p.scale, "fill", "none", "stroke", ink("edge"), "stroke-width", "1")
		d.text(p.x+4, p.y-r*p.scale-3, unit.Fixed(r, 1)+unit.Thin+"D", "font-size", "14", "fill", ink("soft"))
	}
	d.line(p.x-130, p.y, p.x+130, p.y, "stroke", ink("edge"), "stroke-width", "1")
	d.line(p.x, p.y-130, p.x, p.y+130, "stroke", ink("edge"), "stroke-width", "1")
	for _, l := range []struct {
		text   string
		x, y   float64
		anchor string
	}{{"0°", 136, 5, "start"}, {"45°", 0, -147, "middle"}, {"90°", -136, 5, "end"}, {"135°", 0, 160, "middle"}} {
		d.text(p.x+l.x, p.y+l.y, l.text, "font-size", "14", "text-anchor", l.anchor, "fill", ink("ink"))
	}
	return p
}

func (p plane) at(x, y float64) (float64, float64) { return p.x + x*p.scale, p.y - y*p.scale }

// dot marks an astigmatism and writes its name at the mark.
func (p plane) dot(a *pathway.Astigmatism, name, fill string, below float64) {
	if a == nil {
		return
	}
	t := a.Steep.Value * math.Pi / 90
	x, y := p.at(a.Magnitude.Value*math.Cos(t), a.Magnitude.Value*math.Sin(t))
	p.d.circle(x, y, 6, "fill", fill, "stroke", ink("ink"), "stroke-width", "2", "class", "astigmatism")
	anchor, shift := "start", 10.0
	if x > p.x {
		anchor, shift = "end", -10
	}
	p.d.text(x+shift, y-8+below, name, "font-size", "14", "text-anchor", anchor, "fill", ink("ink"))
}

// ellipse draws an ellipse about (x, y) in dioptres.
func (p plane) ellipse(e *pathway.EllipseNumbers, x, y float64, dash, class string) {
	if e == nil {
		return
	}
	px1, py1 := p.at(x, y)
	fmt.Fprintf(&p.d.b, `<ellipse cx="%s" cy="%s" rx="%s" ry="%s" transform="rotate(%s %s %s)" fill="none" stroke="%s" stroke-width="2" stroke-dasharray="%s" class="%s"/>`,
		px(px1), px(py1), px(e.Major.Value*p.scale), px(e.Minor.Value*p.scale), px(-e.Angle.Value), px(px1), px(py1), ink("ink"), dash, class)
}
