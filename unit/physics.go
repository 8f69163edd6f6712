package unit

// Quantities of the machine's physics. Each counts the unit it is named after;
// pressures are gauge unless a field says otherwise.
type (
	MillimetreHg            float64
	CentimetreWater         float64 // height of a column of water; the height of a bottle
	Pascal                  float64
	Bar                     float64
	Millilitre              float64
	Microlitre              float64
	CubicMillimetre         float64 // the volume of something solid
	SquareMillimetre        float64
	MillilitrePerMinute     float64
	MicrolitrePerSecond     float64
	MicrolitrePerMmHg       float64 // compliance
	MillilitrePerMinuteMmHg float64 // conductance of a leak, (mL/min)/mmHg

	Second                float64
	Metre                 float64
	MetrePerSecondSquared float64
	Kilohertz             float64
	Mil                   float64 // a thousandth of an inch
	Ratio                 float64 // a pure number

	Celsius               float64 // a temperature
	CelsiusDifference     float64 // a rise or a fall
	Kelvin                float64
	Joule                 float64
	Watt                  float64
	JoulePerKelvin        float64
	WattPerKelvin         float64
	MillipascalSecond     float64 // viscosity
	KilogramPerCubicMetre float64
	Newton                float64
	GramForce             float64
)

// Factors between units. Those of SI are exact by definition.
const (
	mmHgPerCmWater   = 0.735559   // conventional water column, 98.0665 Pa, in conventional mmHg
	pascalPerMmHg    = 133.322    // conventional millimetre of mercury, 133.322387 Pa, to six digits
	pascalPerBar     = 100000     // SI brochure, table of units beside the SI
	microlitrePerML  = 1000       // SI prefixes
	secondPerMinute  = 60         // SI brochure
	micrometrePerMil = 25.4       // international inch, 25.4 mm
	zeroCelsius      = 273.15     // SI brochure, definition of the degree Celsius
	newtonPerGramF   = 9.80665e-3 // standard gravity, 9.80665 m/s²
)

// StandardGravity in m/s² (third general conference on weights and measures, 1901).
const StandardGravity MetrePerSecondSquared = 9.80665

// MillimetreHg converts with 1 cmH2O = 0.735559 mmHg, the conventional water
// column over conventional mercury. True saline at room temperature weighs
// 0.3 % more.
func (h CentimetreWater) MillimetreHg() MillimetreHg { return MillimetreHg(h * mmHgPerCmWater) }

// CentimetreWater converts with 1 cmH2O = 0.735559 mmHg.
func (p MillimetreHg) CentimetreWater() CentimetreWater { return CentimetreWater(p / mmHgPerCmWater) }

// Pascal converts with 1 mmHg = 133.322 Pa (conventional mercury).
func (p MillimetreHg) Pascal() Pascal { return Pascal(p * pascalPerMmHg) }

// MillimetreHg converts with 1 mmHg = 133.322 Pa (conventional mercury).
func (p Pascal) MillimetreHg() MillimetreHg { return MillimetreHg(p / pascalPerMmHg) }

// Bar converts with 1 bar = 100 000 Pa (SI brochure).
func (p Pascal) Bar() Bar { return Bar(p / pascalPerBar) }

// Millilitre converts with 1 mL = 1000 µL (SI).
func (v Microlitre) Millilitre() Millilitre { return Millilitre(v / microlitrePerML) }

// Microlitre converts with 1 mL = 1000 µL (SI).
func (v Millilitre) Microlitre() Microlitre { return Microlitre(v * microlitrePerML) }

// Microlitre converts with 1 mm³ = 1 µL (SI).
func (v CubicMillimetre) Microlitre() Microlitre { return Microlitre(v) }

// MicrolitrePerSecond converts with 1 mL = 1000 µL and 1 min = 60 s (SI).
func (q MillilitrePerMinute) MicrolitrePerSecond() MicrolitrePerSecond {
	return MicrolitrePerSecond(q * microlitrePerML / secondPerMinute)
}

// MillilitrePerMinute converts with 1 mL = 1000 µL and 1 min = 60 s (SI).
func (q MicrolitrePerSecond) MillilitrePerMinute() MillilitrePerMinute {
	return MillilitrePerMinute(q * secondPerMinute / microlitrePerML)
}

// Micrometre converts with 1 mil = 25.4 µm (international inch).
func (m Mil) Micrometre() Micrometre { return Micrometre(m * micrometrePerMil) }

// Kelvin converts with 0 °C = 273.15 K (SI).
func (t Celsius) Kelvin() Kelvin { return Kelvin(t + zeroCelsius) }

// Add returns the temperature d above t.
func (t Celsius) Add(d CelsiusDifference) Celsius { return t + Celsius(d) }

// Above returns how far t lies above u.
func (t Celsius) Above(u Celsius) CelsiusDifference { return CelsiusDifference(t - u) }

// GramForce converts with standard gravity, 9.80665 m/s².
func (f Newton) GramForce() GramForce { return GramForce(f / newtonPerGramF) }

// Newton converts with standard gravity, 9.80665 m/s².
func (f GramForce) Newton() Newton { return Newton(f * newtonPerGramF) }

// Fraction is the percentage as a part of one.
func (p Percent) Fraction() float64 { return float64(p) / 100 }

func (p MillimetreHg) String() string    { return Fixed(float64(p), 0) + Thin + "mmHg" }
func (h CentimetreWater) String() string { return Fixed(float64(h), 0) + Thin + "cmH₂O" }
func (p Pascal) String() string          { return Fixed(float64(p), 0) + Thin + "Pa" }
func (p Bar) String() string             { return Fixed(float64(p), 2) + Thin + "bar" }
func (v Millilitre) String() string      { return Fixed(float64(v), 2) + Thin + "mL" }
func (v Microlitre) String() string      { return Fixed(float64(v), 0) + Thin + "µL" }
func (v CubicMillimetre) String() string { return Fixed(float64(v), 1) + Thin + "mm³" }
func (a SquareMillimetre) String() string {
	return Fixed(float64(a), 1) + Thin + "mm²"
}
func (q MillilitrePerMinute) String() string {
	return Fixed(float64(q), 1) + Thin + "mL/min"
}
func (q MicrolitrePerSecond) String() string {
	return Fixed(float64(q), 1) + Thin + "µL/s"
}
func (c MicrolitrePerMmHg) String() string {
	return Fixed(float64(c), 2) + Thin + "µL/mmHg"
}
func (g MillilitrePerMinuteMmHg) String() string {
	return Fixed(float64(g), 2) + Thin + "(mL/min)/mmHg"
}
func (s Second) String() string { return Fixed(float64(s), 2) + Thin + "s" }
func (m Metre) String() string  { return Fixed(float64(m), 0) + Thin + "m" }
func (a MetrePerSecondSquared) String() string {
	return Fixed(float64(a), 0) + Thin + "m/s²"
}
func (f Kilohertz) String() string { return Fixed(float64(f), 1) + Thin + "kHz" }
func (m Mil) String() string       { return Fixed(float64(m), 1) + Thin + "mil" }
func (r Ratio) String() string     { return Fixed(float64(r), 2) }
func (t Celsius) String() string   { return Fixed(float64(t), 1) + Thin + "°C" }

// String writes a signed difference: "+3.5 °C".
func (d CelsiusDifference) String() string { return Signed(float64(d), 1) + Thin + "°C" }
func (k Kelvin) String() string            { return Fixed(float64(k), 2) + Thin + "K" }
func (e Joule) String() string             { return Fixed(float64(e), 1) + Thin + "J" }
func (p Watt) String() string              { return Fixed(float64(p), 2) + Thin + "W" }
func (c JoulePerKelvin) String() string    { return Fixed(float64(c), 3) + Thin + "J/K" }
func (g WattPerKelvin) String() string     { return Fixed(float64(g), 3) + Thin + "W/K" }
func (m MillipascalSecond) String() string { return Fixed(float64(m), 4) + Thin + "mPa·s" }
func (d KilogramPerCubicMetre) String() string {
	return Fixed(float64(d), 1) + Thin + "kg/m³"
}
func (f Newton) String() string    { return Fixed(float64(f), 4) + Thin + "N" }
func (f GramForce) String() string { return Fixed(float64(f), 1) + Thin + "gf" }
