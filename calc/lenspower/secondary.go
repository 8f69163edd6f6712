package lenspower

import (
	"math"

	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// SecondLens asks for the power of a lens put into an eye of known refraction:
// into an aphakic eye, on top of another lens, or in exchange. The axial length
// is not needed.
type SecondLens struct {
	K        unit.Dioptre    // corneal power, at 1.3375
	Position unit.Millimetre // of the new lens
	Vertex   unit.Millimetre
	Before   unit.Dioptre // refraction now, spherical equivalent at the spectacle plane
	Target   unit.Dioptre
}

var secondaryPosition = unit.Bounds{Low: 1, High: 8} // our own

// RefractiveVergence returns the power that moves the refraction from Before to
// Target:
//
//	P = 1336/(1336/(Kc + Pre,c) − ELP) − 1336/(1336/(Kc + Post,c) − ELP)
//
// Domain: K 25 to 65 D, position 1 to 8 mm, vertex 8 to 16 mm, refractions ±40
// D; outside, or where the wave would focus in front of the lens, a
// *unit.RangeError.
func RefractiveVergence(in SecondLens) (unit.Dioptre, error) {
	switch {
	case !within(float64(in.K), kBounds):
		return 0, outside("k_flat_d", float64(in.K), kBounds, "D")
	case !within(float64(in.Position), secondaryPosition):
		return 0, outside("lens_position_mm", float64(in.Position), secondaryPosition, "mm")
	case !within(float64(in.Vertex), vertexBounds):
		return 0, outside("vertex_mm", float64(in.Vertex), vertexBounds, "mm")
	}
	pre, err := in.atLens("refraction_d", in.Before)
	if err != nil {
		return 0, err
	}
	post, err := in.atLens("target_d", in.Target)
	return pre - post, err
}

// atLens is the vergence at the lens of an eye corrected by ref.
func (in SecondLens) atLens(field string, ref unit.Dioptre) (unit.Dioptre, error) {
	if !within(float64(ref), historyBounds) {
		return 0, outside(field, float64(ref), historyBounds, "D")
	}
	rc, err := optics.ToCornea(ref, in.Vertex)
	if err != nil {
		return 0, err
	}
	least := 1336 / float64(in.Position)
	z := float64(in.K + rc)
	if !(z < least) {
		return 0, outside(field, float64(ref), unit.Bounds{Low: historyBounds.Low, High: least - float64(in.K)}, "D")
	}
	return optics.Gap{Distance: in.Position, Index: optics.Aqueous}.Step(unit.Dioptre(z))
}

// LensExchange returns the power to put in place of a lens of power old at the
// same position. Exact for the thin eye: the two lenses differ by the
// refractive vergence. Errors are those of [RefractiveVergence].
func LensExchange(in SecondLens, old unit.Dioptre) (unit.Dioptre, error) {
	more, err := RefractiveVergence(in)
	if err != nil || !unit.Finite(old) {
		return 0, err
	}
	return old + more, nil
}

// Range is a range of powers; both ends equal for a single value.
type Range struct{ Low, High unit.Dioptre }

// The rules of thumb for a second lens in front of the first.
const (
	piggybackHyperopic                    = 1.5
	piggybackMyopicLow, piggybackMyopicUp = 1.0, 1.3
)

var _ = declare(source.CommonPractice, source.Memory,
	coefficient{"piggyback.hyperopic", piggybackHyperopic, "", "power per dioptre of error"},
	coefficient{"piggyback.myopic-low", piggybackMyopicLow, "", "power per dioptre of error"},
	coefficient{"piggyback.myopic-high", piggybackMyopicUp, "", "power per dioptre of error"},
)

// PiggybackRule returns the rule of thumb beside [RefractiveVergence]: 1.5 of a
// hyperopic error, 1.0 to 1.3 of a myopic one.
func PiggybackRule(errorNow unit.Dioptre) Range {
	if errorNow >= 0 {
		return Range{piggybackHyperopic * errorNow, piggybackHyperopic * errorNow}
	}
	return Range{piggybackMyopicUp * errorNow, piggybackMyopicLow * errorNow}
}

// The aphakic multipliers: for teaching only, they differ by 7 D at +11.5 D. A
// plan uses [RefractiveVergence].
const (
	aphakicA, aphakicAConstant   = 2.02, 118.4
	aphakicB, aphakicBConstant   = 1.75, 118.84
	aphakicMyopic, aphakicMyope0 = 1.3, 1.45
)

var _ = declare(source.AphakicRules, source.Memory,
	coefficient{"aphakic.ianchulev", aphakicA, "", "multiplier"},
	coefficient{"aphakic.ianchulev-constant", aphakicAConstant, "", "A constant of the multiplier"},
	coefficient{"aphakic.mackool", aphakicB, "", "multiplier"},
	coefficient{"aphakic.mackool-constant", aphakicBConstant, "", "A constant of the multiplier"},
	coefficient{"aphakic.leccisotti", aphakicMyopic, "", "multiplier, myopes"},
	coefficient{"aphakic.leccisotti-zero", aphakicMyope0, "D", "myopes"},
)

// AphakicPowers are lens powers from the aphakic refraction by three rules, for
// teaching only.
type AphakicPowers struct{ Ianchulev, Mackool, Leccisotti unit.Dioptre }

// AphakicMultipliers returns the three rules side by side. Domain: refraction
// −20 to +25 D and A 110 to 122; outside, a *unit.RangeError.
func AphakicMultipliers(refraction unit.Dioptre, a unit.Constant) (AphakicPowers, error) {
	if b := (unit.Bounds{Low: -20, High: 25}); !within(float64(refraction), b) {
		return AphakicPowers{}, outside("refraction_d", float64(refraction), b, "D")
	}
	if b := (unit.Bounds{Low: 110, High: 122}); !within(float64(a), b) {
		return AphakicPowers{}, outside("a", float64(a), b, "")
	}
	return AphakicPowers{Ianchulev: aphakicA*refraction + unit.Dioptre(a-aphakicAConstant),
		Mackool: aphakicB*refraction + unit.Dioptre(a-aphakicBConstant), Leccisotti: aphakicMyopic*refraction + aphakicMyope0}, nil
}

// nearest is the power of stock closest to p; a tie takes the higher.
func nearest(stock []unit.Dioptre, p unit.Dioptre) (best unit.Dioptre, ok bool) {
	off := math.Inf(1)
	for _, s := range stock {
		switch d := math.Abs(float64(s - p)); {
		case d < off-1e-9 || d < off+1e-9 && s > best:
			best, off, ok = s, d, true
		}
	}
	return best, ok
}
