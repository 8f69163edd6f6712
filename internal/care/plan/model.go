package plan

import (
	"math"
	"slices"

	"linn/calc/lenspower"
	"linn/finding"
	"linn/unit"
)

// lens answers for one lens model.
func (q *question) lens(s *Shelved, chosen *Pick, all []Shelved) LensPlan {
	l := LensPlan{Model: s.Lens.Model, Methods: []MethodPlan{}, Guidance: []Guidance{}, Powers: []PowerPlan{}, Findings: []finding.Finding{}}
	var eyes []solved
	for _, m := range lenspower.Methods {
		answer, own, absent := q.methodPlan(m, s)
		if absent != nil {
			l.Findings = append(l.Findings, *absent)
			continue
		}
		l.Methods, eyes = append(l.Methods, answer), append(eyes, own)
	}
	more := q.further(s.lensFor, Options{})
	for i := range more.list {
		x := &more.list[i]
		l.Methods, eyes = append(l.Methods, q.asidePlan(x, s)), append(eyes, x.own)
	}
	l.Findings = append(l.Findings, slices.Concat(more.together(), more.absent)...)
	l.stops, l.operated = slices.Concat(more.stops, more.wants), more.list
	l.AfterSurgery = more.summary()
	l.agree()
	l.guide(q)
	l.powers(q, s, eyes, chosen)
	l.recommend(s, q.target)
	l.rescue(q, s, eyes, all)
	l.Lengths, l.Children = q.beside(s.lensFor), q.children(s.lensFor)
	l.Findings = worstFirst(append(l.Findings, l.lacks(s, q)...))
	return l
}

// methodPlan asks one method with the constants this lens has for it.
func (q *question) methodPlan(m *lenspower.Method, s *Shelved) (MethodPlan, solved, *finding.Finding) {
	lens, from := s.lensFor(m.ID)
	own, absent := q.method(m, &lens)
	if absent != nil {
		return MethodPlan{}, own, absent
	}
	c := own.in.Constant
	origin := from[c.Key]
	x := MethodPlan{MethodAnswer: q.answer(m.ID, m.Version, &lens, own), Constant: Used{Key: c.Key, Value: number(c.Value), Origin: origin.Origin, Eyes: origin.Eyes,
		Converted: c.Converted || origin.Origin == Converted}}
	if c.Converted {
		x.Constant.Origin, x.Constant.Eyes = Converted, 0
	}
	if m.ID == "haigis" {
		x.Constant.A1, x.Constant.A2 = number(c.A1), number(c.A2)
	}
	x.Counts = own.ok && x.Power.Known && !x.Constant.Converted
	if n := nearestChoice(x.Choices, x.Power); n != nil {
		x.Uncertainty, _ = q.uncertain(q.predictor(m, own.in), n.Power.Value, number(n.Refraction.Value-float64(q.target)))
	}
	return x, own, nil
}

// asidePlan is the line of a method beside the ordinary ones.
func (q *question) asidePlan(x *aside, s *Shelved) MethodPlan {
	lens := s.Lens
	m := MethodPlan{MethodAnswer: q.answer(x.id, x.version, &lens, x.own), Constant: x.used, Counts: x.counts}
	if n := nearestChoice(m.Choices, m.Power); n != nil && x.moved != nil {
		m.Uncertainty, _ = q.series(x, n.Power.Value, number(n.Refraction.Value-float64(q.target)))
	}
	return m
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
// that counts there is no guidance; nor after corneal surgery, where they all
// speak of ordinary methods; nor of an eye they do not hold for.
func (l *LensPlan) guide(q *question) {
	if len(l.Agreement.Methods) == 0 || q.silent() {
		return
	}
	for _, a := range lenspower.Guidance(q.in.AxialLength) {
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
// method shows, and the chosen power if it is made. After corneal surgery the
// methods lie far apart and only the steps around the median are listed.
func (l *LensPlan) powers(q *question, s *Shelved, eyes []solved, chosen *Pick) {
	steps := shelf{s.Lens.From, s.Lens.To, s.Lens.Step}
	if !l.Agreement.Median.Known {
		return
	}
	list := steps.around(l.Agreement.Median.Value)
	for i := range l.Methods {
		if l.Methods[i].Counts && q.after == nil {
			list = append(list, steps.around(l.Methods[i].Power.Value)...)
		}
	}
	if chosen != nil && chosen.Model == l.Model && steps.has(float64(chosen.Power)) {
		list = append(list, steps.at(steps.nearest(float64(chosen.Power))))
	}
	slices.Sort(list)
	for _, power := range slices.Compact(list) {
		l.Powers = append(l.Powers, l.power(q, s, eyes, power))
	}
}

// power is what one power on the shelf would leave.
func (l *LensPlan) power(q *question, s *Shelved, eyes []solved, power float64) PowerPlan {
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
	off, i := number(x.Predicted.Value-float64(q.target)), x.middle()
	if q.after != nil {
		x.Uncertainty, x.shares = q.series(l.aside(l.Methods[i].Method), power, off)
		return x
	}
	if q.adapted != nil { // no series tells how far they miss
		return x
	}
	x.by = q.predictor(lenspower.MethodNamed(l.Methods[i].Method), eyes[i].in)
	x.Uncertainty, x.shares = q.uncertain(x.by, power, off)
	return x
}

// aside is the method after corneal surgery with the id.
func (l *LensPlan) aside(id string) *aside {
	return &l.operated[slices.IndexFunc(l.operated, func(x aside) bool { return x.id == id })]
}

// middle is the place of the counting method whose prediction lies nearest to
// the median: its optics carry the spread.
func (x *PowerPlan) middle() int {
	best, off := 0, math.Inf(1)
	for i, r := range x.Refractions {
		if d := math.Abs(r.Refraction.Value - x.Predicted.Value); r.Counts && r.Refraction.Known && d < off {
			best, off = i, d
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
	case q.isUnusual && !q.adapted.answers() || q.err != nil || len(l.stops) > 0:
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
	if sp := l.Agreement.Spread; sp.Known && sp.Value > apartLimit && q.after == nil { // after surgery it is a caution of those methods
		list = append(list, methodsApart.On("", finding.Value{Name: "got", Text: unit.Dioptre(sp.Value).Unsigned()},
			finding.Value{Name: "limit", Text: unit.Dioptre(apartLimit).Unsigned()}))
	}
	return list
}
