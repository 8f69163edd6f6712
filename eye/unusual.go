package eye

import "linn/unit"

// Answer is the answer to a question of fact; the zero Answer is "not asked".
type Answer string

// The answers.
const (
	Yes Answer = "yes"
	No  Answer = "no"
)

// Substitute is whose K is taken where a scar allows none.
type Substitute string

// The substitutes. The zero Substitute is no choice.
const (
	FellowK Substitute = "fellow"
	MeanOfK Substitute = "mean"
)

// SecondLens is what is planned for an eye that already has an implant.
type SecondLens string

// The plans: another lens in its place, or one in front of it.
const (
	Exchange  SecondLens = "exchange"
	Piggyback SecondLens = "piggyback"
)

// Mode is the state of the eye a biometer was set to.
type Mode string

// The modes.
const (
	PhakicMode       Mode = "phakic"
	AphakicMode      Mode = "aphakic"
	PseudophakicMode Mode = "pseudophakic"
	OilMode          Mode = "oil"
)

// Unusual is what only an eye that ordinary lens formulas do not fit is asked.
type Unusual struct {
	AgeMonths unit.Reading[unit.Constant]

	LengthMode   Mode                          // the biometer was set to
	VitreousPart unit.Reading[unit.Millimetre] // vitreous segment as shown

	OilViscosity unit.Reading[unit.Constant] // cSt
	OilRule      string                      // one of calc/biometry's
	OilStays     Answer

	ImplantMaterial  string // one of calc/biometry's
	ImplantThickness unit.Reading[unit.Millimetre]
	Implant          unit.Reading[unit.Dioptre] // power of the lens in the eye
	RefractionNow    unit.Reading[unit.Dioptre] // as the eye is now
	SecondLens       SecondLens

	Capsulorhexis    string // whole, torn
	PosteriorCapsule string // closed, open
	TensionRing      Answer
	LensLength       unit.Reading[unit.Millimetre] // of a lens for the chamber
	Iridectomy       Answer
	Cells            unit.Reading[unit.Constant] // endothelium, per mm²

	Pterygium, Keratoconus, Lashes, Trachoma, Scar Answer
	PterygiumRemovedOn                             unit.Date
	SubstituteK                                    Substitute

	First FirstEye
}

// FirstEye is how the eye operated first ended.
type FirstEye struct {
	Predicted, Achieved               unit.Reading[unit.Dioptre] // spherical equivalents
	Days                              unit.Reading[unit.Constant]
	SameLens, SameMethod, Complicated Answer
	Place                             Placement
}

// months and the other bounds here are our own choice, wide enough for every
// eye reported; a child's tables end at 18 years.
var unusualFields = []Field{
	number("age_months", "months", 0, 216, func(e *Eye) *unit.Reading[unit.Constant] { return &e.Unusual.AgeMonths }),
	word("axial_length_mode", func(e *Eye) *Mode { return &e.Unusual.LengthMode }, PhakicMode, AphakicMode, PseudophakicMode, OilMode),
	number("vitreous_mm", "mm", 5, 32, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.Unusual.VitreousPart }),
	number("oil_viscosity_cst", "cSt", 500, 12500, func(e *Eye) *unit.Reading[unit.Constant] { return &e.Unusual.OilViscosity }),
	word("oil_rule", func(e *Eye) *string { return &e.Unusual.OilRule }, "segment", "mean", "whole"),
	answer("oil_stays", func(e *Eye) *Answer { return &e.Unusual.OilStays }),
	word("implant_material", func(e *Eye) *string { return &e.Unusual.ImplantMaterial }, "pmma", "silicone", "acrylic", "glass"),
	number("implant_thickness_mm", "mm", 0.1, 3, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.Unusual.ImplantThickness }),
	number("implant_d", "D", -20, 45, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.Unusual.Implant }),
	number("refraction_now_d", "D", -40, 40, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.Unusual.RefractionNow }),
	word("second_lens", func(e *Eye) *SecondLens { return &e.Unusual.SecondLens }, Exchange, Piggyback),
	word("capsulorhexis", func(e *Eye) *string { return &e.Unusual.Capsulorhexis }, "whole", "torn"),
	word("posterior_capsule", func(e *Eye) *string { return &e.Unusual.PosteriorCapsule }, "closed", "open"),
	answer("tension_ring", func(e *Eye) *Answer { return &e.Unusual.TensionRing }),
	number("lens_length_mm", "mm", 10, 15, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.Unusual.LensLength }),
	answer("iridectomy", func(e *Eye) *Answer { return &e.Unusual.Iridectomy }),
	number("cell_count_per_mm2", "/mm²", 100, 6000, func(e *Eye) *unit.Reading[unit.Constant] { return &e.Unusual.Cells }),
	answer("pterygium", func(e *Eye) *Answer { return &e.Unusual.Pterygium }),
	date("pterygium_removed_on", func(e *Eye) *unit.Date { return &e.Unusual.PterygiumRemovedOn }),
	answer("keratoconus", func(e *Eye) *Answer { return &e.Unusual.Keratoconus }),
	answer("lashes_on_eye", func(e *Eye) *Answer { return &e.Unusual.Lashes }),
	answer("active_trachoma", func(e *Eye) *Answer { return &e.Unusual.Trachoma }),
	answer("axial_scar", func(e *Eye) *Answer { return &e.Unusual.Scar }),
	word("k_substitute", func(e *Eye) *Substitute { return &e.Unusual.SubstituteK }, FellowK, MeanOfK),
	number("first_eye_predicted_d", "D", -20, 20, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.Unusual.First.Predicted }),
	number("first_eye_achieved_d", "D", -20, 20, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.Unusual.First.Achieved }),
	number("first_eye_days", "days", 0, 3650, func(e *Eye) *unit.Reading[unit.Constant] { return &e.Unusual.First.Days }),
	answer("first_eye_same_lens", func(e *Eye) *Answer { return &e.Unusual.First.SameLens }),
	answer("first_eye_same_method", func(e *Eye) *Answer { return &e.Unusual.First.SameMethod }),
	word("first_eye_place", func(e *Eye) *Placement { return &e.Unusual.First.Place }, Bag, Sulcus, Chamber),
	answer("first_eye_complication", func(e *Eye) *Answer { return &e.Unusual.First.Complicated }),
}

func answer(key string, at func(*Eye) *Answer) Field { return word(key, at, Yes, No) }
