// Package technique says which rules of the choice of technique and of
// anaesthesia fire for one eye, and what each rests on. It leaves the decision
// to the surgeon: leans are listed, never weighed into a score.
//
// # Sources
//
// Trials and series: venkatesh2010, zhang2013, gogate2010, haripriya2012,
// khanna2012, chen2021, low-count2011, ma-li2014, stewart2023, edge-navon1999,
// makuloluwa2019 and the audits of eye-anaesthesia. Many rules are custom of
// the trade and from memory; each rule carries its own source and grade, and a
// limit that no source states is called our own choice.
//
// # Inputs and units
//
// Answers: what a person recorded of the eye, by the keys of Questions. A key
// that is absent was not answered; it is never normal. The questions are about
// the eye, the person's fitness for surgery and the place. Nothing about what
// blood carries is asked and no rule could read it: standard precautions apply
// to every patient.
//
// # Results
//
// Decide lists every rule that fired, with the answers it rests on, and every
// rule that could not be judged, with the answers it lacks. Rules are trees of
// conditions over three values: yes, no, not answered. A rule reads only the
// keys its tree names.
//
// # Valid for
//
// Elective cataract surgery; lens-induced glaucoma and children by their own
// paths.
//
// # Not valid for
//
// Deciding. Choosing between techniques by cost: prices are the unit's own.
//
// # Disagreements
//
// Which technique is safer in a trainee's hands: haripriya2012 found manual
// surgery, khanna2012 the opposite, so the unit's own audit leads. Which count
// of endothelial cells loses most: chen2021 1000 to 2000, another series none.
// Blood pressure limits are custom (pressure-survey).
//
// # Checked against
//
// Truth tables of every rule over its own inputs, written from the rule's
// words apart from its code; mutation of each answer alone. The sources print
// no worked case.
//
// # If wrong
//
// A needle meets a long thin eye; an infected eye is opened; a hard nucleus is
// emulsified over a failing cornea; or so many cautions show that none is read.
package technique
