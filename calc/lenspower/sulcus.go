package lenspower

import (
	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// A lens in the sulcus stands forward of the bag. Two published rules reduce
// the power by bands; recomputing with the position moved is better.
const sulcusShift unit.Millimetre = 0.50

var _ = declare(source.SulcusNote, source.Secondary,
	coefficient{"sulcus.shift", float64(sulcusShift), "mm", "ELP 5.20 to 4.70"},
)

// chartLess is the published chart: from +9.5, +17.5 and +28.5 D upwards.
func chartLess(p unit.Dioptre) unit.Dioptre {
	switch {
	case p >= 28.5:
		return 1.5
	case p >= 17.5:
		return 1.0
	case p >= 9.5:
		return 0.5
	}
	return 0
}

// ninesLess is the rule of nines. Its bands share 18 and 27 D in print; here
// both belong to the lower band.
func ninesLess(p unit.Dioptre) unit.Dioptre {
	switch {
	case p > 27:
		return 1.5
	case p > 18:
		return 1.0
	case p >= 9:
		return 0.5
	}
	return 0
}

// BagLens is a lens power worked out for the bag, with the eye it is for.
type BagLens struct {
	Power    unit.Dioptre
	K        unit.Dioptre    // corneal power for the optics
	Position unit.Millimetre // in the bag
}

// SulcusPowers are the powers for the sulcus by both rules and recomputed.
type SulcusPowers struct {
	Chart      unit.Dioptre // published chart of half-dioptre bands: −1.5 from +28.5, −1.0 from +17.5, −0.5 from +9.5
	Nines      unit.Dioptre // rule of nines: −0.5 from 9 to 18, −1.0 above 18 to 27, −1.5 above 27
	Recomputed unit.Dioptre // the same eye with the position 0.50 mm forward
	Apart      bool         // the two rules differ
}

// Sulcus returns the powers for the sulcus that refract as the lens in the bag
// would: P′ = 1336/(L − d′) − 1336/(1336/K − d′) with L from the bag lens. At 18
// and 27 D exactly the rule of nines takes the lower band. Domain: K 25 to 65 D,
// position 1 to 8 mm, power −15 to +45 D; else a *unit.RangeError.
func Sulcus(in BagLens) (SulcusPowers, error) {
	powers := unit.Bounds{Low: -15, High: 45}
	switch {
	case !within(float64(in.K), kBounds):
		return SulcusPowers{}, outside("k_flat_d", float64(in.K), kBounds, "D")
	case !within(float64(in.Position), secondaryPosition):
		return SulcusPowers{}, outside("lens_position_mm", float64(in.Position), secondaryPosition, "mm")
	case !within(float64(in.Power), powers):
		return SulcusPowers{}, outside("power_d", float64(in.Power), powers, "D")
	}
	before, err := optics.Gap{Distance: in.Position, Index: optics.Aqueous}.Step(in.K)
	if err != nil {
		return SulcusPowers{}, err
	}
	behind := in.Power + before
	if !(behind > 0) {
		return SulcusPowers{}, outside("power_d", float64(in.Power), powers, "D")
	}
	length := in.Position + unit.Millimetre(1000*float64(optics.Aqueous)/float64(behind))
	moved, err := optics.Thin{Cornea: in.K, Length: length, Position: in.Position - sulcusShift}.Power(0)
	if err != nil {
		return SulcusPowers{}, err
	}
	s := sulcusRules(in.Power)
	s.Recomputed = moved
	return s, nil
}

// sulcusRules are the two published rules alone.
func sulcusRules(bag unit.Dioptre) SulcusPowers {
	s := SulcusPowers{Chart: bag - chartLess(bag), Nines: bag - ninesLess(bag)}
	s.Apart = s.Chart != s.Nines
	return s
}
