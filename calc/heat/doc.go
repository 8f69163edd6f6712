// Package heat computes the temperature of the wound and of the chamber under
// ultrasound, and whether a wound burns.
//
// # Sources
//
// The two-node balance is our own (own-model, d). Friction power is a product
// (coefficient × load × speed), internal loss and the torsional factor come from
// zacharias-thermal (a, abstract, funded by a maker), acoustic power from the
// mechanisms-preprint (a). Capacity and conduction were fitted to sleeve
// temperatures without flow (wirt1995). Burn indices: henriques1947 and
// pearce1993 (c), kampmeier2000 (a, abstract).
//
// # Inputs and units
//
// Power and duty in per cent, load in gram-force, flow in mL/min that passes the
// sleeve, times in s, temperatures in °C. A phase holds them constant; phases
// follow each other. Pulses enter by their mean: the wound's lag of 0.4 s with
// flow and 4 s without smooths them.
//
// # Results
//
// Unrounded. The temperatures are closed forms; the index is integrated to 1e-10
// of itself. An index of 1 is called a burn.
//
// # Valid for
//
// The order of magnitude: a burn is a no-flow event, seconds at full power, and
// 1–5 mL/min keep the wound below 45 °C. Reproduced: sleeve temperature without
// irrigation (fitted), open and aspiration-blocked cadaver temperatures, chamber
// rise, longitudinal hotter than torsional at the wound.
//
// # Not valid for
//
// A bare needle in a whole eye: the model heats it 5 to 8 times too fast, which
// is on the safe side. Temperature rise at low friction: 1.5 to 6 times too low,
// which is not. Shaft temperatures in patients: 1–5 °C low, the irrigation's
// temperature being unknown. Rankings of tips. Outside its domain every function
// returns a *unit.RangeError.
//
// # Disagreements
//
// Torsional tips are cooler at the wound (zacharias-thermal, congress2014-5099)
// and hotter at the shaft (nair2017, transverse-thermal): different places. The
// three indices part by orders of magnitude; the cornea's would denature a normal
// cornea in 17 minutes and carries the caution burn-index-denatures below 55 °C,
// the collagen's underestimates the shrinkage at 60 °C. Burn is the choice.
//
// # Checked against
//
// testdata/derived: 16 worked cases, isothermal times and stopped flow, made in
// another language by stepping. testdata/published: bench, cadaver and patient
// temperatures with fits and misfits as they are. A fixed-step integration in the
// tests is the second method for wound, chamber and index.
//
// # If wrong
//
// A burn of the wound: contraction, leak, lasting astigmatism. The control: the
// model only teaches; what it says is never written onto a sheet, and the rule it
// supports is the strict one (no ultrasound without flow).
package heat
