package main

const inSupplies = "calc/supplies"

// suppliesRows are the formulas of power and bottles.
var suppliesRows = []formula{
	{name: "Power, apparent power and supply of loads", pkg: inSupplies, names: []string{"Sum"}, constants: []string{"supplies.supply-margin", "supplies.heavy-load"},
		checks: []string{"derived/supply.txt"}, standsIn: "own arithmetic in another language; a sum does not depend on grouping; a start never lowers it"},
	{name: "Battery for a draw, and how long one lasts", pkg: inSupplies, names: []string{"Battery.Size", "Bank.Lasts", "Draw.Energy", "LeadAcid", "Lithium"}, constants: []string{"supplies.lead-", "supplies.lithium-"},
		checks: []string{"derived/supply.txt"}, standsIn: "own arithmetic in another language; sizing and lasting are inverse"},
	{name: "Time an operation still takes, against the battery", pkg: inSupplies, names: []string{"Running.Remaining", "Running.Check"}, constants: []string{"supplies.least-cases", "supplies.remaining-centile"},
		refs: practice("quantile, type 7"), standsIn: "counted by hand on an even series"},
	{name: "Bottles of an operation and when they are changed", pkg: inSupplies, names: []string{"Bottles.Plan"}, refs: own("volume over flow"), checks: []string{"derived/bottle-time.txt"}, standsIn: "own arithmetic"},
}
