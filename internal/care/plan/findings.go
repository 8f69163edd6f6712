package plan

import (
	"linn/finding"
	"linn/source"
)

var (
	format = source.Ref{Key: source.Linn, Where: "input rules", Grade: source.Own}
	// child18 is where a finding gets its own source from: the table's.
	child18 = source.Ref{Key: source.OwnChoice, Where: "each published table, its source beside it", Grade: source.Own}
	ours    = source.Ref{Key: source.OwnChoice, Grade: source.Own}
)

// What the answer of the lens methods has to say beyond the readings, which
// calc/biometry judges, and the formulas, which calc/lenspower does.
var (
	targetAssumed = finding.Declare(finding.Rule{Code: "target-assumed", Severity: finding.Caution, Ref: format,
		Limit: "target refraction not recorded: 0 D assumed"})
	vertexAssumed = finding.Declare(finding.Rule{Code: "vertex-assumed", Severity: finding.Note, Ref: format,
		Limit: "vertex distance not recorded: 12 mm assumed"})
	targetHyperopic = finding.Declare(finding.Rule{Code: "target-hyperopic", Severity: finding.Caution, Ref: format,
		Limit: "target above +0.50 D over 12 years of age, or at an age not recorded"})
	methodAbsent = finding.Declare(finding.Rule{Code: "method-absent", Severity: finding.Note, Ref: format,
		Limit: "the method lacks a reading or a constant and is left out"})
	outsideDomain = finding.Declare(finding.Rule{Code: "outside-domain", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "each formula's own domain; SRK/T has no answer where r² − Cw²/4 < 0", Grade: source.Own},
		Limit: "the formula has no answer for this eye"})
	outsideShelf = finding.Declare(finding.Rule{Code: "outside-shelf", Severity: finding.Caution, Ref: format,
		Limit: "the nearest step lies outside the powers this lens is made in"})
	unusualEye = finding.Declare(finding.Rule{Code: "unusual-eye", Severity: finding.Stop, Ref: format,
		Limit: "no natural lens, oil or gas, age under 18 or corneal surgery, when no method made for it has an answer"})
	unusualLacks = finding.Declare(finding.Rule{Code: "unusual-eye-lacks", Severity: finding.Caution, Ref: format,
		Limit: "after corneal surgery: what a method made for it lacks while none has an answer that counts"})
	unusualNeeds = finding.Declare(finding.Rule{Code: "unusual-eye-needs", Severity: finding.Caution, Ref: format,
		Limit: "no natural lens, oil or gas, or age under 18: what a method made for it needs while none answers"})
	unusualAdapted = finding.Declare(finding.Rule{Code: "unusual-eye-adapted", Severity: finding.Caution, Ref: ours,
		Limit: "no natural lens, oil or gas, or age under 18, and methods made for it answer: no series tells their spread"})
	unusualTogether = finding.Declare(finding.Rule{Code: "unusual-eye-together", Severity: finding.Caution, Ref: ours,
		Limit: "corneal surgery together with no natural lens, oil or gas, or age under 18: nothing is published for both"})
	modeDiffers = finding.Declare(finding.Rule{Code: "length-mode-differs", Severity: finding.Stop,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "optical biometers are set to the state of the eye", Grade: source.Memory},
		Limit: "an optical length taken in another mode than the eye's state asks for"})
	oilAdds = finding.Declare(finding.Rule{Code: "oil-adds-power", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OilPractice, Where: "oil that stays behind a lens with a flat back", Grade: source.Memory},
		Limit: "silicone oil that stays: the power it adds to the lens"})
	piggybackRule = finding.Declare(finding.Rule{Code: "piggyback-rule", Severity: finding.Note,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "1.5 of a hyperopic error, 1.0 to 1.3 of a myopic one", Grade: source.Memory},
		Limit: "a second lens in front of the first: the rule of thumb beside the calculation"})
	chamberRange = finding.Declare(finding.Rule{Code: "chamber-lens-range", Severity: finding.Note,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "3.0 to 3.3 mm behind the cornea", Grade: source.Memory},
		Limit: "a lens for the chamber: the power at both ends of its usual place"})
	childGrowth = finding.Declare(finding.Rule{Code: "child-growth", Severity: finding.Note,
		Ref:   source.Ref{Key: source.InfantTrial, Where: "slope with a lens, to age 5", Grade: source.Read},
		Limit: "a child under five years with a target: the refraction to expect at five"})
	unusualGas = finding.Declare(finding.Rule{Code: "unusual-eye-gas", Severity: finding.Caution, Ref: format,
		Limit: "gas in the eye"})
	childAim = finding.Declare(finding.Rule{Code: "child-target-refraction", Severity: finding.Note, Ref: child18,
		Limit: "each table of target refractions that speaks of the child's age"})
	childPercent = finding.Declare(finding.Rule{Code: "child-target-percent", Severity: finding.Note, Ref: child18,
		Limit: "each table of percentages of the power that speaks of the child's age"})
	childLess = finding.Declare(finding.Rule{Code: "child-target-less", Severity: finding.Note, Ref: child18,
		Limit: "each table of dioptres to take away that speaks of the child's age"})
	childPower = finding.Declare(finding.Rule{Code: "child-target-power", Severity: finding.Note, Ref: child18,
		Limit: "each table of powers that speaks of an infant's axial length"})
	historicalMethod = finding.Declare(finding.Rule{Code: "historical-method", Severity: finding.Note, Ref: ours,
		Limit: "a formula of the past: shown when asked for, never counted"})
	placementNotBag = finding.Declare(finding.Rule{Code: "placement-not-bag", Severity: finding.Caution, Gate: true, Ref: ours,
		Limit: "planned for the sulcus or the chamber, while the methods answer for the bag"})
)

// What a plan has to say about the lenses on the shelf and the choice.
var (
	noMethodCounts = finding.Declare(finding.Rule{Code: "no-method-counts", Severity: finding.Caution, Ref: ours,
		Limit: "no method has both an answer and a constant of its own: nothing is recommended"})
	stockNotCounted = finding.Declare(finding.Rule{Code: "stock-not-counted", Severity: finding.Note, Ref: ours,
		Limit: "the stock of this lens model was never counted"})
	outOfStock = finding.Declare(finding.Rule{Code: "out-of-stock", Severity: finding.Caution, Ref: ours,
		Limit: "none of the powers near the target lies on the shelf"})
	spreadAssumed = finding.Declare(finding.Rule{Code: "spread-assumed", Severity: finding.Note, Ref: ours,
		Limit: "method of the axial length not recorded: the spread of contact ultrasound, the widest, is assumed"})
	methodsApart = finding.Declare(finding.Rule{Code: "methods-apart", Severity: finding.Note, Ref: ours,
		Limit: "the methods' powers for the target lie more than 1 D apart"})
	lensUnknown = finding.Declare(finding.Rule{Code: "lens-unknown", Severity: finding.Stop, Absolute: true, Ref: ours,
		Limit: "the chosen lens model is not on the shelf"})
	powerNotMade = finding.Declare(finding.Rule{Code: "power-not-made", Severity: finding.Stop, Absolute: true, Ref: ours,
		Limit: "the chosen lens model is not made in the chosen power"})
	chosenNotInStock = finding.Declare(finding.Rule{Code: "chosen-not-in-stock", Severity: finding.Caution, Ref: ours,
		Limit: "the chosen power does not lie on the shelf"})
	chosenFarFromTarget = finding.Declare(finding.Rule{Code: "chosen-far-from-target", Severity: finding.Caution, Gate: true, Ref: ours,
		Limit: "the chosen power is expected to leave more than 1 D from the target"})
)

// apartLimit is beyond what methods with constants fitted together differ by
// in ordinary eyes (0.6 D in the reference grid of this program) and farLimit
// is twice the shelf's usual step: a sign, a digit or a target was mistaken.
var (
	apartLimit = source.Declare(source.Constant{Name: "plan.methods-apart", Value: 1.0, Unit: "D", Ref: ours})
	farLimit   = source.Declare(source.Constant{Name: "plan.chosen-far-from-target", Value: 1.0, Unit: "D", Ref: ours})
)

// What the eye as an optical instrument rests on.
var (
	modelAssumed = finding.Declare(finding.Rule{Code: "model-assumed", Severity: finding.Note, Ref: ours,
		Limit: "a part of the drawn eye that is not recorded"})
	chancesNotDrawn = finding.Declare(finding.Rule{Code: "chances-not-drawn", Severity: finding.Note, Ref: ours,
		Limit: "the band of the prediction is widened, as in a cone: the usual scatter would promise too much"})
	acuityModel = finding.Declare(finding.Rule{Code: "acuity-model", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Blendowske2015, Where: "MAR ∝ 1 + b²; a best acuity of 0.00 logMAR is supposed", Grade: source.Read},
		Limit: "every predicted acuity"})
)
