package eye

import (
	"bytes"
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"linn/finding"
)

// Format is the name and version of the eye file format.
const Format = "linn.eye/1"

// Member is one member of a JSON object with its place in the file.
type Member struct {
	Key          string
	Text         string // the scalar as written, or the raw JSON of an object or array
	Kind         Kind
	Line, Column int // of the key, 1-based; columns count bytes
	offset       int
	file         []byte // the whole text the offsets count in
}

// Members lists the members of an object member, with their places in the
// whole file, or in Text when the member was not read from a file. It refuses
// a member that is not an object.
func (m Member) Members() ([]Member, finding.Refusals) {
	if m.Kind != Object {
		return nil, finding.Refusals{{Code: "wrong-kind", Field: clip(m.Key), Line: m.Line, Column: m.Column,
			Values: finding.Values{{Name: "wanted", Text: "object"}, {Name: "got", Text: clip(m.Text)}}}}
	}
	if m.file == nil {
		return Members([]byte(m.Text))
	}
	return members(m.file, []byte(m.Text), m.offset)
}

// Kind is the JSON kind of a Member.
type Kind int

// The kinds of a JSON value. Null is "not recorded".
const (
	Null Kind = iota
	Number
	Text
	Bool
	Object
	Array
)

// Members reads data as one JSON object and lists its members in order,
// refusing a repeated key. A byte-order mark is accepted. start is the
// position of data within the file, {1, 1} for a whole file.
func Members(data []byte) ([]Member, finding.Refusals) { return members(data, data, 0) }

func members(file, data []byte, base int) ([]Member, finding.Refusals) {
	at := func(off int) (line, col int) { return position(file, base+off) }
	refuse := func(code string, off int, values ...finding.Value) finding.Refusals {
		line, col := at(off)
		return finding.Refusals{{Code: code, Values: values, Line: line, Column: col}}
	}
	skip := 0
	if base == 0 && bytes.HasPrefix(data, bom) {
		skip = len(bom)
	}
	body := data[skip:]
	if len(bytes.TrimSpace(body)) == 0 {
		return nil, refuse("empty-file", 0)
	}
	if !utf8.Valid(body) {
		return nil, refuse("not-utf8", firstInvalid(body)+skip)
	}
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.UseNumber()
	tok, err := dec.Token()
	if err != nil || tok != json.Delim('{') {
		return nil, refuse("not-json-object", skip, finding.Value{Name: "got", Text: clip(string(bytes.TrimSpace(body)))})
	}
	var list []Member
	var refused finding.Refusals
	for dec.More() {
		tok, err := dec.Token()
		key, isKey := tok.(string)
		off := int(dec.InputOffset())
		if err != nil || !isKey {
			return list, append(refused, refuse("not-json", skip+off)...)
		}
		keyOff := skip + off - len(key) - 2
		var raw json.RawMessage
		if err := dec.Decode(&raw); err != nil {
			return list, append(refused, refuse("not-json", skip+off, finding.Value{Name: "after", Text: clip(key)})...)
		}
		m := Member{Key: key, offset: base + skip + int(dec.InputOffset()) - len(raw), file: file}
		m.Line, m.Column = at(keyOff)
		m.Kind, m.Text = classify(raw)
		if slices.ContainsFunc(list, func(o Member) bool { return o.Key == key }) {
			refused = append(refused, finding.Refusal{Code: "repeated-key", Field: clip(key), Line: m.Line, Column: m.Column})
			continue
		}
		if len(list) > 200 { // no format of ours has a fifth of that; noise ends here
			return list, append(refused, refuse("too-many-keys", keyOff)...)
		}
		list = append(list, m)
	}
	if _, err := dec.Token(); err != nil {
		return list, append(refused, refuse("not-json", skip+int(dec.InputOffset()))...)
	}
	if rest := bytes.TrimSpace(body[dec.InputOffset():]); len(rest) > 0 {
		return list, append(refused, refuse("text-after-object", skip+int(dec.InputOffset()), finding.Value{Name: "got", Text: clip(string(rest))})...)
	}
	return list, refused
}

var bom = []byte("\xef\xbb\xbf")

func classify(raw json.RawMessage) (Kind, string) {
	switch raw[0] {
	case 'n':
		return Null, ""
	case 't', 'f':
		return Bool, string(raw)
	case '"':
		var s string
		if json.Unmarshal(raw, &s) != nil {
			return Text, string(raw)
		}
		return Text, s
	case '{':
		return Object, string(raw)
	case '[':
		return Array, string(raw)
	}
	return Number, string(raw)
}

func position(file []byte, off int) (line, col int) {
	off = min(max(off, 0), len(file))
	before := file[:off]
	line = bytes.Count(before, []byte{'\n'}) + 1
	col = off - bytes.LastIndexByte(before, '\n')
	return line, col
}

func firstInvalid(b []byte) int {
	for i := 0; i < len(b); {
		r, n := utf8.DecodeRune(b[i:])
		if r == utf8.RuneError && n == 1 {
			return i
		}
		i += n
	}
	return len(b)
}

// ParseJSON reads one eye with its other_eye. Members named in also are not
// eye keys: they are returned as they stand. Unknown and repeated keys are
// refused; keys that begin with "x_" are ignored. All reasons are returned,
// not only the first.
func ParseJSON(data []byte, also ...string) (Eye, map[string]Member, finding.Refusals) {
	list, refused := Members(data)
	var e Eye
	others := map[string]Member{}
	if list == nil {
		return e, others, refused
	}
	more := parseMembers(&e, list, data, others, append([]string{"format", "other_eye"}, also...))
	return e, others, append(refused, more...)
}

func parseMembers(e *Eye, list []Member, file []byte, others map[string]Member, also []string) (refused finding.Refusals) {
	for _, m := range list {
		field := FieldNamed(m.Key)
		place := func(r finding.Refusal) {
			r.Line, r.Column = m.Line, m.Column
			refused = append(refused, r)
		}
		switch {
		case strings.HasPrefix(m.Key, "x_"):
		case field == nil && !slices.Contains(also, m.Key):
			place(UnknownKey(m.Key, also...))
		case m.Kind == Null: // not recorded
		case m.Key == "format" && others != nil:
			if m.Kind != Text || m.Text != Format {
				place(finding.Refusal{Code: "unknown-format", Field: "format", Values: finding.Values{{Name: "got", Text: clip(m.Text)}, {Name: "known", Text: Format}}})
			}
		case m.Key == "other_eye" && others != nil:
			if m.Kind != Object {
				place(finding.Refusal{Code: "wrong-kind", Field: m.Key, Values: finding.Values{{Name: "wanted", Text: "object"}, {Name: "got", Text: clip(m.Text)}}})
				continue
			}
			inner, bad := members(file, []byte(m.Text), m.offset)
			e.Fellow = &Eye{}
			bad = append(bad, parseMembers(e.Fellow, inner, file, nil, nil)...)
			for _, r := range bad {
				if r.Field != "" {
					r.Field = "other_eye." + r.Field
				}
				refused = append(refused, r)
			}
		case field == nil:
			others[m.Key] = m
		case m.Kind == Object || m.Kind == Array || m.Kind == Bool:
			place(finding.Refusal{Code: "wrong-kind", Field: m.Key, Values: finding.Values{{Name: "wanted", Text: wanted(field)}, {Name: "got", Text: clip(m.Text)}}})
		case m.Kind == Number && !field.Number:
			place(finding.Refusal{Code: "wrong-kind", Field: m.Key, Values: finding.Values{{Name: "wanted", Text: wanted(field)}, {Name: "got", Text: clip(m.Text)}}})
		default:
			if r := field.Set(e, m.Text); r != nil {
				place(*r)
			}
		}
	}
	return refused
}

func wanted(f *Field) string {
	switch {
	case f.Number:
		return "number"
	case f.Words != nil:
		return strings.Join(f.Words, ", ")
	}
	return "text"
}

// UnknownKey refuses key and names the nearest key of the format.
func UnknownKey(key string, also ...string) finding.Refusal {
	known := slices.Clone(also)
	for i := range Fields {
		known = append(known, Fields[i].Key)
	}
	return finding.Refusal{Code: "unknown-key", Field: clip(key), Values: finding.Values{{Name: "nearest", Text: nearest(key, known)}}}
}

// MarshalJSON writes the recorded keys in the order of Fields, numbers as
// numbers when they were not typed with a comma or a true minus.
func (e Eye) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	add := func(key string, value []byte) {
		if len(out) > 1 {
			out = append(out, ',')
		}
		out = append(append(strconv.AppendQuote(out, key), ':'), value...)
	}
	for i := range Fields {
		f := &Fields[i]
		s := f.get(&e)
		if s == "" {
			continue
		}
		if f.Number && json.Valid([]byte(s)) {
			add(f.Key, []byte(s))
			continue
		}
		quoted, err := json.Marshal(s)
		if err != nil {
			return nil, err
		}
		add(f.Key, quoted)
	}
	if e.Fellow != nil {
		inner, err := e.Fellow.MarshalJSON()
		if err != nil {
			return nil, err
		}
		add("other_eye", inner)
	}
	return append(out, '}'), nil
}

// UnmarshalJSON reads what MarshalJSON wrote, with ParseJSON's strictness.
func (e *Eye) UnmarshalJSON(data []byte) error {
	parsed, _, refused := ParseJSON(data)
	*e = parsed
	return refused.Err()
}
