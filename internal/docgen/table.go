package main

import (
	"slices"

	"linn/source"
)

// formula is one formula of calc: where it is, where it comes from and what
// holds it. A test requires every exported function of calc to stand in a
// formula or in plumbing, and every check file in a formula.
type formula struct {
	name      string       // for people
	pkg       string       // from the module's root
	names     []string     // functions and methods; "method ID" is a lens method
	constants []string     // beginnings of the names of its declared constants
	refs      []source.Ref // sources besides those of its constants
	checks    []string     // patterns of its check files: below the package's testdata, or from the root
	standsIn  string       // what holds it besides, or where no outside number does
}

const (
	inOptics      = "calc/optics"
	inRefraction  = "calc/refraction"
	inBiometry    = "calc/biometry"
	inLenspower   = "calc/lenspower"
	inUncertainty = "calc/uncertainty"
	second        = "scripts/reference/testdata/derived/lens_power.txt"
	grid          = "lens_power_grid.csv: a grid of a second implementation in another language"
)

func practice(where string) []source.Ref {
	return []source.Ref{{Key: source.CommonPractice, Where: where, Grade: source.Memory}}
}

func own(where string) []source.Ref {
	return []source.Ref{{Key: source.OwnChoice, Where: where, Grade: source.Own}}
}

// thresholds begin the names of constants outside calc: limits of rules, which
// docs/findings.md lists, and the shapes of simulated wards.
var thresholds = []string{"plan.", "pathway.", "invent."}

// plumbing are exported functions of calc that compute nothing of their own.
var plumbing = map[string][]string{
	inOptics:      {"Shape.Check", "System.Check"},
	inBiometry:    {},
	inLenspower:   {"NewLens", "ParseLens", "Lens.Check", "LensFieldNamed", "LensField.Get", "LensField.Set", "MethodNamed", "Method.Findings", "Method.Missing", "Method.NeedsACD"},
	inUncertainty: {},
	inFluidics:    machinePlumbing,
}

// formulas are the rows of all subjects, in the order of the calculation. A new
// subject has a file of rows of its own.
var formulas = slices.Concat(opticsRows, lensRows, machineRows, suppliesRows, auditRows)
