package biometry

import (
	"linn/eye"
	"linn/unit"
)

// Options is what Check may be told beyond the eye itself. The zero Options
// is valid: rules that need more stay silent, nothing is guessed.
type Options struct {
	// MaxAgeDays is the greatest age of a reading; 0 means DefaultMaxAgeDays.
	MaxAgeDays int

	// EmmetropicPower is the power the readings imply for emmetropia, and
	// MeanPower the mean of that lens model; both or neither.
	EmmetropicPower unit.Reading[unit.Dioptre]
	MeanPower       unit.Reading[unit.Dioptre]

	// OtherLengths are further lengths of the same eye, by any method.
	OtherLengths []Length

	ContactLenses ContactLenses

	// Earlier is an earlier record of the same eye, with the fellow eye of that
	// day in its Fellow.
	Earlier *eye.Eye
}

// DefaultMaxAgeDays is the age at which readings are called stale when the
// ward has set no limit: six months, our own choice.
const DefaultMaxAgeDays = 180

// Length is one axial length with its method.
type Length struct {
	Value  unit.Millimetre
	Method eye.LengthMethod
}

// Wear is the kind of contact lens worn before the measurement. The zero Wear
// is "not asked", which raises nothing.
type Wear string

// The kinds of wear.
const (
	NoWear    Wear = "none"
	SoftWear  Wear = "soft"
	RigidWear Wear = "rigid"
)

// ContactLenses is when contact lenses were last in the eye. DaysOut counts
// whole days from taking them out to the measurement; Known false is "worn,
// not recorded since when".
type ContactLenses struct {
	Wear    Wear
	DaysOut int
	Known   bool
}
