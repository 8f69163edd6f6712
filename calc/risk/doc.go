// Package risk turns what is known about an eye into published estimates of
// what may go wrong. Every number carries its own outcome, setting and years;
// numbers of different outcomes are never added.
//
// # Sources
//
// Capsule rupture or vitreous loss: narendran2009, its odds ratios read in a
// secondary page and its baseline from memory. Any complication and its parts
// by group: muhtaseb2004, tables read. Selection for trainees: habib2006,
// table read. Composite of a register: swedish2021, abstract read. Every other
// risk stands in Others with its own source.
//
// # Inputs and units
//
// Findings by key: what was answered, never a default. Ages in years, lengths
// in mm, probabilities as fractions.
//
// # Results
//
// Estimates as fractions with what they are of. What was not answered is
// named and widens the estimate to the range its answers could give; it is
// never counted as the most favourable level. InThousand prints.
//
// # Valid for
//
// Sorting eyes by surgeon, time and preparation before phaco in adults.
//
// # Not valid for
//
// Refusing surgery. Manual small-incision and extracapsular operations: no
// model of ours was built on them, and For says so until the unit has an
// intercept of its own. One published model reached an area under the curve of
// only 0.62 when tested prospectively (oustoglou2025).
//
// # Disagreements
//
// narendran2009 has risk grow with age; sim2024 finds the young man at risk as
// well. Previous vitrectomy raises it in muhtaseb2004 and sim2024 and not in
// segers2022. Staff grade 0.36 in narendran2009 is selection of cases and is
// never applied. The table of muhtaseb2004 holds 1000 eyes, its title 1441.
// The rate of the United Kingdom fell from 1.95 % to 0.87 %: the old baseline
// is high. The twenty-, forty-two- and thirteenfold detachment rates after
// rupture are of different periods and are never mixed.
//
// # Checked against
//
// testdata/published (the counts and shares the papers print) and
// testdata/derived (worked cases of a second calculation by hand and calculator);
// intervals against a general statistics library.
//
// # If wrong
//
// A difficult eye is listed as easy and meets the wrong surgeon, or an easy
// one is feared; a unit believes it is worse or better than it is.
package risk
