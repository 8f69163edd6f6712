package web

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"
)

// drawing writes one SVG with presentation attributes only. Colours are the
// names of the style sheet's tokens, so that a drawing follows the theme and
// prints in ink.
type drawing struct {
	b             strings.Builder
	width, height float64
}

// attrs are presentation attributes in pairs of name and value.
type attrs []string

func (a attrs) String() string {
	var b strings.Builder
	for i := 0; i+1 < len(a); i += 2 {
		b.WriteString(" " + a[i] + `="` + template.HTMLEscapeString(a[i+1]) + `"`)
	}
	return b.String()
}

// px writes a coordinate with one decimal, never in exponent form.
func px(v float64) string { return strconv.FormatFloat(v, 'f', 1, 64) }

// ink names a colour token.
func ink(token string) string { return "var(--" + token + ")" }

// newDrawing begins a picture of w by h pixels that says title and desc to
// those who do not see it. id makes the two names unique on the page.
func newDrawing(id string, w, h float64, title, desc string) *drawing {
	d := &drawing{width: w, height: h}
	e := template.HTMLEscapeString
	fmt.Fprintf(&d.b, `<svg xmlns="http://www.w3.org/2000/svg" id="%s" role="img" aria-labelledby="%s-t %s-d" viewBox="0 0 %s %s" width="%s" height="%s" font-family="inherit">`,
		e(id), e(id), e(id), px(w), px(h), px(w), px(h))
	fmt.Fprintf(&d.b, `<title id="%s-t">%s</title><desc id="%s-d">%s</desc>`, e(id), e(title), e(id), e(desc))
	return d
}

func (d *drawing) html() template.HTML {
	return template.HTML(d.b.String() + "</svg>") //nolint:gosec // every text above is escaped
}

func (d *drawing) line(x1, y1, x2, y2 float64, a ...string) {
	fmt.Fprintf(&d.b, `<line x1="%s" y1="%s" x2="%s" y2="%s"%s/>`, px(x1), px(y1), px(x2), px(y2), attrs(a))
}

func (d *drawing) rect(x, y, w, h float64, a ...string) {
	fmt.Fprintf(&d.b, `<rect x="%s" y="%s" width="%s" height="%s"%s/>`, px(x), px(y), px(w), px(h), attrs(a))
}

func (d *drawing) circle(x, y, r float64, a ...string) {
	fmt.Fprintf(&d.b, `<circle cx="%s" cy="%s" r="%s"%s/>`, px(x), px(y), px(r), attrs(a))
}

func (d *drawing) path(p string, a ...string) {
	fmt.Fprintf(&d.b, `<path d="%s"%s/>`, p, attrs(a))
}

// poly joins points by straight lines.
func (d *drawing) poly(close bool, pts [][2]float64, a ...string) {
	var p strings.Builder
	for i, pt := range pts {
		p.WriteString(map[bool]string{true: "M", false: "L"}[i == 0] + px(pt[0]) + " " + px(pt[1]))
	}
	if close {
		p.WriteString("Z")
	}
	d.path(p.String(), a...)
}

func (d *drawing) text(x, y float64, s string, a ...string) {
	fmt.Fprintf(&d.b, `<text x="%s" y="%s"%s>%s</text>`, px(x), px(y), attrs(a), template.HTMLEscapeString(s))
}

// number writes a Num with its unit and spread small. size is the figure's
// font size in pixels.
func (d *drawing) number(x, y, size float64, n Num, a ...string) {
	e := template.HTMLEscapeString
	if n.Missing != "" {
		d.text(x, y, n.Missing, append(a, "font-size", px(max(15, size*0.6)), "fill", ink("soft"))...)
		return
	}
	fmt.Fprintf(&d.b, `<text x="%s" y="%s"%s font-family="var(--mono)" font-size="%s" fill="var(--ink)">%s`, px(x), px(y), attrs(a), px(size), e(n.Figure))
	small := px(max(14, size*0.58))
	if n.Spread != "" {
		fmt.Fprintf(&d.b, `<tspan font-size="%s" fill="var(--soft)">&#8239;%s</tspan>`, small, e(n.Spread))
	}
	if n.Unit != "" {
		fmt.Fprintf(&d.b, `<tspan font-size="%s" fill="var(--soft)">&#8239;%s</tspan>`, small, e(n.Unit))
	}
	d.b.WriteString("</text>")
}

// miniStream draws the four stages of an eye as the stream in small. The
// words beside it say the same.
func miniStream(p Progress) template.HTML {
	d := &drawing{}
	d.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" aria-hidden="true" viewBox="0 0 124 20" width="124" height="20">`)
	done := []bool{p.Measured, p.Checked, p.Lens, p.Sheet}
	for i := range done {
		x := 10 + float64(i)*34
		if i+1 < len(done) {
			dash := "2 5"
			if done[i] {
				dash = "none"
			}
			d.line(x+7, 10, x+27, 10, "stroke", ink("water"), "stroke-width", "2.5", "stroke-dasharray", dash)
		}
		fill := ink("ground")
		if done[i] {
			fill = ink("water")
		}
		d.circle(x, 10, 7, "fill", fill, "stroke", ink("water"), "stroke-width", "2.5")
	}
	return d.html()
}
