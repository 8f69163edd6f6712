package pathway

import (
	"strings"

	"linn/calc/astigmatism"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/internal/care/sheet"
	"linn/unit"
)

// The parts of an answer about a cornea, for those who print it.
type (
	CorneaAnswer      = plan.CorneaAnswer
	CorneaInput       = plan.CorneaInput
	CorneaPlan        = plan.CorneaPlan
	CorneaAfter       = plan.After
	IncisionPlan      = plan.IncisionPlan
	ToricPlan         = plan.ToricPlan
	ToricChoice       = plan.ToricChoice
	Astigmatism       = plan.Astigmatism
	RefractionNumbers = plan.RefractionNumbers
	InducedEye        = plan.InducedEye
	SeriesAnswer      = plan.SeriesAnswer
	SeriesGroup       = plan.SeriesGroup
	EllipseNumbers    = plan.EllipseNumbers
	Meridional        = plan.Meridional
)

// AfterField is one key of what was found after surgery.
type AfterField struct {
	eye.Field
	set func(*plan.After, string) error
}

// Set reads text into a, or says why it refuses.
func (f *AfterField) Set(a *plan.After, text string) *finding.Refusal {
	err := f.set(a, text)
	if err == nil {
		return nil
	}
	r := f.Refusal(err)
	return &r
}

func after[U unit.Quantity](key, name string, low, high float64, at func(*plan.After) *unit.Reading[U]) AfterField {
	f := AfterField{Field: eye.Field{Key: key, Unit: name, Number: true, Bounds: unit.Bounds{Low: low, High: high}}}
	f.set = func(a *plan.After, text string) error {
		v, err := unit.Parse[U](text, key, name, f.Bounds)
		if err == nil {
			*at(a) = unit.Known(v)
		}
		return err
	}
	return f
}

func afterAxis(key string, at func(*plan.After) *unit.Reading[unit.Axis]) AfterField {
	f := after(key, "°", 0, 180, at)
	set := f.set
	f.set = func(a *plan.After, text string) error {
		err := set(a, text)
		if err == nil {
			at(a).Value = unit.NewAxis(unit.Degree(at(a).Value))
		}
		return err
	}
	return f
}

// AfterFields are the keys of what was found after surgery, with the keys of
// linn.eye/1 in one file.
var AfterFields = []AfterField{
	after("sphere_d", "D", -40, 40, func(a *plan.After) *unit.Reading[unit.Dioptre] { return &a.Sphere }),
	after("cylinder_d", "D", -15, 15, func(a *plan.After) *unit.Reading[unit.Dioptre] { return &a.Cylinder }),
	afterAxis("axis_deg", func(a *plan.After) *unit.Reading[unit.Axis] { return &a.Axis }),
	after("lens_d", "D", -40, 60, func(a *plan.After) *unit.Reading[unit.Dioptre] { return &a.LensPower }),
	after("lens_cylinder_d", "D", 0, 15, func(a *plan.After) *unit.Reading[unit.Dioptre] { return &a.LensCylinder }),
	afterAxis("lens_axis_deg", func(a *plan.After) *unit.Reading[unit.Axis] { return &a.LensAxis }),
	after("lens_position_mm", "mm", 2, 8, func(a *plan.After) *unit.Reading[unit.Millimetre] { return &a.Position }),
	after("k_flat_after_d", "D", 30, 60, func(a *plan.After) *unit.Reading[unit.Dioptre] { return &a.KFlat }),
	after("k_steep_after_d", "D", 30, 60, func(a *plan.After) *unit.Reading[unit.Dioptre] { return &a.KSteep }),
	afterAxis("k_steep_axis_after_deg", func(a *plan.After) *unit.Reading[unit.Axis] { return &a.KSteepAxis }),
}

// AfterFieldNamed is the field with the key, nil when there is none.
func AfterFieldNamed(key string) *AfterField {
	for i := range AfterFields {
		if AfterFields[i].Key == key {
			return &AfterFields[i]
		}
	}
	return nil
}

// Cornea answers the file of the command `linn cornea`: one eye, with its
// "lens" and what was found after surgery where they are given.
func Cornea(data []byte) (CorneaAnswer, CorneaInput, finding.Refusals) {
	keys := []string{"lens"}
	for i := range AfterFields {
		keys = append(keys, AfterFields[i].Key)
	}
	e, others, refused := eye.ParseJSON(data, keys...)
	in := CorneaInput{Eye: e, Lens: lenspower.NewLens()}
	for key, m := range others {
		switch f := AfterFieldNamed(key); {
		case key == "lens":
			l, bad := lenspower.ParseLens(m)
			in.Lens, refused = l, append(refused, bad...)
		case m.Kind != eye.Number && m.Kind != eye.Text:
			refused = append(refused, wrongKind(m, "number")...)
		default:
			if r := f.Set(&in.After, m.Text); r != nil {
				r.Line, r.Column = m.Line, m.Column
				refused = append(refused, *r)
			}
		}
	}
	in.Power = in.After.LensPower
	if !unreadable(refused) {
		for _, r := range plan.RefuseCornea(&in) {
			if !told(refused, r.Field) {
				refused = append(refused, r)
			}
		}
	}
	if len(refused) > 0 {
		sortByPlace(refused)
		return CorneaAnswer{}, in, refused
	}
	return plan.Cornea(in), in, nil
}

// sortByPlace orders refusals as they stand in the file.
func sortByPlace(list finding.Refusals) {
	for i := 1; i < len(list); i++ {
		for k := i; k > 0 && before(list[k], list[k-1]); k-- {
			list[k], list[k-1] = list[k-1], list[k]
		}
	}
}

func before(a, b finding.Refusal) bool {
	switch {
	case a.Line == 0 || b.Line == 0:
		return a.Line > b.Line
	case a.Line != b.Line:
		return a.Line < b.Line
	case a.Column != b.Column:
		return a.Column < b.Column
	}
	return strings.Compare(a.Field, b.Field) < 0
}

// CorneaRow answers one row of a table of corneas.
func CorneaRow(in *CorneaInput) (CorneaAnswer, finding.Refusals) {
	in.Power = in.After.LensPower
	if refused := plan.RefuseCornea(in); len(refused) > 0 {
		return CorneaAnswer{}, refused
	}
	return plan.Cornea(*in), nil
}

// CorneaSeries describes many eyes together.
func CorneaSeries(eyes []InducedEye) SeriesAnswer { return plan.SeriesOf(eyes) }

// Meridians describes astigmatisms as they were typed.
func Meridians(list []Meridional) SeriesGroup { return plan.SeriesOfVectors(list) }

// CorneaOf is the whole answer about the cornea of a plan: with the incisions
// that might be made.
func CorneaOf(p *plan.Plan) CorneaAnswer {
	in := CorneaInput{Eye: p.Input.Eye, Lens: lenspower.NewLens()}
	if c := p.Input.Chosen; c != nil {
		in.Power = unit.Known(c.Power)
		for i := range p.Input.Shelf {
			if p.Input.Shelf[i].Lens.Model == c.Model {
				in.Lens = p.Input.Shelf[i].Lens
			}
		}
	}
	return plan.Cornea(in)
}

// Clock is the cornea as seen from the surgeon's seat.
type (
	Clock         = sheet.Clock
	ClockMeridian = sheet.Meridian
	ClosedHours   = sheet.Closed
)

// Whose the numbers of a toric lens on a clock are.
const (
	ToricChosen  = sheet.ToricChosen
	ToricAdvised = sheet.ToricAdvised
)

// ClockOf draws the cornea of an eye with the hours that are not to be cut.
func ClockOf(e *eye.Eye, c *CorneaPlan) *Clock {
	k := sheet.ClockOf(e.Side, c)
	k.Close(e.ExcludedHours)
	return k
}

// PublishedEffect is a published mean effect of incisions made to change
// astigmatism, for reading: nothing is computed from it.
type PublishedEffect = astigmatism.MeanEffect

// PublishedEffects lists them.
func PublishedEffects() []PublishedEffect { return astigmatism.Published }
