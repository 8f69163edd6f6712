package web

import (
	"time"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func emptyEye() EyeCase {
	id := galleryIdentity()
	id.Plan, id.Revision = 0, 0
	return EyeCase{Identity: id, Editable: true, Right: readTexts(eye.Right, nil), Left: readTexts(eye.Left, nil),
		Lens:    LensPart{Editable: true, Models: averageLens().Models},
		Signing: SignPart{Needs: needs("measured", "two-readings", "lens", "second-person")}}
}

func averageEye() EyeCase {
	c := EyeCase{Identity: galleryIdentity(), SavedAt: galleryTime, Editable: true, Right: averageRight(), Left: averageLeft(), Looked: true, Fellow: 3,
		Progress: Progress{Measured: true, Checked: true, Lens: true}, Lens: averageLens()}
	c.Findings = []FindingItem{
		{Finding: strictFinding(), Limit: "more than 0.3 mm between the eyes", Ref: ownRef},
		{Finding: lengthsFinding(), Limit: "more than 0.7 mm between the eyes", Ref: collegeRef, MayPass: true,
			SDNow: unit.Known(unit.Dioptre(0.62)), SDAfter: unit.Known(unit.Dioptre(0.55))},
	}
	c.Left.Texts["axial_length_mm"], c.Left.Eye.AxialLength.Value = "24.25", 24.25
	c.Queue = []RepeatItem{{Side: eye.Right, Field: "axial_length_mm", Why: "second-entry"},
		{Side: eye.Right, Field: "k_flat_d", Why: "second-entry"}, {Side: eye.Right, Field: "k_steep_d", Why: "disagrees", Text: "44.50"}}
	c.Chamber = galleryChamber()
	c.Signing = SignPart{Needs: needs("gates", "two-readings", "second-person"), MaySign: true, MayList: true, Beside: true, Alone: true, AloneFrom: galleryTime.Add(30 * 60e9)}
	return c
}

func secondPersonEye() EyeCase {
	c := averageEye()
	c.Findings[1].Passed = act(surgeonLark, -40)
	c.Findings[1].Passed.Reason = "long known myopia on the left, old glasses seen"
	c.Queue, c.Editable, c.Lens.Editable = nil, false, false
	c.Signing = SignPart{Needs: needs("second-person"), MayConfirm: true}
	return c
}

func signedEye() EyeCase {
	c := averageEye()
	c.Findings, c.Queue, c.Editable, c.Lens.Editable = c.Findings[:1], nil, false, false
	c.Left = averageLeft()
	c.Identity.Signed, c.Progress.Sheet = true, true
	c.Signing = SignPart{Needs: needs(), Confirmed: act(nurseReed, -12), Signed: act(surgeonLark, -3), Sheet: "00412", MayReopen: true, MayList: true, Place: "Theatre 2"}
	return c
}

func stopsEye() EyeCase {
	c := averageEye()
	c.Queue = nil
	c.Progress = Progress{Measured: true}
	c.Right = readTexts(eye.Right, typed("235", "contact", "1532", "7.80", "12", "44.00", "102", "", "3.12", "", "118", "541", "phakic", "", "", "2026-02-24"))
	radius := radiusFinding()
	c.Findings = []FindingItem{
		{Finding: cylinderFinding(), Side: eye.Left, Limit: "above 2.50 D", Ref: collegeRef},
		{Finding: radius, Side: eye.Right, Limit: "a corneal power between 5 and 10", Ref: ownRef},
		{Finding: twiceFinding(), Limit: "each eye has one side", Ref: ownRef},
	}
	c.Lens = LensPart{Editable: true, Models: averageLens().Models, Model: "tarn-60", Target: unit.Known(unit.Dioptre(-0.25)), TargetText: "-0.25"}
	c.Signing = SignPart{Needs: needs("measured", "no-stop", "two-readings", "lens", "second-person")}
	return c
}

func missingEye() EyeCase {
	c := averageEye()
	c.Queue = nil
	c.Right = readTexts(eye.Right, typed("23.41", "", "", "43.25", "", "44.00", "", "", "", "", "", "", "", "", "", "2026-02-24"))
	c.Left = readTexts(eye.Left, nil)
	c.Findings = []FindingItem{
		{Finding: finding.Finding{Code: "length-method-missing", Severity: finding.Caution, Field: "axial_length_method"}, Side: eye.Right, Ref: ownRef},
		{Finding: finding.Finding{Code: "fellow-missing", Severity: finding.Caution}, Ref: ownRef},
		{Finding: finding.Finding{Code: "measured-on-missing", Severity: finding.Note, Field: "measured_on"}, Side: eye.Left, Ref: ownRef},
	}
	c.Lens.Methods, c.Lens.Absent = c.Lens.Methods[:4], []Absent{{"haigis", "acd_mm"}}
	c.Lens.Predicted.SD, c.Lens.Within50, c.Lens.Within100, c.Lens.Band = 0, unit.Reading[unit.Percent]{}, unit.Reading[unit.Percent]{}, nil
	return c
}

func longestEye() EyeCase {
	c := averageEye()
	c.Identity.Name, c.Identity.Identifier, c.Identity.Side = longestName, longestIdentifier, eye.Left
	c.Left = readTexts(eye.Left, typed("30.84", "immersion", "1532", "44.25", "5", "45.25", "95", "1.3375", "3.61", "4.02", "12.30", "512",
		"phakic", "removed", "none", "2026-02-24", "A-scan with a very long device name 2000", "Konstantina Abernathy-Featherstonehaugh"))
	powers := shelfPowers(1.5, 0)
	c.Lens.Powers, c.Lens.Power, c.Lens.Target = powers, unit.Known(unit.Dioptre(2.5)), unit.Known(unit.Dioptre(-2.5))
	c.Lens.Models[0].Name = longestModel
	c.Lens.Methods = answers(powers,
		methodRowData{"srk-t", 8.12, 2.82, -1.63, [5]float64{-1.73, -2.02, -2.31, -2.61, -2.91}, "label"},
		methodRowData{"t2", 8.05, 2.80, -1.62, [5]float64{-1.74, -2.03, -2.32, -2.62, -2.92}, "label"},
		methodRowData{"holladay-1", 6.53, 2.02, -1.87, [5]float64{-2.15, -2.49, -2.82, -3.16, -3.51}, "label"},
		methodRowData{"hoffer-q", 7.28, 1.70, -2.48, [5]float64{-2.38, -2.69, -3.01, -3.33, -3.66}, "label"},
		methodRowData{"haigis", 5.68, 2.67, -0.96, [5]float64{-1.67, -2.02, -2.38, -2.74, -3.10}, "own-fitted"})
	c.Lens.Band = nil
	c.Lens.Chosen.Name, c.Lens.Chosen.Power, c.Lens.Chosen.Reason, c.Lens.TargetText = longestModel, 2.5, "the power that comes nearest was opened and dropped in theatre last week", "-2.50"
	c.Lens.Predicted = unit.Reading[unit.Dioptre]{Value: -2.38, Known: true, SD: 0.44}
	c.Lens.Band = band(c.Lens.Methods[4], 0.44)
	c.Lens.Methods[1].Findings = []finding.Finding{{Code: "cornea-flat", Severity: finding.Note, Method: "t2", Values: finding.Values{{Name: "got", Text: unit.Dioptre(40.62).Unsigned()}, {Name: "limit", Text: unit.Dioptre(41).Unsigned()}}}}
	return c
}

func readOnlyEye() EyeCase {
	c := signedEye()
	c.Signing.Reopened = []finding.Finding{{Code: "reading-stale", Severity: finding.Caution, Values: finding.Values{
		{Name: "got", Text: "214 days"}, {Name: "limit", Text: "180 days"}}}}
	return c
}

// galleryChamber has settings for two phases and no machine that was measured.
func galleryChamber() ChamberPart {
	return ChamberPart{Editable: true, Volume: unit.Known(unit.Microlitre(152)), Machines: []Option{{"", "none, or not measured", true}, {"m1", "Theatre 2", false}},
		Settings: map[string]map[string]string{"groove": {"bottle_cm": "80", "flow_ml_min": "22", "vacuum_limit_mmhg": "60", "power_pct": "60"},
			"segment-removal": {"bottle_cm": "95", "flow_ml_min": "30", "vacuum_limit_mmhg": "350", "power_pct": "40"}}}
}

func galleryPhases() []SheetPhase {
	return []SheetPhase{{"groove", []PhaseSetting{{"bottle_cm", "80\u202fcm"}, {"flow_ml_min", "22\u202fmL/min"}, {"vacuum_limit_mmhg", "60\u202fmmHg"}, {"power_pct", "60\u202f%"}}},
		{"segment-removal", []PhaseSetting{{"bottle_cm", "95\u202fcm"}, {"flow_ml_min", "30\u202fmL/min"}, {"vacuum_limit_mmhg", "350\u202fmmHg"}, {"power_pct", "40\u202f%"}}}}
}

// longestPhases has every phase with every setting.
func longestPhases() (list []SheetPhase) {
	for _, phase := range []string{"groove", "segment-removal", "cortex", "washout"} {
		list = append(list, SheetPhase{phase, []PhaseSetting{{"bottle_cm", "105\u202fcm"}, {"flow_ml_min", "32.5\u202fmL/min"}, {"vacuum_limit_mmhg", "350\u202fmmHg"}, {"power_pct", "100\u202f%"}}})
	}
	return list
}

func averageSheet() Sheet {
	c := signedEye()
	on := func(a Actor, when string) *Signature { return &Signature{a.Name, when} }
	s := Sheet{Identity: c.Identity, Phases: galleryPhases(), Number: "00412", Mark: "linn.sheet/1 00412 right 7f3c00aa", Procedure: "phaco-lens", Placement: eye.Bag, Theatre: "Theatre 2",
		Model: "Tarn 60", Power: c.Lens.Power, Target: c.Lens.Target, Predicted: c.Lens.Predicted, Basis: c.Lens.Basis,
		Low: unit.Known(unit.Dioptre(-0.89)), High: unit.Known(unit.Dioptre(0.13)),
		Alerts: []FindingItem{{Finding: lengthsFinding(), PassedOn: on(surgeonLark, "2026-03-02 10:30"), Because: "long known myopia on the left"},
			{Finding: cylinderFinding()}},
		Measured: *on(technicianBay, "2026-03-02 09:12"), Confirmed: on(nurseReed, "2026-03-02 10:30"), Signed: on(surgeonLark, "2026-03-02 10:39"),
		WriteDown: []string{"implanted", "placement", "technique", "events", "times"}, Printed: galleryTime, Program: "0.1.0"}
	s.Readings = append(s.Readings,
		SheetLine{"axial_length_mm", "23.41 mm", "23.74 mm", "optical"}, SheetLine{"k_flat_d", "43.25 D", "43.50 D", "12°"},
		SheetLine{"k_steep_d", "44.00 D", "44.25 D", "102°"}, SheetLine{"acd_mm", "3.12 mm", "3.08 mm", ""},
		SheetLine{"lens_thickness_mm", "4.45 mm", "4.51 mm", ""}, SheetLine{"white_to_white_mm", "11.80 mm", "", ""}, SheetLine{"mean_k_d", "43.63 D", "", ""})
	for _, key := range []string{"person", "eye-marked", "consent", "allergy", "lens-ready"} {
		s.Checks = append(s.Checks, SheetCheck{"sign-in", key})
	}
	for _, key := range []string{"all-pause", "lens-aloud", "box-opened", "sterile", "antibiotic"} {
		s.Checks = append(s.Checks, SheetCheck{"time-out", key})
	}
	for _, key := range []string{"label-kept", "counts", "room-cleared"} {
		s.Checks = append(s.Checks, SheetCheck{"sign-out", key})
	}
	return s
}

func galleryConflict() *Conflict {
	return &Conflict{CaseID: "c1", Revision: 8, By: technicianBay.Name, At: "10:41", Rows: []Difference{
		{eye.Right, "axial_length_mm", "23.14", "23.41"}, {eye.Right, "acd_mm", "", "3.12"}},
		Mine: Measurement{CaseID: "c1", Eyes: map[eye.Side]map[string]string{eye.Right: {"axial_length_mm": "23.14"}}}}
}

func fullShelf() Shelf {
	model := func(id, name string, lines ...ModelConstant) Model {
		m := Model{ID: id, Name: name, Revision: 3, From: 10, To: 30, Step: 0.5, Constants: lines}
		for p := unit.Dioptre(10); p <= 30; p += 0.5 {
			count := 0
			if p >= 16 && p <= 26 {
				count = 2
			}
			m.Powers = append(m.Powers, ShelfPower{p, true, count})
		}
		return m
	}
	return Shelf{Editable: true, Counting: true, Models: []Model{
		model("tarn-60", "Tarn 60",
			ModelConstant{"srk-t", "a", "119.12", "own-fitted", 212, unit.Date{Year: 2025, Month: 11}},
			ModelConstant{"t2", "a", "119.00", "label", 0, unit.Date{}},
			ModelConstant{"holladay-1", "sf_mm", unit.Millimetre(1.79).String(), "label", 0, unit.Date{}},
			ModelConstant{"hoffer-q", "pacd_mm", unit.Millimetre(5.55).String(), "label", 0, unit.Date{}},
			ModelConstant{"haigis", "a0", "1.150", "converted", 0, unit.Date{}}),
		model("mere-3", "Mere Three-Piece", ModelConstant{"srk-t", "a", "118.40", "label", 0, unit.Date{}}),
	}}
}

func fullDesk() Desk {
	d := Desk{Editable: true}
	for i, a := range galleryPeople {
		d.People = append(d.People, Person{Actor: a, Revision: 1, Supervisor: i == 0, Password: true})
	}
	d.People = append(d.People, Person{Actor: Actor{"p5", "Noor Brook", Trainee}, Closed: true})
	return d
}

func galleryPerson() PersonForm {
	return PersonForm{CaseID: "c1", Revision: 1, Name: "Maren Holm", Identifier: "H-0412", Sex: "female", Born: "1958-03-17", Allergies: "latex"}
}

func galleryProtocol(editable bool) Protocol {
	return Protocol{Editable: editable, Revision: 2, Hospital: "North Isles Eye Hospital", Zone: "Asia/Kathmandu", Places: "Theatre 1; Theatre 2",
		ReadingAge: "120", UsualAge: "180", UsualDelay: "15"}
}

func galleryLog() []LogLine {
	return []LogLine{
		{Number: 12, At: galleryTime, Name: surgeonLark.Name, What: "read", Verb: "eye", CaseID: "c1"},
		{Number: 11, At: galleryTime.Add(-time.Minute), Name: technicianBay.Name, What: "change", Verb: "measure", CaseID: "c1"},
		{Number: 10, At: galleryTime.Add(-time.Hour), Name: administratorFen.Name, What: "change", Verb: "people"},
	}
}
