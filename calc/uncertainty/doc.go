// Package uncertainty says how sure a predicted refraction is: the spread of
// what is measured and predicted, carried through the calculation by finite
// differences or by drawing eyes, the chance of landing within a given distance
// of the prediction or the target, how much each source contributes, and what
// measuring again, measuring another way or fitting the constant would buy.
//
// # Sources
//
// Spreads of measurements: barrett2024, hitzenberger1993, ademola-popoola2016
// (grade a for the within-eye parts), sheedy2004; the totals of ultrasound
// lengths, the lens position and the spread of refraction are own choices
// inside the range the sources span, grade d, and say so. Label tolerance:
// iso11979-2, grade b, of an edition since replaced. Keratometry: grade c.
//
// # Inputs and units
//
// Lengths and positions in mm, powers and refractions in D, refraction as
// spherical equivalent at the spectacle plane. An Eye is the caller's
// calculation: real lens formulas also use length and K for the lens position,
// so their own derivatives count, not those of a bare optical model.
//
// # Results
//
// SD in D, shares that add to one, chances in percent under a normal
// distribution, optionally off-centre. Measured errors have fatter tails: a
// chance within 1 D comes out a little high.
//
// # Valid for
//
// Small spreads around one eye by the first order; any spread by Simulate,
// which draws from the stream it is given, the same draws for every
// calculation, correlated where the budget says so. In the average eye the
// curvature that the first order neglects moves the mean by 0.005 D.
//
// # Not valid for
//
// Blunders (wrong eye, wrong unit, swapped sides), eyes after corneal surgery
// (the spread of their corneal power is another), children. The length spread
// does not grow with the length here, though measured ones do
// (plos2024-e0297869), nor are the readings of one instrument independent:
// Correlations is there for those who know theirs.
//
// # Disagreements
//
// The spread of the refraction after surgery: 0.17 D between visits
// (sheedy2004), 0.39 D implied by norrby2008; 0.27 D is used. The spread of the
// lens position: 0.32 mm implied by norrby2008, about 0.18 mm implied by a large
// registry; 0.30 mm is used (0.35 mm beside contact ultrasound). Replace both
// by the surgeon's own results where there are any.
//
// # Checked against
//
// testdata/published (shares of norrby2008, from spreads they imply: consistency,
// not proof; tolerances of iso11979-2) and
// testdata/derived (a Monte Carlo and derivatives made in another language);
// a seeded Monte Carlo here, and the normal distribution of gonum.
//
// # If wrong
//
// A surgeon promises too much or repeats a measurement for nothing. No power
// is chosen here.
package uncertainty
