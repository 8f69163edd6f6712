package technique

import (
	"linn/finding"
	"linn/source"
)

// Kind is what a rule does.
type Kind string

// The kinds. A gate asks for something first; a lean speaks for one technique;
// a note tells; a path names a way of its own; the last speaks of anaesthesia.
const (
	Gate        Kind = "gate"
	Lean        Kind = "lean"
	Note        Kind = "note"
	Path        Kind = "path"
	Anaesthesia Kind = "anaesthesia"
)

// The directions of leans and of anaesthesia.
const (
	TowardPhaco        = "phaco"
	TowardManual       = "msics"
	TowardECCE         = "ecce"
	TowardNeither      = "neither"
	Topical            = "topical"
	TopicalChamber     = "topical-intracameral"
	SubTenon           = "sub-tenon"
	Peribulbar         = "peribulbar"
	GeneralAnaesthesia = "general"
)

// Rule is one rule as data.
type Rule struct {
	ID       string
	Kind     Kind
	Toward   []string // leans: the technique; anaesthesia: the methods
	Against  bool     // anaesthesia: speaks against, not for
	Strength int      // 1 to 3, for the order of display only
	Ref      source.Ref
	Finding  finding.Rule // its code is the ID

	when condition
}

// Reads lists the keys the rule can read.
func (r *Rule) Reads() []string { return r.when.reads() }

func ref(key source.Key, grade source.Grade, where string) source.Ref {
	return source.Ref{Key: key, Grade: grade, Where: where}
}

var (
	custom = ref(source.CommonPractice, source.Memory, "")
	ours   = ref(source.OwnChoice, source.Own, "")
)

type shape struct {
	severity finding.Severity
	gate     bool
}

var (
	tells  = shape{finding.Note, false}
	warns  = shape{finding.Caution, false}
	blocks = shape{finding.Caution, true}
)

func declare(r Rule, s shape) Rule {
	r.Finding = finding.Declare(finding.Rule{Code: r.ID, Severity: s.severity, Gate: s.gate, Ref: r.Ref, Limit: r.when.text()})
	return r
}

func gate(id string, s shape, from source.Ref, when condition) Rule {
	return declare(Rule{ID: id, Kind: Gate, Strength: 3, Ref: from, when: when}, s)
}

func lean(id, toward string, strength int, from source.Ref, when condition) Rule {
	return declare(Rule{ID: id, Kind: Lean, Toward: []string{toward}, Strength: strength, Ref: from, when: when}, tells)
}

func note(id string, from source.Ref, when condition) Rule {
	return declare(Rule{ID: id, Kind: Note, Strength: 1, Ref: from, when: when}, tells)
}

func path(id string, s shape, from source.Ref, when condition) Rule {
	return declare(Rule{ID: id, Kind: Path, Strength: 3, Ref: from, when: when}, s)
}

func suits(id string, from source.Ref, when condition, methods ...string) Rule {
	return declare(Rule{ID: id, Kind: Anaesthesia, Toward: methods, Strength: 2, Ref: from, when: when}, tells)
}

// speaksAgainst tells why a method of anaesthesia is not advised; with
// strength 3 the method is barred until the answer changes.
func speaksAgainst(id string, strength int, from source.Ref, when condition, methods ...string) Rule {
	return declare(Rule{ID: id, Kind: Anaesthesia, Toward: methods, Against: true, Strength: strength, Ref: from, when: when}, tells)
}
