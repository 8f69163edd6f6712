package plan

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
)

// Statement is one source that says which eye and which operation: the plan,
// the consent as signed, the mark on the skin, the list as written. Each is
// entered by itself, never copied from another.
type Statement struct {
	By        string   `json:"by"` // plan, consent, mark, list
	Side      eye.Side `json:"side"`
	Procedure string   `json:"procedure,omitempty"` // "" is not said by this source
}

// The sources of statements.
const (
	ByPlan    = "plan"
	ByConsent = "consent"
	ByMark    = "mark"
	ByList    = "list"
)

func clinical(code string, s finding.Severity, absolute bool, words string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: s, Absolute: absolute, Limit: words, Ref: source.Ref{Key: source.OwnChoice, Grade: source.Own}})
}

var (
	eyesDisagree       = clinical("consent-eye-disagrees", finding.Stop, true, "plan, consent, mark and list name different eyes")
	proceduresDisagree = clinical("consent-procedure-disagrees", finding.Stop, true, "plan, consent and list name different operations")
	consentRefused     = clinical("consent-refused", finding.Stop, true, "the patient refused")
	reasonMissing      = clinical("technique-reason-missing", finding.Note, false, "a technique against the leans, without a reason")
	anaesthesiaBarred  = finding.Declare(finding.Rule{Code: "anaesthesia-barred", Severity: finding.Caution, Gate: true, Limit: "the method chosen has a strong reason against it",
		Ref: source.Ref{Key: source.EdgeNavon1999, Grade: source.Read}})
)

// Agree stops where two sources name different eyes or different operations.
// It looks at every pair, so that every one of them is named.
func Agree(list []Statement) (found []finding.Finding) {
	for i, a := range list {
		for _, b := range list[i+1:] {
			if a.Side != "" && b.Side != "" && a.Side != b.Side {
				found = append(found, eyesDisagree.On("consent", finding.Value{Name: "one", Text: a.By}, finding.Value{Name: "says", Text: a.Side.Words()},
					finding.Value{Name: "other", Text: b.By}, finding.Value{Name: "otherwise", Text: b.Side.Words()}))
			}
			if a.Procedure != "" && b.Procedure != "" && a.Procedure != b.Procedure {
				found = append(found, proceduresDisagree.On("consent", finding.Value{Name: "one", Text: a.By}, finding.Value{Name: "procedure", Text: a.Procedure},
					finding.Value{Name: "other", Text: b.By}, finding.Value{Name: "other_procedure", Text: b.Procedure}))
			}
		}
	}
	return found
}
