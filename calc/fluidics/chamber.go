package fluidics

import (
	"math"

	"linn/unit"
)

// Anterior is the anterior chamber as biometry gives it.
type Anterior struct {
	Depth            unit.Millimetre // epithelium to lens
	CornealThickness unit.Micrometre
	WhiteToWhite     unit.Millimetre
}

// Volume is that of a spherical cap, πh(3a² + h²)/6, with h the depth from the
// endothelium and a half of white-to-white: an estimate of our own. It lies near
// the published 140 ± 38 µL for usual eyes; it ignores the bulge of the lens and
// the depth of the angle.
func (a Anterior) Volume() (unit.Microlitre, error) {
	h := float64(a.Depth - a.CornealThickness.Millimetre())
	bounds := []bound{{"acd_mm", h, 0.5, 5.5, "mm from the endothelium"}, {"white_to_white_mm", float64(a.WhiteToWhite), 9, 14, "mm"}}
	for _, b := range bounds {
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return 0, err
		}
	}
	r := float64(a.WhiteToWhite) / 2
	return unit.Microlitre(math.Pi * h * (3*r*r + h*h) / 6), nil
}
