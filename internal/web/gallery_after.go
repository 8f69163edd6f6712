package web

import (
	"context"
	"io"

	"linn/eye"
	"linn/internal/pathway"
	"linn/unit"
)

func (c *canned) Operate(context.Context, Actor, pathway.Operating) (EyeCase, error) {
	return c.eye, c.failure
}
func (c *canned) FollowUp(context.Context, Actor, pathway.Visiting) (EyeCase, error) {
	return c.eye, c.failure
}
func (c *canned) GiveUp(context.Context, Actor, string, int, string) error { return c.failure }
func (c *canned) Bed(context.Context, Actor, string, int, string) error    { return c.failure }
func (c *canned) OpenAgain(context.Context, Actor, string, string) (string, error) {
	return "c1", c.failure
}
func (c *canned) Attach(context.Context, Actor, pathway.Attaching) error        { return c.failure }
func (c *canned) Detach(context.Context, Actor, string, int, int, string) error { return c.failure }
func (c *canned) Attachment(context.Context, Actor, string, int) (pathway.File, error) {
	return pathway.File{}, ErrNotFound
}
func (c *canned) Round(context.Context, Actor) (pathway.Round, error) { return c.rounds, c.failure }
func (c *canned) Phone(context.Context, Actor) (hospital, phone string, err error) {
	return "Invented Eye Hospital", c.phone, nil
}
func (c *canned) PrintLeaflet(context.Context, Actor, string, io.Writer) error { return ErrNotFound }

// galleryAfter are the canned pages of operations and what follows them.
func galleryAfter() []galleryCase {
	nurse := func(e EyeCase) *canned { return &canned{who: nurseReed, eye: e} }
	operation := func(name string, e EyeCase) galleryCase {
		return galleryCase{name, "/case/c1/operation", nurse(e)}
	}
	late := nurse(doneEye())
	late.failure = &RecordConflict{CaseID: "c1", Revision: 9, By: "Dr Ines Lark", At: "10:44", Form: "operation", Rows: []RecordDifference{
		{Name: "v.started", Step: "v", Field: "started", Mine: "09:44", Theirs: "09:41"},
		{Name: "v.cortex", Step: "v", Field: "cortex", Mine: "", Theirs: "complete"},
		{Name: allComplications, Field: "complications", Mine: `[{"step":"nucleus","kind":"iris-prolapse"}]`, MineText: "iris came to the wound, nucleus"}}}
	return []galleryCase{
		operation("operation-empty", plannedEye()),
		operation("operation-half", halfDoneEye()),
		operation("operation-other-lens", otherLensEye()),
		operation("operation-done", doneEye()),
		onEye("eye-done", &canned{who: surgeonLark, eye: doneEye()}),
		onEye("eye-after", &canned{who: surgeonLark, eye: seenEye()}),
		{"visit-new", "/case/c1/visit", nurse(doneEye())},
		{"visit-change", "/case/c1/visit?visit=0", nurse(seenEye())},
		{"round", "/round", &canned{who: nurseReed, rounds: fullRound()}},
		{"round-empty", "/round", &canned{who: nurseReed, rounds: pathway.Round{Today: fullWard().Today}}},
		{"leaflet", "/case/c1/leaflet", &canned{who: nurseReed, eye: doneEye(), phone: "01 555 0100"}},
		{"leaflet-no-phone", "/case/c1/leaflet", nurse(longestDone())},
		{"operation-conflict", "/ward", late},
	}
}

var galleryHands = []pathway.DeskPerson{
	{Actor: pathway.Actor{ID: "p1", Name: surgeonLark.Name, Role: "surgeon"}, Active: true},
	{Actor: pathway.Actor{ID: "p3", Name: nurseReed.Name, Role: "nurse"}, Active: true}}

// plannedEye is a signed eye of which nothing is written down yet.
func plannedEye() EyeCase {
	e := signedEye()
	p := pathway.Planned{Model: "Tarn 60", Power: 22, HasLens: true, List: galleryList, Surgeon: "p1"}
	e.After = AfterPart{After: pathway.PreparedAfter(p, p.Prefill(), galleryList), MayOperate: true, MayAttach: true}
	e.After.People = galleryHands
	return e
}

func withRecord(e EyeCase, pairs ...string) EyeCase {
	r := e.After.Record.Clone()
	for i := 0; i < len(pairs); i += 2 {
		r.Set(pairs[i], pairs[i+1])
	}
	e.After.After = pathway.PreparedAfter(e.After.Planned, r, galleryList)
	e.After.Begun, e.After.People = true, galleryHands
	return e
}

func halfDoneEye() EyeCase {
	return withRecord(plannedEye(), "technique", "phaco", "started", "09:41", "anaesthesia", "sub-tenon", "incision_kind", "clear-corneal", "viscoelastic", "both",
		"capsule_opening", "continuous", "hydrodissection", "turns-partly", "ultrasound_s", "4000")
}

func otherLensEye() EyeCase {
	return withRecord(halfDoneEye(), "ultrasound_s", "40", "lens_model", "Tarn 60", "lens_d", "+23.00", "lens_place", "sulcus")
}

func doneEye() EyeCase {
	e := withRecord(plannedEye(), "technique", "phaco", "started", "09:41", "ended", "09:52", "anaesthesia", "sub-tenon", "incision_kind", "clear-corneal", "incision_mm", "2.4",
		"dye", "none", "viscoelastic", "both", "capsule_opening", "continuous", "hydrodissection", "turns-freely", "nucleus_phaco", "stop-chop", "ultrasound_s", "38.5",
		"ultrasound_percent", "22", "fluid_ml", "85", "cortex", "complete", "capsule_polish", "posterior", "lens_model", "Tarn 60", "lens_d", "22", "lens_serial", "S-20418",
		"lens_place", "bag", "closure", "hydrated", "leak_test", "dry", "antibiotic", "intracameral", "load_number", "L-0317", "viscoelastic_lot", "V 22")
	r := e.After.Record
	r.Complications = []pathway.Complication{{Step: "nucleus", Kind: "iris-prolapse", Vitreous: "none", Handling: "viscoelastic"}}
	e.After.After = pathway.PreparedAfter(e.After.Planned, r, galleryList)
	e.After.Begun, e.After.People = true, galleryHands
	e.After.Hands = map[string]string{"nucleus": surgeonLark.Name, "lens": surgeonLark.Name, "anaesthesia": nurseReed.Name}
	e.After.Done = &pathway.Act{Name: nurseReed.Name, At: galleryTime}
	e.Closed, e.MayClose, e.Progress.Done = "operated", false, true
	e.After.MayVisit, e.After.MayTrace, e.After.MayOpenAgain = true, true, true
	e.After.Attached = []pathway.File{galleryFile(1, "theatre-sheet", ""), galleryFile(2, "photo", "of the other eye")}
	return e
}

func galleryFile(n int, what, withdrawn string) pathway.File {
	f := pathway.File{Number: n}
	f.What, f.Size, f.At, f.Withdrawn, f.Type = what, 212000, galleryTime, withdrawn, "application/pdf"
	return f
}

func seenEye() EyeCase {
	e := doneEye()
	day := func(n int) unit.Date { return galleryList.AddDays(n) }
	visits := []pathway.Visit{
		{On: day(1), Kind: "day-1", Values: map[string]string{"unaided_va": "6/18-1", "pinhole_va": "6/12", "pain": "mild", "cornea": "folds", "chamber": "cells", "pressure_mmhg": "24"}},
		{On: day(35), Kind: "weeks-4-6", Values: map[string]string{"notation": "decimal", "unaided_va": "0.7", "corrected_va": "1.0", "sphere_d": "-0.25", "cylinder_d": "-0.50",
			"axis_deg": "95", "refraction_distance_m": "6", "spectacles": "ready-made", "near_add_d": "2.50", "spectacles_delivered": "yes", "spectacles_worn": "sometimes", "note": "reads the paper again"}},
		{On: day(36), Kind: "unplanned", Values: map[string]string{"pain": "severe", "chamber": "hypopyon", "unaided_va": "HM"}, Withdrawn: "entered on the wrong eye"}}
	e.After.After = pathway.PreparedVisits(e.After.After, visits, "Tomas Bay", day(40))
	e.After.Bed = "12"
	return e
}

func longestDone() EyeCase {
	e := doneEye()
	e.Identity.Name, e.Identity.Identifier = longestName, longestIdentifier
	return e
}

func fullRound() pathway.Round {
	row := func(bed, name, id string, side eye.Side, on unit.Date, day int, visits ...pathway.Visit) pathway.RoundRow {
		r := pathway.PreparedRow(on, fullWard().Today, visits)
		r.Case, r.Bed, r.Side, r.Day, r.Revision = "c1", bed, side, day, 9
		r.Who.Name, r.Who.Identifier, r.Who.Sex, r.Age = name, id, eye.Female, unit.Known(unit.Year(71))
		r.Technique = "msics"
		return r
	}
	today := fullWard().Today
	torn := row("02", "Piet Sand", "H-0377", eye.Left, today.AddDays(-1), 1, pathway.Visit{On: today, Kind: "day-1",
		Values: map[string]string{"unaided_va": "CF 1 m", "pressure_mmhg": "34", "cornea": "oedema-limbus-to-limbus"}})
	torn.Torn = true
	return pathway.Round{Today: today, Beds: []pathway.RoundRow{
		row("01", "Maren Holm", "H-0412", eye.Right, today.AddDays(-1), 1), torn, row("", "Rosa Tindall", "H-0440", eye.Right, today, 0)},
		Due: []pathway.RoundRow{row("", longestName, longestIdentifier, eye.Left, today.AddDays(-12), 12), row("", "Bram Osei", "H-0433", eye.Right, today.AddDays(-150), 150)}}
}
