// Package biometry says whether the measurements of an eye can be trusted and
// brings keratometry to one index. Checks raise findings and change no reading;
// corrections of length are functions of their own, applied only when called.
//
// # Sources
//
// Screening limits: Holladay 1988 (holladay1988) and the United Kingdom's
// guideline and its data set (rcophth2010), both grade c: they are known by
// heart in the trade and were not read. Contact against immersion ultrasound:
// ademola-popoola2016, hitzenberger1993, cass2002, grade a. Between-eye spread
// in long eyes: rajan2008, grade a. Means, spreads and correlations of the
// readings: bmc2021-21-168, grade a. Everything cited as own-choice is a limit
// of this program and says so.
//
// # Inputs and units
//
// An eye.Eye: lengths in mm from the epithelium, corneal powers in D at the
// recorded keratometric index, dates as civil dates. Readings outside the
// input rules of the eye format stop the plan and take part in no other rule.
//
// # Results
//
// MeanK, Cylinder and Radius are unrounded at index 1.3375. Check returns
// findings in a fixed order; their values are already text with a unit. A
// limit itself never fires: 22.00 mm is not "below 22". Differences are
// compared with a margin of 1e-9 of the unit, far above binary rounding and
// far below anything an instrument prints.
//
// # Valid for
//
// Adult eyes. The population rules (readings that rarely stand together) are
// left out under 18 years.
//
// # Not valid for
//
// Keratometry never reads the total power of a cornea after laser surgery;
// MeanK only converts its index. Check converts no ultrasound velocity and no
// length method into another: contact readings keep their value and get a
// note. CorrectLength re-scales a length for the velocity of what the sound
// crossed, one correction at a time, and never an optical reading.
//
// # Disagreements
//
// Holladay 1988 screens at 22/25 mm, 0.3 mm and 1 D between eyes; the UK limits
// are 21.2/26.6 mm (21.3 in another recollection), 0.7 mm and 0.9 D. The
// stricter limit notes, the looser one asks for a repeat. A contact reading is
// called wrong when longer than immersion, yet a difference of −0.20 ± 0.26 mm
// (ademola-popoola2016), if normal, makes it longer in about 22 % of eyes: the
// rule finds poor technique more often than a blunder.
//
// # Checked against
//
// testdata/published and the tables of the tests. The limits have no printed
// worked example; each is tested at, just inside and just outside itself.
//
// # If wrong
//
// A blunder in length or corneal power passes unseen into the lens power: 1 mm
// is about 2.8 D, 1 D of corneal power about 1 D. Or too many alarms teach
// people to look away; the share is tested in internal/invent.
package biometry
