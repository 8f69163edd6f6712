package unit

import (
	"strconv"
	"strings"
)

// Thin is the narrow no-break space, U+202F, set between a number and its unit.
const Thin = "\u202f"

// Fixed writes v with fixed decimals, Latin digits, a decimal point and, when
// negative, a true minus. It never writes −0.
func Fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if rest, neg := strings.CutPrefix(s, "-"); neg {
		if strings.Trim(rest, "0.") == "" {
			return rest
		}
		return Minus + rest
	}
	return s
}

// Signed writes v as Fixed does, with an explicit + when it is not negative.
func Signed(v float64, decimals int) string {
	s := Fixed(v, decimals)
	if strings.HasPrefix(s, Minus) {
		return s
	}
	return "+" + s
}

// String writes a signed power or refraction: "+21.50 D".
func (d Dioptre) String() string { return Signed(float64(d), 2) + Thin + "D" }

// Unsigned writes a corneal power or a difference: "43.50 D".
func (d Dioptre) Unsigned() string { return Fixed(float64(d), 2) + Thin + "D" }

func (m Millimetre) String() string     { return Fixed(float64(m), 2) + Thin + "mm" }
func (m Micrometre) String() string     { return Fixed(float64(m), 0) + Thin + "µm" }
func (d Degree) String() string         { return Fixed(float64(d), 0) + "°" }
func (a Axis) String() string           { return Fixed(float64(a), 0) + "°" }
func (v MetrePerSecond) String() string { return Fixed(float64(v), 0) + Thin + "m/s" }
func (y Year) String() string           { return Fixed(float64(y), 0) + Thin + "years" }
func (n Index) String() string          { return Fixed(float64(n), 4) }
func (p Percent) String() string        { return Fixed(float64(p), 0) + Thin + "%" }
func (l LogMAR) String() string         { return Signed(float64(l), 2) + Thin + "logMAR" }
func (c Constant) String() string       { return Fixed(float64(c), 2) }

// String writes a clock hour: "10.5".
func (h Hour) String() string { return Fixed(float64(h), 1) }
