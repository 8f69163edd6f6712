package fluidics

import (
	"linn/finding"
	"linn/unit"
)

// Perfusion is the pressure that drives blood through the eye.
type Perfusion struct {
	MeanArterial unit.MillimetreHg // at eye level, lying
	Chamber      unit.MillimetreHg // sustained
}

// Pressure is arterial less chamber pressure.
func (p Perfusion) Pressure() unit.MillimetreHg { return p.MeanArterial - p.Chamber }

var (
	pressureRaised = finding.Declare(finding.Rule{Code: "chamber-pressure-raised", Severity: finding.Note, Ref: perfusionRef,
		Limit: "sustained chamber pressure above 45 mmHg"})
	pressureHigh = finding.Declare(finding.Rule{Code: "chamber-pressure-high", Severity: finding.Caution, Ref: perfusionRef,
		Limit: "sustained chamber pressure above 60 mmHg"})
	perfusionLow = finding.Declare(finding.Rule{Code: "perfusion-low", Severity: finding.Caution, Ref: perfusionRef,
		Limit: "ocular perfusion pressure below 40 mmHg"})
)

// CheckPressure says when a sustained chamber pressure leaves the usual range.
// The thresholds are of engineering, not published limits.
func CheckPressure(field string, p unit.MillimetreHg) []finding.Finding {
	say := func(r finding.Rule, limit float64) []finding.Finding {
		return []finding.Finding{r.On(field, finding.Value{Name: "got", Text: p.String()}, finding.Value{Name: "limit", Text: unit.MillimetreHg(limit).String()})}
	}
	switch {
	case float64(p) > highPressure:
		return say(pressureHigh, highPressure)
	case float64(p) > usualPressure:
		return say(pressureRaised, usualPressure)
	}
	return nil
}

// Check says when the perfusion pressure is low.
func (p Perfusion) Check() []finding.Finding {
	if float64(p.Pressure()) >= perfusionFloor {
		return nil
	}
	return []finding.Finding{perfusionLow.On("mean_arterial_mmhg", finding.Value{Name: "got", Text: p.Pressure().String()},
		finding.Value{Name: "limit", Text: unit.MillimetreHg(perfusionFloor).String()})}
}
