package lenspower

import (
	"math"
	"slices"
	"strconv"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// OperatedAnswer is one method's answer to an operated eye: a solution with its
// power for the target, or an error that says why there is none.
type OperatedAnswer struct {
	Method   *OperatedMethod
	Solution OperatedSolution
	Power    unit.Dioptre // unrounded, for the target
	Err      error        // *MissingError, *unit.RangeError; nil beside an answer
}

// OperatedSummary is what the methods that count say together.
type OperatedSummary struct {
	N         int // methods that count
	NoHistory int // of them, those that used nothing from before the surgery
	Median    unit.Dioptre
	Low, High unit.Dioptre
	Spread    unit.Dioptre // High − Low

	ExpectedSD unit.Dioptre // of the prediction error in published series
	WithinHalf unit.Ratio   // share within 0.5 D of the prediction, if normal with mean 0

	Findings []finding.Finding
}

// What published series achieved after laser, and our limits on the methods.
const (
	operatedSD     = 0.7 // D
	operatedApart  = 1.0 // D
	operatedLeast  = 3
	operatedWithin = 0.5 // D
)

var _ = declare(source.Wu2017, source.Read,
	coefficient{"after.expected-sd", operatedSD, "D", "SD of the error after myopic laser: Haigis-L 0.721, Shammas-PL 0.698; rounded"},
) && declare(source.CommonPractice, source.Memory,
	coefficient{"after.spread-limit", operatedApart, "D", "spread of the methods that warns"},
	coefficient{"after.least-no-history", operatedLeast, "", "methods without history to compute"},
)

var (
	operatedSpread = finding.Declare(finding.Rule{Code: "operated-methods-apart", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "after refractive surgery, spread above 1 D", Grade: source.Memory},
		Limit: "methods after corneal surgery more than 1.00 D apart"})
	operatedFew = finding.Declare(finding.Rule{Code: "operated-methods-few", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "at least three methods without history", Grade: source.Memory},
		Limit: "fewer than three methods without history could answer"})
	operatedExpected = finding.Declare(finding.Rule{Code: "operated-expected-error", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Wu2017, Where: "SD of the error after myopic laser; taken for every kind", Grade: source.Read},
		Limit: "every eye after corneal surgery: SD 0.70 D, about half within 0.50 D"})
)

// SolveOperated asks every method made for the eye's surgery about a target and
// sums up those that count. A method that lacks something or refuses the eye is
// in the list with its error. Not operated on: nothing.
func SolveOperated(in OperatedInput, target unit.Dioptre) ([]OperatedAnswer, OperatedSummary) {
	var list []OperatedAnswer
	for _, m := range AfterSurgery(in.Surgery) {
		a := OperatedAnswer{Method: m}
		if a.Solution, a.Err = m.Solve(in); a.Err == nil {
			a.Power, a.Err = a.Solution.Power(target)
		}
		if a.Err != nil {
			a.Solution, a.Power = OperatedSolution{}, 0
		}
		list = append(list, a)
	}
	return list, SummariseOperated(list)
}

// SummariseOperated sums up the answers that count. Without any, median and
// spread are 0 and N says so.
func SummariseOperated(list []OperatedAnswer) OperatedSummary {
	s := OperatedSummary{ExpectedSD: operatedSD, WithinHalf: unit.Ratio(math.Erf(operatedWithin / operatedSD / math.Sqrt2))}
	var powers []unit.Dioptre
	for _, a := range list {
		if a.Err != nil || !a.Solution.Counts {
			continue
		}
		powers = append(powers, a.Power)
		if !a.Solution.History {
			s.NoHistory++
		}
	}
	if len(list) == 0 {
		return s
	}
	if s.N = len(powers); s.N > 0 {
		slices.Sort(powers)
		s.Low, s.High = powers[0], powers[s.N-1]
		s.Spread, s.Median = s.High-s.Low, (powers[(s.N-1)/2]+powers[s.N/2])/2
	}
	s.say()
	return s
}

func (s *OperatedSummary) say() {
	value := func(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }
	if s.Spread > operatedApart+1e-9 {
		s.Findings = append(s.Findings, operatedSpread.On("corneal_surgery", value("got", s.Spread.Unsigned()), value("limit", unit.Dioptre(operatedApart).Unsigned()),
			value("low", s.Low.String()), value("high", s.High.String())))
	}
	if s.NoHistory < operatedLeast {
		s.Findings = append(s.Findings, operatedFew.On("corneal_surgery", value("got", strconv.Itoa(s.NoHistory)), value("limit", strconv.Itoa(operatedLeast))))
	}
	s.Findings = append(s.Findings, operatedExpected.On("corneal_surgery", value("sd", unit.Dioptre(operatedSD).Unsigned()), value("within", unit.Dioptre(operatedWithin).Unsigned()),
		value("share", unit.Percent(100*s.WithinHalf).String())))
}
