package biometry

import (
	"linn/source"
	"linn/unit"
)

// margin keeps binary rounding from firing a limit: 23.8 − 23.5 is not above
// 0.3. Readings carry at most four decimals and lie below 100, so the rounding
// of a difference stays below 1e-13.
const margin = 1e-9

func above(v, limit float64) bool { return v > limit+margin }
func below(v, limit float64) bool { return v < limit-margin }

// The places of the screening limits. None was read: they are what the trade
// remembers.
var (
	screening1988 = source.Ref{Key: source.Holladay1988, Where: "part 1, data screening", Grade: source.Memory}
	guideline2010 = source.Ref{Key: source.RCOphth2010, Where: "biometry, when to repeat", Grade: source.Memory}
	longPairs     = source.Ref{Key: source.Rajan2008, Where: "between-eye difference by length", Grade: source.Read}
	contactSeries = source.Ref{Key: source.Ademola2016, Where: "contact minus immersion", Grade: source.Read}
	practice      = source.Ref{Key: source.CommonPractice, Grade: source.Memory}
	ours          = source.Ref{Key: source.OwnChoice, Grade: source.Own}
	format        = source.Ref{Key: source.Linn, Where: "input rules", Grade: source.Own}
)

func limit(name string, value float64, u string, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "biometry." + name, Value: value, Unit: u, Ref: ref})
}

// The limits.
var (
	shortNote = limit("length-short", 22, "mm", screening1988)
	longNote  = limit("length-long", 25, "mm", screening1988)
	shortGate = limit("length-very-short", 21.2, "mm", guideline2010)
	longGate  = limit("length-very-long", 26.6, "mm", guideline2010)

	flatNote      = limit("cornea-flat", 41, "D", guideline2010)
	flatGate      = limit("cornea-very-flat", 40, "D", screening1988)
	steepGate     = limit("cornea-very-steep", 47, "D", screening1988)
	cylinderLimit = limit("cylinder-high", 2.5, "D", guideline2010)

	lengthPairNote = limit("length-between-eyes", 0.3, "mm", screening1988)
	lengthPairGate = limit("length-between-eyes-large", 0.7, "mm", guideline2010)
	longerEye      = limit("length-between-eyes-long", 26, "mm", longPairs)
	corneaPairNote = limit("cornea-between-eyes", 0.9, "D", guideline2010)
	corneaPairGate = limit("cornea-between-eyes-large", 1.0, "D", screening1988)

	powerFar = limit("power-far-from-mean", 3, "D", screening1988)

	opticalSpread    = limit("spread-optical", 0.05, "mm", practice)
	ultrasoundSpread = limit("spread-ultrasound", 0.1, "mm", practice)

	contactLeast = limit("contact-least-shortfall", 0.1, "mm", contactRange)
	contactMost  = limit("contact-most-shortfall", 0.4, "mm", contactRange)
	contactMean  = limit("contact-minus-immersion", -0.20, "mm", contactSeries)

	softDays  = limit("soft-lens-days", 7, "days", practice)
	rigidDays = limit("rigid-lens-days", 21, "days", practice)
)

// contactRange is the plausible shortfall of contact ultrasound in places
// that have both methods.
var contactRange = source.Ref{Key: source.CommonPractice, Where: "contact minus immersion −0.1 to −0.4 mm", Grade: source.Memory}

func mm(v float64) string { return unit.Millimetre(v).String() }
func dp(v float64) string { return unit.Dioptre(v).Unsigned() }
