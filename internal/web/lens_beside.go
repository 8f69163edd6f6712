package web

import (
	"slices"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/source"
	"linn/unit"
)

// RescueRow is one way out when the operation goes otherwise.
type RescueRow struct {
	Place, Model string
	Power        Num
	Stock        string
	Refraction   Num
	Rules        string // the two published rules for the sulcus
	Never        bool   // this lens must not go there
	Lacks        string
}

// LengthRow is a method's answer with another length than the measured one.
type LengthRow struct {
	Length, Method  string
	Millimetres     Num
	Power, Measured Num
}

// ChildRow is one published target for a child, by one method.
type ChildRow struct{ Table, Method, Aim, Power, Source string }

// childRow prints a target that may be a range.
func (s *server) childRow(c *pathway.ChildBeside) ChildRow {
	between := func(low, high pathway.Number) string {
		if !low.Known {
			return s.t("child.no-answer")
		}
		text := unit.Dioptre(low.Value).String()
		if high.Known && high.Value != low.Value {
			text = s.t("child.between", "low", text, "high", unit.Dioptre(high.Value))
		}
		return text
	}
	return ChildRow{locale.Method(s.lang, c.Table), locale.Method(s.lang, c.Method), between(c.AimLow, c.AimHigh), between(c.PowerLow, c.PowerHigh), s.cite(source.Ref{Key: source.Key(c.Source), Grade: source.Grade(c.Grade)})}
}

// SecondView is what the first eye's error says about this one's target.
type SecondView struct {
	Findings []Mark
	Theory   string
}

// places are the words of planning for bag, sulcus or chamber.
func (s *server) places(chosen string) (list []Option) {
	list = append(list, Option{"", s.t("not-recorded"), chosen == ""})
	for _, p := range []string{"bag", "sulcus", "chamber"} {
		list = append(list, Option{p, s.t("word.placement." + p), chosen == p})
	}
	return list
}

// besideView fills what stands beside the ladder.
func (s *server) besideView(v *LensView, l *LensPart) {
	v.Places = s.places(l.Placement)
	var found []finding.Finding
	for i := range l.Rescue {
		v.Rescue = append(v.Rescue, s.rescueRow(&l.Rescue[i]))
		for _, f := range l.Rescue[i].Findings {
			if !slices.ContainsFunc(found, func(x finding.Finding) bool { return sameFinding(x, f) }) {
				found = append(found, f)
			}
		}
	}
	for _, f := range found {
		v.Ready = append(v.Ready, *s.mark(f))
	}
	for _, b := range l.Lengths {
		v.Lengths = append(v.Lengths, LengthRow{s.t("length." + b.Length), locale.Method(s.lang, b.Method), reading(s.words, millimetresOf(b.AxialLength)),
			reading(s.words, known(b.Power)), reading(s.words, known(b.Measured))})
	}
	for i := range l.Children {
		v.Children = append(v.Children, s.childRow(&l.Children[i]))
	}
	if l.Second == nil {
		return
	}
	v.Second = &SecondView{}
	for _, f := range l.Second.Findings {
		v.Second.Findings = append(v.Second.Findings, *s.mark(f))
	}
	if l.Second.Eligible {
		v.Second.Theory = s.t("second-eye.theory", "weight", unit.Fixed(l.Second.Weight.Value, 2), "correlation", unit.Fixed(l.Second.Correlated.Value, 2),
			"residual", unit.Percent(l.Second.Residual.Value), "best", unit.Percent(l.Second.Best.Value))
	}
}

func (s *server) rescueRow(r *pathway.Rescue) RescueRow {
	row := RescueRow{Place: s.t("rescue.place." + r.Place), Model: r.Model, Power: reading(s.words, known(r.Power)), Refraction: reading(s.words, known(r.Refraction))}
	switch {
	case r.Place == "none":
		row.Power, row.Model = Num{}, s.t("rescue.none")
	case r.Stock.Known && r.Stock.Value == 0:
		row.Stock = s.t("lens.out-of-stock")
	case r.Stock.Known:
		row.Stock = s.t("rescue.in-stock", "n", unit.Fixed(r.Stock.Value, 0))
	case r.Power.Known:
		row.Stock = s.t("rescue.not-counted")
	}
	if r.Lacks != "" {
		row.Lacks = s.t("rescue.lacks", "field", locale.Field(s.lang, r.Lacks))
	}
	row.Never = !r.Power.Known && r.Lacks == "" && r.Place != "none"
	if r.Chart.Known {
		row.Rules = s.t("rescue.rules", "chart", reading(s.words, known(r.Chart)), "nines", reading(s.words, known(r.Nines)))
	}
	return row
}
