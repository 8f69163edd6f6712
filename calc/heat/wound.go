package heat

import (
	"math"

	"linn/calc/ultrasound"
	"linn/unit"
)

// Wound is the hot spot of needle, sleeve and wound lip, and the chamber behind
// it: two nodes that the irrigation cools. Start from Reference.
type Wound struct {
	Friction   unit.Watt // at full power under the reference load
	Load       unit.GramForce
	Internal   unit.Watt  // loss in the metal at full power
	TipFactor  unit.Ratio // how hot this tip runs against a plain one
	Capacity   unit.JoulePerKelvin
	Exchange   unit.WattPerKelvin // between sleeve and irrigation
	Tissue     unit.WattPerKelvin // to the tissue around
	Volume     unit.Millilitre    // of the chamber
	Acoustic   unit.Watt          // into the fluid at full power
	Eye        unit.WattPerKelvin // from the chamber to the eye
	Irrigation unit.Celsius
	Body       unit.Celsius
}

// Reference is the reference wound: it is no particular tip.
func Reference() Wound {
	return Wound{Friction: unit.Watt(refFriction), Load: unit.GramForce(refLoad), Internal: unit.Watt(refInternal), TipFactor: 1,
		Capacity: unit.JoulePerKelvin(refCapacity), Exchange: unit.WattPerKelvin(refExchange), Tissue: unit.WattPerKelvin(refTissue),
		Volume: unit.Millilitre(refVolume), Acoustic: unit.Watt(refAcoustic), Eye: unit.WattPerKelvin(refEye),
		Irrigation: unit.Celsius(refRoom), Body: unit.Celsius(refBody)}
}

func (w *Wound) check() error {
	return within(bound{"friction", float64(w.Friction), 0, 20, "W"}, bound{"load", float64(w.Load), 1, 500, "gf"}, bound{"internal", float64(w.Internal), 0, 20, "W"},
		bound{"tip-factor", float64(w.TipFactor), 0, 3, ""}, bound{"capacity", float64(w.Capacity), 0.001, 5, "J/K"},
		bound{"exchange", float64(w.Exchange), 0, 5, "W/K"}, bound{"tissue", float64(w.Tissue), 1e-4, 1, "W/K"}, bound{"chamber", float64(w.Volume), 0.02, 2, "mL"},
		bound{"acoustic", float64(w.Acoustic), 0, 5, "W"}, bound{"eye", float64(w.Eye), 1e-4, 1, "W/K"},
		bound{"irrigation", float64(w.Irrigation), 0, 40, "°C"}, bound{"body", float64(w.Body), 20, 42, "°C"})
}

// WayFactor is how hot a way of swinging runs at the wound against longitudinal:
// 1, and 0.5 for torsional (0.32 to 0.63 in bench studies).
func WayFactor(w ultrasound.Way) unit.Ratio {
	if w == ultrasound.Torsional {
		return unit.Ratio(refTorsional)
	}
	return 1
}

// Phase is a stretch of time with everything constant.
type Phase struct {
	Lasts       unit.Second
	Power, Duty unit.Percent
	WayFactor   unit.Ratio // from WayFactor, or measured
	Load        unit.GramForce
	Flow        unit.MillilitrePerMinute // that cools the sleeve
	Plugged     bool                     // viscoelastic at the tip: nothing flows whatever Flow says
}

func (p *Phase) check() error {
	return within(bound{"lasts", float64(p.Lasts), 0, 3600, "s"}, bound{"power", float64(p.Power), 0, 100, "%"}, bound{"duty", float64(p.Duty), 0, 100, "%"},
		bound{"way-factor", float64(p.WayFactor), 0, 2, ""}, bound{"load", float64(p.Load), 0, 500, "gf"}, bound{"flow", float64(p.Flow), 0, 200, "mL/min"})
}

// Cooling is how much heat the flow carries from the sleeve per degree:
// m(1 - exp(-UA/m)), m the heat flow of the fluid; 0 without flow.
func (w *Wound) cooling(p *Phase) (g, m float64) {
	if p.Plugged || p.Flow <= 0 {
		return 0, 0
	}
	m = perMillilit * float64(p.Flow) / 60
	return m * -math.Expm1(-float64(w.Exchange)/m), m
}

// Heat is the mean power that the phase puts into the wound:
// D·m·(friction·load·p + internal·p²).
func (w *Wound) heat(p *Phase) float64 {
	power, load := p.Power.Fraction(), float64(p.Load/w.Load)
	return p.Duty.Fraction() * float64(p.WayFactor*w.TipFactor) * (float64(w.Friction)*load*power + float64(w.Internal)*power*power)
}

// Rest is where a phase would end if it lasted: its numbers for checks by hand.
type Rest struct {
	Heat        unit.Watt
	Conductance unit.WattPerKelvin // of irrigation and tissue together
	Lag         unit.Second        // time constant of the wound
	Wound       unit.Celsius
	Chamber     unit.Celsius
}

// Rest of the phase p.
func (w *Wound) Rest(p Phase) (Rest, error) {
	if err := w.check(); err != nil {
		return Rest{}, err
	}
	if err := p.check(); err != nil {
		return Rest{}, err
	}
	n := w.nodes(&p)
	return Rest{Heat: unit.Watt(n.heat), Conductance: unit.WattPerKelvin(n.g + float64(w.Tissue)), Lag: unit.Second(1 / n.a), Wound: unit.Celsius(n.wound), Chamber: unit.Celsius(n.chamber)}, nil
}

// nodes are the coefficients of a phase: the wound falls to its final
// temperature at the rate a, the chamber follows it at the rate b.
type nodes struct {
	heat, g        float64
	wound, chamber float64 // final temperatures
	a, b           float64 // 1/s
	into           float64 // g over the chamber's capacity, 1/s
}

func (w *Wound) nodes(p *Phase) nodes {
	g, m := w.cooling(p)
	n := nodes{heat: w.heat(p), g: g}
	tissue, body, irrigation := float64(w.Tissue), float64(w.Body), float64(w.Irrigation)
	n.wound = (n.heat + g*irrigation + tissue*body) / (g + tissue)
	n.a = (g + tissue) / float64(w.Capacity)
	power := p.Power.Fraction()
	capacity := perMillilit * float64(w.Volume)
	eye := float64(w.Eye)
	n.chamber = (p.Duty.Fraction()*float64(w.Acoustic)*power*power + g*(n.wound-irrigation) + m*irrigation + eye*body) / (m + eye)
	n.b = (m + eye) / capacity
	n.into = g / capacity
	return n
}

// woundAt is the wound t seconds into the phase, from start: closed form.
func (n *nodes) woundAt(t, start float64) float64 {
	return n.wound - (n.wound-start)*math.Exp(-n.a*t)
}

// chamberAt is the chamber, driven by the wound: closed form of the two rates,
// which may be equal.
func (n *nodes) chamberAt(t float64, wound, chamber float64) float64 {
	// (exp(-a t) - exp(-b t))/(b - a), also where a = b
	d := n.b - n.a
	lag := t
	if d != 0 {
		lag = -math.Expm1(-d*t) / d
	}
	lag *= math.Exp(-n.a * t)
	return n.chamber - (n.chamber-chamber)*math.Exp(-n.b*t) + n.into*(wound-n.wound)*lag
}

// reaches is when the wound passes level, from start; false when it does not.
func (n *nodes) reaches(level, start float64) (float64, bool) {
	switch {
	case start >= level:
		return 0, true
	case n.wound <= level:
		return 0, false
	}
	return math.Log((n.wound-start)/(n.wound-level)) / n.a, true
}
