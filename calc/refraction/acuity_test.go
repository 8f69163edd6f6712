package refraction

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linn/internal/checkvalue"
	"linn/unit"
)

type fataler interface {
	Helper()
	Fatalf(string, ...any)
}

func read(t fataler, text string, n Notation) Acuity {
	t.Helper()
	a, err := ParseAcuity(AcuityText{Text: text, Notation: n})
	if err != nil {
		t.Fatalf("%q as %q: %v", text, n, err)
	}
	return a
}

func acuityRow(c *checkvalue.Case) (checkvalue.Results, error) {
	a, err := ParseAcuity(AcuityText{Text: fmt.Sprintf("%g/%g", c.Num("numerator"), c.Num("denominator"))})
	letters, known := a.LettersRead()
	if !known {
		err = errors.Join(err, errors.New("no letters on the chart"))
	}
	least := 0.0
	if a.AtLeast(12) {
		least = 1
	}
	band := map[Band]float64{Good: 1, Borderline: 2, Poor: 3}[a.Band()]
	return checkvalue.Results{"decimal": a.Decimal(), "logmar": float64(a.LogMAR), "letters": letters, "band": band, "at_least_6_12": least}, err
}

func init() {
	runners["published/low-vision.txt"] = func(c *checkvalue.Case) (checkvalue.Results, error) {
		a, err := ParseAcuity(AcuityText{Text: c.Word("sight")})
		return checkvalue.Results{"decimal": a.Decimal()}, err
	}
}

func TestAcuityAsWritten(t *testing.T) {
	for _, c := range []struct {
		text     string
		notation Notation
		logmar   float64
		band     Band
	}{
		{"6/18", AsItStands, 0.47712, Good},
		{"6/18-1", AsItStands, 0.49712, Good}, // the line was read but for a letter
		{"6/18−1", Snellen, 0.49712, Good},
		{"6/12+2", AsItStands, 0.26103, Good},
		{"20/40", Snellen, 0.30103, Good},
		{"3/60", AsItStands, 1.30103, Poor},
		{"6/60", AsItStands, 1, Borderline},
		{"0.5", Decimal, 0.30103, Good},
		{"0,5 decimal", AsItStands, 0.30103, Good},
		{"0.48", InLogMAR, 0.48, Borderline}, // not 6/18, which is 0.4771
		{"−0.10 logMAR", AsItStands, -0.1, Good},
		{"70", Letters, 0.3, Good},
		{"70 letters", AsItStands, 0.3, Good},
		{"CF", AsItStands, 1.9, Poor},
		{"cf 30 cm", AsItStands, 1.9, Poor},
		{"CF 1 m", AsItStands, 1.9 + math.Log10(0.3), Poor},
		{"CF 3 ft", AsItStands, 1.9 + math.Log10(0.3/0.9144), Poor},
		{"HM", Snellen, 2.3, Poor}, // below the chart every chart says the same
		{"PL", AsItStands, 2.7, Poor},
		{"NPL", AsItStands, 3, Poor},
	} {
		a := read(t, c.text, c.notation)
		if math.Abs(float64(a.LogMAR)-c.logmar) > 5e-6 || a.Band() != c.band || a.Text != c.text {
			t.Errorf("%q: %.5f, %s, %q", c.text, a.LogMAR, a.Band(), a.Text)
		}
	}
	for text, imputed := range map[string]bool{"CF": false, "CF 30 cm": false, "CF 1 m": true, "HM": false, "PL": true, "NPL": true, "6/60": false} {
		if a := read(t, text, AsItStands); a.Imputed != imputed {
			t.Errorf("%s imputed: %t", text, a.Imputed)
		}
	}
}

// Nobody can tell 0.5 decimal from 0.5 logMAR: it is asked.
func TestAcuityNeverGuesses(t *testing.T) {
	for _, text := range []string{"0.5", "1.0", "70", "0", "1"} {
		if _, err := ParseAcuity(AcuityText{Text: text}); !errors.Is(err, ErrAcuityNotation) {
			t.Errorf("%q: %v", text, err)
		}
	}
	for _, c := range []AcuityText{{"6/12", Decimal}, {"0.5 logmar", Decimal}, {"70 letters", InLogMAR}, {"", Decimal}, {"6/", AsItStands}, {"/6", AsItStands},
		{"6/12-9", AsItStands}, {"6/0", AsItStands}, {"-6/12", AsItStands}, {"6/12/18", AsItStands}, {"see notes", AsItStands}, {"12", Snellen},
		{"CF 1", AsItStands}, {"CF 1 km", AsItStands}, {"70.5", Letters}, {"1e2", Letters}, {"NaN", Decimal}, {"0x1", InLogMAR}, {"6/12-1.5", AsItStands}} {
		if a, err := ParseAcuity(c); err == nil {
			t.Errorf("%+v is read as %v", c, a.LogMAR)
		}
	}
	for _, c := range []AcuityText{{"60/6", AsItStands}, {"50", Decimal}, {"101", Letters}, {"3.1", InLogMAR}, {"CF 60 m", AsItStands}, {"0", Decimal}} {
		var out *unit.RangeError
		if _, err := ParseAcuity(c); !errors.As(err, &out) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

func TestAcuityProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		better := rapid.Float64Range(2, 120).Draw(t, "denominator")
		worse := better * rapid.Float64Range(1.0001, 3).Draw(t, "times")
		a := read(t, fmt.Sprintf("6/%.6f", better), AsItStands)
		b := read(t, fmt.Sprintf("6/%.6f", worse), AsItStands)
		feet := read(t, fmt.Sprintf("20/%.6f", better*20/6), AsItStands)
		if a.LogMAR >= b.LogMAR {
			t.Errorf("6/%g is not better than 6/%g", better, worse)
		}
		if math.Abs(float64(a.LogMAR-feet.LogMAR)) > 1e-5 {
			t.Errorf("metres %g, feet %g", a.LogMAR, feet.LogMAR)
		}
		again := read(t, fmt.Sprintf("%.9f", a.Decimal()), Decimal)
		if math.Abs(float64(a.LogMAR-again.LogMAR)) > 1e-6 {
			t.Errorf("through the decimal: %g, %g", a.LogMAR, again.LogMAR)
		}
		letters := rapid.IntRange(0, 100).Draw(t, "letters")
		if back, _ := read(t, fmt.Sprint(letters), Letters).LettersRead(); math.Abs(back-float64(letters)) > 1e-9 {
			t.Errorf("%d letters come back as %g", letters, back)
		}
	})
}

func FuzzParseAcuity(f *testing.F) {
	for _, text := range []string{"6/12", "6/9-2", "20/40+1", "CF 1 m", "HM", "NPL", "0.5", "70 letters", "−0.1 logMAR", "6/6+", "//", "cf@2m", "cf ft"} {
		for n := range Notations {
			f.Add(text, n)
		}
	}
	f.Fuzz(func(t *testing.T, text string, n int) {
		in := AcuityText{Text: text, Notation: Notations[((n%len(Notations))+len(Notations))%len(Notations)]}
		a, err := ParseAcuity(in)
		if err != nil {
			return
		}
		v := float64(a.LogMAR)
		if math.IsNaN(v) || v < -0.7 || v > 3 || a.Text != text || a.Notation == AsItStands {
			t.Errorf("%q gives %+v", text, a)
		}
		if in.Notation != AsItStands && a.Notation != in.Notation && a.Notation != LowVision {
			t.Errorf("%q as %s was read as %s", text, in.Notation, a.Notation)
		}
		if strings.TrimSpace(text) == "" {
			t.Errorf("nothing is read as %v", v)
		}
	})
}
