package unit

import (
	"strconv"
	"strings"
)

// maxNumberLen bounds the text of a number. The longest honest reading is far
// shorter; the bound keeps noise out of error messages and off the parser.
const maxNumberLen = 32

// Minus is the true minus sign, U+2212, used in print and accepted in input.
const Minus = "−"

// ParseNumber reads a plain decimal number: an optional sign (+, - or U+2212),
// at least one digit before the mark, an optional decimal point or comma with
// at least one digit behind it. Surrounding white space is trimmed. NaN, Inf,
// hexadecimal, exponents, digit grouping and underscores are refused with a
// *SyntaxError.
func ParseNumber(text string) (float64, error) {
	s := strings.TrimSpace(text)
	if s == "" {
		return 0, &SyntaxError{Text: text, Reason: ReasonEmpty}
	}
	if len(s) > maxNumberLen {
		return 0, &SyntaxError{Text: s[:maxNumberLen] + "…", Reason: ReasonTooLong}
	}
	var buf [maxNumberLen + 1]byte
	out := buf[:0]
	rest, neg := strings.CutPrefix(s, Minus)
	if !neg {
		rest, neg = strings.CutPrefix(s, "-")
	}
	switch {
	case neg:
		out = append(out, '-')
	case s[0] == '+':
		rest = s[1:]
	}
	marks, digits := 0, 0 // digits counts those since the last mark
	for i := 0; i < len(rest); i++ {
		switch c := rest[i]; {
		case c >= '0' && c <= '9':
			out, digits = append(out, c), digits+1
		case c == '.' || c == ',':
			if marks++; marks > 1 {
				return 0, &SyntaxError{Text: s, Reason: ReasonTwoMarks}
			}
			if digits == 0 {
				return 0, &SyntaxError{Text: s, Reason: ReasonNotANum}
			}
			out, digits = append(out, '.'), 0
		case (c == 'e' || c == 'E') && digits > 0:
			return 0, &SyntaxError{Text: s, Reason: ReasonExponent}
		default:
			return 0, &SyntaxError{Text: s, Reason: ReasonNotANum}
		}
	}
	if digits == 0 {
		return 0, &SyntaxError{Text: s, Reason: ReasonNotANum}
	}
	v, err := strconv.ParseFloat(string(out), 64)
	if err != nil { // cannot happen: the grammar above is a subset and too short to overflow
		return 0, &SyntaxError{Text: s, Reason: ReasonNotANum}
	}
	return v + 0, nil // −0 becomes 0
}

// Parse reads a number as U and refuses one outside [low, high] with a
// *RangeError. what names the field, name the unit, both for the message.
func Parse[U Quantity](text, what, name string, bounds Bounds) (U, error) {
	v, err := ParseNumber(text)
	if err != nil {
		return 0, err
	}
	if v < bounds.Low || v > bounds.High {
		return 0, &RangeError{What: what, Got: v, Low: bounds.Low, High: bounds.High, Unit: name}
	}
	return U(v), nil
}

// Bounds are the inclusive limits of a field.
type Bounds struct{ Low, High float64 }
