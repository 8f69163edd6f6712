package optics

import (
	"math"

	"linn/source"
	"linn/unit"
)

func choice(name string, value float64, u, where string) float64 {
	return source.Declare(source.Constant{Name: "optics." + name, Value: value, Unit: u,
		Ref: source.Ref{Key: source.OwnChoice, Where: where, Grade: source.Own}})
}

// The model of a folded lens in a tube is our own and is held against nothing
// but the order of sizes the trade knows.
var (
	elongation = choice("fold-elongation", 1.6, "", "length of a rolled lens in its tube over its optic")
	packing    = choice("fold-packing", 0.85, "", "part of the tube's bore that the rolled lens fills")
	tubeWall   = choice("fold-tube-wall", 0.15, "mm", "wall of the tube")
)

// Volume of the optic: the edge as a disc and a cap on either side.
func (l Lens) Volume() unit.CubicMillimetre {
	r := float64(l.Optic) / 2
	return unit.CubicMillimetre(math.Pi*r*r*float64(l.Edge) + capVolume(float64(l.Front), r) - capVolume(float64(l.Back), r))
}

// capVolume of a sphere of radius r cut at a half-width, π·h·(3a² + h²)/6,
// negative when the sphere bends the other way.
func capVolume(r, half float64) float64 {
	if math.IsInf(r, 0) {
		return 0
	}
	h := math.Abs(r) - math.Sqrt(r*r-half*half)
	return math.Copysign(math.Pi*h*(3*half*half+h*h)/6, r)
}

// Section is the area of the optic cut through its middle.
func (l Lens) Section() unit.SquareMillimetre {
	half := float64(l.Optic) / 2
	return unit.SquareMillimetre(float64(l.Optic*l.Edge) + segment(float64(l.Front), half) - segment(float64(l.Back), half))
}

// segment is the area between an arc and its chord.
func segment(r, half float64) float64 {
	if math.IsInf(r, 0) {
		return 0
	}
	a := math.Asin(half / math.Abs(r))
	return math.Copysign(r*r*(a-math.Sin(a)*math.Cos(a)), r)
}

// Passage is how a lens goes into the eye.
type Passage int

// The passages.
const (
	Rigid    Passage = iota // as it is
	Folded                  // once over its diameter, in forceps
	Injected                // rolled in a tube
)

// Incision is the smallest incision a lens is likely to pass: the slit whose
// lips, drawn apart, reach around it, so half its girth. A rigid optic has the
// girth of its section; a folded one that of half the width and double the
// thickness; a rolled one fills a tube by its volume. Own model: real wounds
// stretch, real injectors differ, and no source was found for it.
func (l Lens) Incision(p Passage) unit.Millimetre {
	d := float64(l.Optic)
	switch p {
	case Folded:
		thick := 2 * float64(l.Section()) / d // mean thickness of two layers
		return unit.Millimetre(d/2 + thick)
	case Injected:
		area := float64(l.Volume()) / (elongation * d) / packing
		return unit.Millimetre(math.Pi / 2 * (math.Sqrt(4*area/math.Pi) + 2*tubeWall))
	}
	return unit.Millimetre(d + float64(l.Edge))
}
