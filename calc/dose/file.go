package dose

import (
	"bytes"
	"encoding/json"
	"maps"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Format is the name and version of the file format.
const Format = "linn.dose/1"

// fileKeys are the keys of the file.
var fileKeys = []string{"format", "weight_kg", "weight_lb", "age_years", "allergies", "drugs", "limits"}

// kgPerLb: international avoirdupois pound (exact by definition).
const kgPerLb = 0.45359237

// WeightBounds and AgeBounds are what a person can be.
var (
	WeightBounds = unit.Bounds{Low: 0.5, High: 300}
	AgeBounds    = unit.Bounds{Low: 0, High: 130}
)

// ReadWeight reads a weight in kg or, when pounds, in lb.
func ReadWeight(text string, pounds bool) (r unit.Reading[unit.Kilogram], refused *finding.Refusal) {
	if pounds {
		v, refused := parse("weight_lb", "lb", text, unit.Bounds{Low: 1, High: 660})
		return unit.Reading[unit.Kilogram]{Value: unit.Kilogram(v * kgPerLb), Known: refused == nil}, refused
	}
	v, refused := parse("weight_kg", "kg", text, WeightBounds)
	return unit.Reading[unit.Kilogram]{Value: unit.Kilogram(v), Known: refused == nil}, refused
}

// Parse reads a file. Every reason of refusal is returned; nothing is computed
// from a file that is refused.
func Parse(data []byte) (in Input, refused finding.Refusals) {
	list, refused := eye.Members(data)
	in.Limits = Limits{}
	weights := 0
	for _, m := range list {
		if strings.HasPrefix(m.Key, "x_") || m.Kind == eye.Null {
			continue
		}
		place := func(bad ...finding.Refusal) {
			for _, r := range bad {
				r.Line, r.Column = m.Line, m.Column
				refused = append(refused, r)
			}
		}
		if strings.HasPrefix(m.Key, "weight_") {
			weights++
		}
		place(in.member(&m)...)
	}
	if weights > 1 {
		refused = append(refused, finding.Refusal{Code: "two-units", Field: "weight_kg"})
	}
	if len(in.Lines) == 0 && len(refused) == 0 {
		refused = append(refused, needed("drugs"))
	}
	return in, refused
}

func wrongKind(key, wanted, got string) finding.Refusal {
	return finding.Refusal{Code: "wrong-kind", Field: key, Values: finding.Values{{Name: "wanted", Text: wanted}, {Name: "got", Text: eye.Clip(got)}}}
}

func (in *Input) member(m *eye.Member) (bad finding.Refusals) {
	one := func(r *finding.Refusal) finding.Refusals {
		if r == nil {
			return nil
		}
		return finding.Refusals{*r}
	}
	scalar := m.Kind == eye.Number || m.Kind == eye.Text
	switch m.Key {
	case "format":
		if m.Text != Format {
			return finding.Refusals{{Code: "unknown-format", Field: "format", Values: finding.Values{{Name: "got", Text: eye.Clip(m.Text)}, {Name: "known", Text: Format}}}}
		}
	case "weight_kg", "weight_lb":
		if !scalar {
			return finding.Refusals{wrongKind(m.Key, "number", m.Text)}
		}
		var r *finding.Refusal
		in.Weight, r = ReadWeight(m.Text, m.Key == "weight_lb")
		return one(r)
	case "age_years":
		if !scalar {
			return finding.Refusals{wrongKind(m.Key, "number", m.Text)}
		}
		_, r := parse(m.Key, "years", m.Text, AgeBounds)
		return one(r)
	case "allergies":
		return in.allergies(m)
	case "drugs":
		return in.drugs(m)
	case "limits":
		return in.limits(m)
	default:
		return finding.Refusals{{Code: "unknown-key", Field: eye.Clip(m.Key), Values: finding.Values{{Name: "nearest", Text: eye.Nearest(m.Key, fileKeys)}}}}
	}
	return nil
}

// allergies are a list of texts; an empty list says that none is known.
func (in *Input) allergies(m *eye.Member) finding.Refusals {
	if m.Kind != eye.Array || json.Unmarshal([]byte(m.Text), &in.Allergies) != nil {
		return finding.Refusals{wrongKind(m.Key, "list of texts", m.Text)}
	}
	in.AllergiesAsked = true
	return nil
}

func (in *Input) drugs(m *eye.Member) (bad finding.Refusals) {
	var items []json.RawMessage
	if m.Kind != eye.Array || json.Unmarshal([]byte(m.Text), &items) != nil {
		return finding.Refusals{wrongKind(m.Key, "list of objects", m.Text)}
	}
	for i, raw := range items {
		at := "drugs[" + strconv.Itoa(i+1) + "]"
		if !bytes.HasPrefix(raw, []byte("{")) {
			bad = append(bad, wrongKind(at, "object", string(raw)))
			continue
		}
		texts, refused := scalars(raw)
		if len(refused) == 0 {
			var l Line
			if l, refused = ReadLine(texts); len(refused) == 0 {
				in.Lines = append(in.Lines, l)
			}
		}
		for _, r := range refused {
			r.Field, r.Line, r.Column = at+"."+r.Field, 0, 0
			bad = append(bad, r)
		}
	}
	return bad
}

// scalars reads the members of an object as texts.
func scalars(raw []byte) (map[string]string, finding.Refusals) {
	list, refused := eye.Members(raw)
	texts := map[string]string{}
	for _, m := range list {
		switch {
		case strings.HasPrefix(m.Key, "x_") || m.Kind == eye.Null:
		case m.Kind == eye.Bool:
			texts[m.Key] = map[string]string{"true": "yes", "false": "no"}[m.Text]
		case m.Kind == eye.Object || m.Kind == eye.Array:
			refused = append(refused, wrongKind(eye.Clip(m.Key), "number or text", m.Text))
		case strings.TrimSpace(m.Text) == "":
			refused = append(refused, finding.Refusal{Code: "empty", Field: eye.Clip(m.Key)})
		default:
			texts[m.Key] = m.Text
		}
	}
	return texts, refused
}

// limits are the unit's own, by key.
func (in *Input) limits(m *eye.Member) (bad finding.Refusals) {
	if m.Kind != eye.Object {
		return finding.Refusals{wrongKind(m.Key, "object", m.Text)}
	}
	texts, bad := scalars([]byte(m.Text))
	for _, s := range Settings {
		if text, is := texts[s.Key]; is {
			if r := in.Limits.Set(Typed{Key: s.Key, Text: text}); r != nil {
				bad = append(bad, *r)
			}
			delete(texts, s.Key)
		}
	}
	var known []string
	for _, s := range Settings {
		known = append(known, s.Key)
	}
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		bad = append(bad, finding.Refusal{Code: "unknown-key", Field: eye.Clip(key), Values: finding.Values{{Name: "nearest", Text: eye.Nearest(key, known)}}})
	}
	return bad
}
