package plan

import (
	"math"

	"linn/calc/astigmatism"
	"linn/calc/lenspower"
	"linn/calc/optics"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// CorneaPlan is what the cornea, the main incision and a toric lens are
// expected to leave. Meridians are in degrees as seen from in front.
type CorneaPlan struct {
	Measured   *Astigmatism      `json:"measured"`         // by keratometry; null without its meridian
	Posterior  string            `json:"posterior_cornea"` // the method that was used
	Adjusted   *Astigmatism      `json:"with_posterior"`
	Seat       eye.Seat          `json:"surgeon_seat,omitempty"`
	Incision   *IncisionPlan     `json:"incision"` // the one chosen
	After      *Astigmatism      `json:"after_incision"`
	Candidates []IncisionPlan    `json:"candidates,omitempty"` // by what they are expected to leave
	Toric      *ToricPlan        `json:"toric"`
	Findings   []finding.Finding `json:"findings"`

	vector astigmatism.Vector // after the incision, in the dioptres of gauss
	gauss  bool               // of both surfaces, not of keratometry
}

// Astigmatism is a magnitude at its steep meridian.
type Astigmatism struct {
	Magnitude Number           `json:"magnitude_d"`
	Steep     Number           `json:"steep_deg"`
	Rule      astigmatism.Rule `json:"rule"`
}

func astigmatismOf(v astigmatism.Vector) *Astigmatism {
	c := v.Cylinder()
	return &Astigmatism{number(c.Magnitude), number(c.Steep), c.Rule()}
}

// IncisionPlan is one incision and what it is expected to leave on the cornea.
type IncisionPlan struct {
	Place     astigmatism.Place        `json:"place"`
	Type      astigmatism.IncisionType `json:"incision_type"`
	At        Number                   `json:"incision_at_deg"`
	Hour      string                   `json:"clock_hour"` // to the half hour
	Width     Number                   `json:"incision_mm"`
	Effect    Number                   `json:"incision_effect_d"` // flattening of its own meridian, on average
	SD        Number                   `json:"incision_effect_sd_d"`
	Origin    string                   `json:"origin"` // own, judgement, judgement-nearest
	After     *Astigmatism             `json:"after"`
	Expected  Number                   `json:"expected_d"`     // mean magnitude with the spread
	Within    Number                   `json:"within_050_pct"` // chance of at most 0.50 D
	Excluded  bool                     `json:"excluded"`
	Why       []string                 `json:"excluded_for,omitempty"`
	SidePorts [2]Number                `json:"side_ports_deg"`
}

func incisionPlan(c *astigmatism.Candidate) IncisionPlan {
	p := IncisionPlan{Place: c.Place, Type: c.Incision.Type, At: number(c.Incision.Direction), Hour: astigmatism.HourText(c.Incision.Direction), Width: number(c.Incision.Width),
		Effect: number(c.Effect.Flattening), SD: number(c.Effect.SD), Origin: "judgement", After: astigmatismOf(c.After.Vector()), Expected: number(c.Expected),
		Within: number(100 * c.Within), Excluded: c.Excluded, Why: c.Why}
	switch {
	case c.Effect.Own:
		p.Origin = "own"
	case c.Effect.Nearest:
		p.Origin = "judgement-nearest"
	}
	for i, d := range c.Incision.SidePorts() {
		p.SidePorts[i] = number(d)
	}
	return p
}

// ToricPlan is what each cylinder of a toric lens is expected to leave.
type ToricPlan struct {
	Model      string      `json:"model"`
	Method     string      `json:"method"` // whose eye and lens position were taken
	Position   Number      `json:"lens_position_mm"`
	Equivalent Number      `json:"lens_d"`           // spherical equivalent
	Ideal      Number      `json:"ideal_cylinder_d"` // at the lens plane, for the target
	Ratio      Number      `json:"lens_to_cornea"`   // cylinder at the lens for 1 D at the cornea
	Axis       Number      `json:"lens_axis_deg"`    // where the mark, the low-power meridian, is to lie
	Marking    Number      `json:"marking_sd_deg"`
	Steps      []ToricStep `json:"steps"`           // the first is without cylinder
	Best       Number      `json:"lens_cylinder_d"` // advised; 0: not worth it

	Chosen *ToricChoice `json:"chosen,omitempty"`     // null: the surgeon chose none
	Marks  *Number      `json:"axis_marks,omitempty"` // dots on each side of the optic, 0 a line; absent: not known
}

// ToricStep is one cylinder of the shelf.
type ToricStep struct {
	Cylinder Number `json:"lens_cylinder_d"`
	AtCornea Number `json:"at_cornea_d"`
	Sphere   Number `json:"sphere_d"` // refraction it leaves at the spectacle plane, minus form
	Residual Number `json:"cylinder_d"`
	Axis     Number `json:"axis_deg"`
	Expected Number `json:"expected_d"` // mean astigmatism at the cornea with the spread of marking
	Within   Number `json:"within_050_pct"`
	LostAt   Number `json:"lost_at_deg"` // turned by this it leaves as much as none
}

var (
	incisionOpen = finding.Declare(finding.Rule{Code: "incision-not-chosen", Severity: finding.Note, Ref: ours,
		Limit: "type, place or width of the main incision not recorded: its effect is left out"})
	seatFar = finding.Declare(finding.Rule{Code: "incision-far-from-seat", Severity: finding.Caution, Ref: ours,
		Limit: "the incision lies more than 75° from where the surgeon sits"})
	toricLacks = finding.Declare(finding.Rule{Code: "toric-lacks", Severity: finding.Note, Ref: ours,
		Limit: "toric lens: needs the steep meridian, a lens power and a method that counts"})
)

// farSeat is how far an incision may lie from the seat, in degrees.
const farSeat = 75

// corneaAsked reports whether anything of an incision was recorded.
func corneaAsked(e *eye.Eye) bool {
	return e.Incision != "" || e.IncisionAt.Known || e.IncisionHour.Known || e.Seat != "" || e.ExcludedHours != "" || e.PosteriorCornea != "" || e.ToricCylinder.Known || e.ToricAxis.Known
}

// thin is the eye of one method, for toric lenses.
type thin struct {
	optics.Thin
	method string
	k      unit.Dioptre // mean, at 1.3375
}

// keratometry is the cornea at index 1.3375.
func keratometry(e *eye.Eye) astigmatism.Keratometry {
	scale := unit.Dioptre(1)
	if n := e.KeratometricIndex; n.Known && n.Value > 1 {
		scale = unit.Dioptre(0.3375 / float64(n.Value-1))
	}
	return astigmatism.Keratometry{Flat: e.KFlat.Value * scale, Steep: e.KSteep.Value * scale, SteepAxis: e.KSteepAxis, FlatAxis: e.KFlatAxis}
}

// corneaOf answers for cornea and incision. all also lists the incisions that
// might be made. The corneal powers must be known and in order.
func corneaOf(e *eye.Eye, t *thin, all bool) *CorneaPlan {
	k := keratometry(e)
	p := &CorneaPlan{Posterior: string(astigmatism.NoPosterior), Seat: e.Seat, Findings: k.Findings()}
	v, ok, err := k.Vector()
	if err != nil || !ok {
		return p
	}
	p.Measured = astigmatismOf(v)
	a := p.adjust(e, k, v, t)
	p.Adjusted, p.vector = astigmatismOf(a.Vector), a.Vector
	q := questionOf(e, a.Vector)
	if all {
		for _, c := range q.Candidates() {
			p.Candidates = append(p.Candidates, incisionPlan(&c))
		}
	}
	p.incise(e, q, a)
	p.After = astigmatismOf(p.vector)
	return p
}

// adjust adds the back of the cornea.
func (p *CorneaPlan) adjust(e *eye.Eye, k astigmatism.Keratometry, v astigmatism.Vector, t *thin) astigmatism.Adjusted {
	var back *astigmatism.TwoSurfaces
	if front, ok, err := k.FrontRadii(); err == nil && ok && e.PosteriorRFlat.Known && e.PosteriorRSteep.Known && e.PosteriorSteepAxis.Known && e.CornealThickness.Known {
		back = &astigmatism.TwoSurfaces{Front: front, Thickness: e.CornealThickness.Value.Millimetre(),
			Back: astigmatism.Radii{Flat: e.PosteriorRFlat.Value, Steep: e.PosteriorRSteep.Value, SteepAxis: e.PosteriorSteepAxis.Value}}
	}
	var lens unit.Reading[unit.Dioptre]
	if t != nil {
		lens = unit.Known(v.Magnitude() * unit.Dioptre(astigmatism.Pseudophakic{Mean: t.Cornea, Position: t.Position}.Ratio()))
	}
	a, err := astigmatism.Posterior(e.PosteriorCornea).Adjust(v, lens, back)
	if err != nil { // the measured back is no cornea's
		a, _ = astigmatism.MeasuredBacks.Adjust(v, lens, nil)
	}
	p.Posterior, p.gauss = string(a.Method), a.Method == astigmatism.MeasuredBacks
	p.Findings = append(p.Findings, a.Findings...)
	return a
}

// The widths that candidates are shown with where none is recorded.
const (
	usualCorneal unit.Millimetre = 2.8
	usualScleral unit.Millimetre = 6.5
	leastScleral unit.Millimetre = 4 // a recorded width from here upwards is a scleral one
)

func questionOf(e *eye.Eye, v astigmatism.Vector) astigmatism.Question {
	q := astigmatism.Question{Side: e.Side, Cornea: v, Types: astigmatism.IncisionTypes}
	q.Width = func(t astigmatism.IncisionType) unit.Millimetre {
		switch w := e.IncisionWidth; {
		case w.Known && t.Scleral() == (w.Value >= leastScleral):
			return w.Value
		case t.Scleral():
			return usualScleral
		}
		return usualCorneal
	}
	if at, ok := incisionAt(e); ok && e.IncisionEffect.Known {
		mine := astigmatism.PlaceOf(at, e.Side)
		q.Own = func(t astigmatism.IncisionType, p astigmatism.Place) (astigmatism.Effect, bool) {
			start := astigmatism.StartValue(t, p, q.Width(t))
			return astigmatism.Effect{Flattening: e.IncisionEffect.Value, SD: e.IncisionEffectSD.Or(start.SD), Ref: source.Ref{Key: source.OwnChoice, Where: "the surgeon’s own results", Grade: source.Own}},
				string(t) == e.Incision && p == mine
		}
	}
	hours, err := eye.ParseHours(e.ExcludedHours)
	if err != nil {
		return q // the field took nothing that cannot be read
	}
	for _, h := range hours {
		q.Excluded = append(q.Excluded, astigmatism.Excluded{From: float64(h.From), To: float64(h.To), Why: h.Why})
	}
	return q
}

// incisionAt is where the incision is to lie.
func incisionAt(e *eye.Eye) (unit.Degree, bool) {
	switch {
	case e.IncisionAt.Known:
		return unit.Degree(math.Mod(float64(e.IncisionAt.Value), 360)), true
	case e.IncisionHour.Known:
		return astigmatism.DirectionOf(float64(e.IncisionHour.Value)), true
	}
	return 0, false
}

// refuseIncision refuses a place that is given twice and not alike.
func refuseIncision(e *eye.Eye) finding.Refusals {
	if !e.IncisionAt.Known || !e.IncisionHour.Known {
		return nil
	}
	other := astigmatism.DirectionOf(float64(e.IncisionHour.Value))
	if math.Abs(math.Remainder(float64(e.IncisionAt.Value-other), 360)) <= 1 {
		return nil
	}
	return finding.Refusals{{Code: "incision-place-twice", Field: "incision_hour", Values: finding.Values{value("deg", e.IncisionAt.Value.String()), value("other", other.String())}}}
}

// incise adds the effect of the chosen incision.
func (p *CorneaPlan) incise(e *eye.Eye, q astigmatism.Question, a astigmatism.Adjusted) {
	at, ok := incisionAt(e)
	if !ok || e.Incision == "" || !e.IncisionWidth.Known {
		for _, x := range []struct {
			lacks bool
			field string
		}{{e.Incision == "", "incision_type"}, {!ok, "incision_hour"}, {!e.IncisionWidth.Known, "incision_mm"}} {
			if x.lacks {
				p.Findings = append(p.Findings, incisionOpen.On(x.field))
				return
			}
		}
	}
	in := astigmatism.Incision{Type: astigmatism.IncisionType(e.Incision), Direction: at, Width: e.IncisionWidth.Value, Tunnel: e.TunnelLength, Lip: e.InternalLip}
	c := q.Candidate(astigmatism.PlaceOf(at, e.Side), in)
	x := incisionPlan(&c)
	p.Incision, p.vector = &x, c.After.Vector()
	p.Findings = append(append(p.Findings, c.Findings()...), a.Twice(c.Effect.Flattening)...)
	if s := astigmatism.Place(e.Seat).Direction(e.Side); e.Seat != "" && math.Abs(math.Remainder(float64(at-s), 360)) > farSeat {
		p.Findings = append(p.Findings, seatFar.On("surgeon_seat", value("hour", x.Hour), value("seat", string(e.Seat))))
	}
}

// toric answers for the cylinders of one lens model.
func (p *CorneaPlan) toric(e *eye.Eye, l *lenspower.Lens, t *thin, power unit.Reading[unit.Dioptre]) {
	cylinders := l.Cylinders()
	switch {
	case len(cylinders) == 0:
		p.unchecked(e)
		return
	case t == nil || !power.Known || p.After == nil:
		p.Findings = append(p.Findings, toricLacks.On("lens_d"))
		p.unchecked(e)
		return
	}
	v := p.vector
	if !p.gauss { // from 1.3375 to the index of the method
		v = v.Scale(float64(t.Cornea / t.k))
	}
	eyeOf := astigmatism.Pseudophakic{Mean: t.Cornea, Cornea: v, Length: t.Length, Position: t.Position, Vertex: t.Vertex}
	about := astigmatism.Circumstances{Surgery: e.CornealSurgery, Placement: e.Placement, Marking: e.MarkingSD}
	steps, err := eyeOf.Steps(power.Value, astigmatism.Shelf{Cylinders: cylinders}, about.Spread())
	ideal, err2 := eyeOf.Ideal(e.Target.Or(defaultTarget))
	if err != nil || err2 != nil {
		p.Findings = append(p.Findings, toricLacks.On("lens_d"))
		p.unchecked(e)
		return
	}
	best, said := astigmatism.Choose(steps, about.Spread())
	p.Findings = append(append(p.Findings, about.Findings()...), said...)
	p.Toric = &ToricPlan{Model: l.Model, Method: t.method, Position: number(t.Position), Equivalent: number(power.Value), Ideal: number(ideal.Cylinder), Ratio: number(eyeOf.Ratio()),
		Axis: number(ideal.Mark), Marking: number(about.Spread().SD), Best: number(steps[best].Lens.Cylinder)}
	if l.AxisMarks.Known {
		n := number(l.AxisMarks.Value)
		p.Toric.Marks = &n
	}
	for _, s := range steps {
		p.Toric.Steps = append(p.Toric.Steps, ToricStep{Cylinder: number(s.Lens.Cylinder), AtCornea: number(s.AtCornea), Sphere: number(s.Residual.Sphere), Residual: number(s.Residual.Cylinder),
			Axis: number(s.Residual.Axis), Expected: number(s.Expected), Within: number(100 * s.Within), LostAt: number(s.LostAt)})
	}
	p.chooseToric(e, eyeOf, cylinders)
}

// addCornea fills the section of the cornea where an incision or a toric lens
// is planned. The mean K, and with it the power of the lens, does not change:
// an incision steepens across as much as it flattens along.
func (p *Plan) addCornea(e *eye.Eye) {
	i := p.toricLens()
	if !corneaAsked(e) && i < 0 || !e.KFlat.Known || !e.KSteep.Known {
		return
	}
	var t *thin
	var power unit.Reading[unit.Dioptre]
	if i >= 0 {
		t, power = p.Lenses[i].thinEye(p.Input.Chosen)
	}
	p.Cornea = corneaOf(e, t, false)
	if i >= 0 {
		p.Cornea.toric(e, &p.Input.Shelf[i].Lens, t, power)
	} else {
		p.Cornea.unchecked(e)
	}
	p.Findings = worstFirst(append(p.Findings, p.Cornea.Findings...))
}

// toricLens is the place of the chosen lens when it is toric; before a lens is
// chosen, none.
func (p *Plan) toricLens() int {
	for i := range p.Input.Shelf {
		if c := p.Input.Chosen; c != nil && c.Model == p.Input.Shelf[i].Lens.Model && len(p.Input.Shelf[i].Lens.Cylinders()) > 0 {
			return i
		}
	}
	return -1
}

// thinEye is the eye of the method whose optics carry the prediction of the
// chosen power, or of the recommended one.
func (l *LensPlan) thinEye(chosen *Pick) (*thin, unit.Reading[unit.Dioptre]) {
	want := math.NaN()
	if l.Recommended != nil {
		want = l.Recommended.Power.Value
	}
	if chosen != nil && chosen.Model == l.Model {
		want = float64(chosen.Power)
	}
	for i := range l.Powers {
		x := &l.Powers[i]
		if !same(x.Power.Value, want) || x.by.method == nil {
			continue
		}
		if s, err := x.by.method.Solve(x.by.in); err == nil {
			return &thin{s.Eye(), x.by.method.ID, x.by.in.K}, unit.Known(unit.Dioptre(want))
		}
	}
	return nil, unit.Reading[unit.Dioptre]{}
}
