package main

import (
	"slices"

	"linn/finding"
	"linn/internal/locale"
)

// findingsDocument lists every declared rule, the gravest first.
func findingsDocument() string {
	var p page
	p.say("# Findings")
	p.WriteString(generated)
	p.say("Everything linn can say about an eye. A **stop** blocks signing; an absolute stop has no override. A **caution** shows; with a gate it blocks signing until the reading is repeated or a senior passes it with a reason. A **note** informs; notes marked strict are shown to people as one line. Codes are stable: scripts may rely on them. {Words in braces} are filled with values that already carry their unit.")
	p.say(gradeWords)
	rules := finding.Rules()
	for _, s := range []finding.Severity{finding.Stop, finding.Caution, finding.Note} {
		p.say("## %s", locale.Severity(locale.English, s))
		p.table([]string{"code", "when", "says", "source"}, ruleRows(rules, s))
	}
	return p.String()
}

func ruleRows(rules []finding.Rule, s finding.Severity) (rows [][]string) {
	for _, r := range rules {
		if r.Severity != s {
			continue
		}
		marks := ""
		for _, m := range []struct {
			on   bool
			word string
		}{{r.Absolute, "absolute"}, {r.Gate, "gate"}, {r.Strict, "strict"}} {
			if m.on {
				marks += " (" + m.word + ")"
			}
		}
		rows = append(rows, []string{"`" + r.Code + "`" + marks, r.Limit, locale.T(locale.English, "finding."+r.Code), ref(r.Ref)})
	}
	return rows
}

// wordless lists the rules that the reference language has no words for.
func wordless() (codes []string) {
	for _, r := range finding.Rules() {
		if !locale.Has("finding." + r.Code) {
			codes = append(codes, r.Code)
		}
	}
	slices.Sort(codes)
	return codes
}
