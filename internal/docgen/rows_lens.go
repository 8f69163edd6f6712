package main

import "linn/source"

// lensChecks are the files that hold every lens method.
var lensChecks = []string{"derived/eight-eyes.txt", "derived/joint-set.txt", "derived/sensitivity.txt", "derived/traps.txt", second}

func with(more ...string) []string { return append(more, lensChecks...) }

var lensRows = []formula{
	{name: "K between keratometric indices; radius", pkg: inBiometry, names: []string{"AtStandardIndex", "Radius", "InferIndex"}, refs: practice("K = (n − 1)/r"),
		checks: []string{"published/radius.txt", "derived/index.txt"}, standsIn: "each undoes the other"},
	{name: "Mean K and cylinder", pkg: inBiometry, names: []string{"MeanK", "Cylinder"}, refs: own("the mean of both powers, not of the radii"),
		standsIn: "own arithmetic; tested against averaging the radii"},
	{name: "Rank correlation to linear correlation", pkg: inBiometry, names: []string{"Pearson"}, refs: practice("2 sin(πρ/6), for normal variables"),
		standsIn: "limits and symmetry"},
	{name: "Limits of the rules on measurements", pkg: inBiometry, names: []string{"Check", "Collapse"}, constants: []string{"biometry."}, checks: []string{"published/china-*.txt"},
		standsIn: "each is tested at, just inside and just outside itself; docs/findings.md has the rules"},

	{name: "SRK/T", pkg: inLenspower, names: []string{"method srk-t"}, constants: []string{"srk-t."}, checks: with("published/srkt-cusp.txt", "derived/srkt-*.txt", "derived/heights.txt"), standsIn: grid},
	{name: "T2", pkg: inLenspower, names: []string{"method t2"}, constants: []string{"t2."}, checks: with("derived/heights.txt"), standsIn: grid},
	{name: "Holladay 1", pkg: inLenspower, names: []string{"method holladay-1"}, constants: []string{"holladay-1."}, checks: with("published/holladay-without-double-k.txt", "derived/double-k.txt"), standsIn: grid},
	{name: "Hoffer Q", pkg: inLenspower, names: []string{"method hoffer-q"}, constants: []string{"hoffer-q."}, checks: lensChecks, standsIn: grid},
	{name: "Haigis", pkg: inLenspower, names: []string{"method haigis"}, constants: []string{"haigis."}, checks: with("derived/haigis-position.txt"), standsIn: grid},
	{name: "Double K", pkg: inLenspower, names: []string{"Method.DoubleK"}, refs: []source.Ref{{Key: source.Aramberri2003, Grade: source.Read}}, checks: []string{"derived/double-k.txt"}, standsIn: grid},
	{name: "Every method through one engine, one eye or many", pkg: inLenspower, names: []string{"Method.Solve", "Method.Position", "Method.Power", "Method.Refraction", "Solution.Power", "Solution.Refraction", "Solution.Eye", "Bulk", "Method.Working", "Method.WorkingRefraction"},
		constants: []string{"keratometry.", "tangent."}, refs: practice("vergence"), checks: lensChecks, standsIn: grid + "; the closed forms of the methods; many eyes equal one eye"},
	{name: "Lens constants made from one another", pkg: inLenspower, names: []string{"Method.Resolve"}, constants: []string{"constants."}, checks: []string{"derived/conversions.txt"}, standsIn: "identities between separately published conversions"},
	{name: "Constant and position from one result", pkg: inLenspower, names: []string{"Method.BackSolve", "Method.PersonalConstant"}, constants: []string{"back-solved."}, refs: own("the engine solved for the position"), checks: []string{"derived/haigis-position.txt"}, standsIn: "round trips"},
	{name: "Corneal radius after myopic laser (Haigis-L)", pkg: inLenspower, names: []string{"HaigisLRadius"}, constants: []string{"haigis-l."}, refs: []source.Ref{{Key: source.HaigisLNote, Grade: source.Secondary}}, checks: []string{"published/haigis-l-example.txt"}, standsIn: "used by no plan yet"},
	{name: "Corneal power after laser (Jarade and Tabbara)", pkg: inLenspower, names: []string{"JaradeTabbaraK"}, constants: []string{"jarade"}, refs: []source.Ref{{Key: source.JaradeTabbara, Grade: source.Read}}, checks: []string{"published/jarade-tabbara-means.txt"}, standsIn: "used by no plan yet"},
	{name: "Which method for which length", pkg: inLenspower, names: []string{"Guidance"}, refs: []source.Ref{{Key: source.Hoffer1993, Grade: source.Secondary}, {Key: source.NICE2017, Grade: source.Memory}}, standsIn: "advice, not arithmetic: tested at its limits"},

	{name: "Spread of the refraction from the spreads of its inputs", pkg: inUncertainty, names: []string{"Propagate", "Repeating", "Budget.Repeated", "ForMethod"}, constants: []string{"uncertainty."}, refs: practice("propagation of variance, first order"),
		checks: []string{"published/norrby-shares.txt", "derived/derivatives.txt", "derived/monte-carlo.txt"}, standsIn: "a seeded Monte Carlo"},
	{name: "Chance of ending within a distance of the prediction", pkg: inUncertainty, names: []string{"Result.Within", "Result.Band"}, refs: practice("normal distribution"), checks: []string{"derived/normal.txt"}, standsIn: "the normal distribution of a general library"},
	{name: "Tolerance of a lens label", pkg: inUncertainty, names: []string{"LabelTolerance", "UniformSD"}, refs: []source.Ref{{Key: source.ISO11979Part2, Grade: source.Secondary}}, checks: []string{"published/label-tolerance.txt"}, standsIn: "own arithmetic for the SD of a uniform spread"},
}
