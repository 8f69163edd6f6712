// Package ultrasound computes what a phaco tip does: its motion from frequency
// and stroke, whether numbers said of a tip can hold together, sound pressure at
// its face, energy by mode, and the time and fluid a piece of nucleus costs.
//
// # Sources
//
// Kinematics follow from the sine. Near field: kinsler2000 (c); the width of the
// wall as length is our own (d). Cavitation on video: zacharias2013 (a). Energy by
// grade: hatch2015 (a, abstract), one study of one technique; the exponential
// through its two means is our own (d). Nucleus of 75 mm³, saline at 1507 m/s:
// memory (c). Occluded share, grooves and pieces of techniques: our own choice.
// The numbers of commonly-taught have no source.
//
// # Inputs and units
//
// Frequency in kHz, stroke in µm peak to peak (a torsional tip: the arc at its
// end), power and duty in per cent of the console's own full power, times in s,
// volumes of tissue in mm³, flows in mL/min, nuclear grade by chylack1993 from
// 0.1 to 6.9.
//
// # Results
//
// Unrounded: m/s, m/s², bar, s, mL. Effective phaco time is no energy in joules
// and cannot be compared between makers. StrokeTime takes its weight from the
// caller; none is built in.
//
// # Valid for
//
// Motion and the contradictions of Claim.Check: exact. Ratios between pieces,
// powers and grades 3 to 5: as far as one study carries. Published strokes at
// full power are 90 to 130 µm, up to 192 µm for bent torsional tips
// (stroke-page, bmc2022-02619).
//
// # Not valid for
//
// Absolute removal times: no published second was readable. Fluid per operation:
// pursuit of pieces and leak use far more than the emulsification that is
// modelled. Grades outside 3 to 5 are extrapolated and say so. Endothelial loss:
// studies contradict each other; no coefficients are used. Outside its domain
// every function returns a *unit.RangeError.
//
// # Disagreements
//
// Whether cavitation cuts: zacharias2013 and the mechanisms-preprint saw cutting
// go on without bubbles, packer2005 holds that both contribute. The commonly
// taught 40 kHz, 20 m/s, 51 000 m/s² and 1–2 mm contradict each other by factors
// of 6 to 1240; likely slips are 513 000 g read as 51 000 m/s² and mil read as mm.
// "Average power" of some consoles leaves out the rests, ours does not.
//
// # Checked against
//
// testdata/derived: kinematics, contradictions, grades, pieces and energies, made
// in another language from the reference page. testdata/published: energy by
// grade (which it was fitted to), strokes in mil and µm, velocity of sound. The
// near field and the techniques have no published number; identities and limits
// stand in.
//
// # If wrong
//
// A teacher passes on numbers that cannot hold, or settings are chosen by a
// removal time that no machine keeps. The control: findings name what is assumed,
// and nothing of this package is written onto a sheet.
package ultrasound
