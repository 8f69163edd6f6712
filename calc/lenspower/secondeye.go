package lenspower

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// FirstEye is what is known of the eye operated first, and how alike the two
// eyes are. Differences are absolute, this eye less the first.
type FirstEye struct {
	Error            unit.Reading[unit.Dioptre]    // achieved less predicted, spherical equivalent
	DaysToRefraction unit.Reading[unit.Constant]   // from the operation
	LengthDifference unit.Reading[unit.Millimetre] // axial length
	KDifference      unit.Reading[unit.Dioptre]    // mean K
	ACDDifference    unit.Reading[unit.Millimetre]
	SameModel        Told
	SameMethod       Told
	InBag            Told
	Complication     Told
}

// Adjustment is what the first eye's error says about the second's target.
type Adjustment struct {
	Eligible bool
	Weight   unit.Constant // share of the first eye's error, 0 when not eligible
	Target   unit.Dioptre  // to aim at with the unchanged constants
	Findings []finding.Finding
}

// The rules of adjustment.
const (
	secondWeight = 0.5
	secondLeast  = 0.5  // D
	secondMost   = 2.0  // D
	secondLength = 0.3  // mm
	secondK      = 0.6  // D
	secondACD    = 0.3  // mm
	secondDays   = 28.0 // days to a settled refraction
)

var _ = declare(source.Covert2010, source.Read,
	coefficient{"second-eye.weight", secondWeight, "", "optimum of 206 patients"},
) && declare(source.Jivrajka2012, source.Secondary,
	coefficient{"second-eye.least-error", secondLeast, "D", "adjusted only above"},
	coefficient{"second-eye.length", secondLength, "mm", "eligibility"},
	coefficient{"second-eye.acd", secondACD, "mm", "eligibility"},
) && declare(source.Aristodemou2011, source.Secondary,
	coefficient{"second-eye.k", secondK, "D", "no help beyond"},
) && declare(source.OwnChoice, source.Own,
	coefficient{"second-eye.most-error", secondMost, "D", "beyond it a blunder is looked for first"},
	coefficient{"second-eye.days", secondDays, "days", "four weeks"},
)

var (
	secondBlunder = finding.Declare(finding.Rule{Code: "second-eye-blunder-first", Severity: finding.Caution, Gate: true,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "error beyond 2 D", Grade: source.Own},
		Limit: "the first eye missed its prediction by more than 2.00 D: look for a blunder first"})
	secondAdjusted = finding.Declare(finding.Rule{Code: "second-eye-adjusted", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Covert2010, Where: "half of the first eye’s error", Grade: source.Read},
		Limit: "all rules met and an error of 0.50 to 2.00 D"})
	secondSmall = finding.Declare(finding.Rule{Code: "second-eye-error-small", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Jivrajka2012, Where: "adjusted only above 0.50 D", Grade: source.Read},
		Limit: "the first eye ended within 0.50 D"})
	secondUnlike = finding.Declare(finding.Rule{Code: "second-eye-not-comparable", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Jivrajka2012, Where: "length 0.3 mm, depth 0.3 mm; K 0.6 D of Aristodemou 2011; own choice for the rest", Grade: source.Secondary},
		Limit: "an eligibility rule is not met or not recorded"})
)

// eligibility is one rule with what it found.
type eligibility struct {
	field string
	ok    bool
	got   string
}

func (in FirstEye) rules() []eligibility {
	told := func(field string, t Told, want Told) eligibility { return eligibility{field, t == want, string(t)} }
	within := func(field string, known bool, got float64, most float64, text string) eligibility {
		return eligibility{field, known && math.Abs(got) <= most+1e-9, text}
	}
	text := func(known bool, s string) string {
		if known {
			return s
		}
		return ""
	}
	return []eligibility{
		{"first_eye_days", in.DaysToRefraction.Known && in.DaysToRefraction.Value >= secondDays, text(in.DaysToRefraction.Known, unit.Fixed(float64(in.DaysToRefraction.Value), 0)+unit.Thin+"days")},
		within("axial_length_mm", in.LengthDifference.Known, float64(in.LengthDifference.Value), secondLength, text(in.LengthDifference.Known, in.LengthDifference.Value.String())),
		within("k_flat_d", in.KDifference.Known, float64(in.KDifference.Value), secondK, text(in.KDifference.Known, in.KDifference.Value.Unsigned())),
		within("acd_mm", in.ACDDifference.Known, float64(in.ACDDifference.Value), secondACD, text(in.ACDDifference.Known, in.ACDDifference.Value.String())),
		told("first_eye_same_lens", in.SameModel, Yes),
		told("first_eye_same_method", in.SameMethod, Yes),
		told("first_eye_place", in.InBag, Yes),
		told("first_eye_complication", in.Complication, No),
	}
}

// AdjustSecondEye moves the target of the second eye by half of the first eye's
// error, target − 0.5·error, when every rule is met and recorded; otherwise the
// target stays and the findings say why.
func AdjustSecondEye(in FirstEye, target unit.Dioptre) Adjustment {
	a := Adjustment{Target: target}
	value := func(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }
	if !in.Error.Known || !unit.Finite(in.Error.Value) {
		a.Findings = append(a.Findings, secondUnlike.On("first_eye_achieved_d", value("got", "")))
		return a
	}
	size := math.Abs(float64(in.Error.Value))
	if size > secondMost+1e-9 {
		a.Findings = append(a.Findings, secondBlunder.On("first_eye_achieved_d", value("got", in.Error.Value.String()), value("limit", unit.Dioptre(secondMost).Unsigned())))
		return a
	}
	for _, r := range in.rules() {
		if !r.ok {
			a.Findings = append(a.Findings, secondUnlike.On(r.field, value("got", r.got)))
		}
	}
	if size < secondLeast-1e-9 {
		a.Findings = append(a.Findings, secondSmall.On("first_eye_achieved_d", value("got", in.Error.Value.String()), value("limit", unit.Dioptre(secondLeast).Unsigned())))
	}
	if len(a.Findings) > 0 {
		return a
	}
	a.Eligible, a.Weight = true, secondWeight
	a.Target = target - secondWeight*in.Error.Value
	a.Findings = append(a.Findings, secondAdjusted.On("target_d", value("got", in.Error.Value.String()), value("target", a.Target.String()), value("unadjusted", target.String())))
	return a
}

// Pair is the theory of two eyes: the correlation of their errors and the share
// of the first that is taken off the second.
type Pair struct{ Correlation, Weight unit.Ratio }

// ResidualSD returns the SD of the second eye's error after the adjustment, as
// a share of the unadjusted: √(1 + w² − 2wρ). The best weight is ρ itself and
// leaves √(1 − ρ²); full correction helps only above ρ 0.5. Domain: ρ −1 to 1;
// else a *unit.RangeError.
func (p Pair) ResidualSD() (unit.Ratio, error) {
	rho, w := float64(p.Correlation), float64(p.Weight)
	if b := (unit.Bounds{Low: -1, High: 1}); !within(rho, b) || math.IsNaN(w) || math.IsInf(w, 0) {
		return 0, outside("correlation", rho, b, "")
	}
	return unit.Ratio(math.Sqrt(max(0, 1+w*w-2*w*rho))), nil
}
