package pathway

import (
	"slices"
	"strings"

	"linn/calc/dose"
	"linn/calc/technique"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
)

// TechniqueFormat is the format of the file, DecisionFormat of the answer,
// DoseFormat and DoseCheckFormat those of doses.
const (
	TechniqueFormat = "linn.technique/1"
	DecisionFormat  = "linn.decision/1"
	DoseFormat      = dose.Format
	DoseCheckFormat = "linn.dose-check/1"
)

// TechniqueAnswer is every rule that fired for one eye and what the published
// models say. It holds no recommendation.
type TechniqueAnswer struct {
	Format   string             `json:"format"`
	Side     eye.Side           `json:"side"`
	Decision technique.Decision `json:"decision"`
	Risks    []plan.Risk        `json:"risks"`
	Findings []finding.Finding  `json:"findings"` // gates and paths
}

// DoseAnswer is the check of the drugs of one person.
type DoseAnswer struct {
	Format string `json:"format"`
	plan.DoseCheck
}

// What the pages and commands show of a decision.
type (
	// Decision is every rule that fired.
	Decision = technique.Decision
	// Fired is a rule that fired.
	Fired = technique.Fired
	// Risk is one published estimate.
	Risk = plan.Risk
	// DoseCheck is the check of drugs.
	DoseCheck = plan.DoseCheck
	// DoseLine is one drug's arithmetic.
	DoseLine = plan.DoseLine
)

// Techniques are the operations one can plan.
var Techniques = []string{technique.TowardPhaco, technique.TowardManual, technique.TowardECCE}

// Triggers are the reasons of conversion.
var Triggers = technique.Triggers

// AmountText writes an amount of a dose with its unit.
func AmountText(n Number, u string) string { return plan.AmountText(n, u) }

// Technique reads a file of findings of one eye and judges the rules.
func Technique(data []byte) (a TechniqueAnswer, refused finding.Refusals) {
	list, refused := eye.Members(data)
	known := append([]string{"format", "side"}, technique.Keys()...)
	answers := technique.Answers{}
	a.Format = DecisionFormat
	for _, m := range list {
		r := technicalMember(&a, answers, &m, known)
		if r != nil {
			r.Line, r.Column = m.Line, m.Column
			refused = append(refused, *r)
		}
	}
	if a.Side == "" && len(refused) == 0 {
		refused = append(refused, finding.Refusal{Code: "missing", Field: "side"})
	}
	if len(refused) > 0 {
		return a, refused
	}
	a.Decision, a.Risks = technique.Decide(answers), plan.Risks(answers, nil)
	a.Findings = a.Decision.Findings()
	if a.Findings == nil {
		a.Findings = []finding.Finding{}
	}
	return a, nil
}

func technicalMember(a *TechniqueAnswer, answers technique.Answers, m *eye.Member, known []string) *finding.Refusal {
	text := m.Text
	switch {
	case strings.HasPrefix(m.Key, "x_") || m.Kind == eye.Null:
		return nil
	case !slices.Contains(known, m.Key):
		return &finding.Refusal{Code: "unknown-key", Field: eye.Clip(m.Key), Values: finding.Values{value("nearest", eye.Nearest(m.Key, known))}}
	case m.Kind == eye.Object || m.Kind == eye.Array:
		return &finding.Refusal{Code: "wrong-kind", Field: m.Key, Values: finding.Values{value("wanted", "number or text"), value("got", eye.Clip(m.Text))}}
	case m.Kind == eye.Bool:
		text = map[string]string{"true": "yes", "false": "no"}[m.Text]
	case m.Key == "format":
		if m.Text != TechniqueFormat {
			return &finding.Refusal{Code: "unknown-format", Field: "format", Values: finding.Values{value("got", eye.Clip(m.Text)), value("known", TechniqueFormat)}}
		}
		return nil
	case m.Key == "side":
		var e eye.Eye
		r := eye.FieldNamed("side").Set(&e, m.Text)
		a.Side = e.Side
		return r
	}
	if strings.TrimSpace(text) == "" {
		return &finding.Refusal{Code: "empty", Field: m.Key}
	}
	return answers.Set(technique.Typed{Key: m.Key, Text: text})
}

// Dose reads a file of drugs as drawn up and checks the arithmetic.
func Dose(data []byte) (DoseAnswer, finding.Refusals) {
	in, refused := dose.Parse(data)
	if len(refused) > 0 {
		return DoseAnswer{}, refused
	}
	a := DoseAnswer{DoseCheckFormat, plan.Doses(in)}
	if a.Findings == nil {
		a.Findings = []finding.Finding{}
	}
	return a, nil
}
