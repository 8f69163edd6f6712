package web

import (
	"context"
	"strconv"
	"strings"

	"linn/internal/locale"
	"linn/internal/pathway"
)

func (a *ward) Care(ctx context.Context, by Actor, id string) (CarePart, error) {
	j, err := a.Check(ctx, actorOf(by), id)
	if err != nil {
		return CarePart{}, said(err)
	}
	c := CarePart{Identity: identityOf(&j), Care: j.Care, May: map[string]bool{"findings": j.May[pathway.VerbFindings], "decide": j.May[pathway.VerbDecide],
		"drugs": j.May[pathway.VerbDrugs], "consent": j.May[pathway.VerbConsent]}}
	all, ofLens := a.findings(&j)
	for _, item := range append(all, ofLens...) {
		if hasFinding(j.Care.Now.Findings, item.Finding) {
			c.Findings = append(c.Findings, item)
		}
	}
	return c, nil
}

// Record stores one form of the pages Decided and Drugs.
func (a *ward) Record(ctx context.Context, by Actor, f CareForm) (err error) {
	v, who := f.Values, actorOf(by)
	switch f.What {
	case "findings":
		answers := map[string]string{}
		for _, q := range pathway.Questions() {
			if text, asked := v[q.Key]; asked {
				answers[q.Key] = text
			}
		}
		_, err = a.Findings(ctx, who, pathway.FindingsForm{Case: f.CaseID, Seen: f.Revision, Answers: answers})
	case "decide":
		_, err = a.Decide(ctx, who, pathway.DecideForm{Case: f.CaseID, Seen: f.Revision, Technique: v["technique"], Anaesthesia: v["anaesthesia"], Reason: v["reason"]})
	case "drugs":
		_, err = a.DrawUp(ctx, who, pathway.DrugsForm{Case: f.CaseID, Seen: f.Revision, Weight: v["weight"], Lines: f.Lines, Drops: v["drops"]})
	case "check":
		_, err = a.CheckDrugs(ctx, who, f.CaseID, f.Revision)
	case "consent":
		_, err = a.Consent(ctx, who, pathway.ConsentForm{Case: f.CaseID, Seen: f.Revision, Side: v["side"], Procedure: v["procedure"], Refused: v["refused"] == "yes",
			Language: v["language"], Signature: v["signature"], Interpreter: v["interpreter"], Witness: v["witness"], Guardian: v["guardian"],
			Risks: f.Lists["risk"], Trainee: v["trainee"], Teaching: v["teaching"]})
	default:
		_, err = a.Say(ctx, who, pathway.SaidForm{Case: f.CaseID, Seen: f.Revision, What: f.What, Side: v["side"], Procedure: v["procedure"]})
	}
	if err != nil {
		return a.conflictOf(ctx, by, f.CaseID, err, nil)
	}
	return nil
}

func (a *ward) Doses(ctx context.Context, by Actor) (DoseRules, error) {
	l, err := a.Pathway.Protocol(ctx, actorOf(by))
	out := DoseRules{Editable: pathway.May(pathway.Role(by.Role), pathway.VerbProtocol), Revision: l.Number}
	for _, s := range l.DoseSettings() {
		r := DoseRule{Key: s.Key, Name: settingName.Replace(s.Key), Unit: s.Unit, Source: string(s.Ref.Key) + ", " + locale.T(locale.English, "grade."+string(s.Ref.Grade))}
		if s.Default > 0 {
			r.Default = strconv.FormatFloat(s.Default, 'f', -1, 64)
		}
		if s.Says != "" {
			r.Says = locale.T(locale.English, "limits."+s.Says)
		}
		if s.Local.By != "" {
			r.Value, r.By, r.On = strconv.FormatFloat(s.Local.Value, 'f', -1, 64), s.Local.By, s.Local.On.String()
		}
		out.List = append(out.List, r)
	}
	for _, name := range l.DropNames() {
		out.Drops = append(out.Drops, Drop{name, l.Drop(name)})
	}
	return out, said(err)
}

// settingName writes the key of a setting for people.
var settingName = strings.NewReplacer(".with_adrenaline", " with adrenaline", ".most_g_per_kg", ", at most", ".g_per_kg", ", usual", ".mg_per_kg", ", per kg", ".mg", ", at most", ".", ", ")

func (a *ward) SetDoses(ctx context.Context, by Actor, f DoseRulesForm) error {
	form := pathway.LimitsForm{Seen: f.Revision, Values: f.Values, By: f.By, On: f.On, Reason: f.Reason}
	if f.Drop.Name != "" {
		form.Drops = map[string]string{f.Drop.Name: f.Drop.Text}
	}
	return said(a.SetLimits(ctx, actorOf(by), form))
}
