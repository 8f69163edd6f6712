package plan

import (
	"errors"

	"linn/calc/risk"
	"linn/calc/technique"
	"linn/source"
)

// Risk is one published estimate for this eye, in its own words: its outcome,
// place and years. Risks are shown beside one another and never added.
type Risk struct {
	Model      string       `json:"model"`
	Outcome    string       `json:"outcome"`
	Setting    string       `json:"setting"`
	Years      string       `json:"years"`
	P          Number       `json:"probability"` // null: no published model for the planned operation
	Low        Number       `json:"low"`
	High       Number       `json:"high"`
	Points     Number       `json:"points"` // of a score
	Most       Number       `json:"most_points"`
	Group      Number       `json:"group"`
	Missing    []string     `json:"missing"`
	NoModel    bool         `json:"no_published_model"`
	Old        bool         `json:"old_baseline"`
	Unit       bool         `json:"set_to_unit"`
	Source     source.Key   `json:"source"`
	Grade      source.Grade `json:"grade"`
	BaseGrade  source.Grade `json:"baseline_grade"`
	Interval95 bool         `json:"interval_95"` // low and high are sampling, not unanswered inputs
}

// Risks estimates what the published models say of the answers. own is the
// unit's intercept, nil when it has none.
func Risks(a technique.Answers, own *risk.Own) (list []Risk) {
	planned := a["planned_technique"].Word
	list = append(list, odds(a, planned, own))
	if planned == "" || planned == risk.Narendran.Technique { // both were made from phaco
		list = append(list, groupRisk(a), selection(a))
	}
	return list
}

func odds(a technique.Answers, planned string, own *risk.Own) Risk {
	m := &risk.Narendran
	r := Risk{Model: m.ID, Outcome: m.Outcome, Setting: m.Setting, Years: m.Years, Old: m.Old, Source: m.Ref.Key, Grade: m.Ref.Grade,
		BaseGrade: m.BaselineRef.Grade, Missing: []string{}, Unit: own != nil && own.Technique == planned}
	if planned == "" {
		planned = m.Technique
	}
	e, err := m.For(planned, oddsFindings(a), own)
	if errors.Is(err, risk.ErrNoModel) {
		r.NoModel, r.Setting, r.Years = true, "", ""
		return r
	}
	if err != nil {
		panic("plan: an answer is no level of its model: " + err.Error())
	}
	r.P, r.Low, r.High = number(e.P), number(e.Low), number(e.High)
	r.Missing = append(r.Missing, e.Missing...)
	return r
}

// oddsFindings are the levels of the model that the answers settle. What they
// leave open stays open.
func oddsFindings(a technique.Answers) risk.Findings {
	f := risk.Findings{}
	put := func(key, level string) {
		if level != "" {
			f[key] = level
		}
	}
	if x, ok := a["age_years"]; ok {
		f["age"] = risk.AgeBand(x.Number)
	}
	if sex := a["sex"].Word; sex == "female" || sex == "male" {
		f["sex"] = sex
	}
	put("glaucoma", a["glaucoma"].Word)
	put("diabetic_retinopathy", not(a, "retinopathy", "none"))
	put("brunescent_or_white", among(a, "cataract", "brunescent", "white", "hypermature"))
	put("no_fundus_view", map[string]string{"yes": "no", "no": "yes"}[a["fundus_view"].Word])
	put("exfoliation_or_phacodonesis", either(a["exfoliation"].Word, a["phacodonesis"].Word))
	if x, ok := a["pupil_dilated_mm"]; ok {
		f["pupil"] = pupil(x.Number)
	}
	if x, ok := a["axial_length_mm"]; ok {
		f["axial_length"] = map[bool]string{true: ">=26", false: "<26"}[x.Number >= 26]
	}
	put("doxazosin", among(a, "alpha_blocker", "doxazosin"))
	put("cannot_lie_flat", map[string]string{"yes": "no", "no": "yes"}[a["lies_flat"].Word])
	put("surgeon", a["operator_grade"].Word)
	return f
}

// pupil turns millimetres into the model's words. The authors left large,
// medium and small to the surgeon's eye; these limits are ours.
func pupil(mm float64) string {
	switch {
	case mm < 5:
		return "small"
	case mm < 7:
		return "medium"
	}
	return "large"
}

func among(a technique.Answers, key string, words ...string) string {
	x, answered := a[key]
	if !answered {
		return ""
	}
	for _, w := range words {
		if x.Word == w {
			return "yes"
		}
	}
	return "no"
}

func not(a technique.Answers, key, word string) string {
	return map[string]string{"yes": "no", "no": "yes"}[among(a, key, word)]
}

// either is yes when one of two is, no when both are no, else open.
func either(x, y string) string {
	switch {
	case x == "yes" || y == "yes":
		return "yes"
	case x == "no" && y == "no":
		return "no"
	}
	return ""
}

// scored are the answers to the items of the scores that the questions settle.
func scored(a technique.Answers) risk.Answers {
	s := risk.Answers{}
	word := func(item, text string) {
		if text != "" {
			s[item] = text == "yes"
		}
	}
	number := func(item, key string, present func(float64) bool) {
		if x, ok := a[key]; ok {
			s[item] = present(x.Number)
		}
	}
	for item, key := range map[string]string{"vitrectomy_past": "vitrectomy_past", "corneal_scar": "corneal_opacity", "ametropia_over_6": "high_ametropia", "capsule_plaque": "capsule_plaque",
		"surgeon_doubts": "surgeon_doubts", "exfoliation": "exfoliation", "phacodonesis": "phacodonesis", "severe_anxiety": "severe_anxiety", "head_tremor": "tremor",
		"angle_closure_past": "angle_closure_past", "fellow_complicated": "fellow_complicated"} {
		word(item, a[key].Word)
	}
	word("cannot_lie_flat", map[string]string{"yes": "no", "no": "yes"}[a["lies_flat"].Word])
	word("posterior_polar", among(a, "cataract", "posterior-polar"))
	word("dense_or_white", among(a, "cataract", "brunescent", "white", "hypermature"))
	number("pupil_below_3", "pupil_dilated_mm", func(v float64) bool { return v < 3 })
	number("poor_dilation", "pupil_dilated_mm", func(v float64) bool { return v < 5 })
	number("acd_below_2_5", "acd_mm", func(v float64) bool { return v < 2.5 })
	number("shallow_chamber", "acd_mm", func(v float64) bool { return v < 2.5 })
	number("age_over_88", "age_years", func(v float64) bool { return v > 88 })
	number("length_over_27", "axial_length_mm", func(v float64) bool { return v > 27 })
	number("length_below_20", "axial_length_mm", func(v float64) bool { return v < 20 })
	if x, ok := a["nucleus_emery"]; ok {
		s["nucleus_1_2"], s["nucleus_3"] = x.Number < 3, x.Number >= 3 && x.Number < 4
	}
	return s
}

// groupRisk is any complication in the group of the points.
func groupRisk(a technique.Answers) Risk {
	t := risk.MuhtasebScore.Add(scored(a))
	group := risk.Group(t.Points)
	r := Risk{Model: risk.MuhtasebScore.ID, Outcome: risk.GroupRates[0].Outcome, Setting: "united-kingdom", Years: "published 2004", Source: risk.GroupRef.Key,
		Grade: risk.GroupRef.Grade, BaseGrade: risk.GroupRef.Grade, Points: number(float64(t.Points)), Most: number(float64(t.Most)), Group: number(float64(group)), Missing: append([]string{}, t.Missing...), Interval95: true}
	i, err := risk.GroupRates[0].Of(group)
	if err != nil {
		panic("plan: " + err.Error())
	}
	r.P, r.Low, r.High = number(i.Rate), number(i.Low), number(i.High)
	return r
}

// selection is the score that sorts eyes for trainees; it has no probability.
func selection(a technique.Answers) Risk {
	t := risk.HabibScore.Add(scored(a))
	return Risk{Model: risk.HabibScore.ID, Outcome: "difficulty-for-trainees", Setting: "united-kingdom", Years: "published 2006", Source: risk.HabibScore.Ref.Key,
		Grade: risk.HabibScore.Ref.Grade, BaseGrade: risk.HabibScore.Ref.Grade, Points: number(float64(t.Points)), Most: number(float64(t.Most)), Missing: append([]string{}, t.Missing...)}
}

// BaseRisk is what the odds model says of the answers before any intercept of
// the unit, whatever the technique: what a unit's own rate is compared with.
func BaseRisk(a technique.Answers) (float64, error) {
	e, err := risk.Narendran.For(risk.Narendran.Technique, oddsFindings(a), nil)
	return e.P, err
}
