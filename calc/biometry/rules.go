package biometry

import (
	"linn/finding"
	"linn/source"
)

func note(code, words string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Note, Ref: ref, Limit: words})
}

func strict(code, words string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Note, Strict: true, Ref: ref, Limit: words})
}

func caution(code, words string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Caution, Ref: ref, Limit: words})
}

func gated(code, words string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Caution, Gate: true, Ref: ref, Limit: words})
}

func stop(code, words string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Stop, Ref: ref, Limit: words})
}

// Identity of the eye and readings that cannot be taken.
var (
	sideMissing = finding.Declare(finding.Rule{Code: "side-missing", Severity: finding.Stop, Absolute: true, Ref: format,
		Limit: "the side of the eye is not recorded"})
	sideTwice = finding.Declare(finding.Rule{Code: "side-twice", Severity: finding.Stop, Absolute: true, Ref: format,
		Limit: "both eyes carry the same side"})
	readingRequired = stop("reading-required", "axial length or a corneal power is not recorded", format)
	outsideFormat   = stop("reading-outside-format", "a reading lies outside the input rules of the eye format", format)
	kRadius         = stop("k-looks-like-radius", "a corneal power between 5 and 10: a radius in mm", format)
	kOrder          = stop("k-steep-below-flat", "the steep corneal power is below the flat one", format)
)

// What was not recorded.
var (
	notRecorded     = caution("not-recorded", "corneal surgery, lens status or vitreous is not recorded", format)
	indexAssumed    = caution("index-assumed", "keratometric index not recorded: 1.3375 assumed", format)
	methodMissing   = caution("length-method-missing", "method of the axial length not recorded: nothing corrected", format)
	readingMissing  = note("reading-missing", "anterior chamber depth is not recorded", format)
	fellowMissing   = note("fellow-missing", "the fellow eye's length or corneal powers are not recorded: eyes not compared", format)
	dateMissing     = note("measured-on-missing", "day of the measurement or of the list not recorded: age of the readings unknown", format)
	measuredLater   = caution("measured-after-list", "measured after the day the plan is made for", ours)
	readingStale    = caution("reading-stale", "readings older than the local limit, "+days(DefaultMaxAgeDays)+" when none is set", ours)
	contactLensWorn = caution("contact-lens-recent", "contact lens out for less than "+days(int(softDays))+" (soft) or "+days(int(rigidDays))+" (rigid) before keratometry", practice)

	contactLensUnknown = caution("contact-lens-since-unknown", "contact lens worn, days out before keratometry not recorded", practice)
)

// Length and cornea of one eye.
var (
	lengthShort     = strict("length-short", "axial length below "+mm(shortNote), screening1988)
	lengthLong      = strict("length-long", "axial length above "+mm(longNote), screening1988)
	lengthVeryShort = gated("length-very-short", "axial length below "+mm(shortGate), guideline2010)
	lengthVeryLong  = gated("length-very-long", "axial length above "+mm(longGate), guideline2010)

	corneaFlat      = strict("cornea-flat", "mean corneal power below "+dp(flatNote), guideline2010)
	corneaVeryFlat  = gated("cornea-very-flat", "mean corneal power below "+dp(flatGate), screening1988)
	corneaVerySteep = gated("cornea-very-steep", "mean corneal power above "+dp(steepGate), screening1988)
	cylinderHigh    = caution("cylinder-high", "keratometric cylinder above "+dp(cylinderLimit), guideline2010)

	powerUnusual = strict("power-far-from-mean", "emmetropic power more than "+dp(powerFar)+" from the mean of the lens model", screening1988)
	rarePair     = caution("unlikely-together", "two readings more than 3 SD from how they stand together in 28,709 eyes", together)
	lengthSpread = caution("length-spread", "SD of repeated lengths above "+mm(opticalSpread)+" (optical) or "+mm(ultrasoundSpread)+" (ultrasound)", practice)
)

// Contact ultrasound.
var (
	contactShort = note("contact-reads-short", "contact ultrasound: the probe shortens the eye, by "+mm(-contactMean)+" on average against immersion", contactSeries)
	contactLong  = gated("contact-longer-than-immersion", "a contact length above an immersion length of the same eye", contactRange)
	contactGap   = note("contact-immersion-gap", "contact minus immersion outside −"+mm(contactLeast)+" to −"+mm(contactMost), contactRange)
)

// Between the eyes.
var (
	lengthPair      = strict("length-between-eyes", "axial lengths differ by more than "+mm(lengthPairNote), screening1988)
	lengthPairLarge = gated("length-between-eyes-large", "axial lengths differ by more than "+mm(lengthPairGate), guideline2010)
	lengthPairLong  = gated("length-between-eyes-long", "axial lengths differ by more than "+mm(lengthPairGate)+" and the longer eye is above "+mm(longerEye)+": history or B-scan", longPairs)
	corneaPair      = strict("cornea-between-eyes", "mean corneal powers differ by more than "+dp(corneaPairNote), guideline2010)
	corneaPairLarge = gated("cornea-between-eyes-large", "mean corneal powers differ by more than "+dp(corneaPairGate), screening1988)
	methodsDiffer   = note("length-methods-differ", "the two eyes' lengths were taken by different methods", contactSeries)
	eyesIdentical   = gated("eyes-identical", "length and both corneal powers of both eyes are the same: copied", ours)
	sidesSwapped    = gated("sides-maybe-swapped", "readings fit the fellow eye's earlier readings better than this eye's own", ours)
)
