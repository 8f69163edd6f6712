package optics

import (
	"linn/source"
	"linn/unit"
)

// CornealStroma is the index of the cornea in the schematic eyes.
const CornealStroma unit.Index = 1.376

var _ = source.Declare(source.Constant{Name: "optics.index-cornea", Value: float64(CornealStroma),
	Ref: source.Ref{Key: source.Gullstrand1909, Where: "exact eye No. 1", Grade: source.Memory}})

// Cornea is a cornea of two surfaces in air, with aqueous behind it.
type Cornea struct {
	Anterior  unit.Millimetre // radius of the front surface
	Posterior unit.Millimetre // radius of the back surface
	Thickness unit.Millimetre
}

// surfaces gives the two surfaces; gap is from the back surface to whatever
// comes next.
func (c Cornea) surfaces(gap unit.Millimetre) [2]Surface {
	return [2]Surface{{Radius: c.Anterior, After: CornealStroma, Gap: c.Thickness}, {Radius: c.Posterior, After: Aqueous, Gap: gap}}
}

// Power returns the equivalent power, F₁ + F₂ − (t/n)·F₁·F₂.
func (c Cornea) Power() (unit.Dioptre, error) {
	f := c.surfaces(0)
	return System{Before: 1, Surfaces: f[:]}.Power()
}

// KeratometricIndex returns the index at which the anterior radius alone would
// give the equivalent power, 1 + 0.001·P·R₁.
func (c Cornea) KeratometricIndex() (unit.Index, error) {
	p, err := c.Power()
	return 1 + unit.Index(float64(p)*float64(c.Anterior)/1000), err
}
