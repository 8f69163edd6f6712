package fluidics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Tube is a round passage: a line, a lumen or a needle.
type Tube struct {
	Bore, Length unit.Millimetre
	Loss         unit.Ratio // sum of the loss coefficients of its ends, on the mean velocity
}

// Sleeve is the gap between the sleeve's lumen and the needle, and the ports at
// its end.
type Sleeve struct {
	Bore, Length, PortBore unit.Millimetre
	Ports                  int
	Loss                   unit.Ratio // on the velocity in the ports
	WoundFactor            unit.Ratio // how much the wound's squeeze raises the laminar resistance
}

// Element is one passage as the model sees it: the pressure drop at flow Q is
//
//	m·Resistance·Q + Quadratic·Q·|Q|,
//
// m = 1 while the flow is laminar, rising to Blasius friction between Reynolds
// numbers 2000 and 4000. Units of the model: mmHg, µL, s.
type Element struct {
	Name       string
	Ref        source.Ref
	Resistance float64 // mmHg·s/µL
	Quadratic  float64 // mmHg·s²/µL²
	Inertance  float64 // mmHg·s²/µL
	Reynolds   float64 // per µL/s
}

// ResistancePerMinute is the laminar resistance in mmHg per mL/min, for checks
// by hand.
func (e Element) ResistancePerMinute() float64 {
	return e.Resistance * float64(unit.MillilitrePerMinute(1).MicrolitrePerSecond())
}

// Drop is the pressure lost at the flow q, against its direction.
func (e Element) Drop(q unit.MillilitrePerMinute) unit.MillimetreHg {
	p, _ := e.drop(float64(q.MicrolitrePerSecond()))
	return unit.MillimetreHg(p)
}

// ReynoldsAt is the Reynolds number at the flow q.
func (e Element) ReynoldsAt(q unit.MillilitrePerMinute) unit.Ratio {
	return unit.Ratio(e.Reynolds * math.Abs(float64(q.MicrolitrePerSecond())))
}

// The change from laminar to turbulent friction. Blasius' f = 0.3164/Re^(1/4)
// over the laminar 64/Re gives 0.0049375·Re^(3/4), with 0.316 as usually printed.
const (
	laminarTo      = 2000
	turbulentFrom  = 4000
	blasiusOverLam = 0.0049375
)

var (
	poiseuille = source.Ref{Key: source.Poiseuille, Where: "128µL/(πd⁴)", Grade: source.Memory}
	annulus    = source.Ref{Key: source.Annulus, Where: "laminar flow in a concentric annulus", Grade: source.Memory}

	_ = declare("turbulent-over-laminar", blasiusOverLam, "", source.Ref{Key: source.Blasius1913, Where: "f = 0.316/Re^(1/4) over 64/Re", Grade: source.Memory})
)

// friction returns m and dm/dRe.
func friction(re float64) (m, slope float64) {
	if re <= laminarTo {
		return 1, 0
	}
	half := math.Sqrt(re)
	quarter := math.Sqrt(half) // far faster than a general power
	rise := blasiusOverLam*half*quarter - 1
	dRise := 0.75 * blasiusOverLam / quarter
	if re >= turbulentFrom {
		return 1 + rise, dRise
	}
	const span = turbulentFrom - laminarTo
	w := (re - laminarTo) / span
	return 1 + w*rise, rise/span + w*dRise
}

// drop returns the pressure drop in mmHg at q µL/s and its derivative.
func (e *Element) drop(q float64) (p, slope float64) {
	size := math.Abs(q)
	re := e.Reynolds * size
	m, dm := friction(re)
	p = e.Resistance*m*q + e.Quadratic*q*size
	return p, e.Resistance*(m+re*dm) + 2*e.Quadratic*size
}

// SI to the model's units.
const (
	pascalPerMmHg = 133.322
	cubicToMicro  = 1e-9  // m³ per µL
	quadToMicro   = 1e-18 // (m³/µL)²
)

// metric is a fluid in SI units.
type metric struct{ mu, rho float64 }

func (s Saline) metric() metric { return metric{float64(s.Viscosity) / 1000, float64(s.Density)} }

// Element of the tube: Hagen–Poiseuille resistance 128µL/(πd⁴), inertance ρL/A,
// losses K·ρ/(2A²).
func (t Tube) element(name string, f metric) Element {
	d, l := float64(t.Bore)/1000, float64(t.Length)/1000
	a := math.Pi * d * d / 4
	return Element{
		Name: name, Ref: poiseuille,
		Resistance: 128 * f.mu * l / (math.Pi * d * d * d * d) / pascalPerMmHg * cubicToMicro,
		Quadratic:  float64(t.Loss) * f.rho / (2 * a * a) / pascalPerMmHg * quadToMicro,
		Inertance:  f.rho * l / a / pascalPerMmHg * cubicToMicro,
		Reynolds:   f.rho * d / (f.mu * a) * cubicToMicro,
	}
}

// Element of the sleeve around a needle of outer diameter d: laminar flow in a
// concentric annulus, 8µL/(π(R⁴-r⁴-(R²-r²)²/ln(R/r))), times the wound factor;
// Reynolds number on the hydraulic diameter 2(R-r); losses on the ports' area.
func (s Sleeve) element(name string, d unit.Millimetre, f metric) Element {
	ro, ri, l := float64(s.Bore)/2000, float64(d)/2000, float64(s.Length)/1000
	ro2, ri2 := ro*ro, ri*ri
	shape := ro2*ro2 - ri2*ri2 - (ro2-ri2)*(ro2-ri2)/math.Log(ro/ri)
	a := math.Pi * (ro2 - ri2)
	port := float64(s.PortBore) / 1000
	ports := float64(s.Ports) * math.Pi * port * port / 4
	return Element{
		Name: name, Ref: annulus,
		Resistance: float64(s.WoundFactor) * 8 * f.mu * l / (math.Pi * shape) / pascalPerMmHg * cubicToMicro,
		Quadratic:  float64(s.Loss) * f.rho / (2 * ports * ports) / pascalPerMmHg * quadToMicro,
		Inertance:  f.rho * l / a / pascalPerMmHg * cubicToMicro,
		Reynolds:   f.rho * 2 * (ro - ri) / (f.mu * a) * cubicToMicro,
	}
}

// path is a chain of elements that one flow passes.
type path struct {
	parts     [3]Element
	n         int
	r, k, i   float64 // sums
	reynolds  float64 // greatest
	laminarTo float64 // flow up to which every element is laminar
}

func chain(parts ...Element) (p path) {
	p.n = copy(p.parts[:], parts)
	for _, e := range parts {
		p.r, p.k, p.i = p.r+e.Resistance, p.k+e.Quadratic, p.i+e.Inertance
		p.reynolds = max(p.reynolds, e.Reynolds)
	}
	p.laminarTo = laminarTo / p.reynolds
	return p
}

// drop of the whole chain in mmHg at q µL/s, and its derivative.
func (p *path) drop(q float64) (dp, slope float64) {
	size := math.Abs(q)
	if size <= p.laminarTo {
		return (p.r + p.k*size) * q, p.r + 2*p.k*size
	}
	for n := range p.n {
		d, s := p.parts[n].drop(q)
		dp, slope = dp+d, slope+s
	}
	return dp, slope
}
