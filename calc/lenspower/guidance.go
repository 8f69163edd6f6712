package lenspower

import (
	"math"
	"slices"

	"linn/source"
	"linn/unit"
)

// Advice is what one publication says about the choice of a method for an
// axial length. It is guidance, never a rule of this program.
type Advice struct {
	Source  source.Ref
	Length  unit.Bounds // of the band the axial length falls in, in mm; ±Inf where it is open
	Prefers []string    // method ids; the source takes any one of them, or
	Mean    bool        // the mean of them all
	Others  bool        // the source also names a method that is not published as equations
}

// band is one row of a recommendation: the lengths from the row before up to
// its limit.
type band struct {
	below   float64
	prefers []string
	mean    bool
	others  bool
}

var recommendations = []struct {
	ref   source.Ref
	bands []band
}{
	{source.Ref{Key: source.NICE2017, Where: "formula by axial length", Grade: source.Memory}, []band{
		{22, []string{"haigis", "hoffer-q"}, false, false},
		{26, []string{"srk-t"}, false, true},
		{math.Inf(1), []string{"haigis", "srk-t"}, false, false}}},
	{source.Ref{Key: source.Hoffer1993, Where: "recommendation by axial length, as quoted by an encyclopaedia of ophthalmology", Grade: source.Secondary}, []band{
		{22, []string{"hoffer-q"}, false, false},
		{24.5, []string{"hoffer-q", "holladay-1", "srk-t"}, true, false},
		{26, []string{"holladay-1"}, false, false},
		{math.Inf(1), []string{"srk-t"}, false, false}}},
}

// Guidance returns what each publication prefers for an axial length, nothing
// for a length that is not a number.
func Guidance(length unit.Millimetre) []Advice {
	var list []Advice
	for _, r := range recommendations {
		low := math.Inf(-1)
		for i, b := range r.bands {
			// "below 22" leaves 22.0 to the next band; "up to 24.5" keeps 24.5.
			if x := float64(length); x < b.below || i > 0 && x == b.below {
				list = append(list, Advice{r.ref, unit.Bounds{Low: low, High: b.below}, slices.Clone(b.prefers), b.mean, b.others})
				break
			}
			low = b.below
		}
	}
	return list
}
