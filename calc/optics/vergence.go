package optics

import (
	"math"

	"linn/unit"
)

// Gap is a stretch of one medium along the axis.
type Gap struct {
	Distance unit.Millimetre // negative steps back
	Index    unit.Index      // 1 in air
}

// Step carries a vergence across the gap, V′ = V/(1 − (d/n)·V) with d in
// metres. A *unit.RangeError says that the wave comes to its focus exactly at
// the far end, where vergence has no value.
func (g Gap) Step(v unit.Dioptre) (unit.Dioptre, error) {
	out := v / unit.Dioptre(1-g.reduced()*float64(v))
	if !unit.Finite(out) {
		return 0, &unit.RangeError{What: "vergence_d", Got: float64(v), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	return out, nil
}

// Back undoes [Gap.Step]: V = V′/(1 + (d/n)·V′).
func (g Gap) Back(v unit.Dioptre) (unit.Dioptre, error) {
	return Gap{-g.Distance, g.Index}.Step(v)
}

// reduced is the gap divided by its index, in metres.
func (g Gap) reduced() float64 { return float64(g.Distance) / 1000 / float64(g.Index) }

// SurfacePower returns the power of a spherical surface, (n₂ − n₁)/R with R in
// metres; R is positive when the centre lies behind the surface, and [Plane]
// has no power.
func SurfacePower(radius unit.Millimetre, media Media) unit.Dioptre {
	return unit.Dioptre(1000 * float64(media.After-media.Before) / float64(radius))
}

// SurfaceRadius undoes [SurfacePower]; no power is a [Plane].
func SurfaceRadius(power unit.Dioptre, media Media) unit.Millimetre {
	if power == 0 {
		return Plane
	}
	return unit.Millimetre(1000 * float64(media.After-media.Before) / float64(power))
}

// Media are the indices on the two sides of a surface.
type Media struct{ Before, After unit.Index }

// Plane is the radius of a flat surface.
var Plane = unit.Millimetre(math.Inf(1))
