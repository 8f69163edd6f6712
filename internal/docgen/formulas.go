package main

import (
	"fmt"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"linn/internal/checkvalue"
	"linn/source"
)

// formulasDocument says for every formula where it comes from and what holds
// it.
func formulasDocument(root string) (string, error) {
	files, err := checkFiles(root)
	if err != nil {
		return "", err
	}
	files = slices.DeleteFunc(files, func(c checkvalue.File) bool { return !belongs(c) })
	var p page
	p.say("# Formulas")
	p.WriteString(generated)
	p.say("Each formula, its source, and the numbers it is held against by tests. %s", gradeWords)
	p.say("An outside number is one that a source prints and that reached us by grade a or b; where one does not agree, the reason stands below. Agreement with a number says that the code computes what the source computes; it does not say how well the formula predicts an eye.")
	p.table([]string{"formula", "code", "source", "check files", "outside numbers", "what holds it besides"}, formulaRows(formulas, files))
	withoutOutside(&p, files)
	p.say("## Check files")
	p.table([]string{"file", "source", "rows", "tolerance", "note"}, fileRows(files))
	p.say("## Where a printed value and ours differ")
	p.table([]string{"where", "output", "printed", "ours", "reason"}, disagreementRows(files))
	unconfirmed(&p, files)
	p.say("## Constants")
	p.say("Every declared constant, once.")
	p.table([]string{"name", "value", "unit", "source"}, constantRows(source.Constants()))
	p.say("## Works")
	p.table([]string{"key", "work", "how it was reached"}, workRows())
	return p.String(), nil
}

// checkFiles reads every file of check values below root, in path order.
func checkFiles(root string) ([]checkvalue.File, error) {
	files, err := checkvalue.LoadTree(root)
	if err != nil {
		return nil, err
	}
	for i := range files {
		rel, err := filepath.Rel(root, files[i].Path)
		if err != nil {
			return nil, err
		}
		files[i].Path = filepath.ToSlash(rel)
	}
	slices.SortFunc(files, func(a, b checkvalue.File) int { return strings.Compare(a.Path, b.Path) })
	return files, nil
}

// belongs reports whether a check file holds any formula; a test finds those
// that do not.
func belongs(c checkvalue.File) bool {
	return slices.ContainsFunc(formulas, func(f formula) bool {
		return slices.ContainsFunc(f.checks, func(p string) bool { return f.matches(p, c.Path) })
	})
}

// matches reports whether a check file belongs to a pattern of the formula.
func (f formula) matches(pattern, file string) bool {
	if pattern == file {
		return true
	}
	rest, ok := strings.CutPrefix(file, f.pkg+"/testdata/")
	hit, err := path.Match(pattern, rest)
	return ok && err == nil && hit
}

func (f formula) files(all []checkvalue.File, pattern string) (list []checkvalue.File) {
	for _, c := range all {
		if f.matches(pattern, c.Path) {
			list = append(list, c)
		}
	}
	return list
}

// outside counts the printed numbers of the formula that reached us by grade
// a or b, and how many of them we reproduce.
func (f formula) outside(all []checkvalue.File) (agree, printed int) {
	for _, p := range f.checks {
		for _, c := range f.files(all, p) {
			if !c.Published() || c.Grade != source.Read && c.Grade != source.Secondary {
				continue
			}
			for _, r := range c.Rows {
				for _, out := range c.Outputs {
					if !c.Printed(r, out) {
						continue
					}
					printed++
					if !slices.ContainsFunc(r.Disagrees, func(d checkvalue.Disagreement) bool { return d.Output == out }) {
						agree++
					}
				}
			}
		}
	}
	return agree, printed
}

// sources are the refs of a formula: its own and those of its constants,
// each work once at its worst grade.
func (f formula) sources() []source.Ref {
	worst := map[source.Key]source.Ref{}
	add := func(r source.Ref) {
		if old, ok := worst[r.Key]; !ok || r.Grade > old.Grade {
			worst[r.Key] = source.Ref{Key: r.Key, Grade: r.Grade}
		}
	}
	for _, r := range f.refs {
		add(r)
	}
	for _, c := range source.Constants() {
		if slices.ContainsFunc(f.constants, func(p string) bool { return strings.HasPrefix(c.Name, p) }) {
			add(c.Ref)
		}
	}
	return slices.SortedFunc(maps.Values(worst), func(a, b source.Ref) int { return strings.Compare(string(a.Key), string(b.Key)) })
}

func formulaRows(list []formula, files []checkvalue.File) (rows [][]string) {
	for _, f := range list {
		var refs, checks []string
		for _, r := range f.sources() {
			refs = append(refs, r.String())
		}
		for _, p := range f.checks {
			for _, c := range f.files(files, p) {
				checks = append(checks, fmt.Sprintf("%s [%s]", strings.TrimPrefix(c.Path, f.pkg+"/testdata/"), c.Grade))
			}
		}
		outside := "none"
		if agree, printed := f.outside(files); printed > 0 {
			outside = fmt.Sprintf("%d of %d agree", agree, printed)
		}
		rows = append(rows, []string{f.name, f.pkg + ": " + strings.Join(f.names, ", "), strings.Join(refs, "; "), strings.Join(checks, "; "), outside, f.standsIn})
	}
	return rows
}

func withoutOutside(p *page, files []checkvalue.File) {
	p.say("## Without an outside number")
	for _, f := range formulas {
		if agree, _ := f.outside(files); agree == 0 {
			fmt.Fprintf(p, "- %s: %s\n", f.name, f.standsIn)
		}
	}
	p.WriteString("\n")
}

func fileRows(files []checkvalue.File) (rows [][]string) {
	for _, f := range files {
		tolerance := "half of the last digit"
		if !f.Tolerance.HalfDigit {
			tolerance = number(f.Tolerance.Value)
		}
		if f.Tolerance.Reason != "" {
			tolerance += ": " + f.Tolerance.Reason
		}
		r := source.Ref{Key: f.Source, Where: f.Where, Grade: f.Grade}
		rows = append(rows, []string{f.Path, ref(r), strconv.Itoa(len(f.Rows)), tolerance, f.Note})
	}
	return rows
}

func disagreementRows(files []checkvalue.File) (rows [][]string) {
	for _, f := range files {
		for _, r := range f.Rows {
			for _, d := range r.Disagrees {
				printed, err := f.Text(r, d.Output)
				if err != nil {
					printed = "?"
				}
				rows = append(rows, []string{fmt.Sprintf("%s:%d", f.Path, r.Line), d.Output, printed, d.Ours, d.Reason})
			}
		}
	}
	return rows
}

// unconfirmed lists what was entered from memory.
func unconfirmed(p *page, files []checkvalue.File) {
	p.say("## Unconfirmed")
	p.say("Entered from memory (grade c) and not yet compared with the source. They run like any other.")
	var names []string
	for _, c := range source.Constants() {
		if c.Ref.Grade == source.Memory {
			names = append(names, c.Name)
		}
	}
	p.say("Constants: %s.", strings.Join(names, ", "))
	for _, f := range files {
		if f.Unconfirmed() {
			fmt.Fprintf(p, "- %s, %d rows\n", f.Path, len(f.Rows))
		}
	}
	p.WriteString("\n")
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func constantRows(list []source.Constant) (rows [][]string) {
	for _, c := range list {
		rows = append(rows, []string{"`" + c.Name + "`", number(c.Value), c.Unit, ref(c.Ref)})
	}
	return rows
}

func workRows() (rows [][]string) {
	for _, w := range source.Works() {
		rows = append(rows, []string{string(w.Key), w.Citation, w.Note})
	}
	return rows
}
