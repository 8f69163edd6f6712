package casebook

import (
	"linn/eye"
	"linn/unit"
)

// Patient is one state of a patient's chain, "linn.patient/1".
type Patient struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"`

	// Sealed is the Identity under the patient's key, see Seal; empty once
	// the patient is erased.
	Sealed string `json:"sealed,omitempty"`

	// MergedInto is the chain of the patient this one turned out to be. The
	// cases keep the patient they were opened under; Resolve follows the way.
	MergedInto string `json:"merged_into,omitempty"`

	// Erased says that the key was destroyed by lawful order.
	Erased bool `json:"erased,omitempty"`

	// Second is the second person of a merge or an erasure; the first is the
	// actor of the revision.
	Second string `json:"second,omitempty"`
}

// Kind is KindPatient.
func (Patient) Kind() Kind { return KindPatient }

// Format is "linn.patient/1".
func (Patient) Format() string { return "linn.patient/1" }

// Identity is who a patient is: the text that is sealed.
type Identity struct {
	Name       string    `json:"name"`
	Identifier string    `json:"identifier"` // the second identifier: hospital number
	Sex        eye.Sex   `json:"sex,omitempty"`
	BirthDate  unit.Date `json:"birth_date,omitzero"` // with its precision

	// EstimatedAge in years on the day AsOf, when no birth date is known.
	EstimatedAge int       `json:"estimated_age,omitempty"`
	AsOf         unit.Date `json:"as_of,omitzero"`

	Allergies Stated `json:"allergies"`
	Drugs     Stated `json:"drugs"` // drugs that matter to the operation
}

// Stated is an answer to a question that may not have been asked: not asked,
// "none known" (asked, no items), or the items.
type Stated struct {
	Asked bool     `json:"asked"`
	Items []string `json:"items,omitempty"`
}

// NoneKnown reports whether the question was asked and nothing was named.
func (s Stated) NoneKnown() bool { return s.Asked && len(s.Items) == 0 }

// AgeOn returns the age in years on the day: from the birth date, or from the
// estimate moved on by the years between.
func (i Identity) AgeOn(day unit.Date) (unit.Year, bool) {
	if i.BirthDate.Known() {
		return i.BirthDate.AgeOn(day)
	}
	if i.EstimatedAge <= 0 || !i.AsOf.Known() || !day.Known() || day.Before(i.AsOf) {
		return 0, false
	}
	return unit.Year(i.EstimatedAge + day.Year - i.AsOf.Year), true
}
