package main

import "linn/source"

const special = "lens_power_special.csv: a table of a second implementation in another language"

func memory(key source.Key) []source.Ref {
	return []source.Ref{{Key: key, Grade: source.Memory}}
}

// unusualRows are the eyes that ordinary formulas do not fit.
var unusualRows = []formula{
	{name: "After corneal surgery: every method, one interface", pkg: inLenspower, names: []string{"OperatedMethod.Solve", "OperatedSolution.Power", "OperatedSolution.Refraction", "OperatedMethod.Working", "OperatedMethod.WorkingRefraction", "SolveOperated", "SummariseOperated"},
		constants: []string{"after."}, refs: practice("vergence"), checks: []string{"derived/masket.txt"}, standsIn: special + "; no change by surgery is the ordinary method; round trips"},
	{name: "Shammas after myopic and hyperopic laser", pkg: inLenspower, names: []string{"ShammasKByRefraction"}, constants: []string{"shammas."}, standsIn: special},
	{name: "Masket, modified Masket", pkg: inLenspower, constants: []string{"masket."}, checks: []string{"derived/masket.txt"}, standsIn: special},
	{name: "Wang, Koch and Maloney", pkg: inLenspower, names: []string{"MaloneyPowers"}, constants: []string{"maloney.", "wang-koch-maloney."}, checks: []string{"derived/maloney.txt"}, standsIn: special},
	{name: "Feiz and Mannis, nomogram", pkg: inLenspower, names: []string{"FeizMannisNomogram"}, constants: []string{"feiz-mannis."}, standsIn: "no change by surgery is the ordinary method"},
	{name: "Latkany", pkg: inLenspower, constants: []string{"latkany."}, standsIn: "two lines of the paper, from memory; nothing else holds them"},
	{name: "Adjusted K", pkg: inLenspower, constants: []string{"adjusted-k."}, standsIn: "two lines of the papers, from memory; nothing else holds them"},
	{name: "Separate surfaces", pkg: inLenspower, constants: []string{"separate-surfaces."}, standsIn: special + "; equals Jarade and Tabbara to the digits of 1.114"},
	{name: "Rosa R factor", pkg: inLenspower, names: []string{"RosaFactor"}, constants: []string{"rosa."}, checks: []string{"derived/rosa.txt"}, standsIn: special},
	{name: "Thick-lens method", pkg: inLenspower, names: []string{"SolveThick", "ThickSolution.Power", "ThickSolution.Refraction", "WorkingThick", "MeanPosterior"}, constants: []string{"thick-lens."}, standsIn: grid + "; not fitted to outcomes, never counted"},
	{name: "Refractive vergence, exchange, piggyback", pkg: inLenspower, names: []string{"RefractiveVergence", "LensExchange", "PiggybackRule", "ChamberByVergence"}, constants: []string{"piggyback.", "chamber-lens."},
		refs: memory(source.Holladay1993), checks: []string{"derived/refractive-vergence.txt"}, standsIn: special + "; the aphakic eye of the engine gives the engine’s power back"},
	{name: "Second lens by the refraction as it is now, adapted eyes", pkg: inLenspower, names: []string{"SolveSecond", "SecondSolution.Power", "SecondSolution.Refraction", "SecondSolution.Working", "SecondSolution.WorkingRefraction", "Adapted.Power", "Adapted.Refraction", "Adapted.InSulcus"},
		refs: memory(source.Holladay1993), standsIn: "round trips; the difference of two lenses is the refractive vergence; the same lens again leaves the same refraction"},
	{name: "Lens in the sulcus", pkg: inLenspower, names: []string{"Sulcus"}, constants: []string{"sulcus."}, refs: []source.Ref{{Key: source.RuleOfNines, Grade: source.Secondary}},
		checks: []string{"published/sulcus-*.txt"}, standsIn: special},
	{name: "Rescue ladder and change of model", pkg: inLenspower, names: []string{"RescueLadder", "Constants.ChangeTo"}, refs: []source.Ref{{Key: source.ModelChange, Grade: source.Secondary}}, standsIn: "the same engine, moved; limits and order"},
	{name: "Aphakic multipliers (teaching only)", pkg: inLenspower, names: []string{"AphakicMultipliers"}, constants: []string{"aphakic."}, checks: []string{"derived/aphakic-multipliers.txt"}, standsIn: "own arithmetic"},
	{name: "Second eye", pkg: inLenspower, names: []string{"AdjustSecondEye", "Pair.ResidualSD"}, constants: []string{"second-eye."}, checks: []string{"derived/second-eye.txt"}, standsIn: "no weight beats the correlation itself"},
	{name: "Targets and growth of children", pkg: inLenspower, names: []string{"ChildTargets", "ChildTarget.Refraction", "Growth.Expected", "RateOfGrowth"}, constants: []string{"child.", "growth."}, checks: []string{"published/child-*.txt"}, standsIn: "the tables themselves; growth undoes itself"},
	{name: "Historical methods (never in a plan)", pkg: inLenspower, names: []string{"HistoricalMethod.Solve", "HistoricalSolution.Power", "HistoricalSolution.Refraction"}, constants: []string{"srk.", "binkhorst-2."}, checks: []string{"derived/binkhorst.txt"}, standsIn: special},

	{name: "Length by sound velocity and state of the eye", pkg: inBiometry, names: []string{"CorrectLength", "LengthInput.OilFindings", "OilPower", "SumOfVelocities", "SumOfIndices", "LengthOffsets"}, refs: []source.Ref{{Key: source.Hoffer1994, Grade: source.Read}, {Key: source.OilPractice, Grade: source.Memory}},
		checks: []string{"published/phakic-velocity.txt", "published/lens-gain.txt", "derived/oil-power.txt"}, standsIn: "segments of one medium are what they are"},
	{name: "Length of long eyes", pkg: inBiometry, names: []string{"LongLength", "CookeModified", "SumOfSegments"}, refs: append(memory(source.WangKochLong), memory(source.CookeLength)...), checks: []string{"derived/long-length.txt", "derived/cooke-length.txt"}, standsIn: "own arithmetic of the reference page"},
	{name: "Signs of corneal surgery, sick corneas", pkg: inBiometry, names: []string{"SuspectSurgery", "CheckCornea", "SubstituteK", "KeratoconusBand"}, refs: own("thresholds"), standsIn: "each is tested at, just inside and just outside itself"},
}

func init() {
	formulas = append(formulas, unusualRows...)
	plumbing[inLenspower] = append(plumbing[inLenspower], "AfterSurgery", "OperatedMethodNamed", "OperatedMethod.Base", "OperatedMethod.Missing", "OperatedFindings", "HistoricalMethodNamed", "ThickOf", "ThickInput.Missing",
		"SecondSolution.Position", "CheckPlacement", "CheckChamberLens", "ChildFindings")
}
