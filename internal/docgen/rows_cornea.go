package main

import "linn/source"

const inAstigmatism = "calc/astigmatism"

// corneaRows are meridians, incisions and toric lenses.
var corneaRows = []formula{
	{name: "Power vectors", pkg: inRefraction, names: []string{"AtSpectacle.Vector", "AtCornea.Vector", "PowerVector.Blur", "PowerVector.AtCornea"}, refs: memory(source.Thibos2001),
		checks: []string{"derived/power-vectors.txt"}, standsIn: "a second implementation in another language; there and back"},
	{name: "Double-angle vector, turning, mirroring", pkg: inAstigmatism, names: []string{"Cylinder.Vector", "Vector.Cylinder", "Vector.Magnitude", "Vector.Add", "Vector.Sub", "Vector.Scale", "Vector.Turn", "Vector.Mirror", "Cylinder.Rule", "OfRefraction", "Vector.Correction"},
		refs: memory(source.Holladay1998), checks: []string{"derived/audit-eyes.txt", "derived/sia-eyes.txt"}, standsIn: "vectors by R and by Python; turning everything turns every axis; 0 is 180"},
	{name: "Polar values", pkg: inAstigmatism, names: []string{"Vector.Polar", "Polar.Vector"}, refs: memory(source.Naeser1994), checks: []string{"derived/naeser.txt"}, standsIn: "a second implementation in another language"},
	{name: "Corneal astigmatism from keratometry", pkg: inAstigmatism, names: []string{"Keratometry.Vector", "Keratometry.Mean", "Keratometry.FrontRadii", "Keratometry.Findings"}, refs: practice("keratometry"), checks: []string{"derived/audit-eyes.txt"}, standsIn: "vectors by R and by Python"},
	{name: "Power of both corneal surfaces, crossed meridians", pkg: inAstigmatism, names: []string{"TwoSurfaces.Total"}, refs: practice("vergence of astigmatic surfaces"), checks: []string{"derived/total-cornea.txt"}, standsIn: "a second implementation in another language"},
	{name: "Posterior cornea by regression", pkg: inAstigmatism, names: []string{"Posterior.Adjust", "Adjusted.Twice"}, constants: []string{"posterior."}, refs: memory(source.AbulafiaKoch2016), checks: []string{"derived/abulafia-koch.txt"}, standsIn: "the equation of Abulafia and Koch only, coefficients unconfirmed; nothing holds those of Savini and Næser"},
	{name: "Incision: starting values, candidates", pkg: inAstigmatism, names: []string{"IncisionType.Scleral", "StartValue", "Effect.Vector", "Question.Candidates", "Question.Candidate", "Candidate.Findings", "Place.Direction", "PlaceOf", "OnSteep", "Nasal", "Hour", "DirectionOf", "HourText", "Arc", "Chord", "Excluded.Hits"}, constants: []string{"incision.start."},
		refs: []source.Ref{{Key: source.OwnChoice, Grade: source.Own}}, standsIn: "own judgement, said so wherever it shows; fellow eyes mirror"},
	{name: "Incision: sealing by build", pkg: inAstigmatism, names: []string{"Incision.Sealing", "Incision.Enlargement", "Incision.SidePorts"}, constants: []string{"incision."}, refs: []source.Ref{{Key: source.Ernest1994, Grade: source.Read}}, standsIn: "limits as printed"},
	{name: "Spread of an expected astigmatism", pkg: inAstigmatism, names: []string{"Spread.Mean", "Spread.Within"}, refs: practice("Rice distribution"), checks: []string{"derived/within.txt"}, standsIn: "a statistics library in another language; the mean of a centred spread"},
	{name: "Toric lens: meridians, crossed cylinders, ratio", pkg: inAstigmatism, names: []string{"Pseudophakic.Ideal", "Pseudophakic.Refraction", "Pseudophakic.AtCornea", "Pseudophakic.WithCornea", "Pseudophakic.Ratio", "Pseudophakic.Steps", "Choose", "Circumstances.Findings", "Circumstances.Spread"}, refs: []source.Ref{{Key: source.FamLim2007, Grade: source.Read}},
		checks: []string{"derived/crossed-cylinders.txt", "derived/toric-ratio.txt"}, standsIn: "a second implementation in another language; the ideal lens leaves nothing"},
	{name: "Toric lens: cylinders of the shelf", pkg: inLenspower, names: []string{"Lens.Cylinders"}, refs: practice("from, step, to"), standsIn: "the rules of the file format"},
	{name: "Toric lens: misalignment and marking", pkg: inAstigmatism, names: []string{"Laid.Turned", "Laid.LostAt", "Marking.Mean", "Marking.Within"}, refs: practice("obliquely crossed cylinders"), checks: []string{"derived/misaligned.txt", "derived/misalign-expected.txt"}, standsIn: "a second implementation in another language; across it doubles; 30° loses all"},
	{name: "Toric lens: best mark after surgery", pkg: inAstigmatism, names: []string{"Lying.Best"}, refs: practice("vergence"), checks: []string{"derived/rotation.txt"}, standsIn: "a second implementation in another language; no mark leaves less"},
	{name: "Change by surgery", pkg: inAstigmatism, names: []string{"Change.Induced", "Change.Alpins", "Change.Eydelman", "Sources.OcularResidual"}, refs: memory(source.Alpins1993), checks: []string{"derived/alpins.txt", "derived/sia-eyes.txt", "derived/audit-eyes.txt"}, standsIn: "a second implementation in another language; there and back is nothing"},
	{name: "Series: centroid, ellipses, Hotelling", pkg: inAstigmatism, names: []string{"Of", "Two.Test", "QuantileF", "Series.Findings"}, refs: memory(source.Hotelling1931), checks: []string{"derived/sia-series.txt", "derived/audit-series.txt", "derived/audit-two.txt"}, standsIn: "R and Python; scipy in the full test; F of a general library"},
}

func init() { formulas = append(formulas, corneaRows...) }
