package invent

import (
	"strings"

	"linn/calc/biometry"
	"linn/eye"
	"linn/unit"
)

// scripts are the 24 eyes of the demonstration. Readings are invented; each
// kind's special reading lies clearly beyond the limit it is there to show.
var scripts = []script{
	{kind: "average", number: 412, given: "Amrelle", family: "Saltmarsh", sex: eye.Female, age: 67, born: day(2, 9),
		side: eye.Right, right: "23.41 43.25@176 44.00@86 3.12 4.55 11.8 538", left: "23.47 43.37@4 44.12@94 3.09 4.58 11.8 541",
		method: eye.Optical, waited: 24, list: 0, place: 1, lens: 1},
	{kind: "average", number: 418, given: "Brennor", family: "Tidewell", sex: eye.Male, age: 74, born: day(11, 30), allergies: []string{"iodine"}, drugs: []string{"tamsulosin"},
		side: eye.Left, right: "23.92 42.50@12 43.75@102 3.31 4.41 12.0 552", left: "23.80 42.62@170 43.62@80 3.27 4.46 12.0 549",
		method: eye.Optical, waited: 31, list: 0, place: 2, lens: 1, note: "on tamsulosin for years"},
	{kind: "short", number: 420, given: "Celindra", family: "Kelpstone", sex: eye.Female, age: 71, born: day(6, 17),
		side: eye.Right, right: "20.86 45.25@2 46.00@92 2.51 4.98 11.1 545", left: "20.93 45.37@178 46.00@88 2.55 4.95 11.1 548",
		method: eye.Optical, waited: 12, list: 0, place: 3, lens: 2, note: "narrow angle, had a laser iridotomy"},
	{kind: "short", number: 423, given: "Osmer", family: "Farholm", sex: eye.Male, age: 79,
		side: eye.Left, right: "21.62 44.50@165 45.12@75 2.80 4.81 11.4 530", left: "21.58 44.62@10 45.25@100 2.77 4.84 11.4 533",
		method: eye.Optical, waited: 12, list: 0, place: 4, lens: 1},
	{kind: "long", number: 427, given: "Elvanne", family: "Orrisdale", sex: eye.Female, age: 58, born: day(1, 21),
		side: eye.Left, right: "25.94 42.87@8 43.62@98 3.52 4.22 12.0 528", left: "26.12 43.00@172 43.75@82 3.55 4.20 12.0 531",
		method: eye.Optical, waited: 40, list: 1, place: 1, lens: 1},
	{kind: "very-long", number: 431, given: "Lorcan", family: "Rookhaven", sex: eye.Male, age: 61, born: day(9, 3),
		side: eye.Right, right: "29.84 43.12@1 44.37@91 3.60 4.31 12.1 519", left: "27.95 43.25@179 44.25@89 3.58 4.30 12.1 522",
		method: eye.Optical, waited: 40, list: 1, place: 2, lens: 4, note: "staphyloma on the right, B-scan asked for"},
	{kind: "steep", number: 433, given: "Fennola", family: "Dunmarrow", sex: eye.Female, age: 69, born: day(4, 5),
		side: eye.Right, right: "22.58 47.37@174 48.25@84 3.01 4.60 11.2 536", left: "22.61 47.12@6 48.12@96 3.00 4.62 11.2 539",
		method: eye.Optical, waited: 19, list: 1, place: 3, lens: 1},
	{kind: "flat", number: 436, given: "Hollis", family: "Inchwater", sex: eye.Male, age: 72, born: day(12, 12),
		side: eye.Left, right: "25.35 39.37@5 40.12@95 3.38 4.35 12.5 557", left: "25.41 39.25@177 40.12@87 3.41 4.33 12.5 560",
		method: eye.Optical, waited: 19, list: 1, place: 4, lens: 1, note: "no operation on the cornea, asked twice"},
	{kind: "high-cylinder", number: 440, given: "Haldis", family: "Wrackline", sex: eye.Female, age: 64, born: day(7, 28),
		side: eye.Right, right: "23.66 42.00@3 45.75@93 3.20 4.50 11.7 540", left: "23.58 42.37@177 45.25@87 3.18 4.52 11.7 543",
		method: eye.Optical, waited: 8, list: 1, place: 5, lens: 1},
	{kind: "contact-ultrasound", number: 444, given: "Ulvar", family: "Larkness", sex: eye.Male, age: 81,
		side: eye.Right, right: "23.85 43.50@10 44.25@100 2.70 5.10 11.6 -", left: "23.02 43.37@170 44.25@80 2.74 5.05 11.6 -",
		method: eye.Contact, waited: 5, list: 2, place: 1, lens: 2, note: "white cataract, no optical reading possible", change: doubtfulContact},
	{kind: "swapped-side", number: 447, given: "Ineva", family: "Quernstone", sex: eye.Female, age: 70, born: day(3, 14),
		side: eye.Right, right: "24.18 43.00@90 43.87@180 3.25 4.45 11.8 535", left: "23.52 43.62@90 44.50@180 3.10 4.52 11.7 532",
		method: eye.Optical, waited: 3, list: 2, place: 2, lens: 1, note: "measured again, first visit two months before", change: earlierOtherWay},
	{kind: "second-eye", number: 449, given: "Merrik", family: "Abernake", sex: eye.Male, age: 68, born: day(8, 19),
		side: eye.Left, right: "23.20 43.87@9 44.62@99 - - 11.7 534", left: "23.24 43.75@171 44.62@81 3.05 4.57 11.7 537",
		method: eye.Optical, waited: 14, list: 2, place: 3, lens: 1, note: "first eye ended more short-sighted than planned", change: secondEye},
	{kind: "out-of-stock", number: 452, given: "Jorelle", family: "Calloway-Holm", sex: eye.Female, age: 66, born: day(10, 2), allergies: []string{"penicillin"},
		side: eye.Right, right: "23.50 43.37@2 43.87@92 3.15 4.53 11.8 544", left: "23.55 43.50@178 44.00@88 3.14 4.55 11.8 546",
		method: eye.Optical, waited: 28, list: 2, place: 4, lens: 2},
	{kind: "similar-names", number: 455, given: "Doriane", family: "Brackwater", sex: eye.Female, age: 73, born: day(5, 11),
		side: eye.Right, right: "22.95 44.37@14 45.12@104 2.95 4.70 11.5 529", left: "23.02 44.25@166 45.00@76 2.97 4.68 11.5 531",
		method: eye.Optical, waited: 20, list: 2, place: 5, lens: 1, note: "mind the name on this list"},
	{kind: "similar-names", number: 545, given: "Dorianne", family: "Brackwater", sex: eye.Female, age: 73, born: day(11, 5), allergies: []string{"latex"},
		side: eye.Left, right: "24.31 42.25@20 43.00@110 3.35 4.38 11.9 550", left: "24.22 42.37@160 43.12@70 3.32 4.40 11.9 552",
		method: eye.Optical, waited: 20, list: 2, place: 6, lens: 1, note: "mind the name on this list"},
	{kind: "copied-readings", number: 458, given: "Ruskell", family: "Netherby-Voe", sex: eye.Male, age: 76, born: day(2, 25),
		side: eye.Right, right: "23.62 42.87@5 43.87@95 3.22 4.49 11.8 547", left: "23.62 42.87@5 43.87@95 3.22 4.49 11.8 547",
		method: eye.Optical, waited: 7, list: 3, place: 1, lens: 1},
	{kind: "old-readings", number: 301, given: "Pernessa", family: "Greysand", sex: eye.Female, age: 82,
		side: eye.Left, right: "23.08 44.00@11 44.75@101 2.88 4.77 11.5 526", left: "23.15 43.87@169 44.75@79 2.90 4.75 11.5 528",
		method: eye.Optical, waited: 284, list: 3, place: 2, lens: 1, note: "missed the boat twice"},
	{kind: "contact-lens", number: 461, given: "Sunniva", family: "Marrowick", sex: eye.Female, age: 55, born: day(9, 9),
		side: eye.Right, right: "25.62 42.50@178 43.50@88 3.48 4.20 12.0 521", left: "25.51 42.62@2 43.62@92 3.46 4.22 12.0 524",
		method: eye.Optical, waited: 4, list: 3, place: 3, lens: 4, note: "wears rigid contact lenses, took them out five days before", change: rigidLenses},
	{kind: "much-missing", number: 464, given: "Gavril", family: "Havenmoor", sex: eye.Male, age: 84,
		side: eye.Left, right: "23.7 43.0@90 43.5@180 - - - -", left: "23.4 43.0@90 44.0@180 - - - -",
		waited: 2, list: 3, place: 4, note: "from the outreach clinic, sheet partly wet", change: wetSheet},
	{kind: "after-laser", number: 467, given: "Tavelle", family: "Eskerling", sex: eye.Female, age: 57, born: day(6, 1),
		side: eye.Right, right: "26.34 38.12@6 38.75@96 3.61 4.15 12.1 462", left: "26.21 38.37@174 39.00@84 3.60 4.16 12.1 468",
		method: eye.Optical, waited: 15, list: 4, place: 1, note: "laser for short sight in both eyes, twenty years ago", change: afterLaser},
	{kind: "aphakic", number: 470, given: "Farrow", family: "Underskerry", sex: eye.Male, age: 63, born: day(12, 27),
		side: eye.Left, right: "23.88 42.75@8 43.50@98 3.30 4.42 11.9 543", left: "23.95 42.62@150 44.00@60 - - 11.9 551",
		method: eye.Optical, waited: 15, list: 4, place: 2, lens: 6, note: "lens lost to an injury as a young man", change: withoutLens},
	{kind: "silicone-oil", number: 473, given: "Marvenna", family: "Farholm", sex: eye.Female, age: 60, born: day(4, 23),
		side: eye.Right, right: "23.71 43.37@1 44.12@91 3.08 4.70 11.7 540", left: "23.60 43.50@179 44.25@89 3.12 4.60 11.7 538",
		method: eye.Optical, waited: 15, list: 4, place: 3, note: "oil since a retinal detachment, stays in", change: oilFilled},
	{kind: "child", number: 476, given: "Perrin", family: "Orrisdale", sex: eye.Male, age: 5, born: day(3, 2),
		side: eye.Right, right: "21.74 43.62@4 44.50@94 3.05 3.90 11.6 556", left: "21.95 43.50@176 44.25@86 3.10 3.85 11.6 558",
		method: eye.Immersion, waited: 1, list: 4, place: 4, note: "measured under anaesthesia", change: aimed},
	{kind: "exchange", number: 479, given: "Ondine", family: "Skarrow", sex: eye.Female, age: 71, born: day(7, 19),
		side: eye.Right, right: "23.62 43.25@3 44.00@93 - - 11.8 544", left: "23.55 43.37@177 44.12@87 3.14 4.52 11.8 541",
		method: eye.Optical, waited: 9, list: 4, place: 5, note: "implanted elsewhere in spring, wrong power, wants another", change: wrongLens},
	{kind: "scar", number: 482, given: "Beryn", family: "Holmgarth", sex: eye.Male, age: 66, born: day(1, 30),
		side: eye.Left, right: "23.30 43.12@5 43.87@95 3.10 4.60 11.7 539", left: "23.36 - - - - 11.7 -",
		method: eye.Contact, waited: 6, list: 4, place: 6, note: "old corneal scar over the axis, no keratometry possible", change: scarred},
	{kind: "gas", number: 485, given: "Tindra", family: "Ellerbeck", sex: eye.Female, age: 58, born: day(8, 8),
		side: eye.Right, right: "23.90 43.50@2 44.25@92 3.05 4.50 11.9 545", left: "23.84 43.62@178 44.37@88 3.08 4.48 11.9 543",
		method: eye.Optical, waited: 2, list: 4, place: 7, note: "gas bubble after a detachment, half gone", change: gasFilled},
	{kind: "average", number: 412, given: "Amrelle", family: "Saltmarsh", sex: eye.Female, age: 67, born: day(2, 9),
		side: eye.Left, right: "23.41 43.25@176 44.00@86 3.12 4.55 11.8 538", left: "23.47 43.37@4 44.12@94 3.09 4.58 11.8 541",
		method: eye.Optical, waited: 24, list: 14, place: 1, lens: 1, note: "second eye, two weeks after the first"},
}

// both changes the eye and its fellow.
func both(c *Case, change func(*eye.Eye)) {
	change(&c.Eye)
	change(c.Eye.Fellow)
}

// doubtfulContact: repeats far apart, and longer than by immersion.
func doubtfulContact(c *Case, _ eye.Side) {
	c.Eye.AxialLength.N, c.Eye.AxialLength.SD = 5, 0.19
	c.Options.OtherLengths = []biometry.Length{{Value: 23.31, Method: eye.Immersion}}
}

// earlierOtherWay: ten weeks before, the longer eye was the left one.
func earlierOtherWay(c *Case, _ eye.Side) {
	was := unpairedCopy(*c.Eye.Fellow)
	other := unpairedCopy(c.Eye)
	was.AxialLength = unit.Known(unit.Millimetre(23.50))
	other.AxialLength = unit.Known(unit.Millimetre(24.15))
	visit := addDays(c.Eye.MeasuredOn, -75)
	was.MeasuredOn, other.MeasuredOn = visit, visit
	right, _ := join(was, other)
	c.Options.Earlier = &right
}

func unpairedCopy(e eye.Eye) eye.Eye { e.Fellow = nil; return e }

// secondEye: the right eye was done seven weeks ago.
func secondEye(c *Case, _ eye.Side) {
	c.Eye.Fellow.LensStatus = eye.Pseudophakic
	c.FirstEye = &Outcome{Model: c.Lens, Power: 22, Predicted: -0.21, Achieved: -1.12, OperatedDays: 49}
	more(c, "first_eye_predicted_d -0.21", "first_eye_achieved_d -1.12", "first_eye_days 42", "first_eye_same_lens yes", "first_eye_same_method yes",
		"first_eye_place bag", "first_eye_complication no")
}

func rigidLenses(c *Case, _ eye.Side) {
	c.Options.ContactLenses = biometry.ContactLenses{Wear: biometry.RigidWear, DaysOut: 5, Known: true}
}

// wetSheet: what the outreach clinic's form no longer shows.
func wetSheet(c *Case, _ eye.Side) {
	both(c, func(e *eye.Eye) {
		e.KeratometricIndex = unit.Reading[unit.Index]{}
		e.CornealSurgery, e.Vitreous, e.LensStatus = "", "", ""
		e.Operator = ""
	})
}

func afterLaser(c *Case, _ eye.Side) {
	both(c, func(e *eye.Eye) { e.CornealSurgery = eye.MyopicLaser })
	set(&c.Eye, "k_before_d", "43.25")
	set(&c.Eye, "refraction_before_d", "-6.50")
	set(&c.Eye, "refraction_after_d", "-0.25")
}

func withoutLens(c *Case, _ eye.Side) {
	c.Eye.LensStatus, c.Eye.Vitreous, c.Eye.Placement = eye.Aphakic, eye.RemovedVitreous, eye.Chamber
	more(c, "axial_length_mode aphakic", "refraction_now_d 11.25", "iridectomy yes", "lens_length_mm 12.5", "cell_count_per_mm2 2150")
}

func oilFilled(c *Case, _ eye.Side) {
	c.Eye.Vitreous = eye.Oil
	more(c, "axial_length_mode oil", "oil_stays yes")
}

// gasFilled: what cannot be answered until the bubble has gone.
func gasFilled(c *Case, _ eye.Side) { c.Eye.Vitreous = eye.Gas }

// aimed: the parents chose a target among those of the tables.
func aimed(c *Case, _ eye.Side) { set(&c.Eye, "target_d", "2.00") }

// wrongLens: an implant of known power that left the eye short-sighted.
func wrongLens(c *Case, _ eye.Side) {
	c.Eye.LensStatus = eye.Pseudophakic
	more(c, "second_lens exchange", "implant_d 24.5", "refraction_now_d -2.75")
}

// scarred: the other eye's K by explicit choice.
func scarred(c *Case, _ eye.Side) { more(c, "axial_scar yes", "k_substitute fellow") }

// more enters further readings, "key value" each.
func more(c *Case, texts ...string) {
	for _, t := range texts {
		key, text, _ := strings.Cut(t, " ")
		set(&c.Eye, key, text)
	}
}
