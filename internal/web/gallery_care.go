package web

import (
	"context"

	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

func (c *canned) Care(context.Context, Actor, string) (CarePart, error) { return c.care, nil }
func (c *canned) Record(context.Context, Actor, CareForm) error         { return c.failure }
func (c *canned) Doses(context.Context, Actor) (DoseRules, error)       { return c.doses, nil }
func (c *canned) SetDoses(context.Context, Actor, DoseRulesForm) error  { return c.failure }

func (c *canned) OwnRisks(context.Context, Actor) (OwnRisks, error)    { return c.risks, nil }
func (c *canned) AcceptRisk(context.Context, Actor, OwnRiskForm) error { return c.failure }

// galleryRisks has one technique with an intercept, one without and one that
// nobody did.
func galleryRisks(editable bool) OwnRisks {
	return OwnRisks{editable, 4, []pathway.OwnRisk{
		{Technique: "phaco", Count: pathway.RiskCount{Events: 14, Of: 1311}, Rate: pathway.RiskInterval{Rate: 0.0107, Low: 0.0064, High: 0.0178}, Expected: 24.8, Against: pathway.RiskInterval{Rate: 0.56, Low: 0.31, High: 0.95}, Shift: pathway.Number{Value: -0.58, Known: true},
			Accepted: &pathway.AcceptedRisk{Shift: -0.61, Events: 9, Of: 870, By: "Dr Ines Lark", On: unit.Date{Year: 2026, Month: 1, Day: 20}}},
		{Technique: "msics", Count: pathway.RiskCount{Events: 3, Of: 164}, Rate: pathway.RiskInterval{Rate: 0.0183, Low: 0.0062, High: 0.0525}, Expected: 4.1, FewToSay: true},
		{Technique: "ecce", FewToSay: true}}}
}

// galleryCare is an eye with a hard nucleus, drugs drawn up and consent given.
func galleryCare(answers map[string]string, lines ...map[string]string) CarePart {
	c := CarePart{Identity: galleryIdentity(), May: map[string]bool{"findings": true, "decide": true, "drugs": true, "consent": true}}
	c.Care = pathway.CannedCare(c.Identity.Side, answers, lines)
	for _, f := range c.Care.Now.Findings {
		c.Findings = append(c.Findings, FindingItem{Finding: f, Side: c.Identity.Side})
	}
	return c
}

var galleryAnswers = map[string]string{"cataract": "brunescent", "nucleus_locs": "5.4", "iop_mmhg": "27", "pupil_dilated_mm": "4.5", "alpha_blocker": "tamsulosin",
	"only_eye": "yes", "exfoliation": "yes", "cooperates": "yes", "follows_instructions": "no", "bleb": "yes", "power_reliable": "no"}

func galleryDrugs() []map[string]string {
	return []map[string]string{
		{"drug": "lidocaine", "route": "peribulbar", "strength_percent": "2", "volume_ml": "5", "prepared_by": "p3", "checked_by": "p1"},
		{"drug": "bupivacaine", "route": "peribulbar", "strength_percent": "0.5", "volume_ml": "5", "prepared_by": "p3", "checked_by": "p1"},
		{"drug": "moxifloxacin", "route": "intracameral", "strength_percent": "0.5", "volume_ml": "0.5", "prepared_by": "p3"}}
}

func galleryDoses(editable bool) DoseRules {
	r := DoseRules{Editable: editable, Revision: 3, Drops: []Drop{{"usual", "as the pharmacy’s sheet of May says"}}}
	r.List = append(r.List, DoseRule{Key: "lidocaine.mg_per_kg", Name: "lidocaine.mg_per_kg", Unit: "mg/kg", Default: "3", Source: "lidocaine-limits, read in a secondary source", Value: "3", By: "drug committee", On: "2026-01-20", Says: "Printed: 3, 4 and 4.5 mg/kg."},
		DoseRule{Key: "cefuroxime.intracameral", Name: "cefuroxime.intracameral", Unit: "mg", Default: "1", Source: "cefuroxime-preparation, read in the source"},
		DoseRule{Key: "phenylephrine.intracameral", Name: "phenylephrine.intracameral", Unit: "mg", Source: "drug-practice, from memory, unconfirmed"})
	return r
}

func careCases() []galleryCase {
	empty := galleryCare(nil)
	return []galleryCase{
		{"decided", "/case/c1/decided", &canned{who: surgeonLark, care: galleryCare(galleryAnswers)}},
		{"decided-empty", "/case/c1/decided", &canned{who: surgeonLark, care: empty}},
		{"drugs", "/case/c1/drugs", &canned{who: surgeonLark, care: galleryCare(galleryAnswers, galleryDrugs()...)}},
		{"drugs-empty", "/case/c1/drugs", &canned{who: nurseReed, care: empty}},
		{"own-risk", "/desk/risk", &canned{who: surgeonLark, risks: galleryRisks(true)}},
		{"own-risk-read-only", "/desk/risk", &canned{who: administratorFen, risks: galleryRisks(false)}},
		{"doses", "/desk/doses", &canned{who: surgeonLark, doses: galleryDoses(true)}},
		{"doses-read-only", "/desk/doses", &canned{who: nurseReed, doses: galleryDoses(false)}},
		{"decided-refused", "/case/c1/decided", &canned{who: surgeonLark, care: galleryCare(galleryAnswers), failure: finding.Refusals{{Code: "technique-reason", Field: "reason"}}}},
	}
}
