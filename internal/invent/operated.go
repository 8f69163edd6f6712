package invent

import (
	"linn/eye"
	"linn/unit"
)

// Operated is an invented eye whose operation is done.
type Operated struct {
	Case
	DaysAgo int               // of the operation
	Bed     string            // "" for one who went home
	Record  map[string]string // of the operation, by its field keys; the lens is the planned one
	Torn    bool              // the capsule ruptured
	Seen    []Seen
}

// Seen is a visit after an operation.
type Seen struct {
	Day    int // after the operation
	Kind   string
	Values map[string]string
}

// DemoOperated are the eyes of the demonstration that were operated on, as
// they stand on the day today, which must be exact.
func DemoOperated(today unit.Date) []Operated {
	if !today.Exact() {
		panic("invent: the day of a ward must be exact")
	}
	shelf := DemoShelf()
	list := make([]Operated, len(operated))
	for i := range operated {
		o := &operated[i]
		list[i] = o.Operated
		list[i].Case = o.script.play(today, shelf)
		list[i].Case.ListDays = -o.DaysAgo
	}
	return list
}

func done(s script, o Operated) operatedScript {
	s.kind, s.method, s.lens = "operated", eye.Optical, 1
	s.waited = o.DaysAgo + 12
	return operatedScript{s, o}
}

type operatedScript struct {
	script
	Operated
}

// uneventful is an ordinary operation; more replaces or adds.
func uneventful(technique string, more ...string) map[string]string {
	r := map[string]string{"technique": technique, "started": "09:20", "ended": "09:33", "anaesthesia": "sub-tenon", "incision_kind": "clear-corneal", "dye": "none",
		"viscoelastic": "both", "capsule_opening": "continuous", "hydrodissection": "turns-freely", "nucleus_phaco": "stop-chop", "ultrasound_s": "41", "fluid_ml": "90",
		"cortex": "complete", "capsule_polish": "posterior", "lens_place": "bag", "closure": "hydrated", "leak_test": "dry", "antibiotic": "intracameral",
		"load_number": "L-118", "viscoelastic_lot": "V-31"}
	if technique == "msics" {
		delete(r, "nucleus_phaco")
		delete(r, "ultrasound_s")
		r["incision_kind"], r["incision_mm"], r["nucleus_out"], r["dye"] = "scleral-tunnel", "6.5", "vectis", "trypan-blue"
	}
	for i := 0; i < len(more); i += 2 {
		r[more[i]] = more[i+1]
	}
	return r
}

// operated are the stories: one of yesterday without a visit, one of yesterday
// that did not go smoothly, one due at a week, one overdue, one all done.
var operated = []operatedScript{
	done(script{number: 391, given: "Thessaly", family: "Cragwell", sex: eye.Female, age: 70, born: day(5, 3), side: eye.Right,
		right: "23.32 43.50@4 44.12@94 3.10 4.52 11.7 537", left: "23.36 43.62@176 44.25@86 3.08 4.55 11.7 539"},
		Operated{DaysAgo: 1, Bed: "03", Record: uneventful("phaco")}),
	done(script{number: 388, given: "Oswin", family: "Pellmere", sex: eye.Male, age: 78, born: day(9, 17), side: eye.Left,
		right: "23.70 43.12@8 43.87@98 3.02 4.70 11.8 541", left: "23.66 43.25@172 44.00@82 3.00 4.72 11.8 540"},
		Operated{DaysAgo: 1, Bed: "01", Torn: true, Record: uneventful("msics", "ended", "09:52", "closure", "sutured", "sutures", "1")}),
	done(script{number: 379, given: "Maristel", family: "Vauncey", sex: eye.Female, age: 65, born: day(1, 29), side: eye.Right,
		right: "23.15 43.87@5 44.50@95 3.06 4.50 11.6 533", left: "23.20 43.75@175 44.50@85 3.07 4.51 11.6 535"},
		Operated{DaysAgo: 7, Record: uneventful("phaco"), Seen: []Seen{
			{1, "day-1", map[string]string{"unaided_va": "6/12", "pinhole_va": "6/9", "pain": "none", "cornea": "clear", "chamber": "cells", "wound": "closed", "pressure_mmhg": "16"}}}}),
	done(script{number: 355, given: "Godrick", family: "Stanmoor", sex: eye.Male, age: 81, born: day(7, 8), side: eye.Left,
		right: "23.55 42.87@1 43.62@91 3.11 4.62 11.9 544", left: "23.51 43.00@179 43.75@89 3.09 4.64 11.9 545"},
		Operated{DaysAgo: 24, Record: uneventful("msics"), Seen: []Seen{
			{1, "day-1", map[string]string{"unaided_va": "6/36", "pinhole_va": "6/18", "pain": "mild", "cornea": "folds", "chamber": "cells", "wound": "closed", "pressure_mmhg": "24"}}}}),
	done(script{number: 342, given: "Eluned", family: "Harrowby", sex: eye.Female, age: 62, born: day(3, 22), side: eye.Right,
		right: "23.81 43.37@3 44.00@93 3.20 4.40 11.8 546", left: "23.77 43.37@177 44.12@87 3.19 4.42 11.8 547"},
		Operated{DaysAgo: 46, Record: uneventful("phaco"), Seen: []Seen{
			{1, "day-1", map[string]string{"unaided_va": "6/9", "pain": "none", "cornea": "clear", "chamber": "quiet", "pressure_mmhg": "15"}},
			{8, "week-1", map[string]string{"unaided_va": "6/9", "pinhole_va": "6/6", "pressure_mmhg": "14", "chamber": "quiet"}},
			{35, "weeks-4-6", map[string]string{"unaided_va": "6/9", "corrected_va": "6/6", "sphere_d": "-0.25", "cylinder_d": "-0.50", "axis_deg": "95", "refraction_distance_m": "6",
				"refraction_by": "subjective", "spectacles": "ready-made", "near_add_d": "2.50", "spectacles_delivered": "yes", "spectacles_worn": "yes"}}}}),
}
