package pathway

import (
	"errors"

	"linn/calc/fluidics"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// The parts of a chamber's answer, for those who print it.
type (
	ChamberSettings = fluidics.Settings
	ChamberSpread   = fluidics.Spread
	ChamberSample   = fluidics.Sample
)

// ChamberAnswer is what one break of an occlusion does in the chamber model.
type ChamberAnswer struct {
	Settings ChamberSettings
	Answer   fluidics.Answer
	Spread   ChamberSpread // over the line compliances in use: what people are shown
	Findings []finding.Finding
}

// JSON is the answer in the format linn.chamber/1.
func (a *ChamberAnswer) JSON() ([]byte, error) { return a.Answer.JSON(a.Findings) }

// Chamber answers the file of the command `linn chamber`.
func Chamber(data []byte) (ChamberAnswer, finding.Refusals) {
	s, refused := fluidics.ParseSettings(data)
	if len(refused) > 0 {
		return ChamberAnswer{Settings: s}, refused
	}
	return ChamberOf(s)
}

// ChamberOf answers settings that were read already.
func ChamberOf(s ChamberSettings) (ChamberAnswer, finding.Refusals) {
	out := ChamberAnswer{Settings: s}
	answer, found, err := s.Run()
	if err != nil {
		return out, outside(err)
	}
	m := s.Model()
	if out.Spread, err = m.Spread(s.Break()); err != nil {
		return out, outside(err)
	}
	out.Answer, out.Findings = answer, found
	return out, nil
}

// traceEvery is the time between two samples of a trace.
const traceEvery unit.Second = 0.005

// ChamberTrace samples the trial of the settings every 5 ms, from the instant
// the tip is blocked.
func ChamberTrace(s ChamberSettings) ([]ChamberSample, finding.Refusals) {
	m := s.Model()
	list, err := m.Trace(fluidics.Trace{Phases: s.Break().Phases(), Every: traceEvery})
	return list, outside(err)
}

// ChamberWorking shows how the steady state of the settings comes about.
func ChamberWorking(s ChamberSettings) ([]source.Step, finding.Refusals) {
	m := s.Model()
	steps, err := m.Working()
	return steps, outside(err)
}

// Holds is what the chamber holds: a greater loss has no number for people.
func (a *ChamberAnswer) Holds() unit.Microlitre {
	m := a.Settings.Model()
	return m.ChamberVolume
}

// FormedAbove is the pressure in mmHg under which the chamber counts as
// collapsed.
func FormedAbove() float64 { return float64(fluidics.FormedAbove()) }

// TwoFigures writes a model's number with the two figures it deserves.
func TwoFigures(v float64) string { return fluidics.TwoFigures(v) }

// outside turns a number outside its domain into a refusal.
func outside(err error) finding.Refusals {
	var e *unit.RangeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &e):
		f := eye.Field{Key: e.What, Unit: e.Unit, Bounds: unit.Bounds{Low: e.Low, High: e.High}, Number: true}
		return finding.Refusals{f.Refusal(err)}
	}
	return finding.Refusals{{Code: "not-computed", Values: finding.Values{value("why", err.Error())}}}
}
