package web

import (
	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

// galleryUnusual are canned cases of eyes that ordinary formulas do not fit, and
// of what stands beside a plan.
func galleryUnusual() []galleryCase {
	sheet := averageSheet()
	sheet.Rescue = galleryRescue()
	return []galleryCase{
		onEye("eye-ways-out", &canned{who: surgeonLark, eye: waysOutEye()}),
		onEye("eye-without-lens", &canned{who: surgeonLark, eye: withoutLensEye()}),
		onEye("eye-machine", &canned{who: surgeonLark, eye: measuredEye()}),
		onEye("eye-child", &canned{who: surgeonLark, eye: childEye()}),
		onEye("eye-oil-lacks", &canned{who: technicianBay, eye: oilEye()}),
		{"sheet-ways-out", "/case/c1/sheet", &canned{who: surgeonLark, sheet: sheet}},
		{"bench-old-rules", "/bench/old-rules", &canned{who: surgeonLark}},
	}
}

func galleryRescue() []pathway.Rescue {
	n := func(v float64) pathway.Number { return pathway.Number{Value: v, Known: true} }
	spread := finding.Finding{Code: "sulcus-expected-spread", Severity: finding.Note, Field: "placement"}
	return []pathway.Rescue{
		{Place: "bag", Model: "Tarn 60", Power: n(22), Stock: n(2), Refraction: n(-0.38)},
		{Place: "captured", Model: "Mere Three-Piece", Power: n(21.5), Stock: n(0), Refraction: n(-0.31)},
		{Place: "sulcus", Model: "Mere Three-Piece", Power: n(20.5), Stock: n(1), Refraction: n(-0.27), Chart: n(21), Nines: n(21), Findings: []finding.Finding{spread}},
		{Place: "chamber", Lacks: "chamber_lens"},
		{Place: "none", Refraction: n(11.42)},
	}
}

// childEye has published targets side by side.
func childEye() EyeCase {
	c := averageEye()
	n := func(v float64) pathway.Number { return pathway.Number{Value: v, Known: true} }
	for _, method := range []string{"srk-t", "holladay-1"} {
		c.Lens.Children = append(c.Lens.Children,
			pathway.ChildBeside{Table: "rule-of-seven", Source: "enyedi1998", Grade: "c", Method: method, AimLow: n(3), AimHigh: n(3), PowerLow: n(22.41), PowerHigh: n(22.41)},
			pathway.ChildBeside{Table: "dahan", Source: "dahan1997", Grade: "c", Method: method, AimLow: n(1.78), AimHigh: n(1.78), PowerLow: n(24.02), PowerHigh: n(24.02)},
			pathway.ChildBeside{Table: "infant-trial", Source: "iats", Grade: "c", Method: method, AimLow: n(6), AimHigh: n(8), PowerLow: n(15.2), PowerHigh: n(18.1)})
	}
	return c
}

// waysOutEye is a second, long eye with everything beside its plan.
func waysOutEye() EyeCase {
	c := averageEye()
	n := func(v float64) pathway.Number { return pathway.Number{Value: v, Known: true} }
	c.Queue, c.Findings = nil, nil
	c.Lens.Rescue, c.Lens.Placement = galleryRescue(), "bag"
	for _, id := range []string{"srk-t", "holladay-1"} {
		c.Lens.Lengths = append(c.Lens.Lengths, pathway.LengthBeside{Length: "wang-koch-2018", Method: id, AxialLength: n(26.68), Power: n(10.92), Measured: n(10.25)})
	}
	adjusted := finding.Finding{Code: "second-eye-adjusted", Severity: finding.Note, Field: "target_d", Values: finding.Values{{Name: "got", Text: unit.Dioptre(-0.91).String()},
		{Name: "target", Text: unit.Dioptre(0.20).String()}, {Name: "unadjusted", Text: unit.Dioptre(-0.25).String()}}}
	c.Lens.Second = &pathway.SecondEye{Eligible: true, Weight: n(0.5), Correlated: n(0.46), Residual: n(88.9), Best: n(88.8), Findings: []finding.Finding{adjusted}}
	typeMore(&c.Right, "first_eye_predicted_d", "-0.21", "first_eye_achieved_d", "-1.12", "first_eye_days", "42", "first_eye_same_lens", "yes")
	return c
}

// typeMore types further readings: key, text, key, text.
func typeMore(r *Readings, texts ...string) {
	for i := 0; i+1 < len(texts); i += 2 {
		r.Texts[texts[i]] = texts[i+1]
	}
}

// withoutLensEye has lost its lens and gets one into the chamber.
func withoutLensEye() EyeCase {
	c := averageEye()
	c.Queue = nil
	typeMore(&c.Right, "lens_status", "aphakic", "refraction_now_d", "11.25", "axial_length_mode", "aphakic", "iridectomy", "yes")
	answered := finding.Finding{Code: "unusual-eye-adapted", Severity: finding.Caution, Field: "lens_status"}
	c.Findings = []FindingItem{{Finding: answered, Limit: "no natural lens", Ref: ownRef}}
	powers := shelfPowers(17, 4)
	l := averageLens()
	l.Powers, l.Recommended, l.Advice, l.Band, l.Shares = powers, nil, nil, nil, nil
	l.Methods = answers(powers,
		methodRowData{"srk-t-adapted", 3.20, 17.44, 17.10, [5]float64{0.10, -0.23, -0.56, -0.90, -1.24}, "label"},
		methodRowData{"refractive-vergence", 3.15, 17.38, 17.05, [5]float64{0.06, -0.27, -0.60, -0.94, -1.28}, ""})
	l.Methods[1].Constant = ""
	l.Basis, l.Power, l.Chosen = []string{"srk-t-adapted", "refractive-vergence"}, unit.Known(unit.Dioptre(17.5)), &ChosenLens{Model: "tarn-60", Name: "Tarn 60", Power: 17.5}
	l.Predicted, l.Within50, l.Within100, l.Placement = unit.Known(unit.Dioptre(-0.25)), unit.Reading[unit.Percent]{}, unit.Reading[unit.Percent]{}, "chamber"
	c.Lens = l
	return c
}

// oilEye says what is lacking before a method answers.
func oilEye() EyeCase {
	c := stopsEye()
	c.Right = averageRight()
	typeMore(&c.Right, "vitreous", "oil")
	stop := finding.Finding{Code: "unusual-eye", Severity: finding.Stop, Field: "vitreous", Values: finding.Values{{Name: "got", Text: "oil"}}}
	needs := func(field string) FindingItem {
		return FindingItem{Finding: finding.Finding{Code: "unusual-eye-needs", Severity: finding.Caution, Field: field}, Ref: ownRef}
	}
	c.Findings = []FindingItem{{Finding: stop, Ref: ownRef}, needs("oil_stays"), needs("axial_length_mode")}
	return c
}
