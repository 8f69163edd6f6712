package main

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/paper"
	"linn/internal/pathway"
)

// techniqueCommand judges the rules of technique for one eye.
type techniqueCommand struct {
	File string `arg:"" help:"${help_technique_file}"`
	JSON bool   `help:"${help_json}"`
}

func (c *techniqueCommand) Run(a *app) error {
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	answer, refused := pathway.Technique(data)
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	if c.JSON {
		return a.json(answer)
	}
	return paper.Text(a.out, a.writer().technique(&answer))
}

// technique is the decision in words: gates, leans to each technique, other
// notes, anaesthesia, risks, and what was not answered.
func (w writer) technique(t *pathway.TechniqueAnswer) *paper.Answer {
	d := &t.Decision
	a := &paper.Answer{Side: t.Side.Words(), Parts: []paper.Part{{Heading: w.T("decide.gates"), Said: w.said(t.Findings)}}, Footer: []string{locale.T(w.lang, "footer.licensed")}}
	for _, to := range pathway.Techniques {
		a.Parts = append(a.Parts, paper.Part{Heading: w.T("decide.leans", value("technique", w.T("operation."+to))), Lines: w.orNone(w.rules(d.LeansTo(to)))})
	}
	var others []pathway.Fired
	for _, f := range d.Fired {
		if f.Kind == "note" || f.Kind == "lean" && slices.Contains(f.Toward, "neither") {
			others = append(others, f)
		}
	}
	a.Parts = append(a.Parts, paper.Part{Heading: w.T("decide.paths"), Lines: append(w.rules(others), w.T("decide.equal"))})
	a.Parts = append(a.Parts, w.anaesthesia(d), paper.Part{Heading: w.T("decide.risks"), Lines: w.risks(t.Risks)})
	var open []string
	for _, key := range d.Unanswered {
		open = append(open, w.Field(key))
	}
	last := paper.Part{Heading: w.T("decide.not-answered", value("n", strconv.Itoa(len(open)))), Lines: []string{strings.Join(open, "; "),
		w.T("decide.not-judged", value("n", strconv.Itoa(len(d.NotJudged)))), w.T("decide.precautions")}}
	if len(open) == 0 {
		last.Lines = last.Lines[1:]
	}
	if len(d.Tray) > 0 {
		a.Parts = append(a.Parts, paper.Part{Lines: []string{w.tray(d.Tray)}})
	}
	a.Parts = append(a.Parts, last)
	return a
}

func (w writer) orNone(lines []string) []string {
	if len(lines) == 0 {
		return []string{w.T("decide.none")}
	}
	return lines
}

// rules says what fired with what it rests on and how well its source was
// read.
func (w writer) rules(list []pathway.Fired) (lines []string) {
	for _, f := range list {
		values := make(finding.Values, 0, len(f.Rests))
		for _, e := range f.Rests {
			values = append(values, value(e.Key, e.Text))
		}
		lines = append(lines, "– "+w.Finding(finding.Finding{Code: f.ID, Values: values})+" ["+string(f.Source)+", "+string(f.Grade)+"]")
	}
	return lines
}

func (w writer) anaesthesia(d *pathway.Decision) paper.Part {
	p := paper.Part{Heading: w.T("decide.anaesthesia")}
	said := map[string]bool{}
	for _, c := range d.Anaesthesia {
		line := w.T("anaesthesia." + c.Method)
		if c.Barred {
			line += ": " + w.T("anaesthesia.barred")
		}
		p.Lines = append(p.Lines, line)
		for _, ids := range [][]string{c.Against, c.For} {
			for _, id := range ids {
				if !said[c.Method+id] {
					p.Lines, said[c.Method+id] = append(p.Lines, "  – "+w.Finding(finding.Finding{Code: id})), true
				}
			}
		}
	}
	return p
}

func (w writer) tray(items []string) string {
	var names, reasons []string
	for _, i := range items {
		names = append(names, w.T("tray."+i))
	}
	for _, r := range pathway.Triggers {
		reasons = append(reasons, w.T("trigger."+r))
	}
	return w.T("decide.tray", value("items", strings.Join(names, ", ")), value("reasons", strings.Join(reasons, ", ")))
}

func (w writer) risks(list []pathway.Risk) (lines []string) {
	for _, r := range list {
		lines = append(lines, w.risk(&r)...)
	}
	return append(lines, w.T("risk.coarse"))
}

func thousand(n pathway.Number) string { return strconv.Itoa(int(math.Round(1000 * n.Value))) }
func whole(n pathway.Number) string    { return strconv.Itoa(int(n.Value)) }

// risk is one estimate: its own outcome, place and years always with it.
func (w writer) risk(r *pathway.Risk) (lines []string) {
	v := []finding.Value{value("outcome", w.T("outcome."+r.Outcome)), value("model", w.T("model."+r.Model)), value("years", r.Years), value("n", thousand(r.P)),
		value("points", whole(r.Points)), value("most", whole(r.Most)), value("low", thousand(r.Low)), value("high", thousand(r.High))}
	missing := value("n", strconv.Itoa(len(r.Missing)))
	if r.NoModel {
		return []string{w.T("risk.none", v...)}
	}
	v = append(v, value("setting", w.T("setting."+r.Setting)))
	switch {
	case r.P.Known && r.P.Value < 0.001:
		lines = append(lines, w.T("risk.under", v...))
	case r.P.Known:
		lines = append(lines, w.T("risk.line", v...))
	default:
		lines = append(lines, w.T("risk.points", v...))
	}
	if r.Interval95 {
		group := w.T("risk.group", value("group", whole(r.Group)), v[4])
		lines = append(lines, "  "+w.T("risk.interval", append(v, value("group", group))...))
	} else if r.P.Known && len(r.Missing) > 0 {
		lines = append(lines, "  "+w.T("risk.range", value("low", thousand(r.Low)), value("high", thousand(r.High)), missing))
	}
	if r.Points.Known && len(r.Missing) > 0 {
		lines = append(lines, "  "+w.T("risk.points.range", value("most", whole(r.Most)), missing))
	}
	if r.Old && !r.Unit {
		lines = append(lines, "  "+w.T("risk.old"))
	}
	return lines
}
