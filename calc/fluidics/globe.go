package fluidics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// GlobeLaw says how stiff the closed globe is: dP/dV = Coefficient·max(P, Floor)^Exponent,
// P in mmHg, V in µL. The floor keeps the compliance finite where no study
// measured. With exponent 1 this is Friedenwald's law in natural logarithms.
type GlobeLaw struct {
	Name        string
	Coefficient float64 // mmHg^(1-Exponent)/µL
	Exponent    float64
	Floor       unit.MillimetreHg
	Ref         source.Ref
}

var (
	globeFloor     = declare("globe-floor", 8, "mmHg", choice)
	globeReference = declare("globe-rigidity", 0.025, "1/µL", source.Ref{Key: source.OwnModel, Where: "natural logarithm; within 20 % of vanderwerff1981 from 30 to 80 mmHg", Grade: source.Own})
	globeCubeRoot  = declare("globe-cube-root", 0.03, "mmHg^(1/3)/µL", source.Ref{Key: source.VanDerWerff1981, Where: "enucleated human eyes", Grade: source.Read})
	globeCadaver   = declare("globe-friedenwald", 0.0215, "1/µL", source.Ref{Key: source.Friedenwald1937, Where: "coefficient of ocular rigidity, decimal logarithm", Grade: source.Memory})
	globeLiving    = declare("globe-living", 0.0126, "1/µL", source.Ref{Key: source.Pallikaris2005, Where: "mean of 79 eyes, 10–35 mmHg; printed as mmHg/µL", Grade: source.Read})
)

// GlobeLaws lists the laws that can be chosen, the reference first. The two
// readings of the living-eye study differ because its abstract does not say
// which logarithm it means.
func GlobeLaws() []GlobeLaw {
	floor := unit.MillimetreHg(globeFloor)
	ref := func(k source.Key, where string, g source.Grade) source.Ref {
		return source.Ref{Key: k, Where: where, Grade: g}
	}
	living := ref(source.Pallikaris2005, "mean of 79 eyes", source.Read)
	return []GlobeLaw{
		{"reference", globeReference, 1, floor, ref(source.OwnModel, "globe", source.Own)},
		{"cube-root", 3 * globeCubeRoot, 2. / 3, floor, ref(source.VanDerWerff1981, "enucleated human eyes", source.Read)},
		{"cadaver", globeCadaver * math.Ln10, 1, floor, ref(source.Friedenwald1937, "coefficient of ocular rigidity", source.Memory)},
		{"living-natural", globeLiving, 1, floor, living},
		{"living-decimal", globeLiving * math.Ln10, 1, floor, living},
	}
}

// elastance returns dP/dV at p and its derivative.
func (g *GlobeLaw) elastance(p float64) (e, slope float64) {
	if g.Exponent == 1 {
		if p > float64(g.Floor) {
			return g.Coefficient * p, g.Coefficient
		}
		return g.Coefficient * float64(g.Floor), 0
	}
	if p > float64(g.Floor) {
		e = g.Coefficient * math.Pow(p, g.Exponent)
		return e, g.Exponent * e / p
	}
	return g.Coefficient * math.Pow(float64(g.Floor), g.Exponent), 0
}

// Compliance is dV/dP at the pressure p, which is above 0 mmHg.
func (g GlobeLaw) Compliance(p unit.MillimetreHg) (unit.MicrolitrePerMmHg, error) {
	if !(p > 0) || !unit.Finite(p) {
		return 0, &unit.RangeError{What: "pressure", Got: float64(p), Low: 0, High: math.Inf(1), Unit: "mmHg"}
	}
	e, _ := g.elastance(float64(p))
	return unit.MicrolitrePerMmHg(1 / e), nil
}

// Interval is a range of chamber pressure.
type Interval struct{ From, To unit.MillimetreHg }

// Volume is what must enter the globe to take it from i.From to i.To: the
// integral of the compliance, closed form.
func (g GlobeLaw) Volume(i Interval) unit.Microlitre {
	return unit.Microlitre(g.volume(float64(i.To)) - g.volume(float64(i.From)))
}

// volume counts from the floor, or from 1 mmHg where there is none.
func (g *GlobeLaw) volume(p float64) float64 {
	f := float64(g.Floor)
	if f <= 0 {
		f = 1
	}
	switch {
	case g.Floor > 0 && p <= float64(g.Floor):
		e, _ := g.elastance(f)
		return (p - f) / e
	case g.Exponent == 1:
		return math.Log(p/f) / g.Coefficient
	}
	n := 1 - g.Exponent
	return (math.Pow(p, n) - math.Pow(f, n)) / (n * g.Coefficient)
}
