package web

import (
	"html/template"
	"math"
	"strings"
)

// look is how a method is told apart: by shape first, then line, then colour.
type look struct{ shape, dash, colour string }

var looks = map[string]look{
	"srk-t":      {"circle", "none", "blue"},
	"t2":         {"square", "7 4", "blue"},
	"holladay-1": {"triangle", "none", "vermillion"},
	"hoffer-q":   {"diamond", "7 4", "vermillion"},
	"haigis":     {"point-down", "none", "green"},
	"thick-lens": {"plus", "2 4", "ink"},
}

// lookOf gives every method a look; those after corneal surgery share a bar,
// told apart by their names, so that many of them stay readable on one rung.
func lookOf(id string) look {
	if l, ok := looks[strings.TrimSuffix(id, "-adapted")]; ok { // the same formula on another length
		return l
	}
	return look{"bar", "2 4", "ink"}
}

// drawMarker draws a marker with half size r; the guiding method's is filled.
func drawMarker(d *drawing, l look, x, y, r float64, filled bool) {
	fill := ink("ground")
	if filled {
		fill = ink(l.colour)
	}
	a := []string{"fill", fill, "stroke", ink(l.colour), "stroke-width", "2.2", "stroke-linejoin", "round"}
	at := func(angles ...float64) (pts [][2]float64) {
		for _, deg := range angles {
			pts = append(pts, [2]float64{x + 1.2*r*math.Sin(deg*math.Pi/180), y - 1.2*r*math.Cos(deg*math.Pi/180)})
		}
		return pts
	}
	switch l.shape {
	case "circle":
		d.circle(x, y, r*0.95, a...)
	case "square":
		d.rect(x-r*0.85, y-r*0.85, r*1.7, r*1.7, a...)
	case "triangle":
		d.poly(true, at(0, 120, 240), a...)
	case "point-down":
		d.poly(true, at(60, 180, 300), a...)
	case "diamond":
		d.poly(true, at(0, 90, 180, 270), a...)
	case "plus":
		d.line(x-r, y, x+r, y, "stroke", ink(l.colour), "stroke-width", "2.6")
		d.line(x, y-r, x, y+r, "stroke", ink(l.colour), "stroke-width", "2.6")
	default:
		d.line(x-1.4*r, y, x+1.4*r, y, "stroke", ink(l.colour), "stroke-width", "2.6")
	}
}

// markerPicture is a marker by itself, for the table.
func markerPicture(id string, filled bool) template.HTML {
	d := &drawing{}
	d.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" aria-hidden="true" viewBox="0 0 22 22" width="22" height="22">`)
	drawMarker(d, lookOf(id), 11, 11, 7, filled)
	return d.html()
}
