package main

import (
	_ "linn/internal/learn/outcome" // its constants
	"linn/source"
)

const (
	inOutcome = "internal/learn/outcome"
	inAudit   = "internal/learn/audit"
)

// auditRows are the formulas of outcomes, their statistics and their charts.
var auditRows = []formula{
	{name: "Which refractions judge a calculation", pkg: inOutcome, names: []string{"Choose", "Window"}, constants: []string{"outcome."},
		standsIn: "each rule broken alone at its limit; the 110 of 160 synthetic eyes that R keeps"},
	{name: "Errors of a method with intervals", pkg: inAudit, names: []string{"Describe", "Bootstrap", "MeanSE"}, refs: memory(source.TextbookTests),
		standsIn: "R and an independent Python program on the same eyes"},
	{name: "Methods on the same eyes", pkg: inAudit, names: []string{"Friedman", "Wilcoxon", "Holm", "CochranQ", "McNemar.Exact", "CompareSpread", "CompareTrimmed"}, refs: memory(source.TextbookTests),
		standsIn: "R and an independent Python program on the same eyes"},
	{name: "Proportions, observed against expected", pkg: inAudit, names: []string{"Tally.Wilson", "Tally.Exact", "Tally.Less", "Expected.Ratio"}, refs: memory(source.Newcombe1998),
		standsIn: "R and an independent Python program"},
	{name: "Limits of a funnel plot", pkg: inAudit, names: []string{"FunnelLimits"}, refs: memory(source.Spiegelhalter05), standsIn: "R and an independent Python program"},
	{name: "Risk-adjusted cumulative chart and its limit", pkg: inAudit, names: []string{"Odds.Weights", "Chart", "Run.SignalWithin", "Run.Length", "Limit"}, refs: memory(source.Steiner2000),
		standsIn: "weights and run lengths as statistics packages print them; 20 000 simulated years"},
	{name: "Charts for a trainee", pkg: inAudit, names: []string{"Learning.Weights", "Weights.Declared", "Wald.Limits"}, refs: memory(source.BiauPorcher2010), standsIn: "an independent Python program"},
}
