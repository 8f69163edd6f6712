// Package refraction holds refractions with their plane: sphere, cylinder and
// axis at the spectacle plane or at the cornea, and the way between the two.
//
// # Sources
//
// Vertex conversion F/(1 − V·F) is the vergence step in air of calc/optics
// (common-practice, grade c: every textbook of optics).
//
// # Inputs and units
//
// Sphere and cylinder in D, of either sign; axis in degrees, (0, 180]; vertex
// distance in mm, 0 to 30 (our own bounds; 0 is the cornea).
//
// # Results
//
// D, unrounded. Each principal meridian is carried by itself and the axis
// stays, so the spherical equivalent at the cornea is not the spherical
// equivalent of the spectacles carried over: −4.25/−2.50 differs by 0.015 D.
//
// # Valid for
//
// Thin correcting lenses centred on the eye.
//
// # Not valid for
//
// A lens that would focus at or in front of the cornea, and a far point
// between the two planes: *unit.RangeError. Thick spectacle lenses, tilt and
// decentration are not modelled.
//
// # Disagreements
//
// None known. Vertex distance is taken to the corneal front.
//
// # Checked against
//
// testdata/derived, computed by a second method in another language. No
// published table could be read; round trips, transposition and the limit at
// the cornea stand in.
//
// # If wrong
//
// A target or an outcome is compared at the wrong plane: 0.3 D at 5 D of
// refraction, 1.1 to 1.4 D at 10 D. Control: the round-trip and meridian tests.
package refraction
