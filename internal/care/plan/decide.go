package plan

import (
	"math"
	"slices"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Decision is the lens a surgeon chose, with what it is expected to leave.
type Decision struct {
	Model     string `json:"model"`
	Power     Number `json:"power_d"`
	Stock     Number `json:"stock"`       // null: never counted
	Predicted Number `json:"predicted_d"` // median of the methods that count
	Lowest    Number `json:"lowest_d"`    // over them
	Highest   Number `json:"highest_d"`
	Uncertainty

	Shares []Share `json:"shares"` // of the variance, by source

	// Repeating is what repeating a measurement would buy.
	Repeating []Repeating `json:"repeating"`

	Findings []finding.Finding `json:"findings"`
	Working  []Working         `json:"working"`
}

// Working is how one method came to its numbers: the power for the target,
// and the refraction with the chosen power.
type Working struct {
	Method     string `json:"method"`
	Power      []Step `json:"power"`
	Refraction []Step `json:"refraction"`
}

// Step is one line of a working. Name is a key that locale turns into words.
type Step struct {
	Name   string       `json:"name"`
	Symbol string       `json:"symbol"`
	Value  Number       `json:"value"`
	Unit   string       `json:"unit,omitempty"`
	Source source.Key   `json:"source"`
	Where  string       `json:"where,omitempty"`
	Grade  source.Grade `json:"grade"`
}

func steps(list []source.Step) []Step {
	out := make([]Step, len(list))
	for i, s := range list {
		out[i] = Step{Name: s.Name, Symbol: s.Symbol, Value: number(s.Value), Unit: s.Unit, Source: s.Ref.Key, Where: s.Ref.Where, Grade: s.Ref.Grade}
	}
	return out
}

// decide fills the decision from the chosen lens.
func (p *Plan) decide(e *eye.Eye) {
	pick := p.Input.Chosen
	if pick == nil {
		return
	}
	d := &Decision{Model: pick.Model, Power: number(pick.Power), Shares: []Share{}, Repeating: []Repeating{}, Findings: []finding.Finding{}, Working: []Working{}}
	p.Decision = d
	i := slices.IndexFunc(p.Lenses, func(l LensPlan) bool { return l.Model == pick.Model })
	if i < 0 {
		d.Findings = append(d.Findings, lensUnknown.On("", value("model", pick.Model)))
		return
	}
	s := &p.Input.Shelf[i]
	if !(shelf{s.Lens.From, s.Lens.To, s.Lens.Step}).has(float64(pick.Power)) {
		d.Findings = append(d.Findings, powerNotMade.On("", value("model", pick.Model), value("got", pick.Power.String()),
			value("low", s.Lens.From.String()), value("high", s.Lens.To.String()), value("step", s.Lens.Step.Unsigned())))
		return
	}
	d.Stock = s.stock(float64(pick.Power))
	for _, x := range p.Lenses[i].Powers {
		if same(x.Power.Value, float64(pick.Power)) && x.Predicted.Known {
			d.Predicted, d.Lowest, d.Highest, d.Uncertainty, d.Shares = x.Predicted, x.Lowest, x.Highest, x.Uncertainty, x.shares
			if x.by.method != nil { // after corneal surgery no repeat narrows what is not known
				d.Repeating = repeating(e, x.by, x.Power.Value)
			}
		}
	}
	d.Working = working(e, s, pick.Power, p.Input.Rules)
	d.Findings = worstFirst(append(append(d.Findings, d.doubts(p)...), placed(e, s, p.Input.Rules)...))
}

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

// doubts are what is odd about the choice itself.
func (d *Decision) doubts(p *Plan) (list []finding.Finding) {
	if d.Stock.Known && d.Stock.Value == 0 {
		list = append(list, chosenNotInStock.On("", value("model", d.Model), value("got", unit.Dioptre(d.Power.Value).String())))
	}
	if d.Predicted.Known && math.Abs(d.Predicted.Value-p.Target.Value) > farLimit {
		list = append(list, chosenFarFromTarget.On("", value("got", unit.Dioptre(d.Predicted.Value).String()),
			value("target", unit.Dioptre(p.Target.Value).String()), value("limit", unit.Dioptre(farLimit).Unsigned())))
	}
	return list
}

// placed says what speaks against the lens in the place it is planned for.
func placed(e *eye.Eye, s *Shelved, rules int) []finding.Finding {
	if rules < 2 {
		return nil
	}
	return lenspower.CheckPlacement(lenspower.SulcusFacts{HapticsInSulcus: e.Placement == eye.Sulcus, OnePieceSoftAcrylic: s.Lens.OnePieceSoftAcrylic})
}

// working lists the steps of every method that has an answer.
func working(e *eye.Eye, s *Shelved, power unit.Dioptre, rules int) []Working {
	q := ask(e)
	q.rules = rules
	list := []Working{}
	for _, m := range lenspower.Methods {
		lens, _ := s.lensFor(m.ID)
		if own, absent := q.method(m, &lens); absent == nil && own.ok {
			list = append(list, Working{m.ID, steps(m.Working(own.in, q.target)), steps(m.WorkingRefraction(own.in, power))})
		}
	}
	for _, x := range q.further(s.lensFor, Options{}).list {
		if x.own.ok && x.working != nil {
			p, r := x.working(q.target, power)
			list = append(list, Working{x.id, steps(p), steps(r)})
		}
	}
	return list
}
