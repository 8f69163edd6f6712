package paper

import (
	"strings"

	"linn/internal/care/sheet"
	"linn/unit"
)

// clockRadius is that of the cornea on paper, in mm.
const clockRadius = 13.0

// clock draws the cornea from the surgeon's seat below the readings, in black
// and white: every mark has its word. It returns the baseline below.
func (p *page) clock(k *sheet.Clock, y float64) float64 {
	if k == nil {
		return y
	}
	p.pdf.SetLineWidth(0.2)
	p.pdf.Line(middle, y-1, right, y-1)
	p.fit(middle, y+3, right-middle, p.words.T("paper.clock", value("seat", p.words.T("word.surgeon_seat."+string(k.Seat)))), smallBold)
	cx, cy := middle+26.0, y+22
	p.face(k, cx, cy)
	x, at := cx+clockRadius+13.0, y+14
	room := right - x
	if c := k.Incision; c != nil {
		at = p.block(x, at, room, p.words.T("paper.clock.incision", value("hour", c.Hour), value("at", unit.Degree(c.Middle.At).String()), value("width", unit.Millimetre(c.Width.Value).String())), smallBold)
	}
	if m := k.Steep; m != nil {
		at = p.block(x, at+1, room, p.words.T("paper.clock.steep", value("axis", m.Axis.String())), smallStyle)
	}
	if len(k.Closed) > 0 {
		var hours []string
		for _, c := range k.Closed {
			hours = append(hours, strings.TrimSpace(closedHours(c)+" "+c.Why))
		}
		at = p.block(x, at+1, room, p.words.T("paper.clock.closed", value("hours", strings.Join(hours, ", "))), smallStyle)
	}
	return max(cy+clockRadius+11.5, at+2)
}

// closedHours writes "11–1" or "6".
func closedHours(c sheet.Closed) string {
	from, to := unit.Fixed(float64(c.From), -1), unit.Fixed(float64(c.To), -1)
	if from == to {
		return from
	}
	return from + "–" + to
}

// toricBelow writes below the lens, where there is room, what was chosen of a
// toric one, or that nothing was.
func (p *page) toricBelow(k *sheet.Clock, y float64) float64 {
	if k == nil || k.Toric == "" {
		return y
	}
	return p.block(margin, y+2, middle-margin-6, p.toric(k), boldStyle) + 1
}

// toric says whose the numbers of a toric lens are.
func (p *page) toric(k *sheet.Clock) string {
	axis, left := "", ""
	if k.Lens != nil {
		axis = k.Lens.Axis.String()
	}
	if c := k.Chosen; c != nil {
		left = unit.Dioptre(c.Sphere.Value).String() + " / " + unit.Dioptre(c.Residual.Value).String() + " × " + unit.Axis(c.Axis.Value).String()
	}
	text := p.words.T("paper.clock.toric."+string(k.Toric), value("axis", axis), value("cylinder", unit.Dioptre(k.Cylinder.Value).Unsigned()), value("left", left))
	if c := k.Chosen; c != nil && c.Differs && c.Reason != "" {
		text += " " + p.words.T("paper.clock.toric.reason", value("reason", c.Reason))
	}
	return text
}

// face draws circle, hours, words, meridians, incision and side ports about
// (cx, cy).
func (p *page) face(k *sheet.Clock, cx, cy float64) {
	on := func(q sheet.Point, r float64) (float64, float64) { return cx + q.X*r, cy + q.Y*r }
	p.pdf.SetLineWidth(0.3)
	p.pdf.Circle(cx, cy, clockRadius, "D")
	p.pdf.SetLineWidth(0.15)
	for _, c := range k.Closed {
		for i, q := range c.Edge {
			x1, y1 := on(q, clockRadius)
			x2, y2 := on(q, clockRadius*0.88)
			if i%2 == 0 {
				p.pdf.Line(x1, y1, x2, y2)
			}
			if i > 0 {
				x0, y0 := on(c.Edge[i-1], clockRadius*0.88)
				p.pdf.Line(x0, y0, x2, y2)
			}
		}
	}
	p.pdf.SetLineWidth(0.3)
	for i, h := range k.Hours {
		x1, y1 := on(h, clockRadius-1)
		x2, y2 := on(h, clockRadius)
		p.pdf.Line(x1, y1, x2, y2)
		if (i+1)%3 == 0 {
			x, y := on(h, clockRadius-3.2)
			p.middleOf(x, y+1, unit.Fixed(float64(i+1), 0), tinyStyle)
		}
	}
	for i, q := range []sheet.Point{k.Nasal, k.Temporal} {
		key := [...]string{"paper.clock.nasal", "paper.clock.temporal"}[i]
		x, y := on(q, clockRadius+2)
		switch {
		case q.X > 0.5:
			p.at(x, y+1, p.words.T(key), tinyStyle)
		case q.X < -0.5:
			p.end(x, y+1, p.words.T(key), tinyStyle)
		case q.Y > 0:
			p.middleOf(x, y+4, p.words.T(key), tinyStyle)
		default:
			p.middleOf(x, y-1, p.words.T(key), tinyStyle)
		}
	}
	if m := k.Steep; m != nil {
		p.pdf.SetDashPattern([]float64{1.2, 0.8}, 0)
		p.across(m, cx, cy, 0.25)
		p.pdf.SetDashPattern(nil, 0)
	}
	if m := k.Lens; m != nil && k.Toric == sheet.ToricChosen {
		p.across(m, cx, cy, 0.7)
	} else if m != nil {
		p.pdf.SetDashPattern([]float64{0.4, 1}, 0)
		p.across(m, cx, cy, 0.4)
		p.pdf.SetDashPattern(nil, 0)
	}
	if c := k.Incision; c != nil {
		p.pdf.SetLineWidth(1.5)
		x1, y1 := on(c.From, clockRadius)
		xm, ym := on(c.Middle, clockRadius)
		x2, y2 := on(c.To, clockRadius)
		p.pdf.Line(x1, y1, xm, ym)
		p.pdf.Line(xm, ym, x2, y2)
	}
	for _, q := range k.Ports {
		x, y := on(q, clockRadius)
		p.pdf.Circle(x, y, 0.7, "F")
	}
	p.middleOf(cx, cy+clockRadius+9.5, p.words.T("paper.clock.seat"), tinyStyle)
}

func (p *page) across(m *sheet.Meridian, cx, cy, thick float64) {
	p.pdf.SetLineWidth(thick)
	const r = clockRadius - 5
	p.pdf.Line(cx+m.From.X*r, cy+m.From.Y*r, cx+m.To.X*r, cy+m.To.Y*r)
}

// middleOf writes one line about x.
func (p *page) middleOf(x, y float64, text string, s style) {
	t := p.set(text, s)
	if t == "" {
		return
	}
	p.pdf.Text(x-p.pdf.GetStringWidth(t)/2, y, t)
}
