package unit

import (
	"errors"
	"fmt"
)

// ErrRange is what every RangeError wraps.
var ErrRange = errors.New("value outside its domain")

// RangeError says that a value lies outside the domain of a field or method.
// Got, Low and High are in the unit named by Unit. A bound that does not
// exist is ±Inf.
type RangeError struct {
	What      string // field key or quantity
	Got       float64
	Low, High float64
	Unit      string
	Source    string // source key of the bound, or "" for a limit of our own
}

func (e *RangeError) Error() string {
	return fmt.Sprintf("%s: %g %s is outside %g to %g", e.What, e.Got, e.Unit, e.Low, e.High)
}

// Unwrap makes errors.Is(err, ErrRange) true.
func (e *RangeError) Unwrap() error { return ErrRange }

// Reason says why a text is not a number or a date.
type Reason string

// The reasons of a SyntaxError.
const (
	ReasonEmpty    Reason = "empty"
	ReasonNotANum  Reason = "not-a-number"
	ReasonExponent Reason = "exponent"
	ReasonTwoMarks Reason = "two-decimal-marks"
	ReasonTooLong  Reason = "too-long"
	ReasonDate     Reason = "not-a-date"
)

// SyntaxError is a text that could not be read as a number or a date.
type SyntaxError struct {
	Text   string
	Reason Reason
}

func (e *SyntaxError) Error() string { return fmt.Sprintf("%q: %s", e.Text, e.Reason) }
