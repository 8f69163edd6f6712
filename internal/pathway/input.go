package pathway

import (
	"errors"
	"math"
	"slices"
	"strconv"
	"strings"

	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/unit"
)

// situation is a case with everything around it that its plan rests on.
type situation struct {
	caseAt
	patient  string // after merges
	who      casebook.Identity
	erased   bool
	fellow   casebook.WardRow // zero: the fellow eye has no case
	beside   eye.Eye          // the fellow eye as recorded, wherever it stands
	unread   map[string]string
	protocol LocalProtocol
	shelf    []ShelfLens
	asOf     unit.Date
	glance   bool // plan the chosen lens alone: what the Ward needs
}

// gather reads everything around a case.
func (t *turn) gather(c caseAt) (s situation, err error) {
	s = situation{caseAt: c, asOf: t.today()}
	if c.List != nil && s.asOf.Before(c.List.Date) {
		s.asOf = c.List.Date
	}
	if s.patient, err = casebook.Resolve(t.tx, c.Patient); err != nil {
		return s, err
	}
	if s.who, err = casebook.Identify(t.tx, s.patient); errors.Is(err, ErrErased) {
		s.erased, err = true, nil
	}
	if err != nil {
		return s, err
	}
	if s.fellow, err = t.fellowOf(&c); err != nil {
		return s, err
	}
	if err = t.besideOf(&s); err != nil {
		return s, err
	}
	if s.protocol, err = t.protocol(); err != nil {
		return s, err
	}
	s.shelf, err = t.shelf()
	return s, err
}

// besideOf finds the fellow eye's readings: in its own case, else beside this
// one's.
func (t *turn) besideOf(s *situation) error {
	if s.fellow.Case == "" {
		if s.Eye.Fellow != nil {
			s.beside = *s.Eye.Fellow
		}
		s.unread = beneath(s.Unread, besideKey)
		return nil
	}
	f, err := t.load(s.fellow.Case, Newest)
	if err != nil {
		return err
	}
	s.beside, s.unread = f.Eye, beneath(f.Unread, "")
	s.beside.Fellow = nil
	return nil
}

// beneath are the entries whose key begins with prefix, without it; "" takes
// those of the eye itself.
func beneath(m map[string]string, prefix string) map[string]string {
	own := map[string]string{}
	for key, text := range m {
		rest, is := strings.CutPrefix(key, prefix)
		if is && (prefix != "" || !strings.HasPrefix(key, besideKey)) {
			own[rest] = text
		}
	}
	return own
}

// eyeForPlan is the case's eye with what the patient and the day say of it.
func (s *situation) eyeForPlan() eye.Eye {
	e := s.Eye
	e.Fellow = nil
	s.person(&e, s.Side)
	if s.beside != (eye.Eye{}) {
		f := s.beside
		s.person(&f, s.Side.Other())
		e.Fellow = &f
	}
	return e
}

// childhood is the age up to which children's tables go by months.
const childhood unit.Year = 18

func (s *situation) person(e *eye.Eye, side eye.Side) {
	e.Side, e.AsOf, e.Sex, e.Age, e.Unusual.AgeMonths = side, s.asOf, s.who.Sex, unit.Reading[unit.Year]{}, unit.Reading[unit.Constant]{}
	if age, ok := s.who.AgeOn(s.asOf); ok {
		e.Age = unit.Known(age)
		if days, exact := s.who.BirthDate.DaysUntil(s.asOf); exact && age < childhood { // by a birth date, not by an estimated age
			e.Unusual.AgeMonths = unit.Known(unit.Constant(math.Floor(float64(days) / 365.25 * 12)))
		}
	}
}

// input is what the plan is made from.
func (t *turn) input(s *situation) (plan.Input, error) {
	in := plan.Input{Eye: s.eyeForPlan(), MaxAgeDays: s.protocol.MaxAgeDays(), Program: t.Program, Rules: plan.Rules}
	for key, d := range s.Details {
		if key == wearDetail {
			in.ContactLenses = wear(d, s.Eye.MeasuredOn)
			continue
		}
		in.Details = with(in.Details, key, detail(d))
	}
	for _, l := range s.shelf {
		chosen := s.Chosen != nil && l.ID == s.Chosen.Lens
		switch {
		case l.Withdrawn != "" || len(l.Constants) == 0:
		case !chosen && l.MadeFor != "" && l.MadeFor != string(in.Eye.Placement):
			in.Rescue = append(in.Rescue, shelved(l.LensModel))
		case !s.glance || chosen:
			in.Shelf = append(in.Shelf, shelved(l.LensModel))
		}
	}
	if s.Chosen != nil {
		in.Chosen = &plan.Pick{Model: s.modelName(), Power: s.Chosen.Power}
	}
	in.Clinical = t.clinical(s)
	earlier, err := t.earlier(s)
	in.Earlier = earlier
	return in, err
}

// modelName is the chosen model's name as the Shelf has it now.
func (s *situation) modelName() string {
	for _, l := range s.shelf {
		if l.ID == s.Chosen.Lens {
			return l.Model
		}
	}
	return s.Chosen.Model
}

func detail(d casebook.Detail) plan.Detail {
	out := plan.Detail{N: d.N, MeasuredOn: d.MeasuredOn}
	if v, err := unit.ParseNumber(d.SD); err == nil {
		out.SD = plan.Number{Value: v, Known: true}
	}
	return out
}

// wearDetail is the key under which it is kept when contact lenses were last
// worn: Method is the kind, MeasuredOn the last day in the eye.
const wearDetail = "contact_lenses"

func wear(d casebook.Detail, measured unit.Date) *plan.Wear {
	w := &plan.Wear{Kind: biometry.Wear(d.Method)}
	if days, ok := d.MeasuredOn.DaysUntil(measured); ok {
		w.DaysOut = plan.Number{Value: float64(days), Known: true}
	}
	return w
}

// shelved is a lens model as the plan takes it. Constants for any method also
// stand in the lens itself.
func shelved(m casebook.LensModel) plan.Shelved {
	s := plan.Shelved{Lens: lenspower.NewLens()}
	s.Lens.Model, s.Lens.MadeFor = m.Model, eye.Placement(m.MadeFor)
	switch acrylic := strings.Contains(strings.ToLower(m.Material), "acrylic"); {
	case m.Pieces == casebook.ThreePiece || m.Pieces == casebook.OnePiece && m.Material != "" && !acrylic:
		s.Lens.OnePieceSoftAcrylic = lenspower.No
	case m.Pieces == casebook.OnePiece && acrylic:
		s.Lens.OnePieceSoftAcrylic = lenspower.Yes
	}
	set := func(key string, v float64) {
		f := lenspower.LensFieldNamed(key)
		if f == nil {
			return // a section of a newer program
		}
		if refused := f.Set(&s.Lens, strconv.FormatFloat(v, 'f', -1, 64)); refused != nil {
			panic("pathway: a number on the shelf is refused: " + refused.Error())
		}
	}
	for key, v := range m.Lens {
		set(key, v)
	}
	for _, c := range m.Constants {
		if c.Method == "" {
			set(c.Name, c.Value)
		}
		s.Constants = append(s.Constants, plan.Constant{Method: c.Method, Key: c.Name, Value: unit.Constant(c.Value), Origin: string(c.Origin), Eyes: c.Eyes})
	}
	for _, x := range m.Stock {
		s.Stock = append(s.Stock, plan.Stock{Power: x.Power, Count: x.Count})
	}
	return s
}

// earlier finds the readings of an earlier day in the case's own past, with
// the fellow eye's of that day: the last state that was measured on another
// day than the present one. It is nil when there is none.
func (t *turn) earlier(s *situation) (*eye.Eye, error) {
	was, err := t.stateBefore(s.id, s.head.Number, func(e *eye.Eye) bool { return e.MeasuredOn != s.Eye.MeasuredOn })
	if err != nil || was == nil {
		return nil, err
	}
	e := was.Eye
	e.Side = s.Side
	if e.Fellow == nil && s.fellow.Case != "" {
		beside, err := t.stateBefore(s.fellow.Case, s.fellow.Number+1, func(f *eye.Eye) bool { return f.MeasuredOn == e.MeasuredOn })
		if err != nil {
			return nil, err
		}
		if beside != nil {
			e.Fellow = &beside.Eye
		}
	}
	if e.Fellow == nil {
		return nil, nil
	}
	f := *e.Fellow
	f.Side, f.Fellow = s.Side.Other(), nil
	e.Fellow = &f
	return &e, nil
}

// stateBefore is the last state of a case before a revision whose eye was
// measured on a known day and fits; readings moved away since are hidden.
func (t *turn) stateBefore(id string, before int, fits func(*eye.Eye) bool) (*casebook.Case, error) {
	versions, err := t.history(id)
	if err != nil || len(versions) == 0 {
		return nil, err
	}
	masks := versions[len(versions)-1].State.Masked
	for _, v := range slices.Backward(versions) {
		if v.Revision.Number >= before {
			continue
		}
		c := casebook.Hide(v.State, v.Revision.Number, masks)
		if c.Eye.MeasuredOn.Known() && c.Eye.AxialLength.Known && fits(&c.Eye) {
			return &c, nil
		}
	}
	return nil, nil
}

// made is a plan, or why there is none.
type made struct {
	plan    *plan.Plan
	refused finding.Refusals
	doubts  []finding.Finding // of the readings, when there is no plan
}

// make plans a situation. Readings that are missing or cannot stand together
// give no plan; what is doubtful about the others is said all the same.
func (t *turn) make(s *situation) (m made, err error) {
	in, err := t.input(s)
	if err != nil {
		return m, err
	}
	if m.refused = plan.Refuse(&in.Eye, &anyLens); t.Off {
		m.refused = append(m.refused, finding.Refusal{Code: "calculation-off"})
	}
	if len(m.refused) > 0 {
		m.doubts = biometry.Check(&in.Eye, biometry.Options{MaxAgeDays: in.MaxAgeDays, Earlier: in.Earlier})
		if in.Clinical != nil {
			m.doubts = append(m.doubts, in.Clinical.Decide(&in.Eye).Findings...)
		}
		m.doubts = slices.DeleteFunc(m.doubts, func(f finding.Finding) bool { return f.Code == requiredCode }) // refused says it
		return m, nil
	}
	p := plan.Make(in)
	m.plan = &p
	return m, nil
}

// requiredCode is the finding of a missing length or K.
const requiredCode = "reading-required"

// anyLens has a constant, so that only the eye is asked for what it lacks.
var anyLens = lenspower.Lens{Constants: lenspower.Constants{A: unit.Known[unit.Constant](118)}}

// findings are what stands against signing as it is.
func (m *made) findings() []finding.Finding {
	if m.plan == nil {
		return m.doubts
	}
	return m.plan.All()
}
