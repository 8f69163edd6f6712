package outcome

import (
	"slices"

	"linn/eye"
	"linn/internal/care/operation"
	"linn/source"
	"linn/unit"
)

// Reason is why a refraction was left out.
type Reason string

// The reasons, in the order in which they are looked for. Those of the record
// come first: a row whose days cannot be true is not judged further.
const (
	Duplicate     Reason = "duplicate"               // the same id, or the same eye, day and lens, again
	Ahead         Reason = "date-ahead"              // operated on or refracted after today
	BeforeSurgery Reason = "before-operation"        // refracted before the operation
	NotFirst      Reason = "eye-order"               // not the first eye, or not known
	Operated      Reason = "corneal-surgery"         // or not known
	NotInBag      Reason = "lens-place"              // or not known
	Ruptured      Reason = "capsule-rupture"         // or not known
	WithSutures   Reason = "sutured"                 // or not known
	PoorAcuity    Reason = "corrected-va"            // worse than 0.30 logMAR, or not known
	OutsideWindow Reason = "days-after-operation"    // or not known
	NoLensPower   Reason = "lens-power-not-recorded" // nothing can be predicted
)

// Reasons lists the reasons in order.
var Reasons = []Reason{Duplicate, Ahead, BeforeSurgery, NotFirst, Operated, NotInBag, Ruptured, WithSutures, PoorAcuity, OutsideWindow, NoLensPower}

// Our choices of what a refraction must be to judge a calculation by.
var (
	worstAcuity = source.Declare(source.Constant{Name: "outcome.corrected_va", Value: 0.30, Unit: "logMAR", Ref: source.Ref{Key: source.AuditProtocols, Where: "corrected acuity 6/12 or better", Grade: source.Memory}})
	phacoFrom   = window("phaco_from", 28)
	phacoUntil  = window("phaco_until", 120)
	manualFrom  = window("manual_from", 42)
	manualUntil = window("manual_until", 180)
)

func window(name string, days float64) int {
	return int(source.Declare(source.Constant{Name: "outcome." + name, Value: days, Unit: "d", Ref: source.Ref{Key: source.OwnChoice, Where: "days from operation to refraction", Grade: source.Own}}))
}

// Window is the days after the operation, both included, in which a refraction
// is stable enough to judge a calculation by; known is false for a technique
// that nobody recorded.
func Window(t operation.Technique) (from, until int, known bool) {
	switch t {
	case operation.Phaco:
		return phacoFrom, phacoUntil, true
	case operation.MSICS, operation.ECCE:
		return manualFrom, manualUntil, true
	}
	return 0, 0, false
}

// test is one rule: the column without which it is not applied ("" when it
// always is) and whether an operation passes.
type test struct {
	reason Reason
	column string
	pass   func(Operation) bool
}

// tests are the rules after those of the record.
var tests = []test{
	{NotFirst, "eye_order", func(o Operation) bool { return o.Order == First }},
	{Operated, "corneal_surgery", func(o Operation) bool { return o.Eye.CornealSurgery == eye.NoSurgery }},
	{NotInBag, "lens_place", func(o Operation) bool { return o.Place == Bag }},
	{Ruptured, "capsule_rupture", func(o Operation) bool { return o.Rupture == eye.No }},
	{WithSutures, "sutured", func(o Operation) bool { return o.Sutured == eye.No }},
	{PoorAcuity, "corrected_va_logmar", func(o Operation) bool {
		return o.Corrected.Known && float64(o.Corrected.Value) <= worstAcuity+guard
	}},
	{OutsideWindow, "refraction_date", inWindow},
	{NoLensPower, "", func(o Operation) bool { return o.Lens.Known }},
}

// guard absorbs the binary rounding of a printed decimal, nothing more.
const guard = 1e-9

func inWindow(o Operation) bool {
	days, known := o.Days()
	from, until, told := Window(o.Technique)
	return known && told && days >= from && days <= until
}

// Asked is what [Choose] goes by.
type Asked struct {
	Operations []Operation
	Columns    []string  // recorded at all; a rule of another column is not applied
	Today      unit.Date // the zero Date: no day is called ahead
	BothEyes   bool      // second eyes count too; the interval must then know the patient
}

// Exclusion is one refraction that was left out.
type Exclusion struct {
	Operation Operation
	Reason    Reason
}

// Chosen is which refractions are judged.
type Chosen struct {
	Used       []Operation
	Excluded   []Exclusion
	Missing    []Operation // without a refraction
	NotApplied []string    // columns of the rules that were not applied
}

// Choose applies the rules of eligibility in their order, each refraction
// being counted once.
func Choose(a Asked) (c Chosen) {
	rules := a.rules(&c)
	seen := map[string]bool{}
	for _, o := range a.Operations {
		again := known(seen, o)
		if !o.Refracted() {
			c.Missing = append(c.Missing, o)
			continue
		}
		if r := reason(o, rules, again, a.Today); r != "" {
			c.Excluded = append(c.Excluded, Exclusion{o, r})
			continue
		}
		c.Used = append(c.Used, o)
	}
	return c
}

// rules are those that apply; the others are named in c.
func (a Asked) rules(c *Chosen) (list []test) {
	for _, t := range tests {
		switch {
		case t.reason == NotFirst && a.BothEyes:
		case t.column != "" && !slices.Contains(a.Columns, t.column):
			c.NotApplied = append(c.NotApplied, t.column)
		default:
			list = append(list, t)
		}
	}
	return list
}

// known says whether an operation was met before, by its id or by its eye and
// day, and remembers it.
func known(seen map[string]bool, o Operation) bool {
	again := false
	mark := func(key string) {
		again = again || seen[key]
		seen[key] = true
	}
	if o.ID != "" {
		mark("id\x00" + o.ID)
	}
	if o.Patient != "" && o.Eye.Side != "" && o.On.Known() {
		mark("eye\x00" + o.Patient + "\x00" + string(o.Eye.Side) + "\x00" + o.On.String())
	}
	return again
}

func reason(o Operation, rules []test, again bool, today unit.Date) Reason {
	days, dated := o.Days()
	switch {
	case again:
		return Duplicate
	case today.Known() && (today.Before(o.On) || today.Before(o.RefractedOn)):
		return Ahead
	case dated && days < 0:
		return BeforeSurgery
	}
	for _, t := range rules {
		if !t.pass(o) {
			return t.reason
		}
	}
	return ""
}

// Count is how many refractions fell under one reason.
type Count struct {
	Reason Reason `json:"reason"`
	N      int    `json:"n"`
}

// Counts counts the exclusions in the order of the reasons; reasons that met
// nobody are left out.
func (c Chosen) Counts() (list []Count) {
	n := map[Reason]int{}
	for _, x := range c.Excluded {
		n[x.Reason]++
	}
	for _, r := range Reasons {
		if n[r] > 0 {
			list = append(list, Count{r, n[r]})
		}
	}
	return list
}
