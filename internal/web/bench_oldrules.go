package web

import (
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

var oldRulesKnobs = []knob{
	{key: "axial_length_mm", unit: "mm", low: 15, high: 38, from: 19, to: 31, step: 0.05, usual: "23.5"},
	{key: "mean_k_d", unit: "D", low: 30, high: 60, from: 38, to: 49, step: 0.25, usual: "43.5"},
	{key: "a", low: 110, high: 122, from: 114, to: 120, step: 0.1, usual: "118.4"},
	{key: "pacd_mm", unit: "mm", low: 2, high: 8, from: 3, to: 7, step: 0.05, usual: "5.2"},
	{key: "target_d", unit: "D", low: -10, high: 10, from: -3, to: 1, step: 0.25, usual: "0"},
	{key: "refraction_now_d", unit: "D", low: -20, high: 25, from: 0, to: 20, step: 0.25, usual: "11.5"},
	{key: "vertex_mm", unit: "mm", low: 8, high: 16, from: 8, to: 16, step: 0.5, usual: "12", more: true},
	{key: "lens_position_mm", unit: "mm", low: 2, high: 8, from: 2.5, to: 6.5, step: 0.05, usual: "5.0", more: true},
}

var oldRulesPresets = []preset{
	{"average", nil},
	{"short", map[string]string{"axial_length_mm": "21.9", "refraction_now_d": "16"}},
	{"long", map[string]string{"axial_length_mm": "27.5", "refraction_now_d": "2.5"}},
}

// playOldRules shows formulas of the past and the rules of thumb for theatre
// beside what is used today. They stand here and in no plan.
func (s *server) playOldRules(in *played) (a benchAnswer) {
	p := pathway.OldRulesInput{Length: unit.Millimetre(in.value("axial_length_mm")), K: unit.Dioptre(in.value("mean_k_d")), A: unit.Constant(in.value("a")),
		PACD: unit.Millimetre(in.value("pacd_mm")), Target: unit.Dioptre(in.value("target_d")), RefractionNow: unit.Dioptre(in.value("refraction_now_d")),
		Vertex: unit.Millimetre(in.value("vertex_mm")), Position: unit.Millimetre(in.value("lens_position_mm"))}
	if len(in.refused) > 0 {
		return a
	}
	r, refused := pathway.AskOldRules(p)
	if len(refused) > 0 {
		a.refused = refused
		return a
	}
	a.tables = []BenchTable{
		s.oldRulesTable("past", r.Today[0], r.Past),
		s.oldRulesTable("aphakic", r.Aphakic[0], r.Aphakic[1:]),
	}
	a.notes = []string{s.t("old-rules.note")}
	return a
}

// oldRulesTable sets rules beside the one of today, each with how far it lies
// from it.
func (s *server) oldRulesTable(key string, today pathway.OldRule, rules []pathway.OldRule) BenchTable {
	t := BenchTable{Title: s.t("old-rules." + key), How: s.t("old-rules." + key + ".how"),
		Head: []string{s.t("lens.col.method"), s.t("old-rules.power"), s.t("old-rules.apart")}}
	none := s.t("old-rules.none")
	power := func(n pathway.Number) string {
		if !n.Known {
			return none
		}
		return unit.Dioptre(n.Value).String()
	}
	t.Rows = append(t.Rows, []string{s.t("old-rules.today", "method", locale.Method(s.lang, today.Method)), power(today.Power), "–"})
	for _, x := range rules {
		apart := "–"
		if x.Power.Known && today.Power.Known {
			apart = unit.Dioptre(x.Power.Value - today.Power.Value).String()
		}
		t.Rows = append(t.Rows, []string{locale.Method(s.lang, x.Method), power(x.Power), apart})
	}
	return t
}
