package followup

import (
	"errors"
	"slices"
	"strings"

	"linn/calc/refraction"
	"linn/finding"
	"linn/internal/care/operation"
	"linn/unit"
)

// Kind is what a visit is for.
type Kind string

// The kinds of visit.
const (
	Day1        Kind = "day-1"
	Week1       Kind = "week-1"
	Weeks4to6   Kind = "weeks-4-6" // the refraction that is audited
	Later       Kind = "later"
	Unplanned   Kind = "unplanned"
	Sutures     Kind = "suture-removal"
	Pressure    Kind = "pressure"
	Capsulotomy Kind = "capsulotomy"
)

// Kinds lists the kinds in order.
var Kinds = []Kind{Day1, Week1, Weeks4to6, Later, Unplanned, Sutures, Pressure, Capsulotomy}

// Visit is one visit of an operated eye as written down.
type Visit struct {
	On   unit.Date `json:"on"`
	Kind Kind      `json:"kind"`

	// Values are texts as typed or tapped, by key of Fields.
	Values map[string]string `json:"values,omitempty"`

	By string `json:"by,omitempty"` // identifier of who saw the eye

	// Withdrawn says why the visit was entered by mistake; it stays.
	Withdrawn string `json:"withdrawn,omitempty"`
}

// Lost is why an eye is not to be expected any more.
type Lost struct {
	Why string    `json:"why"` // of LostWhy
	On  unit.Date `json:"on"`
	By  string    `json:"by,omitempty"`
}

// LostWhy are the reasons; each but the first is known, not guessed.
var LostWhy = []string{"not-reached", "elsewhere", "declined", "died"}

// Field is one thing that is written down of a visit.
type Field struct {
	operation.Field
	Acuity   bool
	Notation string // key of the field that says how the acuity is written
}

func word(key, step string, words ...string) Field {
	return Field{Field: operation.Field{Key: key, Step: step, Kind: operation.Word, Words: words}}
}

func number(key, step, in string, low, high float64, decimals int) Field {
	return Field{Field: operation.Field{Key: key, Step: step, Kind: operation.Number, Unit: in, Low: low, High: high, Decimals: decimals}}
}

func acuity(key string) Field {
	return Field{Field: operation.Field{Key: key, Step: "acuity", Kind: operation.Text}, Acuity: true, Notation: "notation"}
}

// The keys that rules speak of.
const (
	KeyUnaided   = "unaided_va"
	KeyPinhole   = "pinhole_va"
	KeyCorrected = "corrected_va"
	KeyNotation  = "notation"
	KeySphere    = "sphere_d"
	KeyCylinder  = "cylinder_d"
	KeyAxis      = "axis_deg"
	KeyDistance  = "refraction_distance_m"
	KeyPressure  = "pressure_mmhg"
	KeyPain      = "pain"
	KeyWound     = "wound"
	KeyChamber   = "chamber"
)

// Groups are the parts of the form, in order.
var Groups = []string{"acuity", "eye", "refraction", "spectacles"}

// Fields lists what is written down of a visit.
var Fields = []Field{
	word(KeyNotation, "acuity", "snellen", "decimal", "logmar", "letters"),
	acuity(KeyUnaided), acuity(KeyPinhole), acuity(KeyCorrected),

	word(KeyPain, "eye", "none", "mild", "severe"),
	word("cornea", "eye", "clear", "folds", "oedema", "oedema-limbus-to-limbus"),
	word(KeyWound, "eye", "closed", "leaks", "iris-in-wound", "infected"),
	word(KeyChamber, "eye", "quiet", "cells", "many-cells", "fibrin", "hypopyon"),
	number(KeyPressure, "eye", "mmHg", 0, 80, 0),
	word("lens_lies", "eye", "centred", "off-centre", "tilted", "displaced", "no-lens"),
	word("posterior_capsule", "eye", "clear", "opaque", "opened"),
	word("sutures_now", "eye", "none", "in-place", "removed-today"),
	word("macula", "eye", "seen-normal", "swollen", "other", "not-seen"),

	number(KeySphere, "refraction", "D", -30, 30, 2),
	number(KeyCylinder, "refraction", "D", -15, 15, 2),
	number(KeyAxis, "refraction", "°", 0, 180, 0),
	number(KeyDistance, "refraction", "m", 0.5, 20, 2),
	word("refraction_by", "refraction", "subjective", "automatic", "retinoscopy"),

	word("spectacles", "spectacles", "not-needed", "ready-made", "made", "refused", "not-offered"),
	number("near_add_d", "spectacles", "D", 0.5, 4, 2),
	word("spectacles_delivered", "spectacles", "no", "yes"),
	word("spectacles_worn", "spectacles", "no", "sometimes", "yes"),
	word("poor_because", "spectacles", "selection", "surgery", "spectacles", "sequelae"),
	{Field: operation.Field{Key: "note", Step: "spectacles", Kind: operation.Text}},
}

// FieldNamed finds a field, nil when there is none.
func FieldNamed(key string) *Field {
	for i := range Fields {
		if Fields[i].Key == key {
			return &Fields[i]
		}
	}
	return nil
}

// Set types a text into a field; an empty one takes it away.
func (v *Visit) Set(key, text string) {
	r := operation.Record{Values: v.Values}
	r.Set(key, text)
	v.Values = r.Values
}

// Acuity is the acuity under a key; the error says why it cannot be read, nil
// with a zero text when nothing is recorded.
func (v *Visit) Acuity(key string) (refraction.Acuity, error) {
	text := v.Values[key]
	if text == "" {
		return refraction.Acuity{}, nil
	}
	return refraction.ParseAcuity(refraction.AcuityText{Text: text, Notation: v.notationOf(text)})
}

// notationOf is the chosen notation where the text does not say its own: one
// chart is chosen for the visit, and a fraction or CF is read as it stands.
func (v *Visit) notationOf(text string) refraction.Notation {
	if _, err := refraction.ParseAcuity(refraction.AcuityText{Text: text}); !errors.Is(err, refraction.ErrAcuityNotation) {
		return refraction.AsItStands
	}
	return refraction.Notation(v.Values[KeyNotation])
}

// Best is the best-measured acuity after the operation: the best of corrected,
// unaided and pinhole. known is false when none can be read.
func (v *Visit) Best() (best refraction.Acuity, known bool) {
	for _, key := range []string{KeyCorrected, KeyUnaided, KeyPinhole} {
		a, err := v.Acuity(key)
		if err == nil && a.Text != "" && (!known || a.LogMAR < best.LogMAR) {
			best, known = a, true
		}
	}
	return best, known
}

// Number is a number of the visit.
func (v *Visit) Number(key string) unit.Reading[unit.Constant] {
	f := FieldNamed(key)
	n, err := unit.ParseNumber(v.Values[key])
	if f == nil || f.Kind != operation.Number || err != nil || n < f.Low || n > f.High {
		return unit.Reading[unit.Constant]{}
	}
	return unit.Known(unit.Constant(n))
}

// Refraction is the refraction of the visit; the cylinder may be left out where
// there is none. distance is not known when nobody wrote down the lane.
func (v *Visit) Refraction() (r refraction.AtSpectacle, distance unit.Reading[unit.Constant], known bool) {
	s, c, a := v.Number(KeySphere), v.Number(KeyCylinder), v.Number(KeyAxis)
	if !s.Known || c.Known && c.Value != 0 && !a.Known {
		return r, distance, false
	}
	r = refraction.AtSpectacle{Sphere: unit.Dioptre(s.Value), Cylinder: unit.Dioptre(c.Value)}
	if a.Known {
		r.Axis = unit.NewAxis(unit.Degree(a.Value))
	}
	return r, v.Number(KeyDistance), true
}

// Read says which texts no rule can take, by key.
func (v *Visit) Read() map[string]finding.Refusal {
	bad := map[string]finding.Refusal{}
	for key, text := range v.Values {
		f := FieldNamed(key)
		if f == nil {
			bad[key] = finding.Refusal{Code: "unknown-key", Field: key}
			continue
		}
		if refused := f.Refuses(text); refused != nil {
			bad[key] = *refused
			continue
		}
		if f.Acuity {
			if refused := v.refusesAcuity(key); refused != nil {
				bad[key] = *refused
			}
		}
	}
	return bad
}

func (v *Visit) refusesAcuity(key string) *finding.Refusal {
	_, err := v.Acuity(key)
	var out *unit.RangeError
	no := func(code string, more ...finding.Value) *finding.Refusal {
		return &finding.Refusal{Code: code, Field: key, Values: append(finding.Values{{Name: "got", Text: v.Values[key]}}, more...)}
	}
	switch {
	case err == nil:
		return nil
	case errors.Is(err, refraction.ErrAcuityNotation):
		return no("acuity-notation")
	case errors.As(err, &out):
		return no("acuity-range")
	}
	return no("acuity-unreadable")
}

// Empty reports whether nothing at all is written down.
func (v *Visit) Empty() bool { return len(v.Values) == 0 }

// Clone shares nothing with v.
func (v Visit) Clone() Visit {
	r := operation.Record{Values: v.Values}.Clone()
	v.Values = r.Values
	return v
}

// Standing are the visits that were not withdrawn, in the order of their days.
func Standing(list []Visit) []Visit {
	kept := slices.DeleteFunc(slices.Clone(list), func(v Visit) bool { return v.Withdrawn != "" })
	slices.SortStableFunc(kept, func(a, b Visit) int { return strings.Compare(a.On.String(), b.On.String()) })
	return kept
}
