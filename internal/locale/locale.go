// Package locale turns codes and values into words for people. A catalogue
// is a set of text files, one message a line:
//
//	key = text with {name}
//
// Lines that begin with # are comments. The numbers inside a message arrive
// already printed with their unit, so no language can change their digits,
// decimal mark or sign.
package locale

import (
	"embed"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"

	"linn/finding"
	"linn/source"
)

// Language is the tag of a catalogue folder.
type Language string

// English is the reference language: every key exists in it.
const English Language = "en"

//go:embed en/*.txt
var files embed.FS

var catalogues = load()

func load() map[Language]map[string]string {
	all := map[Language]map[string]string{}
	names, err := fs.Glob(files, "*/*.txt")
	if err != nil {
		panic("locale: " + err.Error())
	}
	for _, name := range names {
		data, err := files.ReadFile(name)
		if err != nil {
			panic("locale: " + err.Error())
		}
		lang := Language(path.Dir(name))
		if all[lang] == nil {
			all[lang] = map[string]string{}
		}
		messages, err := parse(string(data))
		if err != nil {
			panic("locale: " + name + ": " + err.Error())
		}
		for key, text := range messages {
			if _, twice := all[lang][key]; twice {
				panic("locale: " + name + ": key in two files: " + key)
			}
			all[lang][key] = text
		}
	}
	return all
}

func parse(data string) (map[string]string, error) {
	m := map[string]string{}
	for n, line := range strings.Split(data, "\n") {
		line = strings.TrimSpace(line)
		if line == "" || line[0] == '#' {
			continue
		}
		key, text, ok := strings.Cut(line, "=")
		key, text = strings.TrimSpace(key), strings.TrimSpace(text)
		if !ok || key == "" || text == "" {
			return nil, fmt.Errorf("line %d is not `key = text`", n+1)
		}
		if _, twice := m[key]; twice {
			return nil, fmt.Errorf("line %d repeats %s", n+1, key)
		}
		m[key] = text
	}
	return m, nil
}

// T returns the message under key with its {names} filled. A language that
// lacks the key answers in English; an unknown key shows itself in brackets,
// so that it is seen and not silently empty.
func T(lang Language, key string, values ...finding.Value) string {
	text, ok := catalogues[lang][key]
	if !ok {
		if text, ok = catalogues[English][key]; !ok {
			return "[" + key + "]"
		}
	}
	return fill(text, values)
}

// Has reports whether the English catalogue holds key.
func Has(key string) bool { _, ok := catalogues[English][key]; return ok }

// Keys lists the keys of a language in order.
func Keys(lang Language) []string { return slices.Sorted(maps.Keys(catalogues[lang])) }

// fill replaces every {name} once, left to right; a value's own braces are
// never read as a name.
func fill(text string, values []finding.Value) string {
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(text, "{")
		b.WriteString(before)
		if !ok {
			return b.String()
		}
		name, after, ok := strings.Cut(rest, "}")
		if !ok {
			b.WriteString("{" + rest)
			return b.String()
		}
		i := slices.IndexFunc(values, func(v finding.Value) bool { return v.Name == name })
		if i < 0 {
			b.WriteString("{" + name + "}")
		} else {
			b.WriteString(values[i].Text)
		}
		text = after
	}
}

// Finding writes what a finding says: message "finding.CODE". The values
// {field} and {method} are the words for the field and the method, and a {got}
// that is a word of the file format is said in the trade's: message
// "word.FIELD.GOT".
func Finding(lang Language, f finding.Finding) string {
	values := slices.Clone(f.Values)
	for i, v := range values {
		if key := "word." + f.Field + "." + v.Text; v.Name == "got" && Has(key) {
			values[i].Text = T(lang, key)
		}
	}
	return T(lang, "finding."+f.Code, append(values, names(lang, f.Field, f.Method)...)...)
}

// Severity writes the word that leads a finding: note, caution, STOP.
func Severity(lang Language, s finding.Severity) string { return T(lang, "severity."+s.String()) }

// Refusal writes why an input was refused: message "refused.CODE", or
// "refused.CODE.nearest" when a nearest known word can be offered.
func Refusal(lang Language, r finding.Refusal) string {
	key := "refused." + r.Code
	if near := r.Values.Get("nearest"); near != "" && Has(key+".nearest") {
		key += ".nearest"
	}
	values := append(slices.Clone(r.Values), names(lang, r.Field, "")...)
	return T(lang, key, append(values, finding.Value{Name: "key", Text: r.Field})...)
}

// Field writes the words for a contract key: "axial length".
func Field(lang Language, key string) string {
	if rest, ok := strings.CutPrefix(key, "other_eye."); ok {
		return T(lang, "field.other_eye", finding.Value{Name: "field", Text: Field(lang, rest)})
	}
	if list, rest, ok := strings.Cut(key, "]."); ok && strings.HasPrefix(list, "drugs[") {
		return T(lang, "field.drug-of", finding.Value{Name: "n", Text: list[len("drugs["):]}, finding.Value{Name: "field", Text: Field(lang, rest)})
	}
	if Has("field." + key) {
		return T(lang, "field."+key)
	}
	return key
}

// Method writes a method's name for people: "SRK/T".
func Method(lang Language, id string) string {
	if Has("method." + id) {
		return T(lang, "method."+id)
	}
	return id
}

// Step writes the words of one step of a working.
func Step(lang Language, s source.Step) string { return T(lang, "step."+s.Name) }

func names(lang Language, field, method string) []finding.Value {
	return []finding.Value{{Name: "field", Text: Field(lang, field)}, {Name: "method", Text: Method(lang, method)}}
}
