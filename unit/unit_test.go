package unit_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"linn/unit"
)

func TestParseNumber(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{
		{"23.45", 23.45}, {" 23,45 ", 23.45}, {"-0.50", -0.5}, {"−0,50", -0.5}, {"+21", 21},
		{"0", 0}, {"-0", 0}, {"−0.00", 0}, {"007", 7}, {"23.450", 23.45},
	} {
		got, err := unit.ParseNumber(c.text)
		if err != nil || got != c.want || math.Signbit(got) && got == 0 {
			t.Errorf("ParseNumber(%q) = %v, %v; want %v", c.text, got, err, c.want)
		}
	}
}

func TestParseNumberRefuses(t *testing.T) {
	for text, want := range map[string]unit.Reason{
		"": unit.ReasonEmpty, "  \t": unit.ReasonEmpty,
		"NaN": unit.ReasonNotANum, "Inf": unit.ReasonNotANum, "0x1p4": unit.ReasonNotANum, "1_000": unit.ReasonNotANum,
		"1e3": unit.ReasonExponent, "1E3": unit.ReasonExponent,
		"1,234.5": unit.ReasonTwoMarks, "1.2.3": unit.ReasonTwoMarks,
		".5": unit.ReasonNotANum, "5.": unit.ReasonNotANum, "--5": unit.ReasonNotANum, "+-5": unit.ReasonNotANum,
		"23 45": unit.ReasonNotANum, "23.45mm": unit.ReasonNotANum, "२३": unit.ReasonNotANum, "-": unit.ReasonNotANum,
		strings.Repeat("1", 33): unit.ReasonTooLong,
	} {
		_, err := unit.ParseNumber(text)
		var syntax *unit.SyntaxError
		if !errors.As(err, &syntax) || syntax.Reason != want {
			t.Errorf("ParseNumber(%q): %v, want %s", text, err, want)
		}
	}
}

func TestParseBounds(t *testing.T) {
	bounds := unit.Bounds{Low: 15, High: 38}
	for _, text := range []string{"15", "38"} {
		if _, err := unit.Parse[unit.Millimetre](text, "axial_length_mm", "mm", bounds); err != nil {
			t.Errorf("%s is inside: %v", text, err)
		}
	}
	for _, text := range []string{"14.999", "38.001"} {
		_, err := unit.Parse[unit.Millimetre](text, "axial_length_mm", "mm", bounds)
		if !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v, want a range error", text, err)
		}
	}
}

func TestPrintThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		got, err := unit.ParseNumber(unit.Signed(v, 4))
		if err != nil || math.Abs(got-v) > 0.00005000001 {
			t.Fatalf("%v printed %q read %v, %v", v, unit.Signed(v, 4), got, err)
		}
	})
}

func TestPrint(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{unit.Dioptre(21.5).String(), "+21.50\u202fD"},
		{unit.Dioptre(-0.25).String(), "−0.25\u202fD"},
		{unit.Dioptre(-0.001).String(), "+0.00\u202fD"},
		{unit.Dioptre(43.27).Unsigned(), "43.27\u202fD"},
		{unit.Millimetre(23.456).String(), "23.46\u202fmm"},
		{unit.Fixed(math.Copysign(0, -1), 2), "0.00"},
		{unit.Micrometre(540).String(), "540\u202fµm"},
		{unit.NewAxis(0).String(), "180°"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestAxisWraps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(-1e5, 1e5).Draw(t, "deg")
		a := float64(unit.NewAxis(unit.Degree(d)))
		if a <= 0 || a > 180 {
			t.Fatalf("NewAxis(%v) = %v", d, a)
		}
		// same meridian: the doubled angles agree (identity, no source needed)
		if math.Abs(math.Sin((a-d)*math.Pi/180)) > 1e-9 {
			t.Fatalf("NewAxis(%v) = %v is another meridian", d, a)
		}
	})
}

func TestDates(t *testing.T) {
	for _, text := range []string{"2026", "2026-11", "2026-11-25"} {
		d, err := unit.ParseDate(text)
		if err != nil || d.String() != text {
			t.Errorf("%s: %v, %v", text, d, err)
		}
	}
	for _, text := range []string{"", "26-11-25", "2026-02-30", "2026-13", "25/11/2026", "2026-11-25T00:00", "0000", "1799"} {
		if d, err := unit.ParseDate(text); err == nil {
			t.Errorf("%q read as %v", text, d)
		}
	}
	day := func(s string) unit.Date { d, _ := unit.ParseDate(s); return d }
	if n, ok := day("2024-02-28").DaysUntil(day("2024-03-01")); !ok || n != 2 { // leap year
		t.Errorf("days = %d, %v", n, ok)
	}
	if _, ok := day("2024-02").DaysUntil(day("2024-03-01")); ok {
		t.Error("days counted from a month")
	}
	for _, c := range []struct {
		born, on string
		want     unit.Year
	}{{"2008-11-26", "2026-11-25", 17}, {"2008-11-25", "2026-11-25", 18}, {"1959", "2026-11-25", 67}, {"2008-12", "2026-11-25", 17}} {
		if age, ok := day(c.born).AgeOn(day(c.on)); !ok || age != c.want {
			t.Errorf("born %s is %v on %s, want %v", c.born, age, c.on, c.want)
		}
	}
	if _, ok := day("2030").AgeOn(day("2026")); ok {
		t.Error("age before birth")
	}
}

// A civil date must not move with the zone of the clock that reads it.
func TestDateOfZone(t *testing.T) {
	at := time.Date(2026, 11, 25, 20, 0, 0, 0, time.UTC)
	for zone, want := range map[int]string{5*3600 + 45*60: "2026-11-26", -3*3600 - 30*60: "2026-11-25"} {
		if got := unit.DateOf(at.In(time.FixedZone("", zone))).String(); got != want {
			t.Errorf("offset %d: %s, want %s", zone, got, want)
		}
	}
}

func FuzzParseNumber(f *testing.F) {
	for _, s := range []string{"23.45", "−1,5", "1e9", "", "+", "0.0.0", "９"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		v, err := unit.ParseNumber(s)
		if err != nil {
			return
		}
		if !unit.Finite(unit.Dioptre(v)) {
			t.Fatalf("%q read as %v", s, v)
		}
		again, err := unit.ParseNumber(unit.Fixed(v, 32))
		if len(unit.Fixed(v, 32)) <= 32 && (err != nil || again != v) {
			t.Fatalf("%q: %v then %v (%v)", s, v, again, err)
		}
	})
}

func FuzzParseDate(f *testing.F) {
	for _, s := range []string{"2026-11-25", "2026", "2026-02-30"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if d, err := unit.ParseDate(s); err == nil && d.String() != s {
			t.Fatalf("%q reads as %s", s, d)
		}
	})
}
