package paper

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"strings"
	"text/tabwriter"

	"linn/finding"
)

// Answer is an answer in words, ready to be shown as text or as a page that
// stands alone. Every number in it is already printed.
type Answer struct {
	Title  string // of the page
	Side   string // RIGHT EYE, LEFT EYE
	Lines  []string
	Flag   string // stands beside the side: NOT SIGNED
	Parts  []Part
	Footer []string
}

// Part is one part of an answer: what was found, a table, sentences.
type Part struct {
	Heading string
	Said    []Said
	Table   *Table
	Lines   []string
}

// Said is one finding in words.
type Said struct {
	Severity finding.Severity
	Word     string // note, caution, STOP
	Text     string
}

// Table is a table of printed values. The first column names the row.
type Table struct {
	Head []string
	Rows [][]string
}

// marks are the shapes of the severities; the word stands beside them.
var marks = map[finding.Severity]string{finding.Stop: "■", finding.Caution: "◆", finding.Note: "·"}

// Mark is the shape of the severity.
func (s Said) Mark() string { return marks[s.Severity] }

// Class names the severity for the style sheet.
func (s Said) Class() string { return s.Severity.String() }

// Text writes the answer as plain text, the eye first.
func Text(w io.Writer, a *Answer) error {
	var b strings.Builder
	b.WriteString(strings.TrimSpace(a.Side+"   "+a.Flag) + "\n")
	lines(&b, a.Lines)
	b.WriteString("\n")
	for i := range a.Parts {
		a.Parts[i].text(&b)
	}
	lines(&b, a.Footer)
	for line := range strings.Lines(b.String()) {
		if _, err := io.WriteString(w, strings.TrimRight(line, " \n")+"\n"); err != nil {
			return err
		}
	}
	return nil
}

func lines(b *strings.Builder, list []string) {
	for _, l := range list {
		b.WriteString(l + "\n")
	}
}

func (p *Part) text(b *strings.Builder) {
	if p.Heading == "" && len(p.Said) == 0 && p.Table == nil && len(p.Lines) == 0 {
		return
	}
	if p.Heading != "" {
		b.WriteString(p.Heading + "\n")
	}
	for _, s := range p.Said {
		fmt.Fprintf(b, "%s %-7s  %s\n", s.Mark(), s.Word, s.Text)
	}
	if p.Table != nil {
		tab := tabwriter.NewWriter(b, 0, 0, 3, ' ', 0)
		for _, row := range append([][]string{p.Table.Head}, p.Table.Rows...) {
			if len(row) > 0 {
				fmt.Fprintln(tab, strings.Join(row, "\t"))
			}
		}
		tab.Flush() // into memory: it cannot fail
	}
	lines(b, p.Lines)
	b.WriteString("\n")
}

//go:embed answer.tmpl answer.css
var pageFiles embed.FS

var pageTemplate = template.Must(template.ParseFS(pageFiles, "answer.tmpl"))

// HTML writes the answer as one page that needs nothing beside it.
func HTML(w io.Writer, a *Answer) error {
	css, err := pageFiles.ReadFile("answer.css")
	if err != nil {
		panic("paper: " + err.Error()) // an embedded file
	}
	head := "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n<title>" +
		template.HTMLEscapeString(a.Title) + "</title>\n<style>\n" + string(css) + "</style>\n</head>\n"
	if _, err := io.WriteString(w, head); err != nil {
		return err
	}
	return pageTemplate.Execute(w, a)
}
