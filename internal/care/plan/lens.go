package plan

import (
	"errors"

	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// LensFormat is the name and version of the lens answer.
const LensFormat = "linn.lens/1"

// LensAnswer is what every method says about one eye and one lens model.
type LensAnswer struct {
	Format   string            `json:"format"`
	Side     eye.Side          `json:"side"`
	Methods  []MethodAnswer    `json:"methods"`
	Findings []finding.Finding `json:"findings"`

	AfterSurgery *AfterSurgery `json:"after_surgery,omitempty"` // only after corneal surgery

	Lengths []LengthBeside `json:"lengths_beside,omitempty"` // beside the plain results, never counted

	Children []ChildBeside `json:"child_targets,omitempty"` // published targets side by side, never counted
}

// MethodAnswer is one method's answer. Numbers are unrounded: the position d
// from cornea to lens in mm, the powers for the target and for 0 in D.
type MethodAnswer struct {
	Method       string            `json:"method"`
	Version      string            `json:"version"`
	LensPosition Number            `json:"lens_position_mm"`
	Power        Number            `json:"power_d"`
	Emmetropia   Number            `json:"emmetropia_d"`
	Choices      []Choice          `json:"choices"`
	Findings     []finding.Finding `json:"findings"`
}

// Choice is a power on the shelf with the spherical equivalent it leaves at
// the spectacle plane, both in D.
type Choice struct {
	Power      Number `json:"power_d"`
	Refraction Number `json:"refraction_d"`
}

// defaults of the input rules; each is named by a finding.
const (
	defaultTarget unit.Dioptre    = 0
	defaultVertex unit.Millimetre = 12
)

// Refuse says why an eye and a lens cannot be answered at all: everything that
// is missing, at once, and corneal powers in the wrong order.
func Refuse(e *eye.Eye, l *lenspower.Lens) (refused finding.Refusals) {
	missing := func(known bool, key string) {
		if !known {
			refused = append(refused, finding.Refusal{Code: "missing", Field: key})
		}
	}
	missing(e.Side != "", "side")
	missing(e.AxialLength.Known, "axial_length_mm")
	refused = append(refused, refuseK(e)...)
	c := &l.Constants
	missing(c.A.Known || c.SF.Known || c.PACD.Known || c.A0.Known, "constants")
	if m := e.Unusual.AgeMonths; m.Known && e.Age.Known && (e.Age.Value < unit.Year(m.Value/12)-1 || e.Age.Value > unit.Year(m.Value/12)+1) {
		refused = append(refused, finding.Refusal{Code: "months-disagree", Field: "age_months", Values: finding.Values{
			{Name: "got", Text: unit.Fixed(float64(m.Value), 0)}, {Name: "years", Text: e.Age.Value.String()}}})
	}
	refused = append(append(refused, steepBelowFlat(e, "")...), refuseIncision(e)...)
	if e.Fellow != nil {
		refused = append(refused, steepBelowFlat(e.Fellow, "other_eye.")...)
	}
	return refused
}

func steepBelowFlat(e *eye.Eye, prefix string) finding.Refusals {
	if !e.KFlat.Known || !e.KSteep.Known || e.KSteep.Value >= e.KFlat.Value {
		return nil
	}
	return finding.Refusals{{Code: "steep-below-flat", Field: prefix + "k_steep_d", Values: finding.Values{
		{Name: "got", Text: e.KSteep.Value.Unsigned()}, {Name: "flat", Text: e.KFlat.Value.Unsigned()}}}}
}

// Lens answers for one eye and one lens model. The eye and the lens must have
// passed [Refuse]; what they lack beyond that is assumed and named.
func Lens(e *eye.Eye, l *lenspower.Lens) LensAnswer { return LensWith(e, l, Options{}) }

// Options are what may be asked for beside the ordinary answer.
type Options struct {
	Historical bool // the formulas of the past too; never counted
}

// LensWith is Lens with more asked for.
func LensWith(e *eye.Eye, l *lenspower.Lens, o Options) LensAnswer {
	q := ask(e)
	more := q.further(oneLens(l), o)
	a := LensAnswer{Format: LensFormat, Side: e.Side, Methods: []MethodAnswer{}, AfterSurgery: more.summary(), Findings: []finding.Finding{}}
	a.Findings = append(append(a.Findings, more.stops...), q.eyeFindings()...)
	for _, m := range lenspower.Methods {
		solved, absent := q.method(m, l)
		if absent != nil {
			a.Findings = append(a.Findings, *absent)
			continue
		}
		a.Methods = append(a.Methods, q.answer(m.ID, m.Version, l, solved))
	}
	for _, x := range more.list {
		a.Methods = append(a.Methods, q.answer(x.id, x.version, l, x.own))
	}
	a.Findings = append(a.Findings, more.findings()...)
	a.Lengths, a.Children = q.beside(oneLens(l)), q.children(oneLens(l))
	return a
}

// eyeFindings are the findings of the eye as a whole: reasons why no method
// holds, assumptions, and what is doubtful about the readings.
func (q *question) eyeFindings() []finding.Finding {
	e := q.eye
	list := append(append(q.unusual(), q.assumptions()...), suspicions(e)...)
	list = append(append(list, q.conditions()...), q.longNote()...)
	if s := q.secondEye(); s != nil {
		list = append(list, s.Findings...)
	}
	return append(list, biometry.Check(e, biometry.Options{})...)
}

func (q *question) assumptions() (list []finding.Finding) {
	e := q.eye
	if !e.Target.Known {
		list = append(list, targetAssumed.On("target_d", finding.Value{Name: "assumed", Text: defaultTarget.String()}))
	}
	if !e.Vertex.Known {
		list = append(list, vertexAssumed.On("vertex_mm", finding.Value{Name: "assumed", Text: defaultVertex.String()}))
	}
	if e.Target.Known && e.Target.Value > mostHyperopic && (!years(e).Known || years(e).Value > grown) {
		list = append(list, targetHyperopic.On("target_d", finding.Value{Name: "got", Text: e.Target.Value.String()},
			finding.Value{Name: "limit", Text: mostHyperopic.String()}))
	}
	if e.Placement != "" && e.Placement != eye.Bag && !q.adapted.answers() { // the methods of an adapted eye answer for the place
		list = append(list, placementNotBag.On("placement", finding.Value{Name: "got", Text: string(e.Placement)}))
	}
	return list
}

// question is an eye as the methods are asked about it.
type question struct {
	in        lenspower.Input // without the constant
	target    unit.Dioptre
	isUnusual bool                       // the ordinary methods do not hold
	adapted   *adaptation                // how it is answered otherwise, nil for an ordinary eye
	kSD       unit.Reading[unit.Dioptre] // of a K that is not this eye's
	replaced  []finding.Finding          // that it is not
	after     *lenspower.OperatedInput   // corneal surgery and nothing else unusual: the ordinary methods do not hold
	eye       *eye.Eye
	rules     int
	err       error // the readings make no mean K
}

// silent reports whether the ordinary methods give no number.
func (q *question) silent() bool { return q.isUnusual || q.after != nil || q.err != nil }

func ask(e *eye.Eye) question {
	k, sd, replaced, err := meanK(e)
	q := question{kSD: sd, replaced: replaced,
		in:     lenspower.Input{AxialLength: e.AxialLength.Value, K: k, ACD: e.ACD, Vertex: e.Vertex.Or(defaultVertex)},
		target: e.Target.Or(defaultTarget),
		eye:    e,
		rules:  Rules,
		err:    err,
	}
	if q.isUnusual = isUnusual(e); err == nil {
		q.adapted = adapt(e)
	}
	if operated(e) && !q.isUnusual && err == nil {
		q.after = operatedInput(e, k)
	}
	return q
}

// solved is one method with its constant and, where the formula has an
// answer, the eye with its lens position settled. own is set for the methods
// that are not of the ordinary ones.
type solved struct {
	in       lenspower.Input
	solution lenspower.Solution
	own      answering
	at       Number // lens position, beside own
	ok       bool
	findings []finding.Finding
}

// answering is a settled eye.
type answering interface {
	Power(target unit.Dioptre) (unit.Dioptre, error)
	Refraction(power unit.Dioptre) (unit.Dioptre, error)
}

// method settles the lens position. absent is the finding that names what the
// method lacks, nil when it lacks nothing.
func (q *question) method(m *lenspower.Method, l *lenspower.Lens) (s solved, absent *finding.Finding) {
	constant, findings, lacks := m.Resolve(l.Constants)
	s = solved{in: q.in, findings: findings}
	s.in.Constant = constant
	if lacks == "" {
		lacks = m.Missing(s.in)
	}
	if lacks != "" {
		f := methodAbsent.On(lacks)
		f.Method = m.ID
		return s, &f
	}
	if q.silent() {
		return s, nil
	}
	s.findings = append(s.findings, m.Findings(s.in)...)
	solution, err := m.Solve(s.in)
	if err != nil {
		s.findings = append(s.findings, noAnswer(m.ID, err))
		return s, nil
	}
	s.solution, s.ok = solution, true
	return s, nil
}

// noAnswer is the finding of a formula that has none for this eye.
func noAnswer(method string, err error) finding.Finding {
	f := outsideDomain.On("")
	f.Method = method
	if e := (*unit.RangeError)(nil); errors.As(err, &e) {
		f.Values = finding.Values{{Name: "what", Text: e.What}}
	}
	return f
}

// power is the unrounded power for a target, where there is one.
func (s *solved) power(target unit.Dioptre) Number {
	if !s.ok {
		return Number{}
	}
	p, err := s.powerOf(target)
	if err != nil {
		return Number{}
	}
	return number(p)
}

func (s *solved) powerOf(target unit.Dioptre) (unit.Dioptre, error) {
	if s.own != nil {
		return s.own.Power(target)
	}
	return s.solution.Power(target)
}

func (s *solved) refractionOf(power unit.Dioptre) (unit.Dioptre, error) {
	if s.own != nil {
		return s.own.Refraction(power)
	}
	return s.solution.Refraction(power)
}

// refraction is what a lens of the power leaves, where there is one.
func (s *solved) refraction(power float64) Number {
	if !s.ok {
		return Number{}
	}
	r, err := s.refractionOf(unit.Dioptre(power))
	if err != nil {
		return Number{}
	}
	return number(r)
}

// position is the lens position, where there is one.
func (s *solved) position() Number {
	if !s.ok {
		return Number{}
	}
	if s.own != nil {
		return s.at
	}
	return number(s.solution.Position)
}

// answer writes one method's answer.
func (q *question) answer(id, version string, l *lenspower.Lens, s solved) MethodAnswer {
	a := MethodAnswer{Method: id, Version: version, LensPosition: s.position(), Power: s.power(q.target), Emmetropia: s.power(0),
		Choices: []Choice{}, Findings: append([]finding.Finding{}, s.findings...)}
	if !a.Power.Known {
		return a
	}
	steps := shelf{l.From, l.To, l.Step}.around(a.Power.Value)
	if len(steps) == 0 {
		a.Findings = append(a.Findings, beyond(id, l, a.Power.Value))
	}
	for _, p := range steps {
		a.Choices = append(a.Choices, Choice{Power: number(p), Refraction: s.refraction(p)})
	}
	return a
}

func beyond(method string, l *lenspower.Lens, power float64) finding.Finding {
	f := outsideShelf.On("", finding.Value{Name: "got", Text: unit.Dioptre(power).String()},
		finding.Value{Name: "low", Text: l.From.String()}, finding.Value{Name: "high", Text: l.To.String()})
	f.Method = method
	return f
}
