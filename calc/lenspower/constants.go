package lenspower

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Constants are what is published for one lens model. A constant that was not
// given is not known; none is ever assumed to be 0.
type Constants struct {
	A      unit.Reading[unit.Constant]   // A constant of SRK/T and T2
	SF     unit.Reading[unit.Millimetre] // surgeon factor of Holladay 1
	PACD   unit.Reading[unit.Millimetre] // personal ACD of Hoffer Q
	A0     unit.Reading[unit.Millimetre] // Haigis
	A1, A2 unit.Reading[unit.Constant]   // Haigis
	C      unit.Reading[unit.Constant]   // C constant; no method here uses it
}

// Resolved is the constant of one method, ready for use.
type Resolved struct {
	Key       string        // contract key: a, sf_mm, pacd_mm, a0
	Value     unit.Constant // as the method takes it
	A1, A2    unit.Constant // haigis only
	Converted bool          // not given but made from another constant

	offset float64 // what it adds to the position, in mm
	method *Method
}

// The conversions between constants. They are starting values: a converted
// constant carries the mean error of the eyes the conversion was made on.
const (
	sfSlope, sfZero     = 0.5663, -65.60
	pacdSlope, pacdZero = 0.58357, -63.896
	sfFromPACD, sfPACD0 = 0.9704, -3.595
	a0Slope, a0Zero     = 0.62467, -72.434
)

var _ = declare(source.Holladay1988, source.Memory,
	coefficient{"constants.sf-slope", sfSlope, "mm", "SF from A"},
	coefficient{"constants.sf-zero", sfZero, "mm", "SF from A"},
	coefficient{"constants.pacd-slope", pacdSlope, "mm", "pACD from A"},
	coefficient{"constants.pacd-zero", pacdZero, "mm", "pACD from A"},
	coefficient{"constants.sf-from-pacd-slope", sfFromPACD, "", "SF from pACD"},
	coefficient{"constants.sf-from-pacd-zero", sfPACD0, "mm", "SF from pACD"},
) && declare(source.Haigis2000, source.Memory,
	coefficient{"constants.a0-slope", a0Slope, "mm", "a0 from A, with a1 0.4 and a2 0.1"},
	coefficient{"constants.a0-zero", a0Zero, "mm", "a0 from A, with a1 0.4 and a2 0.1"},
)

var (
	constantConverted = finding.Declare(finding.Rule{Code: "constant-converted", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.Holladay1988, Where: "conversions of constants; starting values only (a0: haigis2000, with a1 0.4 and a2 0.1)", Grade: source.Memory},
		Limit: "the method's own constant is not given and was made from another"})
	constantDefaulted = finding.Declare(finding.Rule{Code: "constant-defaulted", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.Haigis2000, Where: "a1 0.4, a2 0.1", Grade: source.Memory},
		Limit: "a0 is given without a1 and a2"})
)

// Resolve finds the method's constant: one that is given wins; else it is
// converted from A; else SF and pACD from each other. A conversion and a
// default are cautions. A is never made from anything. missing is the contract
// key of what is lacking, "" when r can be used.
//
// The three Haigis constants belong together: a0 alone takes the defaults of
// a1 and a2, but a given a1 or a2 is never joined with a default or with a
// converted a0, which holds for the defaults only.
func (m *Method) Resolve(c Constants) (r Resolved, findings []finding.Finding, missing string) {
	r = Resolved{Key: m.Key, method: m}
	switch m.kind {
	case srkT, t2:
		if !c.A.Known {
			return Resolved{}, nil, "a"
		}
		r.Value, r.offset = c.A.Value, srktOffset(float64(c.A.Value))
		return r, nil, ""
	case holladay1:
		return m.pick(c.SF, route{"a", c.A.Known, sfFromA(c.A.Value)}, route{"pacd_mm", c.PACD.Known, sfOf(c.PACD.Value)})
	case hofferQ:
		return m.pick(c.PACD, route{"a", c.A.Known, pacdFromA(c.A.Value)}, route{"sf_mm", c.SF.Known, pacdOf(c.SF.Value)})
	}
	return m.resolveHaigis(c)
}

func sfFromA(a unit.Constant) float64   { return sfSlope*float64(a) + sfZero }
func pacdFromA(a unit.Constant) float64 { return pacdSlope*float64(a) + pacdZero }
func a0FromA(a unit.Constant) float64   { return a0Slope*float64(a) + a0Zero }

// sfOf and pacdOf convert between surgeon factor and personal ACD.
func sfOf(pacd unit.Millimetre) float64 { return sfFromPACD*float64(pacd) + sfPACD0 }
func pacdOf(sf unit.Millimetre) float64 { return (float64(sf) - sfPACD0) / sfFromPACD }

// route is one way to a constant that was not given.
type route struct {
	from  string
	known bool
	value float64
}

// pick takes the given constant or the first known route.
func (m *Method) pick(given unit.Reading[unit.Millimetre], routes ...route) (Resolved, []finding.Finding, string) {
	r := Resolved{Key: m.Key, method: m}
	if given.Known {
		r.Value, r.offset = unit.Constant(given.Value), float64(given.Value)
		return r, nil, ""
	}
	for _, way := range routes {
		if way.known {
			r.Value, r.offset, r.Converted = unit.Constant(way.value), way.value, true
			return r, []finding.Finding{m.converted(way)}, ""
		}
	}
	return Resolved{}, nil, m.Key
}

func (m *Method) converted(way route) finding.Finding {
	return m.say(constantConverted, m.Key, finding.Value{Name: "from", Text: way.from}, finding.Value{Name: "to", Text: m.Key},
		finding.Value{Name: "value", Text: unit.Fixed(way.value, 4) + unit.Thin + "mm"})
}

// say makes a finding of the method's.
func (m *Method) say(rule finding.Rule, field string, values ...finding.Value) finding.Finding {
	f := rule.On(field, values...)
	f.Method = m.ID
	return f
}

func (m *Method) resolveHaigis(c Constants) (Resolved, []finding.Finding, string) {
	r, findings, missing := m.pick(c.A0, route{"a", c.A.Known, a0FromA(c.A.Value)})
	standard := !c.A1.Known && !c.A2.Known
	switch {
	case missing != "":
		return r, findings, missing
	case standard:
		r.A1, r.A2 = haigisA1, haigisA2
		if r.Converted { // the conversion is made for these two and has its own caution
			return r, findings, ""
		}
		return r, append(findings, m.say(constantDefaulted, "a1", finding.Value{Name: "a1", Text: "0.4"}, finding.Value{Name: "a2", Text: "0.1"})), ""
	case !c.A1.Known:
		return Resolved{}, nil, "a1"
	case !c.A2.Known:
		return Resolved{}, nil, "a2"
	case r.Converted && (c.A1.Value != haigisA1 || c.A2.Value != haigisA2):
		return Resolved{}, nil, m.Key
	}
	r.A1, r.A2 = c.A1.Value, c.A2.Value
	return r, findings, ""
}
