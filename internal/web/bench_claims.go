package web

import (
	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

var claimKnobs = []knob{
	{key: "frequency_khz", unit: "kHz", low: 1e-3, high: 10000, usual: "40", may: true},
	{key: "velocity_peak_m_s", unit: "m/s", low: 1e-6, high: 10000, usual: "20", may: true},
	{key: "acceleration_m_s2", unit: "m/s²", low: 1e-3, high: 1e9, usual: "51000", may: true},
	{key: "stroke_mm", unit: "mm", low: 1e-6, high: 100, usual: "1", may: true},
	{key: "stroke_to_mm", unit: "mm", low: 1e-6, high: 100, usual: "2", may: true},
}

var claimPresets = []preset{
	{"taught", nil},
	{"mil", map[string]string{"velocity_peak_m_s": "", "acceleration_m_s2": "", "stroke_mm": "0.0254", "stroke_to_mm": "0.0508"}},
	{"gravities", map[string]string{"acceleration_m_s2": "5030000", "stroke_mm": "0.159", "stroke_to_mm": ""}},
}

func (s *server) playClaims(in *played) (a benchAnswer) {
	var c pathway.Claim
	if v := in.number("frequency_khz"); v.Known {
		c.Frequency = unit.Known(unit.Kilohertz(v.Value))
	}
	if v := in.number("velocity_peak_m_s"); v.Known {
		c.Velocity = unit.Known(unit.MetrePerSecond(v.Value))
	}
	if v := in.number("acceleration_m_s2"); v.Known {
		c.Acceleration = unit.Known(unit.MetrePerSecondSquared(v.Value))
	}
	if v := in.number("stroke_mm"); v.Known {
		c.Stroke = unit.Known(unit.Micrometre(1000 * v.Value))
	}
	if v := in.number("stroke_to_mm"); v.Known && c.Stroke.Known {
		c.StrokeTo = unit.Known(unit.Micrometre(1000 * v.Value))
	}
	if len(in.refused) > 0 {
		return a
	}
	v, refused := pathway.CheckClaim(c)
	if len(refused) > 0 {
		a.refused = finding.Refusals{{Code: "claim-too-little"}}
		return a
	}
	verdict := "holds"
	switch {
	case !v.Holds:
		verdict = "clash"
	case len(v.Pairs) < 2:
		verdict = "two"
	}
	a.notes = []string{s.t("claims." + verdict)}
	if !v.Holds {
		a.notes = append(a.notes, s.t("claims.slips"))
	}
	a.tables = []BenchTable{s.pairsTable(&v)}
	return a
}

// pairsTable is what each pair implies for the rest, and what it contradicts.
func (s *server) pairsTable(v *pathway.Verdict) BenchTable {
	t := BenchTable{Title: s.t("claims.table"), How: s.t("claims.how"), Head: []string{s.t("claims.pair"), s.keyWords("frequency"), s.keyWords("velocity"), s.keyWords("acceleration"), s.keyWords("stroke"), s.t("claims.contradicts")}}
	span := func(a, b float64, u string) string {
		if b <= a*(1+1e-9) {
			return three(a, u)
		}
		return s.t("claims.range", "low", three(a, ""), "high", three(b, u))
	}
	for _, p := range v.Pairs {
		i := p.Implies
		against := ""
		for _, c := range p.Clashes {
			key := "claims.small"
			if c.TooLarge {
				key = "claims.large"
			}
			if against != "" {
				against += "; "
			}
			against += s.t(key, "what", locale.Field(s.lang, string(c.Quantity)), "factor", span(c.Factor[0], c.Factor[1], "×"))
		}
		if against == "" {
			against = s.t("claims.nothing")
		}
		t.Rows = append(t.Rows, []string{s.t("claims.both", "first", s.keyWords(string(p.Take[0])), "second", s.keyWords(string(p.Take[1]))),
			span(float64(i.Frequency[0]), float64(i.Frequency[1]), "kHz"), span(float64(i.Velocity[0]), float64(i.Velocity[1]), "m/s"),
			span(float64(i.Acceleration[0]), float64(i.Acceleration[1]), "m/s²"), span(float64(i.Stroke[0]), float64(i.Stroke[1]), "µm"), against})
	}
	return t
}
