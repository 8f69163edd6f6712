package fluidics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Bubble is air in the aspiration line: its volume at rest and the pressure of
// the air around.
type Bubble struct {
	Volume unit.Microlitre
	Air    unit.MillimetreHg // absolute
}

// Under returns the bubble's volume under a vacuum and the compliance it adds to
// the line there: V·p = constant, dV/dp = V/p. The vacuum stays below the air's
// pressure.
func (b Bubble) Under(vacuum unit.MillimetreHg) (unit.Microlitre, unit.MicrolitrePerMmHg, error) {
	if err := inside("bubble", float64(b.Volume), unit.Bounds{Low: 0, High: 5000}, "µL"); err != nil {
		return 0, 0, err
	}
	if err := inside("air", float64(b.Air), unit.Bounds{Low: 300, High: 800}, "mmHg"); err != nil {
		return 0, 0, err
	}
	if err := inside("vacuum", float64(vacuum), unit.Bounds{Low: 0, High: 0.98 * float64(b.Air)}, "mmHg"); err != nil {
		return 0, 0, err
	}
	p := float64(b.Air - vacuum)
	v := float64(b.Volume) * float64(b.Air) / p
	return unit.Microlitre(v), unit.MicrolitrePerMmHg(v / p), nil
}

// thickTube is the factor of an incompressible wall.
var thickTube = declare("thick-tube", 3, "", source.Ref{Key: source.LameTube, Where: "incompressible wall, C/L = 3π·ri²·ro²/(E(ro²-ri²))", Grade: source.Memory})

// ThickTube is an elastic tube with an incompressible wall.
type ThickTube struct {
	InnerRadius, OuterRadius unit.Millimetre
	Length                   unit.Metre
	Modulus                  unit.Pascal // Young's
}

// Compliance is that of the whole tube, 3π·ri²·ro²/(E(ro²-ri²)) per length: a
// check that the fitted line compliance is of the size that tubing has.
func (t ThickTube) Compliance() (unit.MicrolitrePerMmHg, error) {
	bounds := []bound{
		{"inner-radius", float64(t.InnerRadius), 0.1, 10, "mm"}, {"wall", float64(t.OuterRadius - t.InnerRadius), 0.05, 10, "mm"},
		{"length", float64(t.Length), 0.01, 10, "m"}, {"modulus", float64(t.Modulus), 1e5, 1e10, "Pa"},
	}
	for _, b := range bounds {
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return 0, err
		}
	}
	ri, ro := float64(t.InnerRadius)/1000, float64(t.OuterRadius)/1000
	ri2, ro2 := ri*ri, ro*ro
	perPascal := thickTube * math.Pi * ri2 * ro2 / (float64(t.Modulus) * (ro2 - ri2)) * float64(t.Length) // m³/Pa
	return unit.MicrolitrePerMmHg(perPascal / cubicToMicro * pascalPerMmHg), nil
}
