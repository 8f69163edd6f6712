// Package dose checks the arithmetic of drugs in cataract surgery: what was
// drawn up against what the unit has agreed on. It never proposes a dose.
//
// # Sources
//
// Intracameral antibiotics: cefuroxime-preparation, moxifloxacin-use, errors of
// preparation in wong2015 and mixing-syringe. Largest doses of local
// anaesthetics: lidocaine-limits, whose sources disagree. Dye: vandooren2002.
// Usual strengths and the rest: drug-practice, from memory. Every target and
// limit is a local setting; the values here stand in until the unit has
// approved its own, and say so.
//
// # Inputs and units
//
// Strength as percent, mg/ml or "1 in N" (chosen, never guessed), volume in ml
// or µl, weight in kg or lb. A powder with its diluent must say whether the
// diluent was added to it or it was made up to that volume. A dose without a
// route, a drug that is not listed and a unit that is not chosen are refused.
//
// # Results
//
// Concentration × volume, its share of the local target, the sum of the
// fractions of all local anaesthetics by every route with top-ups, findings,
// and the steps. Outside 0.5 to 1.5 times the target is a stop, outside 0.8 to
// 1.2 a caution; both limits belong to the side that is let through.
//
// # Valid for
//
// The drugs of Drugs by the routes listed with each.
//
// # Not valid for
//
// Prescribing; interactions; frailty, liver or heart, for which local protocol
// reduces the limits. Doses below a limit can still harm when they reach a
// vessel. Without a weight there is no verdict per kg.
//
// # Disagreements
//
// Lidocaine without adrenaline: 3, 4 or 4.5 mg/kg, 200 or 300 mg. Moxifloxacin
// is given as 0.1 ml of 0.5 % or 0.5 ml of 0.1 %: exchanging the strengths is
// five times too much or too little. Mannitol: texts print 1 to 2 g/kg.
//
// # Checked against
//
// testdata/published (a prepared strength as its source prints it) and
// testdata/derived (dilutions and fractions worked by hand).
//
// # If wrong
//
// Ten times the antibiotic is in the eye and the retina is lost; a block holds
// more anaesthetic than the heart bears.
package dose
