// Package operation is the operation as it was done, beside what was planned.
//
// A [Record] holds texts as they were typed or tapped, by the keys of [Fields]:
// what nobody recorded has no entry and is never "normal". [Read] gives them as
// values, and says which texts no rule can take; [Check] says what does not fit
// together, or not with the plan. The package knows no patient, no clock and no
// disk: who it was and when it was written belong to the casebook.
//
// What is expected is shown and never recorded by itself: [Planned] prefills
// what the plan decided (technique, surgeon, day). How the capsule tore and
// whether the nucleus turned is only what somebody tapped.
package operation
