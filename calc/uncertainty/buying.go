package uncertainty

import (
	"fmt"
	"math"

	"linn/eye"
	"linn/source"
	"linn/unit"
)

// Change is one thing that could be done to be surer. One of Repeat, Length
// and Constant is set.
type Change struct {
	Repeat   Repeat           // measure again
	Length   eye.LengthMethod // measure the length another way
	Constant Constant         // fit the lens constant to own results
}

// Constant is a lens constant fitted to the surgeon's own eyes.
type Constant struct {
	Cases int // own results with this lens
	// Unknown is the spread, between surgeons, of the mean error with a
	// published constant: what fitting can remove. 0 takes the default.
	Unknown unit.Dioptre
}

// unknownConstant is the spread of mean errors between surgeons with one
// published constant.
var unknownConstant = constant("constant-between-surgeons", 0.20, "D",
	source.Ref{Key: source.OwnChoice, Where: "mean error of one surgeon with a published constant; fit it to own results", Grade: source.Own})

// Bought is what a change buys.
type Bought struct {
	Change        Change
	Before, After Result
}

// Buying says what a change would buy. For a constant both sides count the
// unknown mean error: before, the offset of the budget and its whole spread;
// after, none of the offset and what n results leave open,
// 1/√(1/τ² + n/σ²), τ the unknown and σ the spread of one eye.
func Buying(f Eye, b Budget, c Change) (Bought, error) {
	now, err := Propagate(f, b)
	if err != nil {
		return Bought{}, err
	}
	out := Bought{Change: c, Before: now}
	set := 0
	for _, yes := range [...]bool{c.Repeat != Repeat{}, c.Length != "", c.Constant != Constant{}} {
		if yes {
			set++
		}
	}
	switch {
	case set != 1:
		err = fmt.Errorf("%w: %d changes at once", ErrBudget, set)
	case c.Length != "":
		b, err = b.measuredBy(c.Length)
	case c.Repeat != Repeat{}:
		b, err = b.Repeated(c.Repeat)
	default:
		return fitting(out, c.Constant)
	}
	if err != nil {
		return Bought{}, err
	}
	out.After, err = Propagate(f, b)
	return out, err
}

// measuredBy takes the spread of length, K and lens position that go with
// another method; inputs the budget does not have stay out.
func (b Budget) measuredBy(m eye.LengthMethod) (Budget, error) {
	better, err := ForMethod(m, b.At.LensPower)
	if err != nil {
		return Budget{}, err
	}
	inputs := make([]Input, len(b.Inputs))
	for i, in := range b.Inputs {
		for _, x := range better {
			if x.Kind == in.Kind && (in.Kind == AxialLength || in.Kind == LensPosition || in.Kind == MeanK) {
				in = x
			}
		}
		inputs[i] = in
	}
	b.Inputs = inputs
	return b, nil
}

func fitting(out Bought, c Constant) (Bought, error) {
	tau := float64(c.Unknown)
	if tau == 0 {
		tau = unknownConstant
	}
	if c.Cases < 1 || !(tau > 0 && tau <= 2) {
		return Bought{}, fmt.Errorf("%w: a constant fitted to %d eyes, %g D unknown", ErrBudget, c.Cases, tau)
	}
	one := float64(out.Before.SD)
	if one == 0 {
		return Bought{}, fmt.Errorf("%w: nothing is uncertain", ErrBudget)
	}
	left := 1 / math.Sqrt(1/(tau*tau)+float64(c.Cases)/(one*one))
	out.After = out.Before
	out.Before.SD = unit.Dioptre(math.Hypot(one, tau))
	out.After.SD, out.After.Offset = unit.Dioptre(math.Hypot(one, left)), 0
	return out, nil
}
