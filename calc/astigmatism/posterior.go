package astigmatism

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Posterior says how the back of the cornea enters.
type Posterior string

// What may be asked for.
const (
	NoPosterior   Posterior = "none"
	AbulafiaKoch  Posterior = "abulafia-koch"
	SaviniNaeser  Posterior = "savini-naeser"
	Goggin        Posterior = "goggin"
	MeasuredBacks Posterior = "measured"
)

// name is the authors'.
func (p Posterior) name() string {
	switch p {
	case AbulafiaKoch:
		return "Abulafia–Koch"
	case SaviniNaeser:
		return "Savini–Næser"
	case Goggin:
		return "Goggin"
	}
	return string(p)
}

// Posteriors lists them in the order in which they are offered.
var Posteriors = []Posterior{NoPosterior, AbulafiaKoch, SaviniNaeser, Goggin, MeasuredBacks}

var (
	ak     = source.Ref{Key: source.AbulafiaKoch2016, Where: "regression of total on keratometric astigmatism", Grade: source.Memory}
	akX0   = source.Declare(source.Constant{Name: "posterior.abulafia-koch.x0", Value: 0.508, Unit: "D", Ref: ak})
	akX    = source.Declare(source.Constant{Name: "posterior.abulafia-koch.x", Value: 0.926, Ref: ak})
	akY0   = source.Declare(source.Constant{Name: "posterior.abulafia-koch.y0", Value: 0.009, Unit: "D", Ref: ak})
	akY    = source.Declare(source.Constant{Name: "posterior.abulafia-koch.y", Value: 0.932, Ref: ak})
	savini = source.Ref{Key: source.SaviniNaeser2017, Where: "optimised magnitude", Grade: source.Memory}
	snC    = source.Declare(source.Constant{Name: "posterior.savini-naeser.constant", Value: 0.103, Unit: "D", Ref: savini})
	snK    = source.Declare(source.Constant{Name: "posterior.savini-naeser.k", Value: 0.836, Ref: savini})
	snCos  = source.Declare(source.Constant{Name: "posterior.savini-naeser.cos", Value: 0.457, Unit: "D", Ref: savini})
	goggin = source.Ref{Key: source.Goggin2015, Where: "abstract: adjustment of the corneal cylinder", Grade: source.Read}
	goWTR  = source.Declare(source.Constant{Name: "posterior.goggin.with", Value: 0.75, Ref: goggin})
	goATR  = source.Declare(source.Constant{Name: "posterior.goggin.against", Value: 1.41, Ref: goggin})
	goMost = source.Declare(source.Constant{Name: "posterior.goggin.most", Value: 2, Unit: "D", Ref: goggin})
)

var (
	posteriorNone = finding.Declare(finding.Rule{Code: "posterior-cornea-left-out", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Koch2012, Where: "715 corneas: mean 0.3 D, ignoring it misses the total by 0.22 D on average", Grade: source.Memory},
		Limit: "front of the cornea alone"})
	posteriorMemory = finding.Declare(finding.Rule{Code: "posterior-cornea-from-memory", Severity: finding.Caution, Ref: ak,
		Limit: "a regression whose coefficients were not read in the paper"})
	posteriorSmall = finding.Declare(finding.Rule{Code: "posterior-cornea-axis-unsteady", Severity: finding.Caution, Ref: own,
		Limit: "less than 0.25 D is left: the meridian may be any"})
	posteriorTwice = finding.Declare(finding.Rule{Code: "incision-counted-twice", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.TwiceCounted, Where: "right eyes, 204 and 58: the two together overcorrected with the rule", Grade: source.Read},
		Limit: "an incision effect beside a regression that was itself fitted on operated eyes"})
	posteriorOutside = finding.Declare(finding.Rule{Code: "posterior-cornea-outside", Severity: finding.Caution, Ref: goggin,
		Limit: "Goggin’s factors are for a lens cylinder of at most 2 D before adjusting, and not for oblique astigmatism: the front is used as it is"})
	posteriorLacks = finding.Declare(finding.Rule{Code: "posterior-cornea-lacks", Severity: finding.Caution, Ref: own,
		Limit: "the measured back of the cornea was asked for and a radius, its meridian or the thickness is missing: the front is used as it is"})
	posteriorScaled = finding.Declare(finding.Rule{Code: "posterior-cornea-measured", Severity: finding.Note, Ref: own,
		Limit: "the power of both surfaces at the index 1.376: larger by 1.117 than a keratometric cylinder even over a spherical back"})
)

// Adjusted is a corneal astigmatism with its back surface, and what is to be
// said about it.
type Adjusted struct {
	Vector    Vector
	Method    Posterior // that was used; none when the one asked for could not be
	Findings  []finding.Finding
	Regressed bool // fitted on operated eyes: an incision may be in it already
}

// Adjust adds the back of the cornea to a keratometric astigmatism. lensCylinder
// is the unadjusted cylinder at the lens plane, which Goggin's factors ask for.
// back is needed for the measured back alone.
func (p Posterior) Adjust(v Vector, lensCylinder unit.Reading[unit.Dioptre], back *TwoSurfaces) (Adjusted, error) {
	a := Adjusted{Vector: v, Method: p}
	c := v.Cylinder()
	switch p {
	case AbulafiaKoch:
		a.Vector = Vector{unit.Dioptre(akX0 + akX*float64(v.X)), unit.Dioptre(akY0 + akY*float64(v.Y))}
		a.Regressed = true
	case SaviniNaeser:
		m := snC + snK*float64(c.Magnitude) + snCos*math.Cos(float64(c.Steep)*math.Pi/90)
		a.Vector = Cylinder{unit.Dioptre(max(0, m)), c.Steep}.Vector()
		a.Regressed = true
	case Goggin:
		return a.goggin(c, lensCylinder), nil
	case MeasuredBacks:
		return a.measured(v, back)
	default:
		a.Method = NoPosterior
		a.Findings = append(a.Findings, posteriorNone.On("posterior_cornea"))
		return a, nil
	}
	a.Findings = append(a.Findings, posteriorMemory.On("posterior_cornea", value("regression", p.name())))
	if m := a.Vector.Magnitude(); m < unsteady {
		a.Findings = append(a.Findings, posteriorSmall.On("posterior_cornea", value("got", m.Unsigned())))
	}
	return a, nil
}

// unsteady is the astigmatism below which a meridian says nothing, in D.
const unsteady = 0.25

func (a Adjusted) goggin(c Cylinder, lens unit.Reading[unit.Dioptre]) Adjusted {
	k := goATR
	switch {
	case !lens.Known, float64(lens.Value) > goMost, c.Rule() == Oblique:
		a.Method = NoPosterior
		a.Findings = append(a.Findings, posteriorOutside.On("posterior_cornea", value("got", c.Magnitude.Unsigned())))
		return a
	case c.Rule() == WithTheRule:
		k = goWTR
	}
	a.Vector, a.Regressed = a.Vector.Scale(k), true
	return a
}

func (a Adjusted) measured(v Vector, back *TwoSurfaces) (Adjusted, error) {
	if back == nil {
		a.Method = NoPosterior
		a.Findings = append(a.Findings, posteriorLacks.On("posterior_cornea"))
		return a, nil
	}
	total, err := back.Total()
	if err != nil {
		return a, err
	}
	a.Vector = total.Vector
	a.Findings = append(a.Findings, posteriorScaled.On("posterior_cornea", value("front", v.Magnitude().Unsigned()), value("both", total.Vector.Magnitude().Unsigned())))
	return a, nil
}

// Twice is what is to be said when an incision effect is added to an adjusted
// cornea.
func (a Adjusted) Twice(effect unit.Dioptre) []finding.Finding {
	if !a.Regressed || effect == 0 {
		return nil
	}
	return []finding.Finding{posteriorTwice.On("posterior_cornea", value("regression", a.Method.name()), value("got", effect.Unsigned()))}
}
