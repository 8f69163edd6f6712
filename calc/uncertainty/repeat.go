package uncertainty

import (
	"fmt"

	"linn/unit"
)

// Repeat is a measurement made Total times in all, each independently (own
// fixation, new alignment) and averaged.
type Repeat struct {
	Kind  Kind
	Total int // 2 is "once more"
}

// Gain is what repeating buys: the spread of the refraction before and after.
type Gain struct{ Before, After unit.Dioptre }

// Repeated returns the budget with the spread of one input reduced: only its
// reproducible part shrinks, by √Total.
func (b Budget) Repeated(r Repeat) (Budget, error) {
	if r.Total < 1 {
		return Budget{}, fmt.Errorf("%w: %s measured %d times", ErrBudget, r.Kind, r.Total)
	}
	inputs, found := make([]Input, len(b.Inputs)), false
	for i, in := range b.Inputs {
		if in.Kind == r.Kind {
			in, found = in.repeated(r.Total), true
		}
		inputs[i] = in
	}
	if !found {
		return Budget{}, fmt.Errorf("%w: %s is not among the inputs", ErrBudget, r.Kind)
	}
	b.Inputs = inputs
	return b, nil
}

// Repeating says what repeating would buy.
func Repeating(f Eye, b Budget, r Repeat) (Gain, error) {
	now, err := Propagate(f, b)
	if err != nil {
		return Gain{}, err
	}
	more, err := b.Repeated(r)
	if err != nil {
		return Gain{}, err
	}
	then, err := Propagate(f, more)
	return Gain{now.SD, then.SD}, err
}
