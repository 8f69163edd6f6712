package main

import "linn/source"

const inConstants = "internal/learn/constants"

// constantsRows are the formulas of what is learned about lens constants.
var constantsRows = []formula{
	{name: "Personal lens constant: zero mean, zero median, least RMS, least MAE, winsorised mean", pkg: inConstants, names: []string{"Set.Fit", "Set.Draw", "Set.Propose", "Set.CrossValidate"},
		refs:     []source.Ref{{Key: source.OwnArithmetic, Where: "audit-statistics reference C1, C2; audit_lens_constant_results.csv", Grade: source.Own}},
		standsIn: "R and Python over the same 110 synthetic eyes; closed-form gradient; jackknife and bootstrap of the standard error; planted constants are found again"},
	{name: "Lens position as a line of chamber depth and axial length, from back-solved positions or least RMS", pkg: inConstants, names: []string{"Set.FitPositions", "Set.FitThree"},
		refs:     []source.Ref{{Key: source.OwnArithmetic, Where: "audit-statistics reference C3", Grade: source.Own}},
		standsIn: "R and Python over the same 110 synthetic eyes"},
	{name: "Shrinkage of a series and the spread between series (DerSimonian and Laird)", pkg: inConstants, names: []string{"Shrink", "Pool"},
		refs:     []source.Ref{{Key: source.OwnArithmetic, Where: "audit-statistics reference C5", Grade: source.Own}},
		standsIn: "R and Python: 28 rows of one series, 8 series pooled"},
	{name: "Second-eye weight from own pairs", pkg: inConstants, names: []string{"OwnWeight"},
		refs:     []source.Ref{{Key: source.OwnArithmetic, Where: "audit-statistics reference C6", Grade: source.Own}},
		standsIn: "R and Python: 32 synthetic pairs"},
	{name: "Trend and change point of prediction errors", pkg: inConstants, names: []string{"Set.Trend", "Set.ChangePoint"},
		refs:     []source.Ref{{Key: source.OwnArithmetic, Where: "least squares; greatest split between means, judged by shuffling", Grade: source.Own}},
		standsIn: "a planted jump is found; forty series without one keep the stated rate of false signals"},
}

func init() { formulas = append(formulas, constantsRows...) }
