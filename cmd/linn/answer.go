package main

import (
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/unit"
)

// writer puts answers into the words of one language.
type writer struct{ words }

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

// lens is the answer of the lens methods: what was found, the methods, what
// they have to say.
func (w writer) lens(e *eye.Eye, a *pathway.LensAnswer) *paper.Answer {
	var said []finding.Finding
	table := &paper.Table{Head: []string{w.T("text.method"), w.T("text.position"), w.T("text.power"), w.T("text.shelf")}}
	for _, m := range a.Methods {
		choices := make([]string, len(m.Choices))
		for i, c := range m.Choices {
			choices[i] = signed(c.Power) + ": " + signed(c.Refraction)
		}
		table.Rows = append(table.Rows, []string{w.Method(m.Method), w.millimetres(m.LensPosition), w.dioptres(m.Power), strings.Join(choices, "   ")})
		said = append(said, m.Findings...)
	}
	return &paper.Answer{Side: a.Side.Words(), Lines: []string{w.readings(e)}, Footer: w.footer(), Parts: []paper.Part{
		{Said: w.said(a.Findings)}, {Table: table, Lines: append(w.afterSurgery(a.AfterSurgery), w.absent(a.Findings)...)}, w.beside(a.Lengths), w.children(a.Children), {Said: w.said(said)}}}
}

// afterSurgery is what the methods after corneal surgery say together.
func (w writer) afterSurgery(s *pathway.AfterSurgery) []string {
	if s == nil || !s.Median.Known {
		return nil
	}
	methods, median := value("methods", strings.Join(w.methodNames(s.Methods), "; ")), value("median", w.dioptres(s.Median))
	if !s.Spread.Known {
		return []string{w.T("text.after-surgery.one", methods, median)}
	}
	return []string{w.T("text.after-surgery", methods, median, value("low", w.dioptres(s.Lowest)), value("high", w.dioptres(s.Highest)), value("spread", w.unsigned(s.Spread)))}
}

// readings repeats what was read, so that a wrong file shows.
func (w writer) readings(e *eye.Eye) string {
	target := w.T("text.not-recorded")
	if e.Target.Known {
		target = e.Target.Value.String()
	}
	return w.T("text.readings", value("length", e.AxialLength.Value.String()), value("flat", e.KFlat.Value.Unsigned()),
		value("steep", e.KSteep.Value.Unsigned()), value("target", target))
}

// said puts findings into words, the worst first, the notes of the strict
// screening limits as one line. Methods that were left out are told beside
// the methods.
func (w writer) said(list []finding.Finding) (out []paper.Said) {
	list = slices.Clone(list)
	rank := func(f finding.Finding) int {
		if f.Gate { // what blocks stands before what only shows
			return 2*int(f.Severity) + 1
		}
		return 2 * int(f.Severity)
	}
	slices.SortStableFunc(list, func(a, b finding.Finding) int { return rank(b) - rank(a) })
	var strict, unknown []string
	for _, f := range list {
		switch {
		case f.Code == methodAbsent:
		case f.Code == notRecorded: // one line for all
			if unknown = append(unknown, w.Field(f.Field)); len(unknown) == 1 {
				out = append(out, paper.Said{Severity: f.Severity, Word: w.Severity(f.Severity)})
			}
		case f.Strict && f.Severity == finding.Note:
			strict = append(strict, w.Field(f.Field))
		default:
			if text := w.Finding(w.together(list, f)); !slices.ContainsFunc(out, func(s paper.Said) bool { return s.Text == text }) {
				out = append(out, paper.Said{Severity: f.Severity, Word: w.Severity(f.Severity), Text: text})
			}
		}
	}
	for i := range out {
		if out[i].Text == "" {
			out[i].Text = w.T("finding."+notRecorded, value("field", strings.Join(unknown, ", ")))
		}
	}
	if len(strict) > 0 {
		slices.Sort(strict)
		out = append(out, paper.Said{Severity: finding.Note, Word: w.Severity(finding.Note),
			Text: w.T("text.strict", value("fields", strings.Join(slices.Compact(strict), ", ")))})
	}
	return out
}

// together names, in the place of one method, every method of which the same
// is said. A name that is no id is printed as it stands.
func (w writer) together(list []finding.Finding, f finding.Finding) finding.Finding {
	if f.Method == "" {
		return f
	}
	var ids []string
	for _, x := range list {
		if x.Code == f.Code && x.Field == f.Field && slices.Equal(x.Values, f.Values) && !slices.Contains(ids, x.Method) {
			ids = append(ids, x.Method)
		}
	}
	f.Method = strings.Join(w.methodNames(ids), "; ")
	return f
}

// Findings that are told together.
const (
	methodAbsent = "method-absent"
	notRecorded  = "not-recorded"
)

// absent names the methods that were left out, and why.
func (w writer) absent(list []finding.Finding) (out []string) {
	for _, f := range list {
		if f.Code == methodAbsent {
			out = append(out, w.Finding(f))
		}
	}
	return out
}

func (w writer) dioptres(n pathway.Number) string {
	if !n.Known {
		return w.T("text.none")
	}
	return unit.Dioptre(n.Value).String()
}

// unsigned writes a difference or a spread.
func (w writer) unsigned(n pathway.Number) string {
	if !n.Known {
		return w.T("text.none")
	}
	return unit.Dioptre(n.Value).Unsigned()
}

func (w writer) millimetres(n pathway.Number) string {
	if !n.Known {
		return w.T("text.none")
	}
	return unit.Millimetre(n.Value).String()
}

// signed writes a power or a refraction in a table whose head names the unit.
func signed(n pathway.Number) string {
	if !n.Known {
		return "–"
	}
	return unit.Signed(n.Value, 2)
}

func percent(n pathway.Number) string {
	if !n.Known {
		return "–"
	}
	return unit.Percent(n.Value).String()
}

func (w writer) footer() []string {
	return []string{locale.T(w.lang, "footer.licensed"), locale.T(w.lang, "footer.length")}
}
