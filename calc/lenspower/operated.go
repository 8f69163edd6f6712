package lenspower

import (
	"linn/source"
	"linn/unit"
)

// Corneas after laser surgery: the two published corrections of the corneal
// power that a printed number exists for.
const (
	haigisLSlope  = -5.1625
	haigisLZero   = 82.2603
	haigisLMargin = -0.35
	haigisLPower  = 331.5

	jaradeStroma = 1000 * (1.376 - 1)
)

var _ = declare(source.HaigisLNote, source.Secondary,
	coefficient{"haigis-l.slope", haigisLSlope, "D/mm", "equation, myopic"},
	coefficient{"haigis-l.zero", haigisLZero, "D", "equation, myopic"},
	coefficient{"haigis-l.margin", haigisLMargin, "D", "equation, myopic"},
	coefficient{"haigis-l.power-times-radius", haigisLPower, "D·mm", "equation, myopic"},
) && declare(source.JaradeTabbara, source.Read,
	coefficient{"jarade-tabbara.power-times-radius", jaradeStroma, "D·mm", "abstract, 1.376 - 1"},
)

// HaigisLRadius returns the corrected corneal radius after myopic laser
// surgery, 331.5/(−5.1625·r + 82.2603 − 0.35), from a radius measured by
// partial-coherence keratometry. Domain: measured radius 7 to 11.5 mm (our own
// bounds); outside, a *unit.RangeError.
func HaigisLRadius(measured unit.Millimetre) (unit.Millimetre, error) {
	bounds := unit.Bounds{Low: 7, High: 11.5}
	if !within(float64(measured), bounds) {
		return 0, outside("radius_mm", float64(measured), bounds, "mm")
	}
	return unit.Millimetre(haigisLPower / (haigisLSlope*float64(measured) + haigisLZero + haigisLMargin)), nil
}

// LaserChange is a cornea before laser surgery and its radius now.
type LaserChange struct {
	KBefore      unit.Dioptre // at 1.3375
	RadiusBefore unit.Millimetre
	RadiusAfter  unit.Millimetre
}

// JaradeTabbaraK returns the corneal power after laser surgery from what the
// surgery changed, Kpre − (1.376 − 1)·(Rpost − Rpre)/(Rpost·Rpre) with radii in
// metres. A radius outside 5 to 12 mm (our own bounds) is a *unit.RangeError.
func JaradeTabbaraK(c LaserChange) (unit.Dioptre, error) {
	bounds := unit.Bounds{Low: 5, High: 12}
	for _, r := range [...]unit.Millimetre{c.RadiusBefore, c.RadiusAfter} {
		if !within(float64(r), bounds) {
			return 0, outside("radius_mm", float64(r), bounds, "mm")
		}
	}
	if !within(float64(c.KBefore), kBounds) {
		return 0, outside("k_before_d", float64(c.KBefore), kBounds, "D")
	}
	before, after := float64(c.RadiusBefore), float64(c.RadiusAfter)
	return c.KBefore - unit.Dioptre(jaradeStroma*(after-before)/(after*before)), nil
}
