package web

import (
	"math"

	"linn/internal/pathway"
	"linn/unit"
)

// focusFigure is the through-focus curve: the sight without glasses to expect
// for an object from beyond far away to a quarter of a metre, and how sharp the
// drawn eye's own image is. nil when nothing is known of it.
func (s *server) focusFigure(in *pathway.Instrument) *FigureView {
	var sight, sharp [][2]float64
	for _, f := range in.Through {
		if f.LogMAR.Known {
			sight = append(sight, [2]float64{-f.Vergence.Value, math.Pow(10, -f.LogMAR.Value)})
		}
		if f.Strehl.Known {
			sharp = append(sharp, [2]float64{-f.Vergence.Value, f.Strehl.Value})
		}
	}
	if len(sight) < 2 {
		return nil
	}
	wide, narrow := both("focus", func(id string, width float64) *drawing {
		c := newChart(id, width, 300, s.t("optics.focus"), s.t("optics.focus.desc"), axis{-1, 4, 1, 0, s.t("optics.focus.x")}, axis{0, 1.4, 0.2, 1, s.t("optics.focus.y")})
		for _, at := range []struct {
			key   string
			value float64
		}{{"far", 0}, {"arm", 1.5}, {"near", 2.5}} {
			c.line(c.px(at.value), c.py(0), c.px(at.value), c.py(1.4), "stroke", ink("edge"), "stroke-width", "1.5", "stroke-dasharray", "4 4")
			c.text(c.px(at.value)+5, c.py(1.4)+14, s.t("optics.focus."+at.key), "font-size", "14", "fill", ink("soft"))
		}
		c.curve(sight, "stroke", ink("water"), "stroke-width", "3")
		c.curve(sharp, "stroke", ink("vermillion"), "stroke-width", "2.5", "stroke-dasharray", "9 5")
		x := c.left + c.wide - 6
		for i, l := range []struct{ key, token, dash string }{{"sight", "water", "none"}, {"sharp", "vermillion", "9 5"}} {
			y := c.py(1.4) + 40 + 20*float64(i)
			c.line(x-34, y-5, x, y-5, "stroke", ink(l.token), "stroke-width", "3", "stroke-dasharray", l.dash)
			c.text(x-40, y, s.t("optics.focus."+l.key), "font-size", "14", "fill", ink("ink"), "text-anchor", "end")
		}
		return c.drawing
	})
	return &FigureView{ID: "focus", Wide: wide.html(), Narrow: narrow.html(), Says: s.t("optics.focus.says", "power", unit.Dioptre(in.Lens.Power.Value))}
}
