package risk

import (
	"errors"
	"strings"

	"linn/source"
)

var (
	ratiosN   = source.Ref{Key: source.Narendran2009, Where: "adjusted odds ratios, as a tutorial page reproduces them", Grade: source.Secondary}
	baselineN = source.Ref{Key: source.Narendran2009, Where: "least predicted risk, abstract", Grade: source.Memory}
)

func ratio(factor, level string, value float64) Level {
	return Level{Name: level, Known: true, Ratio: source.Declare(source.Constant{Name: "narendran." + factor + "." + level, Value: value, Ref: ratiosN})}
}

func reference(level string) Level { return Level{Name: level, Ratio: 1, Known: true} }

// yes is a factor that is there or not.
func yes(key string, value float64) Factor {
	return Factor{key, []Level{reference("no"), ratio(key, "yes", value)}}
}

// RuptureOrLoss is the outcome of capsule rupture or vitreous loss.
const RuptureOrLoss = "capsule-rupture-or-vitreous-loss"

// Narendran is the model of Narendran and others 2009 for capsule rupture or
// vitreous loss in phaco. Its staff-grade ratio of 0.36 reflects which eyes
// such surgeons were given and is kept out; its baseline is from memory and,
// by today's rates, high.
var Narendran = Model{ID: "narendran", Version: "1", Outcome: RuptureOrLoss, Setting: "united-kingdom", Years: "2001–06", Technique: "phaco",
	Baseline: source.Declare(source.Constant{Name: "narendran.baseline", Value: 0.0075, Ref: baselineN}),
	Ref:      ratiosN, BaselineRef: baselineN, Old: true,
	Factors: []Factor{
		{"age", []Level{reference("<60"), ratio("age", "60-69", 1.14), ratio("age", "70-79", 1.42), ratio("age", "80-89", 1.58), ratio("age", "90+", 2.37)}},
		{"sex", []Level{reference("female"), ratio("sex", "male", 1.28)}},
		yes("glaucoma", 1.30),
		yes("diabetic_retinopathy", 1.63),
		yes("brunescent_or_white", 2.99),
		yes("no_fundus_view", 2.46),
		yes("exfoliation_or_phacodonesis", 2.92),
		{"pupil", []Level{reference("large"), ratio("pupil", "medium", 1.14), ratio("pupil", "small", 1.45)}},
		{"axial_length", []Level{reference("<26"), ratio("axial_length", ">=26", 1.47)}},
		yes("doxazosin", 1.51),
		yes("cannot_lie_flat", 1.27),
		{"surgeon", []Level{reference("consultant"), ratio("surgeon", "associate-specialist", 0.87),
			{Name: "staff-grade", Ratio: 0.36, Known: true, Never: "selection of cases, not skill"},
			ratio("surgeon", "fellow", 1.65), ratio("surgeon", "registrar", 1.60), ratio("surgeon", "senior-house-officer", 3.73)}},
	}}

// ErrNoModel says that no published model was made from this operation and
// that the unit has no intercept of its own for it.
var ErrNoModel = errors.New("no published model")

// Own is the unit's own intercept for one technique: the shift of the log
// odds that makes the model's mean its observed rate.
type Own struct {
	Shift     float64
	Technique string
}

// For estimates the risk of the planned technique. Phaco takes the published
// model, shifted where the unit has a shift of its own. Any other operation
// needs the unit's own intercept: without it the error wraps ErrNoModel, and
// no phaco number stands in.
func (m *Model) For(technique string, f Findings, own *Own) (Estimate, error) {
	has := own != nil && strings.EqualFold(own.Technique, technique)
	if technique != m.Technique && !has {
		return Estimate{Model: m.ID}, ErrNoModel
	}
	if has {
		return m.Estimate(f, own.Shift)
	}
	return m.Estimate(f, 0)
}

// AgeBand is the model's level of an age in years.
func AgeBand(years float64) string {
	switch {
	case years < 60:
		return "<60"
	case years < 70:
		return "60-69"
	case years < 80:
		return "70-79"
	case years < 90:
		return "80-89"
	}
	return "90+"
}
