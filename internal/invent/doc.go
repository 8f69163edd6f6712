// Package invent makes up what a workbench needs before it has patients of its
// own: people, eyes before cataract surgery, lens models and a small hospital
// on an island. Nothing in it is real; every chance is drawn from a source the
// caller passes in, so the same seed gives the same ward.
//
// # Sources
//
// Eyes are drawn from biometry.China (bmc2021-21-168, 28,709 eyes, grade a):
// means, SDs and Spearman correlations, joined as a normal copula. Where the
// series prints no correlation the readings are drawn independent once those
// between them are given, which is the completion of greatest entropy. Axis of
// the cylinder: hoffmann2010 (grade a). The difference between the eyes of one
// person: rajan2008 (grade a) for length, rcophth2010 (grade c) for corneal
// power; the resemblance of the other readings is our own choice.
//
// # Valid for
//
// Testing screening rules and filling a demonstration. The shape of the length
// distribution (shifted log-normal above 19 mm) and of the cylinder (log-normal)
// is our own choice; the tests compare it with shares printed by other series.
//
// # Not valid for
//
// Eyes shorter than 19 mm, children, operated eyes: the ward has none (the
// demonstration has invented ones). No rate seen here is a rate of people.
package invent
