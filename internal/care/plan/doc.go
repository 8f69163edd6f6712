// Package plan makes the plan of one eye: what every lens method answers with
// every lens on the shelf, how far the methods agree and how sure a refraction
// is, which power comes nearest to the target, what is doubtful, and what
// still keeps the plan from being signed.
//
// It combines calculations and computes none itself; steps are rounded to the
// shelf here and nowhere else. The same [Input] always makes the same [Plan]:
// no clock, no chance, no disk. A plan holds its inputs, every number printed
// from it and the versions of what computed them, so that [Recompute] can
// compare it years later to the printed digits.
//
// What is recommended rests on the median of the methods that count: those
// that have an answer for this eye and a constant that was given. A converted
// constant is shown and never counts, and after corneal surgery, without the
// natural lens, with oil or gas, or under 18 years no ordinary method gives a
// number at all.
package plan
