package gs1io

import "strings"

// Element is one application identifier with its value. AI is "" where the
// identifier is not one this package knows; Text then holds it as well.
type Element struct {
	AI   string `json:"ai"`
	Text string `json:"text"`
}

// kind is the format of one application identifier.
type kind struct {
	fixed int // characters of a value of fixed length, 0: variable
	most  int
	digit bool // digits only
	date  bool
}

// kinds are the identifiers of implants. GS1 syntax dictionary.
var kinds = map[string]kind{
	"01":  {fixed: 14, digit: true},
	"10":  {most: 20},
	"11":  {fixed: 6, digit: true, date: true},
	"17":  {fixed: 6, digit: true, date: true},
	"20":  {fixed: 2, digit: true},
	"21":  {most: 20},
	"22":  {most: 20},
	"240": {most: 30},
	"241": {most: 30},
	"250": {most: 30},
	"30":  {most: 8, digit: true},
}

// identifier is the known application identifier at the start of s, "" when
// there is none. No known one is the start of another.
func identifier(s string) string {
	for n := 2; n <= 3 && n <= len(s); n++ {
		if _, ok := kinds[s[:n]]; ok {
			return s[:n]
		}
	}
	return ""
}

// set82 are the signs a value may hold (ISO/IEC 646 without twelve signs that
// differ between countries): GS1 character set 82.
const set82 = `!"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz`

// strange is the first sign of s that no value may hold, "" when there is none.
func strange(s string) string {
	for _, r := range s {
		if !strings.ContainsRune(set82, r) {
			return string(r)
		}
	}
	return ""
}

func digits(s string) bool {
	return strings.Trim(s, "0123456789") == ""
}

// CheckDigit is the last digit that belongs to the digits before it: weights
// 3, 1, 3 … from the right, the sum made up to a multiple of ten. ok is false
// when body is not digits.
func CheckDigit(body string) (check byte, ok bool) {
	if body == "" || !digits(body) {
		return 0, false
	}
	sum, weight := 0, 3
	for i := len(body) - 1; i >= 0; i-- {
		sum += int(body[i]-'0') * weight
		weight = 4 - weight
	}
	return byte('0' + (10-sum%10)%10), true
}

// validProduct reports whether a GTIN-14 carries its own check digit.
func validProduct(s string) bool {
	if len(s) != 14 {
		return false
	}
	check, ok := CheckDigit(s[:13])
	return ok && check == s[13]
}
