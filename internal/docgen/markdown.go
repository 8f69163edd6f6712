package main

import (
	"fmt"
	"strings"

	"linn/source"
)

// page is markdown in the making.
type page struct{ strings.Builder }

func (p *page) say(format string, args ...any) { fmt.Fprintf(p, format+"\n\n", args...) }

// table writes a table; an empty one is left out.
func (p *page) table(heads []string, rows [][]string) {
	if len(rows) == 0 {
		return
	}
	line := func(cells []string) {
		p.WriteString("| " + strings.Join(cells, " | ") + " |\n")
	}
	line(heads)
	rule := make([]string, len(heads))
	for i := range rule {
		rule[i] = "---"
	}
	line(rule)
	for _, r := range rows {
		for i := range r {
			r[i] = cell(r[i])
		}
		line(r)
	}
	p.WriteString("\n")
}

// cell keeps a text inside its cell.
func cell(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	return strings.ReplaceAll(s, "|", "\\|")
}

func ref(r source.Ref) string { return cell(r.String()) }

// gradeWords explains the grades once.
const gradeWords = "Grades: **a** read in the source; **b** read in a secondary source, named; **c** from memory, unconfirmed until somebody compares it with the source; **d** our own arithmetic or choice."
