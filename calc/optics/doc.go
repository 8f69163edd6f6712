// Package optics is the light of an eye close to its axis: vergences, the thin
// pseudophakic eye behind every classical lens formula, and centred systems of
// thick spherical surfaces.
//
// # Sources
//
// Thin eye: common to retzlaff1990, holladay1988, hoffer1993 and haigis2000,
// grade c each. Index of aqueous and vitreous 1.336 (iso11979-2, grade c) and
// of the cornea 1.376 (gullstrand1909, grade c). Matrices and vergences of
// thick systems: common practice, every textbook of optics.
//
// # Inputs and units
//
// Powers, vergences and refractions in D; distances and radii in mm, radii
// positive when the centre lies behind the surface, Plane when flat; indices
// as pure numbers. Refractions of the eye models are spherical equivalents at
// the spectacle plane; the vertex distance is measured to the corneal front.
// Any finite input is taken; what has no answer is a *unit.RangeError.
//
// # Results
//
// D and mm, unrounded, with a relative error of some 1e-15 for the thin eye
// and 1e-12 for systems. What the models leave out of a real eye is not in that
// number: the predicted lens position alone carries a third of the variance of
// outcomes (norrby2008).
//
// # Valid for
//
// Rays close to the axis, spherical centred surfaces, one wavelength.
//
// # Not valid for
//
// Wide pupils and aspheric surfaces (no spherical aberration is computed),
// toric surfaces, gradient indices, eyes with silicone oil: the thin eye and
// the thick eye have 1.336 before and behind the lens.
//
// # Disagreements
//
// A chart of bag and sulcus powers (sulcus-note) leaves 0.007 D in one of nine
// rows. Gullstrand's own derived data carry his rounding. The lens index of
// the published thick-against-thin example is not in its abstract; 1.46 is
// inferred from its three values.
//
// # Checked against
//
// testdata/published: the keratometric index 1.3315 of Gullstrand's radii, the
// sulcus chart, the thick-against-thin example, derived data of four schematic
// eyes (grade c). testdata/derived: a second method in another language. No
// printed table of the thin eye itself could be read; the matrices of the thick
// systems are its second method inside this package.
//
// # If wrong
//
// Every lens power and every predicted refraction is wrong with it. Control:
// the start-up vectors, the closed forms and the grid of calc/lenspower.
package optics
