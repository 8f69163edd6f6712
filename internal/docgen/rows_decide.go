package main

import (
	_ "linn/calc/dose" // their constants and findings
	_ "linn/calc/risk"
	_ "linn/calc/technique"
	"linn/source"
)

const (
	inRisk      = "calc/risk"
	inDose      = "calc/dose"
	inTechnique = "calc/technique"
)

func read(key source.Key, where string) []source.Ref {
	return []source.Ref{{Key: key, Where: where, Grade: source.Read}}
}

// decideRows are risk, doses and the rules of technique.
var decideRows = []formula{
	{name: "Capsule rupture or vitreous loss, odds ratios", pkg: inRisk, names: []string{"Model.Estimate", "Model.For"}, constants: []string{"narendran."}, checks: []string{"derived/narendran.txt"},
		standsIn: "the authors print no case; ten worked apart; an answer more always lands inside the range that was told"},
	{name: "Points and groups, any complication and its parts", pkg: inRisk, names: []string{"Score.Add", "Group", "GroupRate.Of"}, refs: read(source.Muhtaseb2004, "tables 1 and 2"), checks: []string{"published/muhtaseb-rates.txt", "derived/muhtaseb-intervals.txt"}, standsIn: "worked eyes; exclusive items count once"},
	{name: "Composite of a register’s odds ratios", pkg: inRisk, names: []string{"RegisterComposite"}, constants: []string{"swedish."}, checks: []string{"derived/register.txt"}, standsIn: "own product"},
	{name: "Calibration to the unit, observed against expected", pkg: inRisk, names: []string{"Calibrate", "Shift", "Own.Shifted", "Against"}, constants: []string{"risk."}, refs: practice("logistic recalibration; exact Poisson interval"),
		checks: []string{"derived/calibration.txt", "derived/shifted.txt"}, standsIn: "the shifted mean is the observed rate; intervals of a general statistics library"},
	{name: "Intervals of a rate, number needed to treat, clusters", pkg: inRisk, names: []string{"Wilson", "UpperAfterNone", "NumberNeeded", "TwoOrMore", "Other.Of"}, refs: read(source.Haripriya2017, "abstract"),
		checks: []string{"published/moxifloxacin-rates.txt", "derived/number-needed.txt", "derived/cluster.txt", "derived/none-in-n.txt"}, standsIn: "a general statistics library"},
	{name: "Concentration × volume, dilutions, sums of fractions", pkg: inDose, names: []string{"Check", "MostVolume"}, constants: []string{"dose."},
		checks: []string{"published/*.txt", "derived/*.txt"}, standsIn: "worked by hand; proportion in every unit"},
	{name: "Rules of technique and anaesthesia", pkg: inTechnique, names: []string{"Decide"}, constants: []string{"technique."}, refs: own("three-valued conditions"), standsIn: "truth tables of every rule; an answer changes only rules that name it"},
}

func init() {
	formulas = append(formulas, decideRows...)
	plumbing[inRisk] = []string{"Model.Check", "AgeBand", "ParseModel", "InThousand"}
	plumbing[inDose] = []string{"DrugNamed", "Names", "SettingNamed", "Limits.Set", "Keys", "ReadLine", "ReadWeight", "Parse", "Answer.All", "AllergyWords"}
	plumbing[inTechnique] = []string{"QuestionNamed", "Keys", "Answers.Set", "Answers.Shown", "Rule.Reads", "Rules", "Decision.Has", "Decision.LeansTo", "Decision.Differs", "Decision.Findings"}
}
