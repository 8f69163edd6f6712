package pathway

import (
	"errors"

	"linn/calc/lenspower"
	"linn/finding"
	"linn/unit"
)

// OldRulesInput is an eye as the formulas of the past and the rules of thumb
// for theatre see it.
type OldRulesInput struct {
	Length           unit.Millimetre
	K                unit.Dioptre // mean, at index 1.3375
	A                unit.Constant
	PACD             unit.Millimetre
	Target           unit.Dioptre
	RefractionNow    unit.Dioptre // aphakic
	Vertex, Position unit.Millimetre
}

// OldRule is one rule's power and, where it has one, the refraction it leaves
// by SRK/T of today.
type OldRule struct {
	Method string
	Power  Number
}

// OldRules are the answers, for teaching only: no plan has them.
type OldRules struct {
	Today   []OldRule // SRK/T, for comparison
	Past    []OldRule
	Aphakic []OldRule // from the aphakic refraction, refractive vergence first
}

// AskOldRules works the rules out. What a rule refuses has no number; a reading
// that none takes is refused.
func AskOldRules(in OldRulesInput) (out OldRules, refused finding.Refusals) {
	known := func(p unit.Dioptre, err error) Number {
		if err != nil {
			return Number{}
		}
		return Number{Value: float64(p) + 0, Known: true}
	}
	c := lenspower.Constants{A: unit.Known(in.A), PACD: unit.Known(in.PACD)}
	m := lenspower.MethodNamed("srk-t")
	resolved, _, _ := m.Resolve(c)
	today, err := m.Power(lenspower.Input{AxialLength: in.Length, K: in.K, Vertex: in.Vertex, Constant: resolved}, in.Target)
	out.Today = []OldRule{{m.ID, known(today, err)}}
	for _, h := range lenspower.HistoricalMethods {
		s, err := h.Solve(lenspower.HistoricalInput{AxialLength: in.Length, K: in.K, Vertex: in.Vertex, Constants: c})
		p := Number{}
		if err == nil {
			p = known(s.Power(in.Target))
		}
		out.Past = append(out.Past, OldRule{h.ID, p})
	}
	vergence, err := lenspower.RefractiveVergence(lenspower.SecondLens{K: in.K, Position: in.Position, Vertex: in.Vertex, Before: in.RefractionNow, Target: in.Target})
	out.Aphakic = []OldRule{{"refractive-vergence", known(vergence, err)}}
	rules, err := lenspower.AphakicMultipliers(in.RefractionNow, in.A)
	if r := (*unit.RangeError)(nil); errors.As(err, &r) {
		return out, finding.Refusals{{Code: "out-of-range", Field: r.What, Values: finding.Values{value("got", plain(r.Got)), value("low", plain(r.Low)), value("high", plain(r.High)), value("unit", r.Unit)}}}
	}
	for _, x := range []struct {
		id    string
		power unit.Dioptre
	}{{"ianchulev", rules.Ianchulev}, {"mackool", rules.Mackool}, {"leccisotti", rules.Leccisotti}} {
		out.Aphakic = append(out.Aphakic, OldRule{x.id, known(x.power, nil)})
	}
	return out, nil
}
