package optics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Material is what lenses are made of, by its generic name.
type Material struct {
	Key      string
	Index    unit.Index // at eye temperature
	Foldable bool
}

func material(key string, n float64, foldable bool) Material {
	source.Declare(source.Constant{Name: "optics.material-" + key, Value: n, Ref: memory(source.LensMaterials, key)})
	return Material{key, unit.Index(n), foldable}
}

var materials = []Material{
	material("pmma", 1.4915, false),
	material("silicone-low", 1.41, true),
	material("silicone-high", 1.46, true),
	material("hydrogel", 1.43, true),
	material("hydrophilic-acrylic", 1.46, true),
	material("hydrophobic-acrylic-low", 1.47, true),
	material("hydrophobic-acrylic", 1.50, true),
	material("hydrophobic-acrylic-high", 1.55, true),
}

// Materials lists the materials of lenses.
func Materials() []Material { return append([]Material(nil), materials...) }

// The usual lens of the trade.
var (
	UsualOptic   = unit.Millimetre(trade("usual-optic", 6, "mm"))
	UsualOverall = unit.Millimetre(trade("usual-overall", 13, "mm"))
)

func trade(name string, value float64, u string) float64 {
	return source.Declare(source.Constant{Name: "optics." + name, Value: value, Unit: u, Ref: memory(source.IOLTrade, name)})
}

// Hydrogel is a material that takes up water.
type Hydrogel struct {
	Water      unit.Percent // of the weight of the wet lens
	DryDensity unit.Ratio   // over that of water
	DryIndex   unit.Index
}

// UsualHydrogel is the hydrogel of the trade, poly-HEMA with 38 % water.
var UsualHydrogel = Hydrogel{unit.Percent(trade("hydrogel-water", 38, "%")), unit.Ratio(trade("hydrogel-dry-density", 1.27, "")), unit.Index(trade("hydrogel-dry-index", 1.51, ""))}

// Swollen is what water makes of a dry hydrogel.
type Swollen struct {
	Linear unit.Ratio // wet length over dry length
	Index  unit.Index
}

// Swollen adds the volumes of polymer and water; the index is their mean by
// volume. Linear is the cube root of the wet volume over the dry one. A water
// content outside 0–95 % is a *unit.RangeError.
func (h Hydrogel) Swollen() (Swollen, error) {
	if !(h.Water >= 0 && h.Water <= 95) {
		return Swollen{}, &unit.RangeError{What: "water", Got: float64(h.Water), Low: 0, High: 95, Unit: "%"}
	}
	w := h.Water.Fraction()
	volume := 1 + w/(1-w)*float64(h.DryDensity)
	const water = 1.333
	n := (float64(h.DryIndex) + (volume-1)*water) / volume
	return Swollen{unit.Ratio(math.Cbrt(volume)), unit.Index(n)}, nil
}
