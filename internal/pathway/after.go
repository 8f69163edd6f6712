package pathway

import (
	"context"
	"slices"
	"strings"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/followup"
	"linn/internal/care/operation"
)

// After is the operation of a case and what was seen afterwards.
type After struct {
	Planned  operation.Planned
	Record   operation.Record // prefilled from the plan while nothing is recorded
	Begun    bool             // something is recorded
	Done     *Act
	Read     map[string]finding.Refusal
	Findings []finding.Finding
	Missing  []string
	Hands    map[string]string // step → name
	People   []DeskPerson      // who may have held the instrument

	Bed    string
	Eye    followup.Eye
	Status followup.Status
	Next   followup.Next
	Visits []VisitSeen

	Attached []File // without their bytes
	Before   *Linked
	Later    []Linked
}

// VisitSeen is a visit with what is to be said of it.
type VisitSeen struct {
	followup.Visit
	Index    int // in the case, for a change
	Name     string
	Day      int // after the operation, when Known
	Known    bool
	Read     map[string]finding.Refusal
	Findings []finding.Finding
}

// Linked is another case of the same eye that this one follows, or that
// follows it.
type Linked struct {
	Case string
	Why  string
}

// after gathers the operation and the visits of a case.
func (t *turn) after(s *situation) (a After, err error) {
	if a.Planned, err = t.plannedOf(&s.caseAt); err != nil {
		return a, err
	}
	if a.Begun = s.Operation != nil; a.Begun {
		a.Record = *s.Operation
	} else {
		a.Record = a.Planned.Prefill()
	}
	if a.People, err = t.hands(); err != nil {
		return a, err
	}
	a.Hands = map[string]string{}
	for step, who := range a.Record.Hands {
		a.Hands[step] = nameOf(t.tx, who)
	}
	a.Read, a.Missing = a.Record.Read(), a.Record.Missing()
	if a.Begun {
		a.Findings = operation.Check(a.Record, a.Planned, t.today())
		if !a.Planned.HasLens {
			a.Findings = append(a.Findings, noPlan.On(""))
		}
	}
	if d := a.Record.Done; d != nil {
		a.Done = t.act(d.By, d.At, "")
	}
	t.visits(&a, s)
	for i, f := range s.Attached {
		a.Attached = append(a.Attached, File{Attached: f, Number: i + 1})
	}
	if s.After != nil {
		a.Before = &Linked{s.After.Case, s.After.Why}
	}
	a.Later, err = t.laterCases(s)
	return a, err
}

// hands are the people who may hold an instrument or give a block.
func (t *turn) hands() ([]DeskPerson, error) {
	list, err := people(t.tx)
	return slices.DeleteFunc(list, func(p DeskPerson) bool { return !p.Active || !p.Role.Clinical() }), err
}

func (t *turn) visits(a *After, s *situation) {
	a.Bed, a.Eye = s.Bed, s.FollowUp()
	a.Status, a.Next = a.Eye.StatusOn(t.today())
	for i, v := range s.Visits {
		seen := VisitSeen{Visit: v, Index: i, Name: nameOf(t.tx, v.By), Read: v.Read()}
		seen.Day, seen.Known = a.Eye.Day(v)
		if v.Withdrawn == "" {
			seen.Findings = followup.Check(v, a.Eye, t.today())
		}
		a.Visits = append(a.Visits, seen)
	}
	slices.SortStableFunc(a.Visits, func(x, y VisitSeen) int { return strings.Compare(x.On.String(), y.On.String()) })
}

// laterCases are the cases of the same eye that follow this one.
func (t *turn) laterCases(s *situation) (list []Linked, err error) {
	if !s.Operated() {
		return nil, nil
	}
	cases, err := t.casesOf(s.Patient)
	if err != nil {
		return nil, err
	}
	for _, w := range cases {
		if w.Side != s.Side || w.Case == s.id {
			continue
		}
		c, err := t.load(w.Case, Newest)
		if err != nil {
			return nil, err
		}
		if c.After != nil && c.After.Case == s.id {
			list = append(list, Linked{w.Case, c.After.Why})
		}
	}
	return list, nil
}

// OpenAgain opens the case of an eye that goes to theatre again, linked with
// the operation it follows. Its readings are to be taken anew.
func (p *Pathway) OpenAgain(ctx context.Context, by casebook.Actor, id, why string) (next string, err error) {
	err = p.do(ctx, by, VerbOpenCase, func(t *turn) error {
		c, err := t.load(id, Newest)
		if err != nil {
			return err
		}
		if !slices.Contains(casebook.FollowsWhy, why) {
			return refuse("unknown-word", "follows", value("got", clip(why)), value("allowed", strings.Join(casebook.FollowsWhy, ", ")))
		}
		if err := t.afterOperation(&c); err != nil {
			return err
		}
		if next, err = t.openCase(c.Patient, c.Side); err != nil {
			return err
		}
		return t.change(next, Newest, casebook.VerbOpen, why, func(n *caseAt) error {
			n.After = &casebook.Follows{Case: id, Why: why}
			return nil
		})
	})
	return next, err
}
