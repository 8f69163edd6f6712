package web

import (
	"html/template"
	"math"
	"net/http"
	"net/url"

	"linn/internal/pathway"
	"linn/unit"
)

// BenchField is one number of a page of the bench that can be typed.
type BenchField struct {
	Name, Label, Value, Unit string
}

// LensMakerView is the page where a lens is made.
type LensMakerView struct {
	Frame
	Refused []string
	Fields  []BenchField
	Rows    []LensMakerRow
	Picture template.HTML
	Gel     string
	Swells  string
	Turned  string
}

// LensMakerRow is the lens in one material.
type LensMakerRow struct {
	Material, Index, Thickness, Radii, Planes, Incision, Aberration string
}

// number of a form; an empty one takes its usual value, one that cannot be
// read is told.
func (s *server) benchNumber(form url.Values, field *BenchField, bounds unit.Bounds, refused *[]string) float64 {
	if text, there := form[field.Name]; there && text[0] != "" {
		field.Value = text[0]
	}
	v, err := unit.Parse[unit.Constant](field.Value, field.Name, field.Unit, bounds)
	if err != nil {
		*refused = append(*refused, s.t("bench.refused", "field", field.Label, "low", unit.Signed(bounds.Low, 2), "high", unit.Signed(bounds.High, 2)))
		return math.NaN()
	}
	return float64(v)
}

func (s *server) lensMaker(w http.ResponseWriter, r *http.Request, by Actor) error {
	v := LensMakerView{Frame: s.frame(r, by, s.t("maker.heading"), "bench")}
	d := pathway.LensDesign{}
	for _, f := range []struct {
		name, usual, u string
		bounds         unit.Bounds
		set            func(float64)
	}{
		{"power", "20", "D", unit.Bounds{Low: -10, High: 40}, func(x float64) { d.Power = unit.Dioptre(x) }},
		{"optic", "6", "mm", unit.Bounds{Low: 4, High: 7.5}, func(x float64) { d.Optic = unit.Millimetre(x) }},
		{"edge", "0.25", "mm", unit.Bounds{Low: 0.1, High: 1.2}, func(x float64) { d.Edge = unit.Millimetre(x) }},
		{"shape", "0", "", unit.Bounds{Low: -2, High: 2}, func(x float64) { d.Factor = unit.Constant(x) }},
	} {
		field := BenchField{f.name, s.t("maker." + f.name), f.usual, f.u}
		f.set(s.benchNumber(r.Form, &field, f.bounds, &v.Refused))
		v.Fields = append(v.Fields, field)
	}
	status := http.StatusOK
	if len(v.Refused) == 0 {
		list, err := pathway.LensMaker(d)
		if err != nil {
			v.Refused = []string{s.t("maker.cannot")}
		} else {
			s.lensMakerView(&v, list)
		}
	}
	if len(v.Refused) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "lens-maker", "page", v)
}

func (s *server) lensMakerView(v *LensMakerView, list []pathway.MadeLens) {
	var gel, pmma *pathway.MadeLens
	for i := range list {
		l := &list[i]
		switch l.Material {
		case "hydrogel":
			gel = l
		case "pmma":
			pmma = l
		}
		v.Rows = append(v.Rows, LensMakerRow{s.t("material." + l.Material), unit.Fixed(float64(l.Index), 4), l.Thickness.String(),
			radiusText(l.Front) + " / " + radiusText(l.Back), unit.Signed(float64(l.H), 2) + " / " + unit.Signed(float64(l.HPrime), 2), unit.Fixed(float64(l.Incision), 1) + unit.Thin + "mm", unit.Signed(float64(l.Aberration), 2) + unit.Thin + "µm"})
	}
	v.Picture = s.drawLenses(list)
	if gel != nil && pmma != nil {
		v.Gel = s.t("maker.gel", "more", gel.Thickness-pmma.Thickness)
	}
	linear, n := pathway.HydrogelSwells()
	v.Swells = s.t("maker.swells", "part", unit.Fixed(100/float64(linear), 0)+unit.Thin+"%", "index", unit.Fixed(float64(n), 2))
	first := list[0]
	if moved := math.Abs(float64(first.HReversed - first.HPrime)); moved < 0.005 {
		v.Turned = s.t("maker.alike")
		return
	}
	v.Turned = s.t("maker.turned", "moved", unit.Fixed(math.Abs(float64(first.HReversed-first.HPrime)), 2)+unit.Thin+"mm")
}

func radiusText(r unit.Millimetre) string {
	if math.IsInf(float64(r), 0) || math.Abs(float64(r)) > 1e6 {
		return "∞"
	}
	return unit.Signed(float64(r), 2)
}

// drawLenses draws the section of the lens in each material, to one scale.
func (w words) drawLenses(list []pathway.MadeLens) template.HTML {
	const scale, each, top = 24.0, 118.0, 34.0
	width := each*float64(len(list)) + 30
	d := newDrawing("lenses", width, 8*scale+top+20, w.t("maker.picture"), w.t("maker.picture.desc"))
	for i, l := range list {
		h := float64(l.Optic) / 2
		x := 40 + each*float64(i)
		y := top + 12 + 3.9*scale
		front, back := side(x, y, scale, float64(l.Front), h, 0), side(x, y, scale, float64(l.Back), h, float64(l.Thickness))
		for a, b := 0, len(back)-1; a < b; a, b = a+1, b-1 {
			back[a], back[b] = back[b], back[a]
		}
		d.poly(true, append(front, back...), "fill", ink("band"), "stroke", ink("blue"), "stroke-width", "2")
		d.text(x-26, top-10, unit.Fixed(float64(l.Index), 2)+" · "+unit.Fixed(float64(l.Thickness), 2)+unit.Thin+"mm", "font-size", "14", "fill", ink("ink"))
	}
	return d.html()
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

// RaysView is the page of rays through a schematic eye.
type RaysView struct {
	Frame
	Refused []string
	Eyes    []Option
	Pupil   BenchField
	Picture template.HTML
	Rows    [][2]string
}

func (s *server) rays(w http.ResponseWriter, r *http.Request, by Actor) error {
	v := RaysView{Frame: s.frame(r, by, s.t("rays.heading"), "bench"), Pupil: BenchField{"pupil", s.t("rays.pupil"), "4", "mm"}}
	key := r.Form.Get("eye")
	if key == "" {
		key = "le-grand"
	}
	for _, k := range pathway.RayEyes() {
		v.Eyes = append(v.Eyes, Option{k, s.t("rays.eye." + k), k == key})
	}
	pupil := s.benchNumber(r.Form, &v.Pupil, unit.Bounds{Low: 1, High: 7}, &v.Refused)
	status := http.StatusOK
	if len(v.Refused) == 0 {
		b, err := pathway.Rays(key, unit.Millimetre(pupil))
		if err != nil {
			v.Refused = []string{s.t("rays.cannot")}
		} else {
			v.Picture = s.drawBench(&b)
			for _, row := range []struct {
				key  string
				text string
			}{{"power", b.Power.Unsigned()}, {"focus", b.Focus.String()}, {"marginal", b.Marginal.String()}, {"wave", b.Wave.String()}, {"spot", b.Spot.String()}, {"least", b.Least.String()},
				{"rms", unit.Fixed(float64(b.SpotRMS), 1) + unit.Thin + "µm"}, {"aberration", unit.Signed(float64(b.Aberration), 3) + unit.Thin + "µm"}} {
				v.Rows = append(v.Rows, [2]string{s.t("rays." + row.key), row.text})
			}
		}
	}
	if len(v.Refused) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "rays", "page", v)
}

// drawBench draws surfaces and rays of a schematic eye to scale.
func (w words) drawBench(b *pathway.RayBench) template.HTML {
	const scale, left, axis = 22.0, 110.0, 130.0
	d := newDrawing("bench", 720, 260, w.t("rays.picture"), w.t("rays.picture.desc", "eye", w.t("rays.eye."+b.Key)))
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
	d.line(x, axis-60, x, axis+60, "stroke", ink("vermillion"), "stroke-width", "2")
	d.text(x-4, axis+82, w.t("instrument.label.retina"), "font-size", "15", "fill", ink("ink"), "text-anchor", "middle")
	return d.html()
}
