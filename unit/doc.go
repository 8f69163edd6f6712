// Package unit holds the quantities of cataract surgery as the trade writes
// them: a dioptre is a float64 that counts dioptres, a millimetre one that
// counts millimetres. What is typed is what is stored and printed.
//
// The types guard package borders. Inside a function the calculations use
// plain float64 and the symbols of the paper they come from. Two traps stay
// open and are closed elsewhere: a product of two Millimetre values is still
// called Millimetre by the compiler, and untyped constants fit every type.
// Inputs therefore travel in structs with named fields.
//
// Zero is a value (a target of 0 D is legal). A value that was not recorded
// is a [Reading] whose Known is false, never 0 and never NaN.
package unit
