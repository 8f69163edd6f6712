package plan

import (
	"cmp"
	"errors"
	"math"
	"slices"

	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// operatedOrder are the methods after corneal surgery in the order of the
// answer. Forms of a method that the answer does not list are left to calc.
var operatedOrder = []string{"haigis-l", "shammas-pl", "shammas-phl", "masket", "masket-modified", "wang-koch-maloney", "feiz-mannis", "latkany",
	"adjusted-k", "separate-surfaces", "jarade-tabbara", "rosa", "clinical-history", "srk-t-dk", "t2-dk", "holladay-1-dk", "hoffer-q-dk"}

// OperatedMethods are those methods.
func OperatedMethods() []string { return slices.Clone(operatedOrder) }

// historicalOrder are the formulas of the past in the order of the answer.
var historicalOrder = []string{"srk-2", "binkhorst-2"}

// aside is one method beside the ordinary ones: apart, or in their place.
type aside struct {
	id, version string
	own         solved
	used        Used
	counts      bool

	working func(target, power unit.Dioptre) (forPower, forRefraction []source.Step)
	moved   func(length unit.Millimetre, power unit.Dioptre) Number // the refraction with another length; only of operated methods
}

// further is everything beside the ordinary methods.
type further struct {
	list   []aside
	absent []finding.Finding
	stops  []finding.Finding // no method that counts answers for an operated cornea
	wants  []finding.Finding // beside the stop: what would help

	eye   []finding.Finding // of the operated eye, whatever the lens
	after *lenspower.OperatedSummary
}

// constantsOf gives the lens as one method sees it, with the origin of its
// constants.
type constantsOf func(method string) (lenspower.Lens, map[string]Constant)

func oneLens(l *lenspower.Lens) constantsOf {
	return func(string) (lenspower.Lens, map[string]Constant) { return *l, nil }
}

// plain reports that nothing stands beside the ordinary methods.
func (q *question) plain(l *lenspower.Lens, o Options) bool {
	return q.after == nil && q.adapted == nil && !l.Constants.C.Known && !o.Historical
}

// further asks the methods beside the ordinary ones: our thick lens where its
// constant is given, after corneal surgery those made for it, and the formulas
// of the past where they are asked for.
func (q *question) further(of constantsOf, o Options) (f further) {
	f.thick(q, of)
	if q.after != nil {
		f.operated(q, of)
	}
	f.adapted(q, of)
	if o.Historical {
		f.historical(q, of)
	}
	return f
}

func (f *further) lacks(method, field string) {
	x := methodAbsent.On(field)
	x.Method = method
	f.absent = append(f.absent, x)
}

// lacking reports a method left out for want of an input.
func (f *further) lacking(method string, err error) bool {
	m := (*lenspower.MissingError)(nil)
	if !errors.As(err, &m) {
		return false
	}
	f.lacks(method, m.Field)
	return true
}

// settle puts a solution into its entry, or says that there is none.
func (x *aside) settle(s answering, at Number, found []finding.Finding, err error) {
	if err != nil {
		x.own.findings = append(x.own.findings, noAnswer(x.id, err))
		return
	}
	x.own.own, x.own.at, x.own.ok = s, at, true
	x.own.findings = append(x.own.findings, found...)
}

// thick asks our own method. Without its constant, which is never made from
// another, it is not asked at all.
func (f *further) thick(q *question, of constantsOf) {
	lens, from := of(lenspower.ThickLensID)
	if !lens.Constants.C.Known || q.rules < 1 {
		return
	}
	in := lenspower.ThickOf(q.eye, &lens, q.in.K)
	if key := in.Missing(); key != "" {
		f.lacks(lenspower.ThickLensID, key)
		return
	}
	x := aside{id: lenspower.ThickLensID, version: lenspower.ThickLensVersion, used: used("c", lens.Constants.C.Value, false, from)}
	if !q.isUnusual && q.err == nil {
		s, err := lenspower.SolveThick(in)
		x.settle(s, number(s.Position), s.Findings, err)
		x.working = func(target, _ unit.Dioptre) ([]source.Step, []source.Step) {
			return lenspower.WorkingThick(in, target), nil
		}
	}
	f.list = append(f.list, x)
}

func (f *further) historical(q *question, of constantsOf) {
	for _, id := range historicalOrder {
		m := lenspower.HistoricalMethodNamed(id)
		lens, from := of(id)
		s, err := m.Solve(lenspower.HistoricalInput{AxialLength: q.in.AxialLength, K: q.in.K, Vertex: q.in.Vertex, Constants: lens.Constants})
		if f.lacking(id, err) {
			continue
		}
		note := historicalMethod.On("")
		note.Method = id
		x := aside{id: id, version: m.Version, own: solved{findings: []finding.Finding{note}}}
		if m.Key == "a" {
			x.used = used("a", lens.Constants.A.Value, false, from)
		} else {
			x.used = used(m.Key, unit.Constant(lens.Constants.PACD.Value), false, from)
		}
		if !q.silent() {
			at := Number{}
			if s.Position.Known {
				at = number(s.Position.Value)
			}
			x.settle(s, at, nil, err)
		}
		f.list = append(f.list, x)
	}
}

// used is a constant with its origin.
func used(key string, v unit.Constant, converted bool, from map[string]Constant) Used {
	u := Used{Key: key, Value: number(v), Origin: from[key].Origin, Eyes: from[key].Eyes, Converted: converted || from[key].Origin == Converted}
	if converted {
		u.Origin, u.Eyes = Converted, 0
	}
	return u
}

// operatedInput collects what is known about an operated cornea. K before
// surgery is at the index of the eye, as every K of it.
func operatedInput(e *eye.Eye, k unit.Dioptre) *lenspower.OperatedInput {
	in := &lenspower.OperatedInput{Surgery: e.CornealSurgery, AxialLength: e.AxialLength.Value, K: k, ACD: e.ACD, Vertex: e.Vertex.Or(defaultVertex),
		RefractionBefore: e.RefractionBefore, RefractionAfter: e.RefractionAfter}
	index := e.KeratometricIndex.Or(biometry.StandardIndex)
	if flat, err := biometry.AtStandardIndex(e.KFlat.Value, index); err == nil && e.KFlat.Known {
		in.KFlat = unit.Known(flat)
	}
	if before, err := biometry.AtStandardIndex(e.KBefore.Value, index); err == nil && e.KBefore.Known {
		in.KBefore = unit.Known(before)
	}
	return in
}

// operated asks the methods made for the surgery, sums up those that count and
// stops where none does.
func (f *further) operated(q *question, of constantsOf) {
	var answers []lenspower.OperatedAnswer
	for _, id := range q.operatedMethods() {
		if a, asked := f.operatedOne(q, lenspower.OperatedMethodNamed(id), of); asked {
			answers = append(answers, a)
		}
	}
	s := lenspower.SummariseOperated(answers)
	f.after, f.eye = &s, lenspower.OperatedFindings(*q.after)
	if s.N > 0 {
		return
	}
	f.stops, f.wants = q.unanswered(f.absent)
	for i := range f.list { // nothing to choose from beside a stop
		f.list[i].own.ok = false
	}
}

// operatedOne asks one method with the constant of the ordinary method behind
// it, of SRK/T for the one that has none.
func (f *further) operatedOne(q *question, m *lenspower.OperatedMethod, of constantsOf) (lenspower.OperatedAnswer, bool) {
	base := m.Base(q.after.Surgery)
	lens, from := of(cmp.Or(base, "srk-t"))
	in := *q.after
	in.Constants = lens.Constants
	s, err := m.Solve(in)
	if f.lacking(m.ID, err) {
		return lenspower.OperatedAnswer{}, false
	}
	x := aside{id: m.ID, version: m.Version, used: used("a", in.Constants.A.Value, false, from)}
	if base != "" {
		c, _, _ := lenspower.MethodNamed(base).Resolve(in.Constants)
		if x.used = used(c.Key, c.Value, c.Converted, from); base == "haigis" {
			x.used.A1, x.used.A2 = number(c.A1), number(c.A2)
		}
	}
	x.settle(s, number(s.Position), s.Findings, err)
	x.working = func(target, power unit.Dioptre) ([]source.Step, []source.Step) {
		return m.Working(in, target), m.WorkingRefraction(in, power)
	}
	x.moved = func(length unit.Millimetre, power unit.Dioptre) Number {
		other := in
		other.AxialLength = length
		s, err := m.Solve(other)
		if err != nil {
			return Number{}
		}
		y := solved{own: s, ok: true}
		return y.refraction(float64(power))
	}
	a := lenspower.OperatedAnswer{Method: m, Solution: s, Err: err}
	if err == nil {
		a.Power, a.Err = s.Power(q.target)
	}
	a.Solution.Counts = a.Err == nil && s.Counts && !x.used.Converted
	x.counts = a.Solution.Counts
	f.list = append(f.list, x)
	return a, true
}

// unanswered is the stop of an operated cornea that no method which counts
// answers for, with what the methods lack, each once.
func (q *question) unanswered(absent []finding.Finding) (stops, wants []finding.Finding) {
	stops = []finding.Finding{unusualEye.On("corneal_surgery", value("got", string(q.after.Surgery)))}
	var told []string
	for _, f := range absent {
		if f.Method != lenspower.ThickLensID && !slices.Contains(told, f.Field) {
			told = append(told, f.Field)
			wants = append(wants, unusualLacks.On(f.Field, value("got", string(q.after.Surgery))))
		}
	}
	return stops, wants
}

// findings are what there is to say beside the eye's own: of the operated eye,
// of the methods together, and which were left out.
func (f *further) findings() []finding.Finding {
	return slices.Concat(f.wants, f.eye, f.together(), f.absent)
}

// together is what the methods after corneal surgery say as a group.
func (f *further) together() []finding.Finding {
	if f.after == nil || f.after.N == 0 {
		return nil
	}
	return f.after.Findings
}

// AfterSurgery is what the methods after corneal surgery that count say
// together, in D.
type AfterSurgery struct {
	Methods   []string `json:"methods"`
	NoHistory int      `json:"without_history"` // of them, those that needed nothing from before the surgery
	Median    Number   `json:"median_power_d"`
	Lowest    Number   `json:"lowest_power_d"`
	Highest   Number   `json:"highest_power_d"`
	Spread    Number   `json:"spread_d"`

	ExpectedSD Number `json:"expected_sd_d"`
	WithinHalf Number `json:"within_050_pct"`
}

// summary is nil but after corneal surgery with a method that counts.
func (f *further) summary() *AfterSurgery {
	s := f.after
	if s == nil || s.N == 0 {
		return nil
	}
	a := &AfterSurgery{Methods: []string{}, NoHistory: s.NoHistory, Median: number(s.Median), Lowest: number(s.Low), Highest: number(s.High),
		ExpectedSD: number(s.ExpectedSD), WithinHalf: number(100 * s.WithinHalf)}
	for i := range f.list {
		if f.list[i].counts {
			a.Methods = append(a.Methods, f.list[i].id)
		}
	}
	if s.N > 1 {
		a.Spread = number(s.Spread)
	}
	return a
}

// ShareAfterSurgery is the kind of the share that published series stand for.
const ShareAfterSurgery = "after_surgery_d"

// lengthShift is half the width of the difference that gives the slope of the
// refraction over the length, in mm.
const lengthShift = 1e-3

// series is the uncertainty after corneal surgery: what published series
// reached, which were measured optically, and what a length by ultrasound adds
// to it. It is not computed from this eye's K: that is what is not known.
func (q *question) series(x *aside, power float64, off Number) (u Uncertainty, shares []Share) {
	s := lenspower.SummariseOperated(nil)
	method := lengthMethod(q.eye)
	wide, narrow, err := lengthSDs(method, unit.Dioptre(power))
	if err != nil {
		return Uncertainty{}, nil
	}
	published, added := float64(s.ExpectedSD)*float64(s.ExpectedSD), 0.0
	if wide > narrow {
		slope := x.slope(q.in.AxialLength, unit.Dioptre(power))
		if !slope.Known {
			return Uncertainty{}, nil
		}
		added = slope.Value * slope.Value * (wide*wide - narrow*narrow)
	}
	sd := math.Sqrt(published + added)
	u = spread(unit.Dioptre(sd), off)
	u.Length = method
	shares = []Share{{Kind: ShareAfterSurgery, SD: number(s.ExpectedSD), Share: number(100 * published / (sd * sd))}}
	if added > 0 {
		shares = append(shares, Share{Kind: "axial_length_mm", SD: number(wide), Share: number(100 * added / (sd * sd))})
	}
	return u, shares
}

// slope is how the refraction with a power moves with the length, in D/mm.
func (x *aside) slope(length unit.Millimetre, power unit.Dioptre) Number {
	high, low := x.moved(length+lengthShift, power), x.moved(length-lengthShift, power)
	if !high.Known || !low.Known {
		return Number{}
	}
	return number((high.Value - low.Value) / (2 * lengthShift))
}

// operatedMethods are the methods made for the surgery, none for an eye that
// they are not asked about.
func (q *question) operatedMethods() (list []string) {
	if q.after == nil {
		return nil
	}
	for _, id := range operatedOrder {
		if slices.Contains(lenspower.OperatedMethodNamed(id).Surgeries, q.after.Surgery) {
			list = append(list, id)
		}
	}
	return list
}

// operatedFindings are those of the operated eye, whatever the lens.
func (q *question) operatedFindings() []finding.Finding {
	if q.after == nil {
		return nil
	}
	return lenspower.OperatedFindings(*q.after)
}
