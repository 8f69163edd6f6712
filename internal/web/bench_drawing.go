package web

import (
	"fmt"

	"linn/internal/pathway"
	"linn/unit"
)

// The chamber is drawn to scale from the side. Its depth is that of a spherical
// cap of the chamber's volume over the usual width; drawing only.
const (
	drawnWidth = 11.8 // mm, white to white; drawing only
	corneaWall = 0.54 // mm; drawing only
)

// capDepth is the depth of a cap of v µL over the usual width: h(3a²+h²)π/6 = v,
// by halving; drawing only.
func capDepth(v float64) float64 {
	const a = drawnWidth / 2
	low, high := 0.0, 8.0
	for range 50 {
		mid := (low + high) / 2
		if 3.141592653589793*mid*(3*a*a+mid*mid)/6 < v {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// chamberDrawing shows how far the capsule comes forward at the break: dotted
// where it stands with the tip open, and the band between the stiffest and the
// softest line.
func (s *server) chamberDrawing(c *pathway.ChamberAnswer, lines []pathway.LineTrace) benchFigure {
	depth := capDepth(float64(c.Settings.ChamberVolume.Or(140)))
	low, high := float64(c.Spread.Excursion.Low), float64(c.Spread.Excursion.High)
	wide, narrow := both("shallow", func(id string, width float64) *drawing {
		scale := min((width-60)/(drawnWidth+1.5), 44)
		d := newDrawing(id, width, 34+(depth+corneaWall)*scale+96, s.t("bench.shallow"), s.t("bench.shallow.desc", "low", pathway.TwoFigures(low), "high", pathway.TwoFigures(high)))
		mid, base := width/2, 34+depth*scale+corneaWall*scale
		half := drawnWidth / 2 * scale
		r := (half*half + depth*scale*depth*scale) / (2 * depth * scale) // of the cap
		outer := r + corneaWall*scale
		oh := half + corneaWall*scale*0.8
		d.path(fmt.Sprintf("M%s %sA%s %s 0 0 1 %s %sL%s %sA%s %s 0 0 0 %s %sZ", px(mid-oh), px(base), px(outer), px(outer), px(mid+oh), px(base), px(mid+half), px(base), px(r), px(r), px(mid-half), px(base)),
			"fill", ink("band"), "stroke", ink("ink"), "stroke-width", "2", "stroke-linejoin", "round")
		apex := base - depth*scale
		front := func(shift float64) float64 { return max(base-shift*scale, apex) }
		capsule := func(shift float64, a ...string) { // how the lens's front bulges is not modelled
			y := front(shift)
			d.path(fmt.Sprintf("M%s %sQ%s %s %s %sQ%s %s %s %s", px(mid-half), px(base), px(mid-half*0.72), px(y), px(mid), px(y), px(mid+half*0.72), px(y), px(mid+half), px(base)), a...)
		}
		d.path(fmt.Sprintf("M%s %sQ%s %s %s %sQ%s %s %s %sQ%s %s %s %sQ%s %s %s %sZ",
			px(mid-half), px(base), px(mid-half*0.72), px(front(high)), px(mid), px(front(high)), px(mid+half*0.72), px(front(high)), px(mid+half), px(base),
			px(mid+half*0.72), px(front(low)), px(mid), px(front(low)), px(mid-half*0.72), px(front(low)), px(mid-half), px(base)), "fill", ink("pool"), "stroke", "none")
		capsule(0, "fill", "none", "stroke", ink("ink"), "stroke-width", "2.5", "stroke-dasharray", "3 5")
		capsule(low, "fill", "none", "stroke", ink("blue"), "stroke-width", "3")
		capsule(high, "fill", "none", "stroke", ink("vermillion"), "stroke-width", "3", "stroke-dasharray", "9 5")
		s.shallowWords(d, mid, base, scale, depth)
		return d
	})
	return benchFigure{"shallow", wide, narrow, s.t("bench.shallow.says", "depth", pathway.TwoFigures(depth)+unit.Thin+"mm", "low", pathway.TwoFigures(low), "high", pathway.TwoFigures(high)+unit.Thin+"mm")}
}

func (s *server) shallowWords(d *drawing, mid, base, scale, depth float64) {
	x, y := 14.0, base+30
	for i, key := range []string{"open", "stiff", "soft"} {
		colour, dashes := ink([]string{"ink", "blue", "vermillion"}[i]), []string{"3 5", "none", "9 5"}[i]
		d.line(x, y+20*float64(i)-5, x+34, y+20*float64(i)-5, "stroke", colour, "stroke-width", "3", "stroke-dasharray", dashes)
		d.text(x+42, y+20*float64(i), s.t("bench.shallow."+key), "font-size", "14", "fill", ink("ink"))
	}
	right := mid + drawnWidth/2*scale
	d.line(right-scale, y+42, right, y+42, "stroke", ink("ink"), "stroke-width", "2.5")
	d.text(right-scale/2, y+36, "1"+unit.Thin+"mm", "font-size", "14", "fill", ink("ink"), "text-anchor", "middle")
}
