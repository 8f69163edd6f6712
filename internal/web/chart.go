package web

import (
	"fmt"
	"html/template"
	"math"
	"strings"

	"linn/unit"
)

// axis is one side of a chart.
type axis struct {
	low, high, step float64
	decimals        int
	name            string
}

// chart is a drawing with two axes.
type chart struct {
	*drawing
	x, y                  axis
	left, top, wide, tall float64
}

// chartWidths are the two papers every figure is drawn on.
var chartWidths = [2]float64{820, 350}

// both draws a figure on both papers.
func both(id string, draw func(id string, width float64) *drawing) (wide, narrow *drawing) {
	return draw(id+"-wide", chartWidths[0]), draw(id+"-narrow", chartWidths[1])
}

// newChart draws the axes with their numbers; title and desc say the picture
// to those who do not see it.
func newChart(id string, width, height float64, title, desc string, x, y axis) *chart {
	c := &chart{drawing: newDrawing(id, width, height, title, desc), x: x, y: y, left: 58, top: 34, wide: width - 58 - 14, tall: height - 34 - 58}
	for v := y.low; v <= y.high+1e-9; v += y.step {
		c.line(c.left, c.py(v), c.left+c.wide, c.py(v), "stroke", ink("line"), "stroke-width", "1")
		c.text(c.left-8, c.py(v)+5, unit.Fixed(v, y.decimals), "font-size", "14", "fill", ink("soft"), "text-anchor", "end", "font-family", "var(--mono)")
	}
	for v := x.low; v <= x.high+1e-9; v += x.step {
		c.line(c.px(v), c.top+c.tall, c.px(v), c.top+c.tall+6, "stroke", ink("edge"), "stroke-width", "1.5")
		c.text(c.px(v), c.top+c.tall+22, unit.Fixed(v, x.decimals), "font-size", "14", "fill", ink("soft"), "text-anchor", "middle", "font-family", "var(--mono)")
	}
	c.line(c.left, c.top+c.tall, c.left+c.wide, c.top+c.tall, "stroke", ink("edge"), "stroke-width", "1.5")
	c.text(6, 18, y.name, "font-size", "15", "fill", ink("ink"))
	c.text(c.left+c.wide, height-10, x.name, "font-size", "15", "fill", ink("ink"), "text-anchor", "end")
	return c
}

func (c *chart) px(v float64) float64 { return c.left + (v-c.x.low)/(c.x.high-c.x.low)*c.wide }

func (c *chart) py(v float64) float64 {
	return c.top + c.tall - (v-c.y.low)/(c.y.high-c.y.low)*c.tall
}

// curve joins points, held within the axes.
func (c *chart) curve(pts [][2]float64, a ...string) {
	var list [][2]float64
	for _, p := range pts {
		if p[0] < c.x.low-1e-9 || p[0] > c.x.high+1e-9 {
			continue
		}
		list = append(list, [2]float64{c.px(p[0]), c.py(min(max(p[1], c.y.low), c.y.high))})
	}
	c.poly(false, list, append([]string{"fill", "none", "stroke-linejoin", "round"}, a...)...)
}

// band shades the heights from low to high.
func (c *chart) band(low, high float64, a ...string) {
	low, high = max(low, c.y.low), min(high, c.y.high)
	if high > low {
		c.rect(c.left, c.py(high), c.wide, c.py(low)-c.py(high), a...)
	}
}

// niceAxis is an axis from low that holds most, with steps of 1, 2 or 5.
func niceAxis(low, most float64, name string) axis {
	if !(most > low) {
		most = low + 1
	}
	step := math.Pow(10, math.Floor(math.Log10((most-low)/4)))
	for _, m := range []float64{1, 2, 5, 10} {
		if (most-low)/(m*step) <= 6 {
			step *= m
			break
		}
	}
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	return axis{low, low + step*math.Ceil((most-low)/step-1e-9), step, decimals, name}
}

// paperColours are the light theme's tokens, for a file that has no style
// sheet. A test holds them to the style sheet.
var paperColours = map[string]string{"ground": "#FBFAF7", "pool": "#EAF1F3", "band": "#D9E9ED", "ink": "#16212B", "soft": "#414D57", "line": "#D8D5CC", "edge": "#7B786E",
	"water": "#0B5C7A", "amber": "#F0A818", "stop": "#8C1118", "stop-ground": "#FBF1EF", "blue": "#0072B2", "vermillion": "#D55E00", "green": "#008A65"}

// alone is the drawing as a file of its own: colours as numbers, a ground, and
// lines of text below it.
func (d *drawing) alone(lines []string) string {
	body := d.b.String()
	height := d.height + 14 + 20*float64(len(lines))
	open, rest, _ := strings.Cut(body, ">")
	open = strings.Replace(open, fmt.Sprintf(`viewBox="0 0 %s %s" width="%s" height="%s"`, px(d.width), px(d.height), px(d.width), px(d.height)),
		fmt.Sprintf(`viewBox="0 0 %s %s" width="%s" height="%s"`, px(d.width), px(height), px(d.width), px(height)), 1)
	open = strings.Replace(open, `font-family="inherit"`, `font-family="Atkinson Hyperlegible Next, sans-serif"`, 1)
	var b strings.Builder
	title, after, _ := strings.Cut(rest, "</desc>")
	fmt.Fprintf(&b, `%s>%s</desc><rect width="%s" height="%s" fill="var(--ground)"/>%s`, open, title, px(d.width), px(height), after)
	for i, l := range lines {
		fmt.Fprintf(&b, `<text x="10" y="%s" font-size="14" fill="var(--soft)">%s</text>`, px(d.height+20+20*float64(i)), template.HTMLEscapeString(l))
	}
	b.WriteString("</svg>")
	out := strings.ReplaceAll(b.String(), "var(--mono)", "Atkinson Hyperlegible Mono, monospace")
	for name, colour := range paperColours {
		out = strings.ReplaceAll(out, ink(name), colour)
	}
	return out
}
