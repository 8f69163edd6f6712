package plan

import (
	"math/rand/v2"

	"linn/calc/lenspower"
	"linn/calc/uncertainty"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Sureness is how sure the result of an eye is, by drawing such eyes, and what
// would make it surer.
type Sureness struct {
	Draws   int             `json:"draws"`
	Steps   []StepOutcome   `json:"steps"`
	Methods []MethodOutcome `json:"methods"` // with the chosen power
	Buys    []Buy           `json:"buys"`
}

// StepOutcome is what may become of one power on the shelf, in percent.
type StepOutcome struct {
	Power     Number    `json:"power_d"`
	Predicted Number    `json:"predicted_d"`
	Within    [4]Number `json:"within_025_050_075_100_pct"` // of the target
	Surprise  Number    `json:"surprise_pct"`               // more than 2 D from it
	Myopic    Number    `json:"myopic_pct"`                 // more minus than it
}

// MethodOutcome is the chance within 0.50 D of the target by one method.
type MethodOutcome struct {
	Method   string `json:"method"`
	Within50 Number `json:"within_050_pct"`
}

// Buy is what one change would buy.
type Buy struct {
	What   string           `json:"what"`
	By     eye.LengthMethod `json:"method,omitempty"`
	Times  int              `json:"times,omitempty"`
	Cases  int              `json:"cases,omitempty"`
	Before Number           `json:"sd_d"`
	After  Number           `json:"sd_after_d"`
	Now    Number           `json:"within_050_pct"`
	Then   Number           `json:"within_050_after_pct"`
}

// draws is how many eyes are drawn: enough that a chance is known to 0.7 %.
const draws = 20_000

// stream seeds the draws, so that an eye has the same chances every time.
const stream = 0x6c696e6e

// ConstantKey names the lens constant among what can be bought.
const ConstantKey = "constant"

// sureness is nil where the spread of the eye is not known.
func (b *builder) sureness() *Sureness {
	e := &b.p.Input.Eye
	x := b.power.by
	if x.method == nil || !b.power.Predicted.Known || !b.p.Target.Known {
		return nil
	}
	if x.widen > 1 { // a cone: drawn from the usual scatter it would promise too much
		b.findings = append(b.findings, chancesNotDrawn.On("", finding.Value{Name: "times", Text: unit.Fixed(x.widen, 1)}))
		return nil
	}
	budget, err := x.budget(lengthMethod(e), unit.Dioptre(b.power.Power.Value))
	if err != nil {
		return nil
	}
	out := &Sureness{Draws: draws}
	if !b.outcomes(out, x, budget) {
		return nil
	}
	b.methodOutcomes(out, budget)
	b.buys(out, x, budget)
	return out
}

// outcomes draws the chosen power once; the spread around the prediction is
// carried to the steps beside it, whose predictions the plan has.
func (b *builder) outcomes(out *Sureness, x predictor, budget uncertainty.Budget) bool {
	var eyes []uncertainty.Eye
	var steps []*PowerPlan
	for i := range b.lens.Powers {
		s := &b.lens.Powers[i]
		if !s.Power.Known || !s.Predicted.Known {
			continue
		}
		shift := unit.Dioptre(s.Power.Value - b.power.Power.Value)
		steps = append(steps, s)
		eyes = append(eyes, func(p uncertainty.Point) (unit.Dioptre, error) {
			p.LensPower += shift
			return x.at(p)
		})
	}
	samples, err := uncertainty.Simulate(eyes, budget, uncertainty.Draws{N: draws, Source: rand.NewPCG(stream, 1)})
	if err != nil {
		return false
	}
	for i, s := range samples {
		// the methods' median stands for the prediction, one method for the spread
		target := unit.Dioptre(b.p.Target.Value) + s.Predicted - unit.Dioptre(steps[i].Predicted.Value)
		o := s.Outcome(target)
		step := StepOutcome{Power: steps[i].Power, Predicted: steps[i].Predicted, Surprise: number(o.Surprise), Myopic: number(o.Myopic)}
		for k, w := range o.Within {
			step.Within[k] = number(w)
		}
		out.Steps = append(out.Steps, step)
	}
	return true
}

// methodOutcomes draws the chosen power by every method that counts, from the
// same draws.
func (b *builder) methodOutcomes(out *Sureness, budget uncertainty.Budget) {
	var eyes []uncertainty.Eye
	var ids []string
	for _, x := range b.predictors() {
		eyes, ids = append(eyes, x.at), append(ids, x.method.ID)
	}
	samples, err := uncertainty.Simulate(eyes, budget, uncertainty.Draws{N: draws, Source: rand.NewPCG(stream, 1)})
	if err != nil {
		return
	}
	for i, s := range samples {
		out.Methods = append(out.Methods, MethodOutcome{ids[i], number(s.Within(uncertainty.Landing{Target: unit.Dioptre(b.p.Target.Value), Half: 0.5}))})
	}
}

// predictors are the methods of the lens that count.
func (b *builder) predictors() (list []predictor) {
	e := b.p.Input.eyeWithDetails()
	q := ask(&e)
	q.rules = b.p.Input.Rules
	for i := range b.lens.Methods {
		m := lenspower.MethodNamed(b.lens.Methods[i].Method)
		if m == nil || !b.lens.Methods[i].Counts {
			continue
		}
		lens, _ := b.shelf.lensFor(m.ID)
		if own, absent := q.method(m, &lens); absent == nil && own.ok {
			list = append(list, q.predictor(m, own.in))
		}
	}
	return list
}

// ownCases is how many own results a constant is supposed to be fitted to.
const ownCases = 40

// buys lists what can be done: measure again, measure another way, fit the
// constant.
func (b *builder) buys(out *Sureness, x predictor, budget uncertainty.Budget) {
	have := lengthMethod(&b.p.Input.Eye)
	changes := []uncertainty.Change{{Repeat: uncertainty.Repeat{Kind: uncertainty.AxialLength, Total: 2}}, {Repeat: uncertainty.Repeat{Kind: uncertainty.MeanK, Total: 2}}}
	if have == eye.Contact {
		changes = append(changes, uncertainty.Change{Length: eye.Immersion})
	}
	if have != eye.Optical {
		changes = append(changes, uncertainty.Change{Length: eye.Optical})
	}
	changes = append(changes, uncertainty.Change{Constant: uncertainty.Constant{Cases: ownCases}})
	for _, c := range changes {
		got, err := uncertainty.Buying(x.at, budget, c)
		if err != nil {
			continue
		}
		buy := Buy{What: uncertainty.AxialLength.String(), By: c.Length, Before: number(got.Before.SD), After: number(got.After.SD), Now: number(got.Before.Within(0.5)), Then: number(got.After.Within(0.5))}
		switch {
		case c.Repeat != uncertainty.Repeat{}:
			buy.What, buy.Times = c.Repeat.Kind.String(), c.Repeat.Total
		case c.Length == "":
			buy.What, buy.Cases = ConstantKey, c.Constant.Cases
		}
		out.Buys = append(out.Buys, buy)
	}
}
