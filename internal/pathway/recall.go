package pathway

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

// RecallQuery says what was recalled; exactly one of its groups is set.
type RecallQuery struct {
	Program string // a version of the program, with its commit when it had one

	Method, Version string // a method, and the version; "" is every version

	Lens, Constant, Value string // a lens model, its constant's key, and the value as printed; "" is every value

	Device string // as it was entered
	Lot    string // a lot, serial or load number
}

// Touched is one signed plan or eye that the recalled thing touched. Every
// signed plan counts, also one that was reopened or signed anew since.
type Touched struct {
	Case     string
	Patient  string
	Side     eye.Side
	Revision int // that names it, or signed the plan
	At       time.Time
	Signed   bool // the revision signed a plan
	Sheet    int
	List     unit.Date
	InForce  bool // the newest revision still says so
	Operated bool
	Where    []string           // which entries name it
	Who      *casebook.Identity // nil when names were not asked for
	NameGone bool               // the patient was erased
}

// Recall lists what the recalled thing touched, with names, each noted in the
// access log as read.
func (p *Pathway) Recall(ctx context.Context, by casebook.Actor, q RecallQuery) (list []Touched, err error) {
	match, err := q.matcher()
	if err != nil {
		return nil, err
	}
	err = p.look(ctx, by, VerbRecall, func(t *turn) error {
		if list, err = recall(t.tx, match); err != nil {
			return err
		}
		return identify(t.tx, list, func(patient, id string) error {
			t.touch(casebook.AccessRead, patient, id)
			return nil
		})
	})
	return list, err
}

// RecallUnattended lists every signed plan and every operated eye that the
// recalled thing touched, in the order of the record, for a command at the
// machine. With names each patient is noted in the access log as exported;
// without them the record is only read.
func (p *Pathway) RecallUnattended(ctx context.Context, q RecallQuery, names bool) (list []Touched, err error) {
	match, err := q.matcher()
	if err != nil {
		return nil, err
	}
	if !names {
		err = p.Store.View(ctx, func(tx casebook.Tx) error {
			list, err = recall(tx, match)
			return err
		})
		return list, err
	}
	err = p.Store.Do(ctx, func(tx casebook.Tx) error {
		if list, err = recall(tx, match); err != nil {
			return err
		}
		stamp := p.MachineStamp()
		return identify(tx, list, func(patient, id string) error {
			return tx.LogAccess(casebook.Access{At: stamp.At, Zone: stamp.Zone, Actor: stamp.Actor, What: casebook.AccessExport,
				Patient: patient, Case: id, Detail: string(VerbRecall)})
		})
	})
	return list, err
}

// identify opens the identities; log writes down that each was read.
func identify(tx casebook.Tx, list []Touched, log func(patient, id string) error) error {
	for i := range list {
		x := &list[i]
		patient, err := casebook.Resolve(tx, x.Patient)
		if err != nil {
			return err
		}
		who, err := casebook.Identify(tx, patient)
		switch {
		case errors.Is(err, ErrErased):
			x.NameGone = true
			continue
		case err != nil:
			return err
		}
		x.Who = &who
		if err := log(patient, x.Case); err != nil {
			return err
		}
	}
	return nil
}

// matcher looks at one revision of a case and names the entries that the
// recalled thing stands in.
type matcher struct {
	signed bool // only revisions that sign a plan are asked
	find   func(r casebook.Revision, c *casebook.Case) ([]string, error)
}

func (q RecallQuery) matcher() (matcher, error) {
	groups := 0
	for _, s := range []string{q.Program, q.Method, q.Lens, q.Device, q.Lot} {
		if s != "" {
			groups++
		}
	}
	switch {
	case groups != 1, q.Version != "" && q.Method == "", (q.Constant != "" || q.Value != "") && q.Lens == "", q.Value != "" && q.Constant == "":
		return matcher{}, finding.Refusals{{Code: "recall-one"}}
	case q.Program != "":
		return versions("program", q.Program), nil
	case q.Method != "":
		return versions(q.Method, q.Version), nil
	case q.Lens != "":
		return q.lens()
	case q.Device != "":
		return entries(q.Device, func(key string) bool { return key == "device" }), nil
	}
	return entries(q.Lot, lotKey), nil
}

// lotKey reports whether a key of any section names a lot, a serial number or
// a load of the steriliser.
func lotKey(key string) bool {
	for part := range strings.SplitSeq(key, "_") {
		if slices.Contains([]string{"lot", "lots", "serial", "serials", "batch", "load", "loads"}, part) {
			return true
		}
	}
	return false
}

// versions finds plans that a version computed, "" being every version.
func versions(name, version string) matcher {
	return matcher{true, func(_ casebook.Revision, c *casebook.Case) ([]string, error) {
		v, ok := c.Signed.Versions[name]
		if name == "program" && !ok {
			v, ok = c.Signed.Program, true
		}
		if ok && (version == "" || v == version || name == "program" && strings.HasPrefix(v, version+" ")) {
			return []string{name + " " + v}, nil
		}
		return nil, nil
	}}
}

// lens finds plans whose chosen lens is the model, computed with the constant.
func (q RecallQuery) lens() (matcher, error) {
	value := ""
	if q.Value != "" {
		v, err := unit.ParseNumber(q.Value)
		if err != nil {
			return matcher{}, finding.Refusals{{Code: "not-a-number", Field: "value", Values: finding.Values{{Name: "got", Text: clip(q.Value)}}}}
		}
		value = unit.Fixed(v, constantDigits)
	}
	return matcher{true, func(_ casebook.Revision, c *casebook.Case) ([]string, error) {
		p, err := signedPlan(c.Signed)
		if err != nil || c.Chosen == nil || !strings.EqualFold(c.Chosen.Model, line(q.Lens)) {
			return nil, err
		}
		if q.Constant == "" {
			return []string{c.Chosen.Model}, nil
		}
		var where []string
		for _, s := range p.Input.Shelf {
			if !strings.EqualFold(s.Lens.Model, line(q.Lens)) {
				continue
			}
			for _, k := range s.Constants {
				if got := unit.Fixed(float64(k.Value), constantDigits); k.Key == q.Constant && (value == "" || got == value) {
					where = append(where, strings.TrimSpace(k.Method+" "+k.Key+" "+got))
				}
			}
		}
		return where, nil
	}}, nil
}

// constantDigits are as many as a plan prints of a constant.
const constantDigits = 4

// entries finds text in the entries whose key fits, in every section of the
// case, those of a newer program too.
func entries(text string, fits func(key string) bool) matcher {
	return matcher{false, func(r casebook.Revision, _ *casebook.Case) ([]string, error) {
		var payload any
		if err := json.Unmarshal(r.Payload, &payload); err != nil {
			return nil, fmt.Errorf("pathway: recall: %w", err)
		}
		var where []string
		search(payload, "", false, func(path, got string) {
			if strings.EqualFold(line(got), line(text)) {
				where = append(where, path)
			}
		}, fits)
		slices.Sort(where)
		return where, nil
	}}
}

// search walks a JSON tree and hands over every text or number that stands
// under a key that fits.
func search(v any, path string, under bool, found func(path, text string), fits func(string) bool) {
	switch x := v.(type) {
	case map[string]any:
		for k, y := range x {
			search(y, strings.TrimPrefix(path+"."+k, "."), under || fits(k), found, fits)
		}
	case []any:
		for _, y := range x {
			search(y, path, under, found, fits)
		}
	case string:
		if under {
			found(path, x)
		}
	case float64:
		if under {
			found(path, unit.Fixed(x, 0))
		}
	}
}

// recall asks every revision of every case.
func recall(tx casebook.Tx, m matcher) (list []Touched, err error) {
	for head, err := range tx.Heads(casebook.KindCase) {
		if err != nil {
			return nil, err
		}
		of, err := recallCase(tx, head.Chain, m)
		if err != nil {
			return nil, err
		}
		list = append(list, of...)
	}
	slices.SortStableFunc(list, func(a, b Touched) int { return a.At.Compare(b.At) })
	return list, nil
}

// recallCase lists the signed plans of one case that were touched, and where
// there is none the case itself, once.
func recallCase(tx casebook.Tx, id string, m matcher) (plans []Touched, err error) {
	var eyes []Touched
	var last casebook.Case
	operated := false
	now := false // the newest revision asked still names it
	for r, err := range tx.Chain(casebook.KindCase, id) {
		if err != nil {
			return nil, err
		}
		var c casebook.Case
		if err := casebook.Decode(r, &c); err != nil && !isNewer(err) {
			return nil, err
		}
		last, operated = c, c.Closed == ClosedOperated || hasOperation(r)
		signs := c.Verb == casebook.VerbSign && c.Signed != nil
		if m.signed && !signs {
			continue
		}
		where, err := m.find(r, &c)
		if err != nil {
			return nil, err
		}
		if now = len(where) > 0; !now {
			continue
		}
		x := Touched{Case: id, Patient: c.Patient, Side: c.Side, Revision: r.Number, At: r.At, Signed: signs, Where: where}
		if signs {
			x.Sheet, x.List = c.Signed.Sheet, c.Signed.ListDate
			plans = append(plans, x)
		} else if len(eyes) == 0 {
			eyes = append(eyes, x)
		}
	}
	return settle(plans, eyes, last.State(), operated, now), nil
}

// settle says of every row what the newest revision makes of it. An eye that
// has a touched plan needs no row of its own, unless it was operated and the
// thing came in afterwards.
func settle(plans, eyes []Touched, state casebook.State, operated, now bool) []Touched {
	list := plans
	if len(plans) == 0 {
		list = eyes
	}
	for i := range list {
		x := &list[i]
		x.Operated = operated
		x.InForce = now && i == len(list)-1
		if x.Signed {
			x.InForce = x.InForce && state != casebook.StateReopened
		}
	}
	return list
}

// hasOperation reports whether a revision holds the record of an operation.
func hasOperation(r casebook.Revision) bool {
	var sections struct {
		Operation json.RawMessage `json:"operation"`
	}
	return json.Unmarshal(r.Payload, &sections) == nil && len(sections.Operation) > 0 && string(sections.Operation) != "null"
}

func isNewer(err error) bool {
	var f *casebook.FormatError
	return errors.As(err, &f)
}
