package pathway

import (
	"linn/calc/fluidics"
	"linn/calc/heat"
	"linn/calc/ultrasound"
	"linn/finding"
	"linn/unit"
)

// The machine's physics for the Bench: one stateless function a page. Nothing
// of it is written into a record or onto a sheet.

// ChamberFields are the settings of a machine with their bounds.
func ChamberFields() []fluidics.Field { return fluidics.Fields }

// ChamberTexts reads settings as typed, by key; "" was not typed.
func ChamberTexts(typed map[string]string) (ChamberSettings, finding.Refusals) {
	var s ChamberSettings
	var refused finding.Refusals
	for i := range fluidics.Fields {
		f := &fluidics.Fields[i]
		if text := typed[f.Key]; text != "" {
			if r := f.Set(&s, text); r != nil {
				refused = append(refused, *r)
			}
		}
	}
	if len(refused) == 0 {
		if r := s.Check(); r != nil {
			refused = append(refused, *r)
		}
	}
	return s, refused
}

// LineTrace is the trial of the settings with one aspiration line.
type LineTrace struct {
	Line     unit.MicrolitrePerMmHg
	Samples  []ChamberSample
	Collapse bool
}

// ChamberLines traces the trial with every line of the answer's spread.
func ChamberLines(a *ChamberAnswer) ([]LineTrace, finding.Refusals) {
	var list []LineTrace
	for _, line := range a.Spread.Tried {
		s := a.Settings
		s.LineCompliance = unit.Known(line)
		samples, refused := ChamberTrace(s)
		if len(refused) > 0 {
			return nil, refused
		}
		one := LineTrace{Line: line, Samples: samples}
		for _, bad := range a.Spread.CollapsesAt {
			one.Collapse = one.Collapse || bad == line
		}
		list = append(list, one)
	}
	return list, nil
}

// ChamberChanges tries each setting alone, one usual step, the best first.
func ChamberChanges(s ChamberSettings) ([]fluidics.Change, finding.Refusals) {
	m := s.Model()
	_, list, err := m.Changes(s.Break())
	return list, outside(err)
}

// Place is where and on whom the machine runs.
type Place struct {
	Altitude     unit.Reading[unit.Metre]
	MeanArterial unit.Reading[unit.MillimetreHg]
}

// Findings says when the altitude does not allow the vacuum limit, and when
// the perfusion is low with the tip blocked.
func (p Place) Findings(a *ChamberAnswer) (list []finding.Finding, refused finding.Refusals) {
	m := a.Settings.Model()
	if p.Altitude.Known {
		saline, err := fluidics.SalineAt(m.Temperature)
		if err != nil {
			return nil, outside(err)
		}
		ceiling, err := fluidics.VacuumCeiling(p.Altitude.Value, saline)
		if err != nil {
			return nil, outside(err)
		}
		list = append(list, ceiling.Check(m.VacuumLimit)...)
	}
	if p.MeanArterial.Known {
		list = append(list, fluidics.Perfusion{MeanArterial: p.MeanArterial.Value, Chamber: a.Answer.Blocked}.Check()...)
	}
	return list, nil
}

// EnvelopeLayer is one flow of the settings envelope: over bottles or set
// pressures and vacuum limits, whether the worst-case break keeps the chamber
// formed with every line in use, with some, or with none.
type EnvelopeLayer struct {
	Forced   bool
	Supplies []float64 // cm or mmHg
	Limits   []unit.MillimetreHg
	Flow     unit.MillilitrePerMinute
	Formed   [][]Formed // by supply, then limit
}

// Formed says with which lines the chamber stays formed.
type Formed int

// How the chamber stands the break.
const (
	Never Formed = iota
	SomeLines
	EveryLine
)

// Envelope works out the layer of one flow around the settings, on a grid of
// n by n, with the softest and the stiffest line in use.
func Envelope(s ChamberSettings, flow unit.MillilitrePerMinute, n int) (EnvelopeLayer, finding.Refusals) {
	lines := []unit.MicrolitrePerMmHg{softLine, stiffLine}
	return envelopeOf(s.Model(), s, flow, n, lines)
}

// The ends of the line compliances in use, µL/mmHg: those of the ranges that
// people are shown.
const (
	stiffLine unit.MicrolitrePerMmHg = 0.1
	softLine  unit.MicrolitrePerMmHg = 0.6
)

func envelopeOf(m fluidics.Model, s ChamberSettings, flow unit.MillilitrePerMinute, n int, lines []unit.MicrolitrePerMmHg) (EnvelopeLayer, finding.Refusals) {
	in := fluidics.EnvelopeInput{Model: m, Break: s.Break(), Flows: []unit.MillilitrePerMinute{flow}}
	l := EnvelopeLayer{Forced: s.Forced.Known, Flow: flow}
	for i := range n {
		at := float64(i) / float64(n-1)
		in.Limits = append(in.Limits, unit.MillimetreHg(100+500*at))
		if l.Forced {
			in.Forced = append(in.Forced, unit.MillimetreHg(20+70*at))
			l.Supplies = append(l.Supplies, 20+70*at)
		} else {
			in.Bottles = append(in.Bottles, unit.CentimetreWater(30+100*at))
			l.Supplies = append(l.Supplies, 30+100*at)
		}
	}
	l.Limits = in.Limits
	l.Formed = make([][]Formed, n)
	for i := range l.Formed {
		l.Formed[i] = make([]Formed, n)
	}
	for _, line := range lines {
		in.Model.Compliance = line
		e, err := in.Envelope()
		if err != nil {
			return l, outside(err)
		}
		for _, c := range e.Cells {
			if c.Formed {
				l.Formed[c.Supply][c.Limit] += EveryLine / Formed(len(lines))
			}
		}
	}
	return l, nil
}

// TipInput is a tip's motion and how power is given.
type TipInput struct {
	Motion ultrasound.Motion
	Drive  ultrasound.Drive
}

// TipAnswer is what a tip's motion amounts to.
type TipAnswer struct {
	Motion   ultrasound.Motion // at the power set
	Moves    ultrasound.Moves
	Near     ultrasound.Near
	Energy   ultrasound.Energy
	Duty     unit.Percent
	Mode     ultrasound.Mode
	Findings []finding.Finding
}

// Ways a tip swings.
const (
	Longitudinal = ultrasound.Longitudinal
	Torsional    = ultrasound.Torsional
)

// Rhythm turns pulses a second and duty into on and off times.
func Rhythm(perSecond unit.Ratio, duty unit.Percent) (on, off unit.Second, refused finding.Refusals) {
	on, off, err := ultrasound.Rhythm{PerSecond: perSecond, Duty: duty}.Cycle()
	return on, off, outside(err)
}

// Tip works out a tip.
func Tip(in TipInput) (a TipAnswer, refused finding.Refusals) {
	err := func() (err error) {
		if a.Motion, err = in.Motion.At(in.Drive.Power); err != nil {
			return err
		}
		if a.Moves, err = a.Motion.Moves(); err != nil {
			return err
		}
		if a.Near, err = ultrasound.UsualFace().Pressure(a.Motion); err != nil {
			return err
		}
		if a.Energy, err = ultrasound.Sum([]ultrasound.Drive{in.Drive}); err != nil {
			return err
		}
		a.Duty, err = in.Drive.Duty()
		return err
	}()
	a.Mode, a.Findings = in.Drive.Mode(), ultrasound.Cavitation(in.Drive)
	return a, outside(err)
}

// Claim is what somebody says about a tip; Verdict what its pairs imply.
type (
	Claim   = ultrasound.Claim
	Verdict = ultrasound.Verdict
)

// TaughtClaim is the set of numbers that is commonly taught.
func TaughtClaim() Claim { return ultrasound.Taught() }

// CheckClaim takes every pair of the claimed numbers as true.
func CheckClaim(c Claim) (Verdict, finding.Refusals) {
	v, err := c.Check()
	return v, outside(err)
}

// BurnInput is ultrasound with flow, then without.
type BurnInput struct {
	Phase heat.Phase // as it runs with flow
	Way   ultrasound.Way
	With  unit.Second              // how long the flow runs
	After unit.Second              // and how long it goes on without
	Left  unit.MillilitrePerMinute // what still flows then
	Index string                   // name of the burn index, "" the one of choice
}

// BurnAnswer is what happens to the wound.
type BurnAnswer struct {
	Outcome  heat.Outcome
	Course   []HeatPoint                            // for drawing
	Least    unit.Reading[unit.MillilitrePerMinute] // flow that keeps the wound at 45 °C
	Rest     heat.Rest
	Findings []finding.Finding
}

// HeatPoint is the wound at one instant.
type HeatPoint struct {
	At    unit.Second
	Wound unit.Celsius
}

// BurnIndices names the burn indices, the one of choice first.
func BurnIndices() (names []string) {
	for _, x := range heat.Indices() {
		names = append(names, x.Name)
	}
	return names
}

// warmWound is the temperature the least flow is asked for: 45 °C, where tissue
// begins to be harmed.
const warmWound unit.Celsius = 45

// Burn works out the temperature of the wound.
func Burn(in BurnInput) (a BurnAnswer, refused finding.Refusals) {
	w, x := heat.Reference(), heat.Burn()
	for _, other := range heat.Indices() {
		if other.Name == in.Index {
			x = other
		}
	}
	in.Phase.WayFactor = heat.WayFactor(in.Way)
	with, without := in.Phase, in.Phase
	with.Lasts, without.Lasts, without.Flow = in.With, in.After, in.Left
	var err error
	if a.Outcome, err = w.Play(x, []heat.Phase{with, without}); err != nil {
		return a, outside(err)
	}
	if a.Rest, err = w.Rest(without); err != nil {
		return a, outside(err)
	}
	if least, err := w.LeastFlow(in.Phase, warmWound); err == nil {
		a.Least = unit.Known(least)
	}
	a.Findings = a.Outcome.Findings(x)
	a.Findings = append(a.Findings, heat.Moment{UltrasoundOn: true, Power: in.Phase.Power, Duty: in.Phase.Duty, Aspirated: in.Left, LowFor: in.After}.Alarm()...)
	a.Course, err = course(&w, x, with, without)
	return a, outside(err)
}

// course samples the wound by playing ever longer parts of the same phases.
func course(w *heat.Wound, x heat.Index, with, without heat.Phase) (list []HeatPoint, err error) {
	const steps = 60
	for i := range 2*steps + 1 {
		a, b := with, without
		a.Lasts = with.Lasts * unit.Second(min(i, steps)) / steps
		b.Lasts = without.Lasts * unit.Second(max(i-steps, 0)) / steps
		o, err := w.Play(x, []heat.Phase{a, b})
		if err != nil {
			return nil, err
		}
		list = append(list, HeatPoint{At: a.Lasts + b.Lasts, Wound: o.Final})
	}
	return list, nil
}

// NucleusCourse is a nucleus taken by one technique, with the vacuum that the
// longest piece lets build up.
type NucleusCourse struct {
	ultrasound.Course
	Vacuum unit.MillimetreHg
	Spread ChamberSpread
}

// Nucleus takes a nucleus by every technique.
func Nucleus(p ultrasound.Piece, s ChamberSettings) (list []NucleusCourse, refused finding.Refusals) {
	for _, t := range ultrasound.Techniques() {
		c, err := p.Take(t)
		if err != nil {
			return nil, outside(err)
		}
		one := NucleusCourse{Course: c}
		if !c.Each.Passes {
			s.Occlusion = unit.Known(max(c.Each.Blocked, 0.01))
			a, refused := ChamberOf(s)
			if len(refused) > 0 {
				return nil, refused
			}
			one.Vacuum, one.Spread = a.Answer.BlockedVacuum, a.Spread
		}
		list = append(list, one)
	}
	return list, nil
}

// Piece is a fragment and how it is taken; UsualPiece is a whole nucleus under
// usual settings.
type Piece = ultrasound.Piece

// Grade is nuclear opalescence.
type Grade = ultrasound.Grade

// UsualPiece is the usual nucleus with the usual share of blocked time.
func UsualPiece() Piece {
	return Piece{Volume: ultrasound.NucleusVolume(), Occluded: ultrasound.UsualOccluded()}
}

// NeedleBore is the bore of a needle by its gauge.
func NeedleBore(g fluidics.Gauge) (unit.Millimetre, finding.Refusals) {
	n, err := fluidics.NeedleOf(g)
	return n.Inner, outside(err)
}
