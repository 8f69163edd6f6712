package lenspower

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
)

const constantsKey = "constants"

// ParseLens reads the "lens" object of the file format:
//
//	{"model": …, "constants": {"a": …, …}, "from_d": …, …}
//
// What is absent or null keeps the default of NewLens. Unknown and repeated
// keys are refused naming the nearest, keys that begin with "x_" are ignored,
// and all reasons are returned with their places in the file.
func ParseLens(m eye.Member) (Lens, finding.Refusals) {
	l := NewLens()
	if m.Kind == eye.Null {
		return l, nil
	}
	list, refused := m.Members()
	for _, in := range list {
		if in.Key == constantsKey {
			refused = append(refused, parseConstants(&l, in)...)
		} else if r := setMember(&l, in, false); r != nil {
			refused = append(refused, *r)
		}
	}
	if r := l.Check(); r != nil && len(refused) == 0 {
		r.Line, r.Column = m.Line, m.Column
		refused = append(refused, *r)
	}
	return l, refused
}

func parseConstants(l *Lens, m eye.Member) finding.Refusals {
	if m.Kind == eye.Null {
		return nil
	}
	list, refused := m.Members()
	for _, in := range list {
		if r := setMember(l, in, true); r != nil {
			refused = append(refused, *r)
		}
	}
	return refused
}

// setMember reads one member of the lens object, or of the constants in it.
func setMember(l *Lens, m eye.Member, constants bool) *finding.Refusal {
	f := LensFieldNamed(m.Key)
	var r *finding.Refusal
	switch {
	case strings.HasPrefix(m.Key, "x_"):
		return nil
	case f == nil || f.Constant != constants:
		r = &finding.Refusal{Code: "unknown-key", Field: eye.Clip(m.Key), Values: finding.Values{{Name: "nearest", Text: nearestKey(m.Key, f, constants)}}}
	case m.Kind == eye.Null:
		return nil
	case m.Kind == eye.Object || m.Kind == eye.Array || m.Kind == eye.Bool || m.Kind == eye.Number && !f.Number:
		wanted := "text"
		if f.Number {
			wanted = "number"
		}
		r = &finding.Refusal{Code: "wrong-kind", Field: m.Key, Values: finding.Values{{Name: "wanted", Text: wanted}, {Name: "got", Text: eye.Clip(m.Text)}}}
	default:
		r = f.Set(l, m.Text)
	}
	if r != nil {
		r.Line, r.Column = m.Line, m.Column
	}
	return r
}

// nearestKey names where a misplaced key belongs, or else the key most like it.
func nearestKey(key string, f *LensField, constants bool) string {
	if f != nil && f.Constant {
		return constantsKey + "." + key
	}
	if f != nil {
		return "lens." + key
	}
	var known []string
	if !constants {
		known = append(known, constantsKey)
	}
	for i := range LensFields {
		if LensFields[i].Constant == constants {
			known = append(known, LensFields[i].Key)
		}
	}
	return eye.Nearest(key, known)
}

// MarshalJSON writes the lens in the format ParseLens reads, numbers as
// numbers unless they were typed with a comma or a true minus.
func (l Lens) MarshalJSON() ([]byte, error) {
	var own, constants [][]byte
	for i := range LensFields {
		f := &LensFields[i]
		text := f.get(&l)
		if text == "" {
			continue
		}
		value := []byte(text)
		if !f.Number || !json.Valid(value) {
			var err error
			if value, err = json.Marshal(text); err != nil {
				return nil, err
			}
		}
		member := append(append(strconv.AppendQuote(nil, f.Key), ':'), value...)
		if f.Constant {
			constants = append(constants, member)
		} else {
			own = append(own, member)
		}
	}
	at := 0
	if l.Model != "" {
		at = 1 // behind the model
	}
	own = slices.Insert(own, at, append(strconv.AppendQuote(nil, constantsKey), append([]byte(":"), object(constants)...)...))
	return object(own), nil
}

func object(members [][]byte) []byte {
	out := []byte{'{'}
	for i, m := range members {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(out, m...)
	}
	return append(out, '}')
}

// UnmarshalJSON reads what MarshalJSON wrote, with ParseLens's strictness.
func (l *Lens) UnmarshalJSON(data []byte) error {
	parsed, refused := ParseLens(eye.Member{Kind: eye.Object, Text: string(data)})
	*l = parsed
	return refused.Err()
}
