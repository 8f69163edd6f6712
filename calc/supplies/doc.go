// Package supplies computes what a list of operations draws: electric power
// and energy, the battery and the uninterruptible supply that carry it through
// a failure of the mains, the bottles of irrigating fluid, the lenses that go to a
// camp or are shared when stock is short, the time a session takes and what an
// operation costs.
//
// # Sources
//
// Energy over efficiency, depth of discharge and ageing, and apparent power
// with a margin, are common practice (common-practice, c). Loads of theatre
// equipment are general ranges from memory (c) and are meant to be replaced by
// a reading of one's own meter. The 90th centile is type 7 of the usual
// definitions (common-practice, c). Packing is the greedy choice of Nemhauser,
// Wolsey and Fisher 1978 with single exchanges, giving out is Glover 1967, sharing
// is the assignment of Kuhn 1955 and Munkres 1957 (all c, from memory; each is
// held by trying every way in small tables). Times of a session are those of
// reports on theatre lists (a).
//
// # Inputs and units
//
// Loads in W with their power factor and how many times the running power they
// draw while starting; times in minutes; batteries in Wh or Ah at a voltage;
// flows in mL/min, bottles in mL; times of day in minutes after midnight; money
// in the place's own currency.
//
// # Results
//
// Unrounded. Minutes left are those of the battery at the load given, not what
// a display promises.
//
// # Valid for
//
// Sizing and comparing supplies, and the question whether the eye on the table
// can be finished.
//
// # Not valid for
//
// A battery of unknown age without a discharge test; lead-acid batteries
// discharged faster than in half an hour hold less than this says. Wiring,
// earthing and fusing: ask an electrician. A box packed for one district in
// another; published prices and speeds as if they were one's own.
//
// # Disagreements
//
// None known.
//
// # Checked against
//
// testdata/derived: four worked supplies, made in another language from the
// reference page, twelve assignments of scipy, two sessions. testdata/published:
// operations an hour of a fast list. For power no published worked example was
// readable; the sum of the parts, the limit without losses and the inverse
// (minutes of the battery that was sized) stand in.
//
// # If wrong
//
// The light goes out with the tip in the eye. The control: a discharge test
// under the real load once a year, a torch within reach, and a gravity bottle
// that needs no electricity.
package supplies
