package ultrasound

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Piece is a fragment of the nucleus at the tip and how it is taken.
type Piece struct {
	Volume      unit.CubicMillimetre
	Grade       Grade
	Power, Duty unit.Percent
	Flow, Leak  unit.MillilitrePerMinute // set aspiration flow; what leaves by the wounds
	Occluded    unit.Ratio               // share of the time that the piece blocks the tip
	Bore        unit.Millimetre          // of the needle; 0: not known
}

// usualOccluded is assumed where nothing better is known.
var usualOccluded = declare("occluded-share", 0.6, "", source.Ref{Key: source.OwnChoice, Where: "share of the time a piece blocks the tip", Grade: source.Own})

// UsualOccluded is the share of the time that a piece is taken to block the tip:
// an assumption without a source.
func UsualOccluded() unit.Ratio { return unit.Ratio(usualOccluded) }

// Removal is what taking a piece costs.
type Removal struct {
	Time      unit.Second
	Blocked   unit.Second // of it, with the tip blocked: vacuum builds up
	Effective unit.Second // effective phaco time
	Fluid     unit.Millilitre
	Passes    bool // the piece is narrower than the bore: it goes without ultrasound and never blocks
}

func (p *Piece) check() error {
	return within(bound{"volume", float64(p.Volume), 1e-3, 500, "mm³"}, bound{"power", float64(p.Power), 1, 100, "%"}, bound{"duty", float64(p.Duty), 1, 100, "%"},
		bound{"flow_ml_min", float64(p.Flow), 1, 200, "mL/min"}, bound{"leak", float64(p.Leak), 0, 200, "mL/min"},
		bound{"occluded", float64(p.Occluded), 0, 1, ""}, bound{"bore", float64(p.Bore), 0, 3, "mm"})
}

// Remove works out a piece: volume over the rate of its grade times power times
// duty. While it blocks the tip only the leak flows. A ball of its volume that is
// narrower than the bore is aspirated as fluid. Absolute seconds are not
// validated: no published removal time was readable.
func (p Piece) Remove() (Removal, error) {
	if err := p.check(); err != nil {
		return Removal{}, err
	}
	g, err := p.Grade.Expect()
	if err != nil {
		return Removal{}, err
	}
	v := float64(p.Volume)
	flow := float64(p.Flow)
	if p.Bore > 0 && math.Cbrt(6*v/math.Pi) < float64(p.Bore) {
		t := v / float64(p.Flow.MicrolitrePerSecond())
		return Removal{Time: unit.Second(t), Fluid: unit.Millilitre((flow + float64(p.Leak)) * t / 60), Passes: true}, nil
	}
	power := p.Power.Fraction() * p.Duty.Fraction()
	t := v / (g.Rate * power)
	phi := float64(p.Occluded)
	return Removal{Time: unit.Second(t), Blocked: unit.Second(phi * t), Effective: unit.Second(t * power),
		Fluid: unit.Millilitre((float64(p.Leak) + (1-phi)*flow) * t / 60)}, nil
}

// Working shows the removal of a piece that needs ultrasound.
func (p Piece) Working() ([]source.Step, error) {
	r, err := p.Remove()
	if err != nil {
		return nil, err
	}
	g, err := p.Grade.Expect()
	if err != nil {
		return nil, err
	}
	return []source.Step{
		step("nucleus-rate", "E = V_nuc/EPT(NO)", g.Rate, "mm³/s", growth),
		step("removal-time", "t = V/(E p D)", float64(r.Time), "s", growth),
		step("blocked-time", "phi t", float64(r.Blocked), "s", growth),
		step("effective-time", "t p D", float64(r.Effective), "s", growth),
		step("fluid", "(q_leak + (1 - phi) q_set) t", float64(r.Fluid), "mL", growth),
	}, nil
}

// Technique is a way to take the nucleus apart. The shares are assumptions of
// our own that make the techniques comparable in the model; nobody measured them.
type Technique struct {
	Name   string
	Groove unit.Ratio // share of the nucleus sculpted away with the tip open
	Pieces int        // of what is left
}

var shares = source.Ref{Key: source.OwnChoice, Where: "shares of the techniques", Grade: source.Own}

// Techniques lists those the model compares, and the undivided nucleus.
func Techniques() []Technique {
	return []Technique{
		{"whole", 0, 1},
		{"halves", 0, 2},
		{"quadrants", 0, 4},
		{"eighths", 0, 8},
		{"divide-and-conquer", unit.Ratio(conquerGroove), 4},
		{"stop-and-chop", unit.Ratio(stopGroove), 6},
		{"direct-chop", 0, 8},
		{"chip-and-flip", unit.Ratio(chipShare), 1},
	}
}

var (
	conquerGroove = declare("groove-divide-and-conquer", 0.20, "", shares)
	stopGroove    = declare("groove-stop-and-chop", 0.10, "", shares)
	chipShare     = declare("chip-of-chip-and-flip", 0.50, "", shares)

	sharesAssumed = finding.Declare(finding.Rule{Code: "technique-shares-assumed", Severity: finding.Note, Ref: shares,
		Limit: "always: grooves and numbers of pieces are assumed, not measured"})
)

// Course is a whole nucleus taken by a technique.
type Course struct {
	Technique Technique
	Groove    Removal // sculpting: the tip is open all the time
	Each      Removal // one piece
	Total     Removal // Blocked is the sum; Passes when the pieces do
	Longest   unit.Second
	Findings  []finding.Finding
}

// Take runs a nucleus of p.Volume through a technique; the rest of p says how.
// Division changes neither the energy nor the time with ultrasound in this
// model, but how long the tip is blocked at a time, and so how near the vacuum
// comes to its limit. The pursuit of pieces, which uses most of the fluid of an
// operation, is not in it.
func (p Piece) Take(t Technique) (Course, error) {
	if err := within(bound{"groove", float64(t.Groove), 0, 0.95, ""}, bound{"pieces", float64(t.Pieces), 1, 64, ""}); err != nil {
		return Course{}, err
	}
	c := Course{Technique: t, Findings: append(p.Grade.Findings(), sharesAssumed.On(""))}
	var err error
	if t.Groove > 0 {
		g := p
		g.Volume, g.Occluded, g.Bore = p.Volume*unit.CubicMillimetre(t.Groove), 0, 0
		if c.Groove, err = g.Remove(); err != nil {
			return Course{}, err
		}
	}
	one := p
	one.Volume = p.Volume * unit.CubicMillimetre(1-t.Groove) / unit.CubicMillimetre(t.Pieces)
	if c.Each, err = one.Remove(); err != nil {
		return Course{}, err
	}
	n := float64(t.Pieces)
	c.Total = Removal{Time: c.Groove.Time + unit.Second(n)*c.Each.Time, Blocked: unit.Second(n) * c.Each.Blocked,
		Effective: c.Groove.Effective + unit.Second(n)*c.Each.Effective, Fluid: c.Groove.Fluid + unit.Millilitre(n)*c.Each.Fluid, Passes: c.Each.Passes}
	c.Longest = c.Each.Blocked
	return c, nil
}

// NucleusVolume is the usual nucleus of the model, 75 mm³.
func NucleusVolume() unit.CubicMillimetre { return unit.CubicMillimetre(nucleus) }
