package plan

import (
	"math"
	"slices"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// lens answers for one lens model.
func (q *question) lens(e *eye.Eye, s *Shelved, chosen *Pick) LensPlan {
	l := LensPlan{Model: s.Lens.Model, Methods: []MethodPlan{}, Guidance: []Guidance{}, Powers: []PowerPlan{}, Findings: []finding.Finding{}}
	var eyes []solved
	for _, m := range lenspower.Methods {
		answer, own, absent := q.methodPlan(e, m, s)
		if absent != nil {
			l.Findings = append(l.Findings, *absent)
			continue
		}
		l.Methods, eyes = append(l.Methods, answer), append(eyes, own)
	}
	l.agree()
	l.guide(e)
	l.powers(e, s, eyes, q.target, chosen)
	l.recommend(s, q.target)
	l.Findings = worstFirst(append(l.Findings, l.lacks(s, q)...))
	return l
}

// methodPlan asks one method with the constants this lens has for it.
func (q *question) methodPlan(e *eye.Eye, m *lenspower.Method, s *Shelved) (MethodPlan, solved, *finding.Finding) {
	lens, from := s.lensFor(m.ID)
	own, absent := q.method(m, &lens)
	if absent != nil {
		return MethodPlan{}, own, absent
	}
	c := own.in.Constant
	origin := from[c.Key]
	x := MethodPlan{MethodAnswer: q.answer(m, &lens, own), Constant: Used{Key: c.Key, Value: number(c.Value), Origin: origin.Origin, Eyes: origin.Eyes,
		Converted: c.Converted || origin.Origin == Converted}}
	if c.Converted {
		x.Constant.Origin, x.Constant.Eyes = Converted, 0
	}
	if m.ID == "haigis" {
		x.Constant.A1, x.Constant.A2 = number(c.A1), number(c.A2)
	}
	x.Counts = own.ok && x.Power.Known && !x.Constant.Converted
	if n := nearestChoice(x.Choices, x.Power); n != nil {
		x.Uncertainty, _ = uncertain(e, predictor{m, own.in}, n.Power.Value, number(n.Refraction.Value-float64(q.target)))
	}
	return x, own, nil
}

// nearestChoice is the step of the shelf nearest to a power.
func nearestChoice(list []Choice, power Number) (best *Choice) {
	for i := range list {
		if best == nil || math.Abs(list[i].Power.Value-power.Value) <= math.Abs(best.Power.Value-power.Value) {
			best = &list[i]
		}
	}
	return best
}

// agree fills the agreement from the methods that count.
func (l *LensPlan) agree() {
	l.Agreement.Methods = []string{}
	var powers []float64
	for i := range l.Methods {
		if m := &l.Methods[i]; m.Counts {
			l.Agreement.Methods = append(l.Agreement.Methods, m.Method)
			powers = append(powers, m.Power.Value)
		}
	}
	if len(powers) == 0 {
		return
	}
	l.Agreement.Median = median(powers)
	if len(powers) > 1 {
		l.Agreement.Spread = number(slices.Max(powers) - slices.Min(powers))
	}
}

// guide lists what the publications prefer for this length. Without a method
// that counts there is no guidance.
func (l *LensPlan) guide(e *eye.Eye) {
	if len(l.Agreement.Methods) == 0 {
		return
	}
	for _, a := range lenspower.Guidance(e.AxialLength.Value) {
		g := Guidance{Source: a.Source.Key, Where: a.Source.Where, Grade: a.Source.Grade, Low: number(a.Length.Low), High: number(a.Length.High),
			Prefers: append([]string{}, a.Prefers...), Counts: []string{}, Mean: a.Mean, Others: a.Others}
		for _, id := range a.Prefers {
			if slices.Contains(l.Agreement.Methods, id) {
				g.Counts = append(g.Counts, id)
			}
		}
		l.Guidance = append(l.Guidance, g)
	}
}

// powers lists the steps around the median power, every step a counting
// method shows, and the chosen power if it is made.
func (l *LensPlan) powers(e *eye.Eye, s *Shelved, eyes []solved, target unit.Dioptre, chosen *Pick) {
	steps := shelf{s.Lens.From, s.Lens.To, s.Lens.Step}
	if !l.Agreement.Median.Known {
		return
	}
	list := steps.around(l.Agreement.Median.Value)
	for i := range l.Methods {
		if l.Methods[i].Counts {
			list = append(list, steps.around(l.Methods[i].Power.Value)...)
		}
	}
	if chosen != nil && chosen.Model == l.Model && steps.has(float64(chosen.Power)) {
		list = append(list, steps.at(steps.nearest(float64(chosen.Power))))
	}
	slices.Sort(list)
	for _, power := range slices.Compact(list) {
		l.Powers = append(l.Powers, l.power(e, s, eyes, power, target))
	}
}

// power is what one power on the shelf would leave.
func (l *LensPlan) power(e *eye.Eye, s *Shelved, eyes []solved, power float64, target unit.Dioptre) PowerPlan {
	x := PowerPlan{Power: number(power), Stock: s.stock(power), Refractions: []Refraction{}}
	var counted []float64
	for i := range l.Methods {
		r := Refraction{Method: l.Methods[i].Method, Refraction: eyes[i].refraction(power), Counts: l.Methods[i].Counts}
		x.Refractions = append(x.Refractions, r)
		if r.Counts && r.Refraction.Known {
			counted = append(counted, r.Refraction.Value)
		}
	}
	x.Predicted = median(counted)
	if len(counted) == 0 {
		return x
	}
	x.Lowest, x.Highest = number(slices.Min(counted)), number(slices.Max(counted))
	x.by = l.middle(eyes, x)
	x.Uncertainty, x.shares = uncertain(e, x.by, power, number(x.Predicted.Value-float64(target)))
	return x
}

// middle is the counting method whose prediction lies nearest to the median:
// its optics carry the spread.
func (l *LensPlan) middle(eyes []solved, x PowerPlan) predictor {
	best, off := predictor{}, math.Inf(1)
	for i, r := range x.Refractions {
		if d := math.Abs(r.Refraction.Value - x.Predicted.Value); r.Counts && r.Refraction.Known && d < off {
			best, off = predictor{lenspower.MethodNamed(r.Method), eyes[i].in}, d
		}
	}
	return best
}

// recommend takes, among the powers shown that are in stock or were never
// counted, the one whose predicted refraction is nearest to the target; a tie
// takes the higher power.
func (l *LensPlan) recommend(s *Shelved, target unit.Dioptre) {
	nearest, ready := -1, -1
	off := func(i int) float64 { return math.Abs(l.Powers[i].Predicted.Value - float64(target)) }
	for i := range l.Powers {
		if !l.Powers[i].Predicted.Known {
			continue
		}
		if nearest < 0 || off(i) <= off(nearest) {
			nearest = i
		}
		if l.ready(i) && (ready < 0 || off(i) <= off(ready)) {
			ready = i
		}
	}
	if ready < 0 {
		return
	}
	x := &l.Powers[ready]
	l.Recommended = &Recommendation{Power: x.Power, Predicted: x.Predicted, Reason: Nearest, Methods: len(l.Agreement.Methods), Nearest: l.Powers[nearest].Power}
	if ready != nearest {
		l.Recommended.Reason = NearestInStock
	}
}

// ready reports whether power i lies on the shelf, or was never counted.
func (l *LensPlan) ready(i int) bool { return !l.Powers[i].Stock.Known || l.Powers[i].Stock.Value > 0 }

// lacks says what keeps this lens from an answer.
func (l *LensPlan) lacks(s *Shelved, q *question) (list []finding.Finding) {
	switch {
	case q.unusual || q.err != nil:
		return nil
	case len(l.Agreement.Methods) == 0:
		return append(list, noMethodCounts.On("constants", finding.Value{Name: "model", Text: l.Model}))
	case len(l.Powers) == 0:
		return append(list, outsideShelf.On("", finding.Value{Name: "got", Text: unit.Dioptre(l.Agreement.Median.Value).String()},
			finding.Value{Name: "low", Text: s.Lens.From.String()}, finding.Value{Name: "high", Text: s.Lens.To.String()}))
	}
	if s.Stock == nil {
		list = append(list, stockNotCounted.On("", finding.Value{Name: "model", Text: l.Model}))
	}
	if l.Recommended == nil {
		list = append(list, outOfStock.On("", finding.Value{Name: "model", Text: l.Model}, finding.Value{Name: "got", Text: unit.Dioptre(l.Agreement.Median.Value).String()}))
	}
	if sp := l.Agreement.Spread; sp.Known && sp.Value > apartLimit {
		list = append(list, methodsApart.On("", finding.Value{Name: "got", Text: unit.Dioptre(sp.Value).Unsigned()},
			finding.Value{Name: "limit", Text: unit.Dioptre(apartLimit).Unsigned()}))
	}
	return list
}
