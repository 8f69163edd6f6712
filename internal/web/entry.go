package web

import (
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// EntryView is one field of a form that is tapped more than typed: words as
// buttons, numbers and texts as fields.
type EntryView struct {
	ID, Name, Label string
	Group           string // the step: leaving it saves
	Kind            string // word, number, clock, day, text
	Options         []Option
	Value, Unit     string
	Message         string
	Only            string // techniques it belongs to, as classes
	Planned         string // what the plan says, shown beside it
	Now             bool   // a button puts this moment in
}

// entry makes a field's view; text is what stands there.
func (s *server) entry(f *pathway.OperationField, text string, bad map[string]finding.Refusal) EntryView {
	v := EntryView{ID: "f-" + f.Key, Group: f.Step, Name: "v." + f.Key, Label: s.label(f.Key), Kind: string(f.Kind), Value: text, Unit: f.Unit}
	if r, is := bad[f.Key]; is {
		v.Message = s.entryText(r)
	}
	for _, t := range f.Only {
		v.Only += " only-" + string(t)
	}
	if f.Kind != pathway.WordField {
		return v
	}
	unknown := text != ""
	for _, w := range f.Words {
		v.Options = append(v.Options, Option{Value: w, Text: s.word(f.Key, w), Chosen: w == text})
		unknown = unknown && w != text
	}
	if unknown { // another program's word stands until somebody taps another
		v.Options = append(v.Options, Option{Value: text, Text: text, Chosen: true})
	}
	if text != "" {
		v.Options = append(v.Options, Option{Value: "", Text: s.t("entry.clear")})
	}
	return v
}

// word is a word of a form in the trade's words.
func (s *server) word(field, w string) string { return s.keyOrText2("word."+field+"."+w, w) }

func (s *server) keyOrText2(key, text string) string {
	if locale.Has(key) {
		return s.t(key)
	}
	return text
}

// said is what stands in a field, in words and with its unit; "" when nothing.
func (s *server) said(f *pathway.OperationField, text string) string {
	switch {
	case text == "":
		return ""
	case f.Kind == pathway.WordField:
		return s.word(f.Key, text)
	case f.Kind != pathway.NumberField:
		return text
	}
	v, err := unit.ParseNumber(text)
	switch {
	case err != nil:
		return text
	case f.Unit == "D":
		return unit.Dioptre(v).String()
	case f.Unit == "°":
		return unit.Fixed(v, f.Decimals) + "°"
	case f.Unit == "":
		return unit.Fixed(v, f.Decimals)
	}
	return unit.Fixed(v, f.Decimals) + unit.Thin + f.Unit
}

// SaidView is a field as it reads: what, and what of it.
type SaidView struct{ Label, Text string }

// findingLines are findings of an operation or a visit as they read.
func (s *server) findingLines(list []finding.Finding) (out []*Mark) {
	for _, sev := range []finding.Severity{finding.Stop, finding.Caution, finding.Note} {
		for _, f := range list {
			if f.Severity == sev {
				out = append(out, s.mark(s.worded(f)))
			}
		}
	}
	return out
}

// worded turns words of a form that stand in a finding into the trade's.
func (s *server) worded(f finding.Finding) finding.Finding {
	values := make(finding.Values, len(f.Values))
	for i, v := range f.Values {
		values[i] = v
		switch v.Name {
		case "what":
			values[i].Text = s.keyOrText2("complication."+v.Text, v.Text)
		case "planned":
			values[i].Text = s.keyOrText2("word."+f.Field+"."+v.Text, v.Text)
		}
	}
	f.Values = values
	return f
}

// complication is one complication as a sentence.
func (w words) complication(c pathway.Complication) string {
	parts := []string{w.either("complication.", c.Kind)}
	for _, p := range [][2]string{{"step.held.", c.Step}, {"size.", c.Size}, {"vitreous.", c.Vitreous}, {"handling.", c.Handling}} {
		if p[1] == "" {
			continue
		}
		text := w.either(p[0], p[1])
		if p[0] == "vitreous." {
			text = w.t("complication.vitreous-is", "what", text)
		}
		parts = append(parts, text)
	}
	if c.Note != "" {
		parts = append(parts, c.Note)
	}
	return strings.Join(parts, ", ")
}

func (w words) either(prefix, key string) string {
	if locale.Has(prefix + key) {
		return w.t(prefix + key)
	}
	return key
}

func index(n int) string { return strconv.Itoa(n) }
