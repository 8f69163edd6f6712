// Package outcome holds what became of operated eyes, one [Operation] each:
// the refraction that is left against the one predicted, the acuity, and
// whether the capsule broke; and which refractions may be judged at all.
//
// [Choose] applies the rules of eligibility in a fixed order. Every refraction
// it leaves out is counted once, under the first rule it fails, and listed. A
// rule whose column was never recorded is not applied and is named. An eye
// without a refraction is neither used nor excluded: it is counted as missing.
//
// A prediction error is achieved − predicted, in D of spherical equivalent:
// positive is more hyperopic than predicted.
// [FromOtherSign] turns errors of a source that writes predicted − achieved.
package outcome
