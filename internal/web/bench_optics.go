package web

import (
	"math"
	"slices"

	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

var lensMakerKnobs = []knob{
	{key: "power", unit: "D", low: -10, high: 40, from: -5, to: 35, step: 0.5, usual: "20"},
	{key: "optic", unit: "mm", low: 4, high: 7.5, from: 5, to: 7, step: 0.05, usual: "6"},
	{key: "edge", unit: "mm", low: 0.1, high: 1.2, from: 0.1, to: 0.8, step: 0.05, usual: "0.25"},
	{key: "shape", low: -2, high: 2, from: -2, to: 2, step: 0.1, usual: "0"},
}

var lensMakerPresets = []preset{{"usual", nil}, {"flat-behind", map[string]string{"shape": "1"}}, {"strong", map[string]string{"power": "30"}}, {"small", map[string]string{"optic": "5.5"}}}

// playLensMaker makes the lens in every material.
func (s *server) playLensMaker(in *played) (a benchAnswer) {
	d := pathway.LensDesign{Power: unit.Dioptre(in.value("power")), Optic: unit.Millimetre(in.value("optic")), Edge: unit.Millimetre(in.value("edge")), Factor: unit.Constant(in.value("shape"))}
	if len(in.refused) > 0 {
		return a
	}
	list, err := pathway.LensMaker(d)
	if err != nil {
		a.refused = finding.Refusals{{Code: "lens-not-made"}}
		return a
	}
	t := BenchTable{Title: s.t("maker.table")}
	for _, key := range []string{"material", "index", "thickness", "radii", "planes", "incision", "aberration"} {
		t.Head = append(t.Head, s.t("maker."+key))
	}
	for _, l := range list {
		t.Rows = append(t.Rows, []string{s.t("material." + l.Material), unit.Fixed(float64(l.Index), 4), l.Thickness.String(), s.radiusText(l.Front) + " / " + s.radiusText(l.Back),
			unit.Signed(float64(l.H), 2) + " / " + unit.Signed(float64(l.HPrime), 2), unit.Fixed(float64(l.Incision), 1) + unit.Thin + "mm", unit.Signed(float64(l.Aberration), 2) + unit.Thin + "µm"})
	}
	a.tables = []BenchTable{t}
	wide, narrow := both("lenses", func(id string, width float64) *drawing { return s.drawLenses(id, width, list) })
	a.figures = []benchFigure{{"lenses", wide, narrow, s.t("maker.picture") + ". " + s.t("maker.picture.desc") + "."}}
	a.notes = s.lensMakerNotes(list)
	return a
}

func (s *server) lensMakerNotes(list []pathway.MadeLens) (notes []string) {
	made := map[string]*pathway.MadeLens{}
	for i := range list {
		made[list[i].Material] = &list[i]
	}
	if gel, pmma := made["hydrogel"], made["pmma"]; gel != nil && pmma != nil {
		notes = append(notes, s.t("maker.gel", "more", gel.Thickness-pmma.Thickness))
	}
	linear, n := pathway.HydrogelSwells()
	notes = append(notes, s.t("maker.swells", "part", unit.Fixed(100/float64(linear), 0)+unit.Thin+"%", "index", unit.Fixed(float64(n), 2)))
	if moved := math.Abs(float64(list[0].HReversed - list[0].HPrime)); moved < 0.005 {
		notes = append(notes, s.t("maker.alike"))
	} else {
		notes = append(notes, s.t("maker.turned", "moved", unit.Fixed(moved, 2)+unit.Thin+"mm"))
	}
	return append(notes, s.t("maker.marks"), s.t("maker.own"))
}

func (w words) radiusText(r unit.Millimetre) string {
	if math.IsInf(float64(r), 0) || math.Abs(float64(r)) > 1e6 {
		return w.t("maker.flat")
	}
	return unit.Signed(float64(r), 2)
}

// drawLenses draws the section of the lens in each material, to one scale, in as
// many rows as the paper asks for.
func (w words) drawLenses(id string, width float64, list []pathway.MadeLens) *drawing {
	const each, top = 100.0, 34.0
	row := max(int((width-20)/each), 1)
	rows := (len(list) + row - 1) / row
	const scale, high = 24.0, 8*24.0 + top
	d := newDrawing(id, width, high*float64(rows)+20, w.t("maker.picture"), w.t("maker.picture.desc"))
	for i, l := range list {
		h := float64(l.Optic) / 2
		x := 36 + each*float64(i%row)
		y := high*float64(i/row) + top + 12 + 3.9*scale
		front, back := side(x, y, scale, float64(l.Front), h, 0), side(x, y, scale, float64(l.Back), h, float64(l.Thickness))
		slices.Reverse(back)
		d.poly(true, append(front, back...), "fill", ink("band"), "stroke", ink("blue"), "stroke-width", "2")
		d.text(x-24, y-3.9*scale-22, unit.Fixed(float64(l.Index), 2)+" · "+unit.Fixed(float64(l.Thickness), 2)+unit.Thin+"mm", "font-size", "14", "fill", ink("ink"))
	}
	return d
}

// side is one surface of a section as points from above to below.
func side(x, y, scale, r, half, at float64) (pts [][2]float64) {
	const n = 24
	for i := range n + 1 {
		h := half * (1 - 2*float64(i)/n)
		sag := 0.0
		if !math.IsInf(r, 0) {
			sag = r - math.Copysign(math.Sqrt(r*r-h*h), r)
		}
		pts = append(pts, [2]float64{x + (at+sag)*scale, y - h*scale})
	}
	return pts
}

func raysKnobs() []knob {
	return []knob{{key: "eye", words: pathway.RayEyes(), usual: "le-grand"}, {key: "pupil", unit: "mm", low: 1, high: 7, from: 1, to: 7, step: 0.1, usual: "4"}}
}

// playRays sends rays through a schematic eye.
func (s *server) playRays(in *played) (a benchAnswer) {
	key, pupil := in.word("eye"), unit.Millimetre(in.value("pupil"))
	if len(in.refused) > 0 {
		return a
	}
	b, err := pathway.Rays(key, pupil)
	if err != nil {
		a.refused = finding.Refusals{{Code: "rays-do-not-pass"}}
		return a
	}
	for _, row := range []struct{ key, text string }{{"power", b.Power.Unsigned()}, {"focus", b.Focus.String()}, {"marginal", b.Marginal.String()}, {"wave", b.Wave.String()}, {"spot", b.Spot.String()}, {"least", b.Least.String()},
		{"rms", unit.Fixed(float64(b.SpotRMS), 1) + unit.Thin + "µm"}, {"aberration", unit.Signed(float64(b.Aberration), 3) + unit.Thin + "µm"}} {
		a.rows = append(a.rows, BenchRow{Name: s.t("rays." + row.key), Value: row.text})
	}
	wide, narrow := both("rays", func(id string, width float64) *drawing { return s.drawBench(id, width, &b) })
	a.figures = []benchFigure{{"rays", wide, narrow, s.t("rays.picture.desc", "eye", s.t("rays.eye."+key)) + "."}}
	a.notes = []string{s.t("rays.how")}
	return a
}

// drawBench draws surfaces and rays of a schematic eye to scale.
func (w words) drawBench(id string, width float64, b *pathway.RayBench) *drawing {
	scale := min(22, (width-60)/30)
	left, axis := 5*scale, 6*scale
	d := newDrawing(id, width, 12*scale+20, w.t("rays.picture"), w.t("rays.picture.desc", "eye", w.t("rays.eye."+b.Key)))
	for _, f := range b.Surfaces {
		half := 4.4
		if r := float64(f.Radius); f.Radius < 8.2 && r > 0 {
			half = min(5, 0.7*r)
		}
		var pts [][2]float64
		for i := range 41 {
			h := half * (1 - float64(i)/20)
			c := 1 / float64(f.Radius)
			root := 1 - (1+float64(f.Q))*c*c*h*h
			if root < 0 {
				continue
			}
			pts = append(pts, [2]float64{left + (float64(f.At)+c*h*h/(1+math.Sqrt(root)))*scale, axis - h*scale})
		}
		d.poly(false, pts, "fill", "none", "stroke", ink("ink"), "stroke-width", "2")
	}
	for _, ray := range b.Rays {
		var pts [][2]float64
		for _, p := range ray {
			pts = append(pts, [2]float64{left + p[0]*scale, axis - p[1]*scale})
		}
		d.poly(false, pts, "fill", "none", "stroke", ink("water"), "stroke-width", "1.2")
	}
	x := left + float64(b.Retina)*scale
	d.line(x, axis-2.8*scale, x, axis+2.8*scale, "stroke", ink("vermillion"), "stroke-width", "2")
	d.text(x-4, axis+2.8*scale+20, w.t("instrument.label.retina"), "font-size", "15", "fill", ink("ink"), "text-anchor", "middle")
	return d
}
