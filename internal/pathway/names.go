package pathway

import (
	"linn/internal/care/casebook"
	"linn/internal/care/followup"
	"linn/internal/care/operation"
	"linn/internal/care/plan"
	"linn/unit"
)

// What the verbs take and give, under names that the edges can say.
type (
	Actor   = casebook.Actor
	Role    = casebook.Role
	Plan    = plan.Plan
	Working = plan.Working
	Store   = casebook.Store

	Complication   = operation.Complication
	OperationField = operation.Field
	VisitField     = followup.Field
	Visit          = followup.Visit
)

// What is written down of an operation and of a visit, and in which words.
var (
	OperationFields   = operation.Fields
	OperationSteps    = operation.Steps
	HeldSteps         = operation.HeldSteps
	ComplicationKinds = operation.ComplicationKinds
	Sizes             = operation.Sizes
	VitreousWords     = operation.VitreousWords
	HandlingWords     = operation.HandlingWords
	VisitFields       = followup.Fields
	VisitGroups       = followup.Groups
	VisitKinds        = followup.Kinds
	LostWhy           = followup.LostWhy
	FollowsWhy        = casebook.FollowsWhy
	AttachedWhat      = casebook.AttachedWhat
)

// The kinds of field.
const (
	WordField   = operation.Word
	NumberField = operation.Number
	ClockField  = operation.Clock
	DayField    = operation.Day
	TextField   = operation.Text
)

// The states of a case.
const (
	StateOpen     = casebook.StateOpen
	StateReopened = casebook.StateReopened
	StateSigned   = casebook.StateSigned
	StateClosed   = casebook.StateClosed
)

// WorkingOf shows how every method came to its numbers for one model and
// power of a plan, also where another lens was chosen, or none. Of a lens
// that the plan does not hold there is nothing.
func WorkingOf(p *Plan, model string, power Number) []Working {
	if p == nil || !power.Known {
		return nil
	}
	if d := p.Decision; d != nil && d.Model == model && d.Power == power {
		return d.Working
	}
	in := p.Input
	in.Shelf = nil
	for _, l := range p.Input.Shelf {
		if l.Lens.Model == model {
			in.Shelf = append(in.Shelf, l)
		}
	}
	in.Chosen = &plan.Pick{Model: model, Power: unit.Dioptre(power.Value)}
	return plan.Make(in).Decision.Working
}

// Case is one state of an eye case, as a conflict shows it.
type Case = casebook.Case
