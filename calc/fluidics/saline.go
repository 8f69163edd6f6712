package fluidics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// The handbook forms for water and what salt adds to it.
var (
	waterForm = source.Ref{Key: source.WaterHandbook, Where: "viscosity 2.414e-5 × 10^(247.8/(T-140)) Pa·s and density of water", Grade: source.Memory}
	saltOwn   = source.Ref{Key: source.OwnModel, Where: "0.154 mol/L sodium chloride", Grade: source.Own}
	magnus    = source.Ref{Key: source.Magnus1996, Where: "equation of es over water", Grade: source.Memory}

	viscosityScale = declare("water-viscosity-scale", 2.414e-5, "Pa·s", waterForm)
	viscosityB     = declare("water-viscosity-b", 247.8, "K", waterForm)
	viscosityC     = declare("water-viscosity-c", 140, "K", waterForm)
	saltViscosity  = declare("saline-viscosity-ratio", 1.015, "", saltOwn)
	saltDensity    = declare("saline-density-added", 6.4, "kg/m³", saltOwn)
	vapourScale    = declare("vapour-scale", 6.1094, "hPa", magnus)
	vapourB        = declare("vapour-b", 17.625, "", magnus)
	vapourC        = declare("vapour-c", 243.04, "°C", magnus)
	hPaToMmHg      = declare("mmhg-per-hpa", 0.750062, "mmHg/hPa", source.Ref{Key: source.SI, Where: "100 Pa over the conventional mmHg", Grade: source.Memory})
)

// salineBounds is where the handbook forms hold and a theatre can be.
var salineBounds = unit.Bounds{Low: 5, High: 45}

// Saline is an irrigating solution at one temperature, taken as 0.9 % saline.
type Saline struct {
	Temperature unit.Celsius
	Viscosity   unit.MillipascalSecond
	Density     unit.KilogramPerCubicMetre
	Vapour      unit.MillimetreHg // absolute pressure at which it boils
}

// SalineAt gives the properties from 5 to 45 °C: the viscosity of water by a
// three-constant fit times 1.015, the density of water plus 6.4 kg/m³, the
// vapour pressure of water by the Magnus form. The fit of the viscosity differs
// from the handbook by up to 0.5 %.
func SalineAt(t unit.Celsius) (Saline, error) {
	if err := inside("temperature", float64(t), salineBounds, "°C"); err != nil {
		return Saline{}, err
	}
	c := float64(t)
	return Saline{
		Temperature: t,
		Viscosity:   unit.MillipascalSecond(1000 * saltViscosity * waterViscosity(c)),
		Density:     unit.KilogramPerCubicMetre(waterDensity(c) + saltDensity),
		Vapour:      unit.MillimetreHg(vapourScale * math.Exp(vapourB*c/(c+vapourC)) * hPaToMmHg),
	}, nil
}

// waterViscosity in Pa·s at c °C.
func waterViscosity(c float64) float64 {
	return viscosityScale * math.Pow(10, viscosityB/(float64(unit.Celsius(c).Kelvin())-viscosityC))
}

// waterDensity in kg/m³ at c °C, greatest at 3.9863 °C.
func waterDensity(c float64) float64 {
	d := c - 3.9863
	return 1000 * (1 - (c+288.9414)/(508929.2*(c+68.12963))*d*d)
}

// Head is the pressure under a column of this fluid as high as h, which the
// conventional factor of water states 0.3 to 0.5 % lower.
func (s Saline) Head(h unit.CentimetreWater) unit.MillimetreHg {
	pascal := float64(s.Density) * float64(unit.StandardGravity) * float64(h) / 100
	return unit.Pascal(pascal).MillimetreHg()
}
