package main

import (
	"slices"

	"linn/source"
)

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
	{name: "Lenses to take to a camp", pkg: inSupplies, names: []string{"Camp.Best", "Camp.Judge"}, refs: slices.Concat(memory(source.Nemhauser1978), memory(source.Glover1967)), standsIn: "against every possible box of small camps; giving out by the earliest end against the assignment"},
	{name: "Sharing a short stock", pkg: inSupplies, names: []string{"Share.Best"}, refs: memory(source.Kuhn1955), checks: []string{"derived/assignment.txt"}, standsIn: "a general-purpose library in another language (frozen, and at length in full); every way of small tables tried"},
	{name: "How a session went", pkg: inSupplies, names: []string{"Session.Times"}, refs: []source.Ref{{Key: source.TheatreTimes, Where: "table 4", Grade: source.Read}}, checks: []string{"derived/stays.txt", "derived/session.txt"}, standsIn: "own arithmetic in another language"},
	{name: "Cycle and capacity on one table and two", pkg: inSupplies, names: []string{"Tables.Cycle", "Tables.Capacity"}, refs: []source.Ref{{Key: source.Venkatesh2005, Grade: source.Read}}, checks: []string{"published/venkatesh.txt"}, standsIn: "a second table never slows a list and at best halves the cycle"},
	{name: "Cost of an operation, of good sight, break-even", pkg: inSupplies, names: []string{"Cost.PerCase", "Cost.PerGood", "Cost.Varying", "Cost.BreakEven"}, refs: own("fixed over cases and what each adds"), standsIn: "the worked sum of the reference; one operation fewer than the break-even is not enough"},
}
