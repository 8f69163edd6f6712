package technique

import (
	"slices"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Version is the version of the rules.
const Version = "1"

// Evidence is one answer that a rule read.
type Evidence struct {
	Key  string `json:"key"`
	Text string `json:"text"` // the word, or the number with its unit; "" was not answered
}

// Fired is a rule that fired.
type Fired struct {
	ID       string       `json:"id"`
	Kind     Kind         `json:"kind"`
	Toward   []string     `json:"toward,omitempty"`
	Against  bool         `json:"against,omitempty"`
	Strength int          `json:"strength"`
	Gate     bool         `json:"gate,omitempty"`
	Rests    []Evidence   `json:"rests_on"`
	Source   source.Key   `json:"source"`
	Where    string       `json:"where,omitempty"`
	Grade    source.Grade `json:"grade"`
}

// Unjudged is a rule that could not be judged, and what it lacks.
type Unjudged struct {
	ID    string   `json:"id"`
	Lacks []string `json:"lacks"`
}

// Choice is one method of anaesthesia with what speaks for and against it.
type Choice struct {
	Method  string   `json:"method"`
	For     []string `json:"for"`     // rules
	Against []string `json:"against"` // rules
	Barred  bool     `json:"barred"`  // not until an answer changes, or the local protocol and the person giving it decide otherwise
}

// Decision is every rule that fired for one eye. It holds no score and no
// recommendation.
type Decision struct {
	Version     string     `json:"version"`
	Fired       []Fired    `json:"fired"`       // gates, paths, leans by strength, notes, anaesthesia
	NotJudged   []Unjudged `json:"not_judged"`  // rules
	Unanswered  []string   `json:"unanswered"`  // questions that some rule reads
	Anaesthesia []Choice   `json:"anaesthesia"` // every method
	Tray        []string   `json:"conversion_tray"`
}

// Rules lists all rules in the order of display.
func Rules() []Rule { return rules }

var rules = slices.Concat(Gates, Paths, Leans, Notes, AnaesthesiaRules)

// read are the keys that some rule reads.
var read = func() map[string]bool {
	m := map[string]bool{}
	for i := range rules {
		for _, key := range rules[i].Reads() {
			m[key] = true
		}
	}
	return m
}()

// Decide judges every rule. It computes no sum over them.
func Decide(a Answers) Decision {
	d := Decision{Version: Version, Fired: []Fired{}, NotJudged: []Unjudged{}, Unanswered: []string{}}
	for _, r := range Rules() {
		switch r.when.holds(a) {
		case yes:
			d.Fired = append(d.Fired, r.fired(a))
		case unknown:
			d.NotJudged = append(d.NotJudged, Unjudged{r.ID, r.missing(a)})
		}
	}
	slices.SortStableFunc(d.Fired, func(x, y Fired) int { return order(x) - order(y) })
	for _, q := range Questions {
		if _, answered := a[q.Key]; !answered && asked(&q) {
			d.Unanswered = append(d.Unanswered, q.Key)
		}
	}
	d.Anaesthesia, d.Tray = choices(d.Fired), tray(a, &d)
	return d
}

// order shows gates first, then paths, leans the strongest first, notes,
// anaesthesia. It is the order of the list and nothing else.
func order(f Fired) int {
	kind := slices.Index([]Kind{Gate, Path, Lean, Note, Anaesthesia}, f.Kind)
	if f.Kind == Gate && f.Gate {
		return -1
	}
	return 10*kind - f.Strength
}

func (r *Rule) missing(a Answers) (keys []string) {
	for _, key := range r.Reads() {
		if _, answered := a[key]; !answered {
			keys = append(keys, key)
		}
	}
	return keys
}

// fired names the answers that carry the rule.
func (r *Rule) fired(a Answers) Fired {
	f := Fired{ID: r.ID, Kind: r.Kind, Toward: r.Toward, Against: r.Against, Strength: r.Strength, Gate: r.Finding.Gate,
		Source: r.Ref.Key, Where: r.Ref.Where, Grade: r.Ref.Grade}
	for _, key := range r.when.carried(a) {
		f.Rests = append(f.Rests, Evidence{key, a.Shown(key)})
	}
	return f
}

// carried lists the keys of the leaves that make the condition hold.
func (c *condition) carried(a Answers) (keys []string) {
	if c.holds(a) != yes {
		return nil
	}
	if len(c.kids) == 0 || c.op == opNot {
		return c.reads()
	}
	for i := range c.kids {
		for _, k := range c.kids[i].carried(a) {
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	return keys
}

// Shown is an answer as people read it, "" when it was not answered.
func (a Answers) Shown(key string) string {
	x, answered := a[key]
	q := QuestionNamed(key)
	switch {
	case !answered:
		return ""
	case q == nil || !q.Number:
		return x.Word
	case q.Unit == "":
		return x.Text
	}
	return x.Text + unit.Thin + q.Unit
}

func asked(q *Question) bool { return read[q.Key] }

// Methods lists the methods of anaesthesia. Retrobulbar injection is not
// among them: the published advice is not to offer it where another exists.
var Methods = []string{Topical, TopicalChamber, SubTenon, Peribulbar, GeneralAnaesthesia}

func choices(fired []Fired) (list []Choice) {
	for _, m := range Methods {
		c := Choice{Method: m, For: []string{}, Against: []string{}}
		for _, f := range fired {
			switch {
			case f.Kind != Anaesthesia || !slices.Contains(f.Toward, m):
			case f.Against:
				c.Against, c.Barred = append(c.Against, f.ID), c.Barred || f.Strength >= 3
			default:
				c.For = append(c.For, f.ID)
			}
		}
		list = append(list, c)
	}
	return list
}

// ConversionTray is what is kept within reach when phaco is planned, and
// Triggers the reasons of conversion that the trade lists.
var (
	ConversionTray = []string{"wider-blade", "vectis", "viscoelastic", "suture-10-0", "rigid-lens", "anterior-vitrectomy"}
	Triggers       = []string{"rhexis-radialised", "zonular-loss-found", "nucleus-harder", "pupil-down", "machine-or-power"}
)

// tray is the conversion tray of an eye that is planned for phaco.
func tray(a Answers, d *Decision) []string {
	if a["planned_technique"].Word != TowardPhaco {
		return []string{}
	}
	list := slices.Clone(ConversionTray)
	for _, add := range []struct{ rule, item string }{{"zonule-weak", "tension-ring"}, {"zonule-grey", "tension-ring"}, {"floppy-iris", "iris-hooks"}, {"lean-small-pupil", "iris-hooks"}, {"lean-white", "capsule-dye"}, {"lean-hypermature", "capsule-dye"}, {"lean-hazy-cornea", "capsule-dye"}} {
		if d.Has(add.rule) && !slices.Contains(list, add.item) {
			list = append(list, add.item)
		}
	}
	return list
}

// Has reports whether the rule fired.
func (d *Decision) Has(id string) bool {
	return slices.ContainsFunc(d.Fired, func(f Fired) bool { return f.ID == id })
}

// LeansTo lists the leans toward a technique.
func (d *Decision) LeansTo(technique string) (list []Fired) {
	for _, f := range d.Fired {
		if f.Kind == Lean && slices.Contains(f.Toward, technique) {
			list = append(list, f)
		}
	}
	return list
}

// Differs reports whether a choice stands against leans: some speak for
// another technique and none for this one. Its reason is then recorded.
func (d *Decision) Differs(technique string) bool {
	own, other := 0, 0
	for _, f := range d.Fired {
		if f.Kind != Lean || slices.Contains(f.Toward, TowardNeither) {
			continue
		}
		if slices.Contains(f.Toward, technique) {
			own++
		} else {
			other++
		}
	}
	return other > 0 && own == 0
}

// Findings are the gates and paths that fired as findings of the eye. Leans
// and notes stay on their own page: they ask for nothing.
func (d *Decision) Findings() (list []finding.Finding) {
	for _, r := range slices.Concat(Gates, Paths) {
		at := slices.IndexFunc(d.Fired, func(f Fired) bool { return f.ID == r.ID })
		if at < 0 {
			continue
		}
		var values finding.Values
		for _, e := range d.Fired[at].Rests {
			if e.Text != "" {
				values = append(values, finding.Value{Name: e.Key, Text: e.Text})
			}
		}
		list = append(list, r.Finding.On(d.Fired[at].Rests[0].Key, values...))
	}
	return list
}
