// Package astigmatism is what the meridians of an eye add up to: the cornea,
// its back surface, incisions, toric lenses and how they lie, and what the
// surgery induced.
//
// # Sources
//
// Power vectors: thibos2001 (formulas grade c). Induced astigmatism: alpins1993
// and alpins2001, eydelman2006, holladay1992 to holladay2001, naeser1990 and
// naeser1994 (roles grade a, the rest c). Posterior cornea: abulafia2016 (c),
// savini2017 (c), goggin2015 (a); measured back surface by vergence. Toric
// lens by meridians: fam2007 (a); rotation: the vergence of a crossed
// sphero-cylinder, grade d. Self-sealing tunnels: ernest1993, ernest1994,
// mackool1996 (a). Starting values of induced astigmatism are our own
// judgement from the series in works_cornea.go, grade d.
//
// # Inputs and units
//
// Powers in D, lengths and radii in mm, meridians in degrees counter-clockwise
// as seen from in front of the patient, for both eyes alike; an axis lies in
// (0, 180]. A place on the limbus is a direction in [0, 360): 0 at the
// observer's right, 90 at the top. Astigmatism is a magnitude at its steep
// meridian; the double-angle vector is (C·cos 2θ, C·sin 2θ). The mark of a
// toric lens is its low-power meridian: it is laid on the steep corneal
// meridian. Corneal powers are keratometric at index 1.3375 unless a function
// says Gauss.
//
// # Results
//
// D and degrees, unrounded. Relative error of the closed forms some 1e-14;
// chances by quadrature 1e-9; the best angle of a rotation 1e-7 degrees.
//
// # Valid for
//
// Regular astigmatism, one lens position for all meridians, incisions whose
// effect flattens their own meridian and steepens the other as much (mean K
// unchanged).
//
// # Not valid for
//
// Keratoconus and other irregular corneas, decentred or tilted lenses, corneas
// after refractive surgery (the regressions of the posterior cornea), relaxing
// incisions: their published effects are listed for reading and never computed
// with.
//
// # Disagreements
//
// alpins1993 counts an error of magnitude positive when too much was done,
// eydelman2006 when too little. One secondary source divides the index of
// success by the astigmatism before surgery instead of the target; for a target
// of zero they are alike. A thick-lens cylinder of both corneal surfaces is
// never mixed with a keratometric one: even with a spherical back they differ
// by a factor of 1.117.
//
// # Checked against
//
// testdata/derived, computed by a second method in another language; hotelling
// and F quantiles also by R and by scipy. No worked example inside a paper
// could be read; properties stand in: turning everything turns every axis,
// transposition, before→after plus after→before is zero, fellow eyes mirror.
//
// # If wrong
//
// A toric lens turned the wrong way doubles the astigmatism; an incision at the
// wrong meridian adds up to 2 D. Control: the properties, the drawing that is
// read back by a test for both eyes, and the axis in words on the sheet.
package astigmatism
