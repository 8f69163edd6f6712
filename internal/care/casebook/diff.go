package casebook

import (
	"bytes"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
)

// Change is one field that differs between two states: its path, with dots
// between the members and items counted from 0 ("eye.axial_length_mm",
// "passes.0.reason"), and both values as stored; "" where there is none.
type Change struct {
	Field    string `json:"field"`
	Old, New string
}

// Diff lists what changed from an older to a newer payload, in the newer
// one's order, what was taken away last. Payloads are any two JSON objects.
func Diff(older, newer []byte) ([]Change, error) {
	was, err := flatten(older)
	if err != nil {
		return nil, fmt.Errorf("casebook: older state: %w: %w", ErrGarbled, err)
	}
	is, err := flatten(newer)
	if err != nil {
		return nil, fmt.Errorf("casebook: newer state: %w: %w", ErrGarbled, err)
	}
	var list []Change
	for _, f := range is.order {
		if was.text[f] != is.text[f] {
			list = append(list, Change{f, was.text[f], is.text[f]})
		}
	}
	for _, f := range was.order {
		if _, kept := is.text[f]; !kept {
			list = append(list, Change{f, was.text[f], ""})
		}
	}
	return list, nil
}

// DiffIdentity lists what changed from one identity to another.
func DiffIdentity(older, newer Identity) ([]Change, error) {
	a, err := json.Marshal(older)
	if err != nil {
		return nil, err
	}
	b, err := json.Marshal(newer)
	if err != nil {
		return nil, err
	}
	return Diff(a, b)
}

type flat struct {
	order []string
	text  map[string]string
}

func flatten(payload []byte) (flat, error) {
	f := flat{text: map[string]string{}}
	dec := json.NewDecoder(bytes.NewReader(payload))
	dec.UseNumber() // a number is compared as it was stored
	err := f.value(dec, "")
	return f, err
}

// value reads one JSON value at path. Members are read one by one to keep
// their order, which a map would lose.
func (f *flat) value(dec *json.Decoder, path string) error {
	token, err := dec.Token()
	if err != nil {
		return err
	}
	delim, nested := token.(json.Delim)
	if !nested {
		f.add(path, scalar(token))
		return nil
	}
	for n := 0; dec.More(); n++ {
		name := strconv.Itoa(n)
		if delim == '{' {
			key, err := dec.Token()
			if err != nil {
				return err
			}
			name = key.(string) // the decoder lets nothing else stand there
		}
		if path != "" {
			name = path + "." + name
		}
		if err := f.value(dec, name); err != nil {
			return err
		}
	}
	_, err = dec.Token()
	return err
}

func (f *flat) add(path, text string) {
	if !slices.Contains([]string{"", "null"}, text) {
		if _, twice := f.text[path]; !twice {
			f.order = append(f.order, path)
		}
		f.text[path] = text
	}
}

func scalar(token json.Token) string {
	switch v := token.(type) {
	case string:
		return v
	case bool:
		return strconv.FormatBool(v)
	case json.Number:
		return v.String()
	}
	return ""
}
