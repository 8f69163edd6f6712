package lenspower

import (
	"linn/source"
	"linn/unit"
)

// Rosa: the measured radius times a factor of the axial length, put into SRK/T
// with a single K, for which the factor was made.
const (
	rosaSlope = 0.0276
	rosaZero  = 0.3635
)

// rosaLength is the range of axial lengths where the factor is used: from where
// it is 1 to the end of the published rows. Our own choice.
var rosaLength = unit.Bounds{Low: 23.1, High: 30}

var _ = declare(source.Rosa2002, source.Memory,
	coefficient{"rosa.slope", rosaSlope, "1/mm", "R factor"},
	coefficient{"rosa.zero", rosaZero, "", "R factor"},
)

var rosa = []*OperatedMethod{{ID: "rosa", Version: "1", Ref: source.Ref{Key: source.Rosa2002, Where: "R factor, SRK/T with a single K", Grade: source.Memory},
	Surgeries: myopicOnly, base: always("srk-t"),
	correct: func(in *OperatedInput, n *notes) (correction, error) {
		factor, err := RosaFactor(in.AxialLength)
		if err != nil {
			return correction{}, err
		}
		r := radius(float64(in.K))
		k := keratometric / (r * float64(factor))
		n.reading("after.k-now", "K", float64(in.K), "D")
		n.add("after.radius-now", "r", r, "mm")
		n.add("after.factor", "R", float64(factor), "")
		n.add("after.radius-corrected", "r,corr", r*float64(factor), "mm")
		n.add("after.k-true", "Kc", k, "D")
		return correction{k: unit.Dioptre(k), trueK: true}, nil
	}}}

// RosaFactor returns 0.0276·AL + 0.3635. Domain: 23.1 to 30 mm (our own
// bounds; below them it would make the cornea steeper); outside, a
// *unit.RangeError.
func RosaFactor(length unit.Millimetre) (unit.Constant, error) {
	if !within(float64(length), rosaLength) {
		return 0, outside("axial_length_mm", float64(length), rosaLength, "mm")
	}
	return unit.Constant(rosaSlope*float64(length) + rosaZero), nil
}
