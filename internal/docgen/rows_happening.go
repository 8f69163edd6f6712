package main

// happeningRows are what befalls a chamber beyond one break.
var happeningRows = []formula{
	{name: "What befalls the chamber: air, pedal, bottle, kink, power, pieces", pkg: inFluidics, names: []string{"Script.Steps", "Script.On"}, constants: []string{"fluidics.script-"},
		refs: own("phases of the break's equations; air by V·p = constant"), standsIn: "filling time of line and air by Boyle's law; the added compliance against its table; what each must show; flows add up to the volume; quotients for the slopes"},
}

func init() {
	formulas = append(formulas, happeningRows...)
	plumbing[inFluidics] = append(plumbing[inFluidics], "Happenings", "One", "Range.Add", "LinesInUse")
	plumbing[inOptics] = append(plumbing[inOptics], "Train.Meridional")
}
