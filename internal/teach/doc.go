// Package teach makes what a teacher hands out: questions whose answers the
// calculators work out, with the answers that known slips lead to, and the steps
// of an operation as a list of what belongs to each.
//
// A [Question] belongs to a topic and a seed and is made from nothing else: the
// same seed prints the same paper. Givens lie on grids that print exactly, and
// the answer is that of the printed numbers, never a stored one. A draw whose
// slips lie too close to the answer is thrown away.
//
// Words are keys for package locale; nothing here is a sentence.
package teach
