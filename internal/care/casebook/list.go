package casebook

import "linn/unit"

// VerbLock takes down a list as it stands.
const VerbLock Verb = "lock"

// List is one state of a theatre list as it was locked, "linn.list/1", in the
// chain of its date: what left the record as a day pack or on paper.
type List struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"`

	Date unit.Date `json:"date"`
	Eyes []Locked  `json:"eyes"`
}

// Locked is one eye of a locked list.
type Locked struct {
	Case   string `json:"case"`
	Number int    `json:"revision"`
	Sheet  int    `json:"sheet,omitempty"` // 0: not signed, or no longer in force
}

// Kind is KindList.
func (List) Kind() Kind { return KindList }

// Format is "linn.list/1".
func (List) Format() string { return "linn.list/1" }

// ListChain is the chain of a day's list.
func ListChain(day unit.Date) string { return day.String() }
