// Package source holds where the numbers come from: publications as Go
// identifiers, so that a wrong key does not compile, how well each was read,
// every published constant once, and the steps of a working that cite them.
package source

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
)

// Grade says how a fact reached this program.
type Grade string

// The grades, best first.
const (
	Read      Grade = "a" // read in the source itself
	Secondary Grade = "b" // read in a secondary source, named in the Ref
	Memory    Grade = "c" // from memory; unconfirmed until read
	Own       Grade = "d" // own arithmetic or own choice
)

// Valid reports whether g is one of the four grades.
func (g Grade) Valid() bool { return g == Read || g == Secondary || g == Memory || g == Own }

// Key identifies a publication in the registry.
type Key string

// Work is one registered publication or practice.
type Work struct {
	Key      Key
	Citation string // authors, year, journal or standard, pages
	Note     string // what could and could not be read
}

// Ref points at a place in a Work.
type Ref struct {
	Key   Key
	Where string // equation, table, page or section
	Grade Grade
}

// String writes "key, where [grade]".
func (r Ref) String() string {
	if r.Where == "" {
		return fmt.Sprintf("%s [%s]", r.Key, r.Grade)
	}
	return fmt.Sprintf("%s, %s [%s]", r.Key, r.Where, r.Grade)
}

var works = map[Key]Work{}

func register(key Key, citation, note string) Key {
	if _, twice := works[key]; twice {
		panic("source: key registered twice: " + string(key))
	}
	works[key] = Work{key, citation, note}
	return key
}

// Lookup returns the Work behind key.
func Lookup(key Key) (Work, bool) { w, ok := works[key]; return w, ok }

// Works lists the registry in key order.
func Works() []Work {
	list := slices.Collect(maps.Values(works))
	slices.SortFunc(list, func(a, b Work) int { return cmp.Compare(a.Key, b.Key) })
	return list
}

// Constant is one published number, declared once in the package that uses it.
type Constant struct {
	Name  string // "srk-t.axial-length-linear"
	Value float64
	Unit  string // "" for a pure number
	Ref   Ref
}

var constants = map[string]Constant{}

// Declare enters c into the registry and returns its value. It panics when
// the name is already declared with another value, the key is unknown or the
// grade is not one of the four: our own broken invariant.
func Declare(c Constant) float64 {
	if old, twice := constants[c.Name]; twice && old.Value != c.Value {
		panic(fmt.Sprintf("source: %s declared as %g and %g", c.Name, old.Value, c.Value))
	}
	if _, ok := works[c.Ref.Key]; !ok || !c.Ref.Grade.Valid() {
		panic("source: " + c.Name + " cites an unknown work or grade")
	}
	constants[c.Name] = c
	return c.Value
}

// Constants lists the declared constants in name order.
func Constants() []Constant {
	list := slices.Collect(maps.Values(constants))
	slices.SortFunc(list, func(a, b Constant) int { return cmp.Compare(a.Name, b.Name) })
	return list
}

// Step is one line of a working. Name is a key that locale turns into words.
type Step struct {
	Name   string
	Symbol string // as the source writes it, in ASCII
	Value  float64
	Unit   string
	Ref    Ref
}
