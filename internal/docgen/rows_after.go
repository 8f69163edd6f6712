package main

import "linn/source"

// afterRows are the formulas of what is seen after the operation.
var afterRows = []formula{
	{name: "Visual acuity as logMAR, letters, decimal; bands of outcome", pkg: inRefraction,
		names:     []string{"ParseAcuity", "Acuity.Decimal", "Acuity.LettersRead", "Acuity.Band", "Acuity.AtLeast"},
		constants: []string{"acuity."}, refs: []source.Ref{{Key: source.AcuityPractice, Where: "−log10 of the fraction", Grade: source.Memory}, {Key: source.Gregori2010, Where: "85 − 50·logMAR", Grade: source.Secondary}, {Key: source.Limburg2005, Where: "can see 6/18, cannot see 6/60", Grade: source.Read}},
		checks: []string{"derived/acuity*.txt", "published/low-vision.txt"}, standsIn: "a second implementation in another language; metres, feet and decimal agree; monotone in the line"},
}

func init() { formulas = append(formulas, afterRows...) }
