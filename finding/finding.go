// Package finding holds clinical findings: what the program has to say about
// an eye, as values. A finding carries a stable code and the numbers it rests
// on; the words people read are made from them by internal/locale.
package finding

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"linn/source"
)

// Severity orders findings: Note < Caution < Stop.
type Severity int

// The severities. A Stop blocks signing and has no override.
const (
	Note Severity = iota + 1
	Caution
	Stop
)

var severityWords = [...]string{Note: "note", Caution: "caution", Stop: "stop"}

func (s Severity) String() string {
	if s < Note || s > Stop {
		return fmt.Sprintf("severity(%d)", int(s))
	}
	return severityWords[s]
}

// MarshalText writes the word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads the word.
func (s *Severity) UnmarshalText(b []byte) error {
	for i, w := range severityWords {
		if w != "" && w == string(b) {
			*s = Severity(i)
			return nil
		}
	}
	return fmt.Errorf("finding: unknown severity %q", b)
}

// Value is one named number of a finding, already with its unit.
type Value struct {
	Name string
	Text string
}

// Values keep their order and are written to JSON as one object.
type Values []Value

// Get returns the text under name, "" when absent.
func (v Values) Get(name string) string {
	for _, x := range v {
		if x.Name == name {
			return x.Text
		}
	}
	return ""
}

// MarshalJSON writes {"name":"text",…} in order.
func (v Values) MarshalJSON() ([]byte, error) {
	out := []byte{'{'}
	for i, x := range v {
		if i > 0 {
			out = append(out, ',')
		}
		name, err := json.Marshal(x.Name)
		if err != nil {
			return nil, err
		}
		text, err := json.Marshal(x.Text)
		if err != nil {
			return nil, err
		}
		out = append(append(append(out, name...), ':'), text...)
	}
	return append(out, '}'), nil
}

// UnmarshalJSON reads the object; the order of names is sorted, since JSON
// objects have none.
func (v *Values) UnmarshalJSON(b []byte) error {
	var m map[string]string
	if err := json.Unmarshal(b, &m); err != nil {
		return err
	}
	*v = nil
	for _, k := range slices.Sorted(maps.Keys(m)) {
		*v = append(*v, Value{k, m[k]})
	}
	return nil
}

// Finding is one thing the program has to say.
type Finding struct {
	Code     string     `json:"code"`
	Severity Severity   `json:"severity"`
	Gate     bool       `json:"gate,omitempty"`   // a caution that blocks signing until repeated or passed
	Strict   bool       `json:"strict,omitempty"` // a strict screening limit; people see these as one line
	Field    string     `json:"field,omitempty"`  // key of the input it speaks of
	Method   string     `json:"method,omitempty"`
	Values   Values     `json:"values,omitempty"`
	Source   source.Key `json:"source,omitempty"`
}

// Value returns the text of the named value, "" when absent.
func (f Finding) Value(name string) string { return f.Values.Get(name) }

// Blocks reports whether f keeps a plan from being signed as it stands.
func (f Finding) Blocks() bool { return f.Severity == Stop || f.Gate }

// Rule is what can be found: declared once, listed in docs/findings.md.
type Rule struct {
	Code     string
	Severity Severity
	Gate     bool
	Strict   bool
	Absolute bool // an absolute stop of docs/hazards.md: never overridden
	Ref      source.Ref
	Limit    string // the threshold in words and units, for the generated list
}

var rules = map[string]Rule{}

// Declare registers a rule. Two rules with one code, a gate on anything but a
// caution, or an unknown source are our own broken invariants and panic.
func Declare(r Rule) Rule {
	if _, twice := rules[r.Code]; twice || r.Code == "" {
		panic("finding: code declared twice or empty: " + r.Code)
	}
	if r.Gate && r.Severity != Caution {
		panic("finding: only a caution carries a gate: " + r.Code)
	}
	if _, ok := source.Lookup(r.Ref.Key); !ok || !r.Ref.Grade.Valid() {
		panic("finding: unknown source or grade: " + r.Code)
	}
	rules[r.Code] = r
	return r
}

// Rules lists the declared rules in code order.
func Rules() []Rule {
	var list []Rule
	for _, code := range slices.Sorted(maps.Keys(rules)) {
		list = append(list, rules[code])
	}
	return list
}

// RuleOf returns the rule that declared a code.
func RuleOf(code string) (Rule, bool) {
	r, ok := rules[code]
	return r, ok
}

// On makes a finding of the rule about a field.
func (r Rule) On(field string, values ...Value) Finding {
	return Finding{Code: r.Code, Severity: r.Severity, Gate: r.Gate, Strict: r.Strict, Field: field, Values: values, Source: r.Ref.Key}
}

// Worst returns the highest severity in list, 0 when it is empty.
func Worst(list []Finding) Severity {
	var w Severity
	for _, f := range list {
		w = max(w, f.Severity)
	}
	return w
}

// Has reports whether list holds code.
func Has(list []Finding, code string) bool {
	return slices.ContainsFunc(list, func(f Finding) bool { return f.Code == code })
}

// Refusal is an input that could not be taken: the program answers nothing
// for it. Locale makes the sentence from the code and the values.
type Refusal struct {
	Code   string // "unknown-key", "out-of-range", "looks-like-radius", …
	Field  string
	Values Values
	Line   int // 1-based, 0 when there is no position
	Column int
}

// Error is the terse form for logs; people read locale's sentence.
func (r Refusal) Error() string {
	s := r.Code
	if r.Field != "" {
		s += ": " + r.Field
	}
	if got := r.Values.Get("got"); got != "" {
		s += ": got " + got
	}
	return s
}

// Refusals are all the reasons one input was refused, in input order.
type Refusals []Refusal

func (r Refusals) Error() string {
	switch len(r) {
	case 0:
		return "no refusal"
	case 1:
		return r[0].Error()
	}
	return fmt.Sprintf("%s (and %d more)", r[0].Error(), len(r)-1)
}

// Err returns r as an error, nil when there is none.
func (r Refusals) Err() error {
	if len(r) == 0 {
		return nil
	}
	return r
}
