package plan

import (
	"cmp"
	"slices"
	"strconv"

	"linn/calc/biometry"
	"linn/calc/dose"
	"linn/calc/lenspower"
	"linn/calc/risk"
	"linn/calc/technique"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Format is the name and version of a plan.
const Format = "linn.plan/1"

// Plan is what is known and what is advised for one eye before its operation.
// It is what a surgeon signs: its inputs, every number that is printed from
// it, and the versions of what computed them.
type Plan struct {
	Format   string            `json:"format"`
	Input    Input             `json:"input"`
	Side     eye.Side          `json:"side"`
	MeanK    Number            `json:"mean_k_d"` // at index 1.3375
	Target   Number            `json:"target_d"`
	Findings []finding.Finding `json:"findings"` // of the eye, the worst first
	Lenses   []LensPlan        `json:"lenses"`
	Decision *Decision         `json:"decision"`         // null before a lens is chosen
	Cornea   *CorneaPlan       `json:"cornea,omitempty"` // where an incision or a toric lens is planned

	SecondEye *SecondEye `json:"second_eye,omitempty"` // only where the first eye's result was entered
	Versions  []Version  `json:"versions"`

	Clinical *ClinicalPlan `json:"clinical,omitempty"` // null when nothing clinical is recorded
}

// Version is the version of a method, or of the program.
type Version struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

// LensPlan is the answer for one lens model.
type LensPlan struct {
	Model       string            `json:"model"`
	Methods     []MethodPlan      `json:"methods"`
	Agreement   Agreement         `json:"agreement"`
	Guidance    []Guidance        `json:"guidance"`
	Powers      []PowerPlan       `json:"powers"` // ascending
	Recommended *Recommendation   `json:"recommended"`
	Findings    []finding.Finding `json:"findings"`

	AfterSurgery *AfterSurgery `json:"after_surgery,omitempty"` // only after corneal surgery

	Lengths  []LengthBeside `json:"lengths_beside,omitempty"`
	Children []ChildBeside  `json:"child_targets,omitempty"`
	Rescue   []Rescue       `json:"rescue,omitempty"`

	stops    []finding.Finding // of an operated cornea that nothing answers for
	operated []aside
}

// MethodPlan is one method's answer with what it rests on.
type MethodPlan struct {
	MethodAnswer
	Constant Used `json:"constant"`

	// Counts is whether the method enters agreement, guidance and
	// recommendation: it has an answer and a constant that was given.
	Counts bool `json:"counts"`

	// Uncertainty is that of the method's prediction with its nearest step of
	// the shelf.
	Uncertainty
}

// Used is the constant a method took.
type Used struct {
	Key       string `json:"key"`
	Value     Number `json:"value"`
	A1        Number `json:"a1"` // haigis only
	A2        Number `json:"a2"`
	Origin    string `json:"origin,omitempty"`
	Eyes      int    `json:"eyes,omitempty"`
	Converted bool   `json:"converted"`
}

// Agreement is how far the methods that count agree on the power for the
// target, in D. They share the axial length: their agreement does not confirm
// it.
type Agreement struct {
	Methods []string `json:"methods"`
	Median  Number   `json:"median_power_d"`
	Spread  Number   `json:"spread_d"` // highest minus lowest
}

// Guidance is what one publication prefers for this axial length.
type Guidance struct {
	Source  source.Key   `json:"source"`
	Where   string       `json:"where"`
	Grade   source.Grade `json:"grade"`
	Low     Number       `json:"from_mm"` // null: open
	High    Number       `json:"to_mm"`
	Prefers []string     `json:"prefers"`
	Counts  []string     `json:"counts"` // those of Prefers that count here
	Mean    bool         `json:"mean"`   // the mean of them all is preferred
	Others  bool         `json:"others"` // the source also names methods that are not published as equations
}

// PowerPlan is one power of the shelf.
type PowerPlan struct {
	Power       Number       `json:"power_d"`
	Stock       Number       `json:"stock"` // null: never counted
	Refractions []Refraction `json:"refractions"`
	Predicted   Number       `json:"predicted_d"` // median of the methods that count
	Lowest      Number       `json:"lowest_d"`    // over them
	Highest     Number       `json:"highest_d"`
	Uncertainty

	shares []Share   // for the decision
	by     predictor // the method whose optics carry the spread
}

// Refraction is one method's prediction.
type Refraction struct {
	Method     string `json:"method"`
	Refraction Number `json:"refraction_d"`
	Counts     bool   `json:"counts"`
}

// Recommendation is the power on the shelf that comes nearest to the target.
type Recommendation struct {
	Power     Number `json:"power_d"`
	Predicted Number `json:"predicted_d"`
	Reason    string `json:"reason"`    // nearest, nearest-in-stock
	Methods   int    `json:"methods"`   // behind the median
	Nearest   Number `json:"nearest_d"` // the nearest power, in stock or not
}

// The reasons of a recommendation.
const (
	Nearest        = "nearest"
	NearestInStock = "nearest-in-stock"
)

// Make plans one eye. The eye and each lens must have passed [Refuse].
func Make(in Input) Plan {
	e := in.eyeWithDetails()
	q := ask(&e)
	q.rules = in.Rules
	p := Plan{Format: Format, Input: in, Side: e.Side, Target: number(q.target), Lenses: []LensPlan{},
		Versions: []Version{{"program", in.Program}}}
	if q.err == nil {
		p.MeanK = number(q.in.K)
	}
	for _, m := range lenspower.Methods {
		p.Versions = append(p.Versions, Version{m.ID, m.Version})
	}
	all := slices.Concat(in.Shelf, in.Rescue)
	for i := range in.Shelf {
		p.Lenses = append(p.Lenses, q.lens(&in.Shelf[i], in.Chosen, all))
	}
	for _, id := range q.operatedMethods() {
		p.Versions = append(p.Versions, Version{id, lenspower.OperatedMethodNamed(id).Version})
	}
	if slices.ContainsFunc(p.Lenses, func(l LensPlan) bool { return l.has(lenspower.ThickLensID) }) {
		p.Versions = append(p.Versions, Version{lenspower.ThickLensID, lenspower.ThickLensVersion})
	}
	if q.adapted.answers() && q.adapted.second != "" {
		p.Versions = append(p.Versions, Version{q.adapted.second, secondVersion})
	}
	var second []finding.Finding
	if p.SecondEye = q.secondEye(); p.SecondEye != nil {
		second = p.SecondEye.Findings
	}
	p.Findings = worstFirst(slices.Concat(second, p.unanswered(&q), q.operatedFindings(), q.unusual(), q.assumptions(), q.suspicions(), q.conditions(), q.longNote(), spreadNote(&e), biometry.Check(&e, p.options())))
	if c := in.Clinical; c != nil {
		p.Clinical = c.Decide(&in.Eye)
		p.Findings = worstFirst(append(p.Findings, p.Clinical.Findings...))
		p.Versions = append(p.Versions, Version{"technique", technique.Version}, Version{"dose", dose.Version}, Version{risk.Narendran.ID, risk.Narendran.Version})
	}
	p.decide(&e)
	p.addCornea(&e)
	return p
}

func (l *LensPlan) has(method string) bool {
	return slices.ContainsFunc(l.Methods, func(m MethodPlan) bool { return m.Method == method })
}

// unanswered is the stop of an operated cornea that no lens of the shelf has
// an answer for; without a shelf, that no lens could have.
func (p *Plan) unanswered(q *question) (stops []finding.Finding) {
	switch {
	case q.after == nil:
		return nil
	case len(p.Lenses) == 0:
		f := q.further(oneLens(&anyLens), Options{})
		return slices.Concat(f.stops, f.wants)
	}
	for i := range p.Lenses {
		l := &p.Lenses[i]
		if len(l.stops) == 0 {
			return nil
		}
		for _, f := range l.stops {
			if !slices.ContainsFunc(stops, func(s finding.Finding) bool { return s.Code == f.Code && s.Field == f.Field }) {
				stops = append(stops, f)
			}
		}
	}
	return stops
}

// anyLens has every constant: what an eye lacks with it, it lacks with all.
var anyLens = lenspower.Lens{From: -10, To: 40, Step: 0.5, Constants: lenspower.Constants{A: unit.Known(unit.Constant(118)),
	SF: unit.Known(unit.Millimetre(1.2)), PACD: unit.Known(unit.Millimetre(5)), A0: unit.Known(unit.Millimetre(1.3)), A1: unit.Known(unit.Constant(0.4)), A2: unit.Known(unit.Constant(0.1))}}

// options adds what the plan itself found: the power this eye needs beside
// the mean of the chosen lens, or of the first that has one.
func (p *Plan) options() biometry.Options {
	o := p.Input.options()
	for i := range p.Lenses {
		own, mean := p.Lenses[i].emmetropia(), p.Input.Shelf[i].meanPower()
		if !own.Known || !mean.Known || o.MeanPower.Known && (p.Input.Chosen == nil || p.Input.Chosen.Model != p.Lenses[i].Model) {
			continue
		}
		o.EmmetropicPower, o.MeanPower = unit.Known(unit.Dioptre(own.Value)), unit.Known(unit.Dioptre(mean.Value))
	}
	return o
}

// emmetropia is the median power for 0 D of the methods that count.
func (l *LensPlan) emmetropia() Number {
	var list []float64
	for i := range l.Methods {
		if m := &l.Methods[i]; m.Counts && m.Emmetropia.Known {
			list = append(list, m.Emmetropia.Value)
		}
	}
	return median(list)
}

// The mean eye before cataract surgery, of 23,239.
var (
	meanEye     = source.Ref{Key: source.German2010, Where: "mean ± SD", Grade: source.Read}
	meanLength  = source.Declare(source.Constant{Name: "plan.mean-length", Value: 23.43, Unit: "mm", Ref: meanEye})
	meanRadius  = source.Declare(source.Constant{Name: "plan.mean-radius", Value: 7.69, Unit: "mm", Ref: meanEye})
	meanChamber = source.Declare(source.Constant{Name: "plan.mean-chamber", Value: 3.11, Unit: "mm", Ref: meanEye})
)

// meanPower is the median power for 0 D that the same methods ask for in the
// mean eye: the mean power of this lens, by our own arithmetic. 337.5/r turns
// its radius into a power at index 1.3375.
func (s *Shelved) meanPower() Number {
	q := question{in: lenspower.Input{AxialLength: unit.Millimetre(meanLength), K: unit.Dioptre(337.5 / meanRadius),
		ACD: unit.Known(unit.Millimetre(meanChamber)), Vertex: defaultVertex}}
	var list []float64
	for _, m := range lenspower.Methods {
		lens, from := s.lensFor(m.ID)
		own, absent := q.method(m, &lens)
		c := own.in.Constant
		if p := own.power(0); absent == nil && p.Known && !c.Converted && from[c.Key].Origin != Converted {
			list = append(list, p.Value)
		}
	}
	return median(list)
}

// median is the middle of a list, the mean of the two middles of an even one.
func median(list []float64) Number {
	if len(list) == 0 {
		return Number{}
	}
	list = slices.Sorted(slices.Values(list))
	n := len(list)
	return number((list[(n-1)/2] + list[n/2]) / 2)
}

// worstFirst orders findings by severity, gates before other cautions, and
// keeps their order otherwise.
func worstFirst(list []finding.Finding) []finding.Finding {
	if list == nil {
		return []finding.Finding{}
	}
	rank := func(f finding.Finding) int {
		if f.Gate {
			return 2*int(f.Severity) + 1
		}
		return 2 * int(f.Severity)
	}
	slices.SortStableFunc(list, func(a, b finding.Finding) int { return cmp.Compare(rank(b), rank(a)) })
	return list
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
