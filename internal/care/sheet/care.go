package sheet

import (
	"slices"

	"linn/calc/technique"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/source"
)

func line(code, words string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Note, Limit: words, Ref: source.Ref{Key: source.OwnChoice, Where: "the sheet", Grade: source.Own}})
}

// The lines that change what people do in theatre.
var (
	onlyEye       = line("sheet-only-eye", "the only useful eye")
	anaesthesia   = line("sheet-anaesthesia", "the anaesthesia that was chosen")
	noAnaesthesia = line("sheet-no-anaesthesia", "no anaesthesia was chosen")
	drug          = line("sheet-drug", "a drug as drawn up and checked")
	drugUnchecked = line("sheet-drug-unchecked", "a drug that no second person checked")
	consent       = line("sheet-consent", "consent is recorded")
	noConsent     = line("sheet-no-consent", "no consent is recorded")
)

// Care is what is recorded beside the plan's readings.
type Care struct {
	Clinical    *plan.ClinicalPlan
	Input       *plan.Clinical
	Consented   bool
	Names       map[string]string // of people, by id
	Anaesthesia string
}

// onSheet are rules of technique and anaesthesia that the theatre must see
// although they are notes elsewhere.
var onSheet = []string{"floppy-iris", "needle-length-unknown", "needle-long", "needle-doubt", "needle-staphyloma-unknown", "needle-antiplatelets", "needle-inr-out", "needle-inr-unknown", "needle-direct"}

// lines are the alerts of care: the needle gate, floppy iris, only eye,
// anaesthesia, drugs as checked, consent.
func (c *Care) lines(already []finding.Finding) (list []finding.Finding) {
	for _, f := range c.Clinical.Findings {
		if f.Severity > finding.Note && !finding.Has(already, f.Code) {
			list = append(list, f)
		}
	}
	for _, f := range c.Clinical.Decision.Fired {
		if slices.Contains(onSheet, f.ID) {
			list = append(list, finding.Finding{Code: f.ID, Severity: finding.Note, Values: values(f), Source: f.Source})
		}
	}
	if c.Input.Answers["only_eye"] == "yes" {
		list = append(list, onlyEye.On("only_eye"))
	}
	if c.Anaesthesia != "" {
		list = append(list, anaesthesia.On("anaesthesia", finding.Value{Name: "method", Text: c.Anaesthesia}))
	} else {
		list = append(list, noAnaesthesia.On("anaesthesia"))
	}
	list = append(list, c.drugs()...)
	if c.Consented {
		return append(list, consent.On("consent"))
	}
	return append(list, noConsent.On("consent"))
}

// values are the answers a rule rests on, as the texts of findings take them.
func values(f technique.Fired) (v finding.Values) {
	for _, e := range f.Rests {
		v = append(v, finding.Value{Name: e.Key, Text: e.Text})
	}
	return v
}

func (c *Care) drugs() (list []finding.Finding) {
	if c.Clinical.Dose == nil {
		return nil
	}
	for _, l := range c.Clinical.Dose.Lines {
		v := []finding.Value{{Name: "drug", Text: l.Drug}, {Name: "route", Text: l.Route}, {Name: "strength", Text: plan.AmountText(l.Concentration, "mg/ml")},
			{Name: "dose", Text: plan.AmountText(l.Dose, "mg")}, {Name: "prepared", Text: c.name(l.PreparedBy)}, {Name: "checked", Text: c.name(l.CheckedBy)}}
		if l.CheckedBy == "" {
			list = append(list, drugUnchecked.On("drugs", v...))
			continue
		}
		list = append(list, drug.On("drugs", v...))
	}
	return list
}

func (c *Care) name(id string) string {
	if n := c.Names[id]; n != "" {
		return n
	}
	return id
}
