package web

import (
	"strconv"

	"linn/internal/pathway"
	"linn/unit"
)

var packKnobs = []knob{
	{key: "eyes", low: 1, high: 500, from: 5, to: 100, step: 1, usual: "30"},
	{key: "take", low: 1, high: 1000, from: 5, to: 150, step: 1, usual: "40"},
	{key: "axial_length_mm", unit: "mm", low: 19, high: 30, from: 21, to: 27, step: 0.05, usual: "23.2"},
	{key: "axial_length_sd_mm", unit: "mm", low: 0, high: 4, from: 0, to: 3, step: 0.05, usual: "1.1"},
	{key: "mean_k_d", unit: "D", low: 36, high: 52, from: 41, to: 47, step: 0.1, usual: "44.0"},
	{key: "mean_k_sd_d", unit: "D", low: 0, high: 4, from: 0, to: 3, step: 0.05, usual: "1.5"},
	{key: "a", low: 110, high: 122, from: 114, to: 120, step: 0.1, usual: "118.4"},
	{key: "target_d", unit: "D", low: -4, high: 1, from: -3, to: 1, step: 0.25, usual: "-0.5"},
	{key: "within_d", unit: "D", low: 0.25, high: 3, from: 0.25, to: 2, step: 0.25, usual: "1.0"},
	{key: "step_d", unit: "D", low: 0.5, high: 5, from: 0.5, to: 2, step: 0.5, usual: "0.5", more: true},
	{key: "from_d", unit: "D", low: -10, high: 30, usual: "8", more: true},
	{key: "to_d", unit: "D", low: -10, high: 40, usual: "32", more: true},
	{key: "seed", low: 0, high: 1e6, usual: "1", more: true},
}

var packPresets = []preset{
	{"camp", nil},
	{"few", map[string]string{"take": "30"}},
	{"long", map[string]string{"axial_length_mm": "24.2", "axial_length_sd_mm": "2.4", "mean_k_d": "44.3", "mean_k_sd_d": "1.7", "from_d": "-5"}},
}

// Lists of eyes that are drawn to pack for, and others to judge the box by.
const packTried, packJudged = 100, 1000

func (s *server) playPack(in *played) (a benchAnswer) {
	p := pathway.PackInput{Eyes: int(in.value("eyes")), Take: int(in.value("take")), Length: unit.Millimetre(in.value("axial_length_mm")), LengthSD: unit.Millimetre(in.value("axial_length_sd_mm")),
		K: unit.Dioptre(in.value("mean_k_d")), KSD: unit.Dioptre(in.value("mean_k_sd_d")), A: unit.Constant(in.value("a")), Target: unit.Dioptre(in.value("target_d")), Within: unit.Dioptre(in.value("within_d")),
		StepD: unit.Dioptre(in.value("step_d")), FromD: unit.Dioptre(in.value("from_d")), ToD: unit.Dioptre(in.value("to_d")), Seed: uint64(in.value("seed")), Tried: packTried, JudgedLists: packJudged}
	if len(in.refused) > 0 {
		return a
	}
	r, refused := pathway.PackFor(p)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	row := func(key, value string) {
		a.rows = append(a.rows, BenchRow{s.t("pack." + key), value, s.t("pack.why." + key)})
	}
	percent := func(v unit.Ratio) string { return unit.Fixed(100*float64(v), 1) + unit.Thin + "%" }
	row("served", percent(r.Served))
	row("all", s.t("pack.all.is", "share", percent(r.All), "error", percent(r.Error), "n", packJudged))
	row("limit", percent(r.Limit))
	row("even", percent(r.Even.Served))
	a.figures = []benchFigure{s.packFigure(&r)}
	t := BenchTable{Title: s.t("pack.table"), How: s.t("pack.table.how", "n", p.Take), Head: []string{s.t("pack.power"), s.t("pack.lenses")}}
	for i, n := range r.Count {
		if n > 0 {
			t.Rows = append(t.Rows, []string{r.Powers[i].String(), strconv.Itoa(n)})
		}
	}
	a.tables, a.notes = []BenchTable{t}, []string{s.t("pack.note")}
	return a
}

// packFigure draws the box: a column of squares for each power.
func (s *server) packFigure(r *pathway.PackedBox) benchFigure {
	first, last, most := len(r.Count), 0, 1
	for i, n := range r.Count {
		if n > 0 {
			first, last, most = min(first, i), max(last, i), max(most, n)
		}
	}
	wide, narrow := both("box", func(id string, width float64) *drawing {
		each := (width - 20) / float64(max(last-first+1, 1))
		side := min(each-1, 22)
		height := 60 + float64(most)*(side+1)
		d := newDrawing(id, width, height, s.t("pack.figure"), s.t("pack.figure.desc"))
		every := max(int(46/each)+1, 1)
		for i := first; i <= last; i++ {
			x := 10 + each*(float64(i-first)+0.5)
			for k := range r.Count[i] {
				d.rect(x-side/2, height-34-float64(k+1)*(side+1), side, side, "fill", ink("band"), "stroke", ink("ink"), "stroke-width", "1")
			}
			if (i-first)%every == 0 {
				d.text(x, height-12, unit.Fixed(float64(r.Powers[i]), 1), "font-size", "13", "text-anchor", "middle", "fill", ink("ink"))
			}
		}
		d.text(10, 16, s.t("pack.figure.axis"), "font-size", "13", "fill", ink("soft"))
		return d
	})
	return benchFigure{"box", wide, narrow, s.t("pack.figure.says")}
}
