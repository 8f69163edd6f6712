package refraction

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"linn/source"
	"linn/unit"
)

// Notation is how an acuity is written.
type Notation string

// The notations. Snellen carries its distance in the numerator: 6/12 and
// 20/40 are both read as they stand.
const (
	Snellen    Notation = "snellen" // 6/12, 3/60, 20/40
	Decimal    Notation = "decimal" // 0.5
	InLogMAR   Notation = "logmar"  // 0.30
	Letters    Notation = "letters" // 70 of the chart of 100
	LowVision  Notation = "low"     // CF, HM, PL, NPL
	AsItStands Notation = ""        // the text says it itself
)

// Notations lists those a person chooses from; the first leaves it to the text.
var Notations = []Notation{AsItStands, Snellen, Decimal, InLogMAR, Letters}

// Sight is the kind of vision that no chart measures.
type Sight string

// The kinds, the best first.
const (
	CountsFingers      Sight = "CF"
	HandMotion         Sight = "HM"
	LightPerception    Sight = "PL"
	NoLightPerception  Sight = "NPL"
	onChart            Sight = ""
	letterStep               = 0.02
	fingersAt                = 0.3 // m
	mostLettersOffLine       = 5
)

// What stands for vision below the chart, in logMAR, configurable nowhere
// here: whoever averages may leave the imputed ones out, see Acuity.Imputed.
var lowVision = map[Sight]unit.LogMAR{
	CountsFingers:     unit.LogMAR(low("counting-fingers", 1.9, source.Ref{Key: source.SchulzeBonsel06, Where: "at 30 cm; 1.85 measured there, 1.98 by Lange 2009", Grade: source.Read})),
	HandMotion:        unit.LogMAR(low("hand-motion", 2.3, source.Ref{Key: source.SchulzeBonsel06, Where: "2.28 and 2.30", Grade: source.Read})),
	LightPerception:   unit.LogMAR(low("light-perception", 2.7, source.Ref{Key: source.AcuityPractice, Where: "not measurable; imputed by custom, whose is not known", Grade: source.Secondary})),
	NoLightPerception: unit.LogMAR(low("no-light-perception", 3.0, source.Ref{Key: source.AcuityPractice, Where: "imputed by custom, whose is not known", Grade: source.Secondary})),
}

func low(name string, v float64, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "acuity." + name, Value: v, Unit: "logMAR", Ref: ref})
}

var (
	lettersAtZero = source.Declare(source.Constant{Name: "acuity.letters-at-zero", Value: 1.7, Unit: "logMAR",
		Ref: source.Ref{Key: source.Beck2003, Where: "−0.02·letters + 1.7", Grade: source.Secondary}})
	perLetter = source.Declare(source.Constant{Name: "acuity.per-letter", Value: letterStep, Unit: "logMAR",
		Ref: source.Ref{Key: source.Beck2003, Where: "0.02 per letter", Grade: source.Secondary}})
)

// Acuity is one visual acuity with its own text kept.
type Acuity struct {
	Text     string   // as written
	Notation Notation // as read
	Sight    Sight    // CF, HM, PL, NPL; "" on the chart

	// LogMAR is the converted value: greater is worse.
	LogMAR unit.LogMAR

	// Line is the logMAR of the line that was read, without single letters
	// more or less: bands and "at least 6/12" go by it.
	Line unit.LogMAR

	// Imputed says that nobody can measure this as an angle: PL, NPL, and CF
	// at another distance than that it was measured at.
	Imputed bool
}

// AcuityText is an acuity as typed with the notation that was chosen for it.
type AcuityText struct {
	Text     string
	Notation Notation
}

// Why an acuity is refused.
var (
	ErrAcuityNotation = errors.New("a bare number: say whether it is decimal, logMAR or letters")
	ErrAcuityText     = errors.New("not an acuity")
)

// The bounds of what can be written: 6/3 and better is decimal 2 to 3;
// 1/60 is decimal 0.0167, the least chart line 0.005.
const (
	leastDecimal, mostDecimal = 0.005, 3.0
	leastLogMAR, mostLogMAR   = -0.5, 2.3
)

// ParseAcuity reads an acuity: a Snellen fraction (6/12, 6/9−2, 20/40+1,
// 3/60), CF with or without its distance (CF 1 m, CF 30 cm, CF 3 ft), HM, PL,
// NPL, or a number with its word (0.5 decimal, 0.30 logMAR, 70 letters). A
// bare number takes the chosen notation, and is refused without one: 0.5 is
// 6/12 or 6/19, and nobody can tell. A notation that the text contradicts is
// refused too. The error is ErrAcuityNotation, ErrAcuityText or a
// *unit.RangeError.
func ParseAcuity(in AcuityText) (Acuity, error) {
	text := strings.Join(strings.Fields(in.Text), " ")
	a := Acuity{Text: in.Text}
	s := strings.ToLower(strings.ReplaceAll(text, unit.Minus, "-"))
	if len(s) > 32 || s == "" {
		return a, ErrAcuityText
	}
	if is, err := a.sight(s); is || err != nil {
		return a, errors.Join(err, agree(in.Notation, LowVision))
	}
	if numerator, rest, fraction := strings.Cut(s, "/"); fraction {
		if err := a.snellen(numerator, rest); err != nil {
			return a, err
		}
		return a, agree(in.Notation, Snellen)
	}
	number, word, _ := strings.Cut(s, " ")
	notation := map[string]Notation{"": in.Notation, "decimal": Decimal, "logmar": InLogMAR, "letters": Letters}
	n, known := notation[strings.TrimSpace(word)]
	switch {
	case !known:
		return a, ErrAcuityText
	case n == AsItStands:
		if _, err := unit.ParseNumber(number); err != nil {
			return a, ErrAcuityText
		}
		return a, ErrAcuityNotation
	}
	if err := a.number(n, number); err != nil {
		return a, err
	}
	return a, agree(in.Notation, n)
}

// agree refuses a chosen notation that the text contradicts. Vision below the
// chart is written the same way on every chart.
func agree(chosen, read Notation) error {
	if chosen == AsItStands || chosen == read || read == LowVision {
		return nil
	}
	return fmt.Errorf("%w: written as %s, chosen as %s", ErrAcuityText, read, chosen)
}

// sight reads CF, HM, PL and NPL in the ways they are written.
func (a *Acuity) sight(s string) (bool, error) {
	words := map[string]Sight{"cf": CountsFingers, "fc": CountsFingers, "counting fingers": CountsFingers, "hm": HandMotion, "hand movements": HandMotion,
		"hand motion": HandMotion, "pl": LightPerception, "lp": LightPerception, "npl": NoLightPerception, "nlp": NoLightPerception}
	kind, is := words[s]
	distance := 0.0
	if rest, cf := strings.CutPrefix(s, "cf"); !is && cf {
		var err error
		if distance, err = metres(strings.TrimLeft(rest, " @")); err != nil {
			return true, err
		}
		kind, is = CountsFingers, true
	}
	if !is {
		return false, nil
	}
	a.Notation, a.Sight, a.LogMAR = LowVision, kind, lowVision[kind]
	a.Imputed = kind == LightPerception || kind == NoLightPerception
	if distance > 0 && distance != fingersAt { // the same fingers, farther away
		a.LogMAR += unit.LogMAR(math.Log10(fingersAt / distance))
		a.Imputed = true
	}
	a.Line = a.LogMAR
	return true, nil
}

// metres reads "1 m", "30 cm" and "3 ft".
func metres(s string) (float64, error) {
	for _, u := range []struct {
		suffix string
		m      float64
	}{{"cm", 0.01}, {"ft", 0.3048}, {"m", 1}} {
		number, is := strings.CutSuffix(s, u.suffix)
		if !is {
			continue
		}
		v, err := unit.ParseNumber(number)
		if err != nil {
			return 0, ErrAcuityText
		}
		if d := v * u.m; d >= 0.1 && d <= 6 {
			return d, nil
		}
		return 0, &unit.RangeError{What: "counting fingers at", Got: v * u.m, Low: 0.1, High: 6}
	}
	return 0, ErrAcuityText
}

// snellen reads numerator and "12", "12-2", "12+1".
func (a *Acuity) snellen(numerator, rest string) error {
	letters := 0
	if at := strings.IndexAny(rest, "+-"); at > 0 {
		n, err := unit.ParseNumber(strings.TrimSpace(rest[at:]))
		if err != nil || n != math.Trunc(n) || n == 0 || math.Abs(n) > mostLettersOffLine {
			return ErrAcuityText
		}
		letters, rest = int(n), strings.TrimSpace(rest[:at])
	}
	top, err1 := unit.ParseNumber(numerator)
	bottom, err2 := unit.ParseNumber(rest)
	if err1 != nil || err2 != nil || strings.ContainsAny(numerator+rest, "+-") || top <= 0 || bottom <= 0 {
		return ErrAcuityText
	}
	if top > 20 || bottom < 2 {
		return &unit.RangeError{What: "Snellen distance", Got: top, Low: 0.25, High: 20}
	}
	a.Notation = Snellen
	return a.resolve(top/bottom, letters)
}

// resolve sets the value from the decimal acuity and single letters more (+)
// or less (−) than its line.
func (a *Acuity) resolve(decimal float64, letters int) error {
	if decimal < leastDecimal || decimal > mostDecimal {
		return &unit.RangeError{What: "decimal acuity", Got: decimal, Low: leastDecimal, High: mostDecimal}
	}
	a.Line = unit.LogMAR(0 - math.Log10(decimal))
	if decimal == 1 {
		a.Line = 0 // no minus zero
	}
	a.LogMAR = a.Line - unit.LogMAR(perLetter*float64(letters))
	return nil
}

func (a *Acuity) number(n Notation, text string) error {
	v, err := unit.ParseNumber(text)
	if err != nil {
		return ErrAcuityText
	}
	a.Notation = n
	switch n {
	case Decimal:
		return a.resolve(v, 0)
	case Letters:
		if v < 0 || v > 100 || v != math.Trunc(v) {
			return &unit.RangeError{What: "letters", Got: v, Low: 0, High: 100}
		}
		v = lettersAtZero - perLetter*v
	case InLogMAR:
		if v < leastLogMAR || v > mostLogMAR {
			return &unit.RangeError{What: "logMAR", Got: v, Low: leastLogMAR, High: mostLogMAR}
		}
	default:
		return ErrAcuityText
	}
	a.LogMAR, a.Line = unit.LogMAR(v), unit.LogMAR(v)
	return nil
}

// Decimal is the decimal acuity of the value. Decimals are never averaged.
func (a Acuity) Decimal() float64 { return math.Pow(10, -float64(a.LogMAR)) }

// LettersRead is the value as letters of the chart of 100, known on the chart
// only: 85 − 50·logMAR.
func (a Acuity) LettersRead() (letters float64, known bool) {
	return (lettersAtZero - float64(a.LogMAR)) / perLetter, a.Sight == onChart
}

// Band is the band of outcome of the operated eye.
type Band string

// The bands: good can see 6/18, poor cannot see 6/60.
const (
	Good       Band = "good"
	Borderline Band = "borderline"
	Poor       Band = "poor"
)

// sameLine forgives rounding where a line is compared with a line.
const sameLine = 1e-9

// Band compares the line that was read, not a rounded number.
func (a Acuity) Band() Band {
	switch {
	case a.AtLeast(18):
		return Good
	case a.AtLeast(60):
		return Borderline
	}
	return Poor
}

// AtLeast reports whether the line 6/denominator was read, or a better one.
// denominator is in metres.
func (a Acuity) AtLeast(denominator float64) bool {
	return float64(a.Line) <= math.Log10(denominator/6)+sameLine
}
