package pathway

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
)

// Need is one condition of signing.
type Need struct {
	Code string
	Met  bool
}

// The codes of the needs, in the order in which one would deal with them.
const (
	NeedIdentity   = "identity"      // name and second identifier
	NeedMeasured   = "measured"      // length and both K
	NeedReadable   = "readable"      // no text that could not be read
	NeedNoStop     = "no-stop"       //
	NeedGates      = "gates"         // every gate repeated or passed
	NeedTwice      = "two-readings"  // length and K entered twice alike, or imported
	NeedTarget     = "target"        //
	NeedLens       = "lens"          // lens and power, with a prediction
	NeedLensReason = "lens-reason"   // why not the recommended power
	NeedToric      = "toric-reason"  // why not the advised cylinder and axis
	NeedList       = "list"          // a sheet is valid for one day
	NeedSecond     = "second-person" //
)

// NeedCodes lists the codes.
var NeedCodes = []string{NeedIdentity, NeedMeasured, NeedReadable, NeedNoStop, NeedGates, NeedTwice, NeedTarget, NeedLens, NeedLensReason, NeedToric, NeedList, NeedSecond}

// needs lists every condition of signing and whether it is met.
func needs(s *situation, m *made) []Need {
	unmet := map[string]bool{NeedMeasured: m.plan == nil, NeedLens: m.plan == nil,
		NeedTarget: !s.Eye.Target.Known, NeedList: s.List == nil, NeedLensReason: !s.reasoned(m.plan),
		NeedReadable: len(s.Unread) > 0, NeedTwice: !s.twice(), NeedSecond: s.ReadBack == nil, NeedIdentity: s.erased}
	if m.plan != nil {
		for _, b := range plan.Ready(m.plan, s.readiness(m)) {
			unmet[needOf[b.Code]] = true
		}
	} else {
		unmet[NeedNoStop] = finding.Worst(m.doubts) == finding.Stop
	}
	var list []Need
	for _, code := range NeedCodes {
		list = append(list, Need{code, !unmet[code]})
	}
	return list
}

// needOf maps the plan's blockers to the needs people see.
var needOf = map[string]string{
	plan.BlockIdentity: NeedIdentity, plan.BlockUnread: NeedReadable, plan.BlockStop: NeedNoStop, plan.BlockGate: NeedGates,
	plan.BlockTwice: NeedTwice, plan.BlockLens: NeedLens, plan.BlockNoAnswer: NeedLens, plan.BlockToric: NeedToric, plan.BlockSecond: NeedSecond,
	plan.BlockLoneReason: NeedSecond, plan.BlockLoneWait: NeedSecond,
}

// twice reports whether every reading that must be is entered twice.
func (s *situation) twice() bool {
	return !slices.ContainsFunc(casebook.FieldsEnteredTwice(), func(key string) bool { return !s.EnteredTwice(key) })
}

// readiness is what people have done, as the plan asks it. A gate whose
// reading was repeated counts as passed.
func (s *situation) readiness(m *made) plan.State {
	st := plan.State{Identified: !s.erased && s.who.Name != "" && s.who.Identifier != "", Entered: map[string]bool{},
		Unread: len(s.Unread), ReadBack: s.ReadBack != nil}
	for _, key := range casebook.FieldsEnteredTwice() {
		st.Entered[key] = s.EnteredTwice(key)
	}
	for _, f := range m.findings() {
		if f.Gate && (repeated(&s.Case, f) || passOf(s.Passes, f) != nil) {
			p := plan.Pass{Code: f.Code, Field: f.Field, Values: map[string]string{}}
			for _, v := range f.Values {
				p.Values[v.Name] = v.Text
			}
			st.Passed = append(st.Passed, p)
		}
	}
	return st
}

// reasoned reports whether the chosen power is the recommended one, or the
// surgeon said why not. Without a choice there is nothing to reason about.
func (s *situation) reasoned(p *plan.Plan) bool {
	if s.Chosen == nil || s.Chosen.Reason != "" || p == nil {
		return true
	}
	for _, l := range p.Lenses {
		if l.Model == s.modelName() {
			return l.Recommended != nil && within(l.Recommended.Power.Value, float64(s.Chosen.Power), 0)
		}
	}
	return false
}

// Signing is the act of signing.
type Signing struct {
	Case string
	Seen int

	// Alone is why a lone worker signs without a second person.
	Alone string

	// Supervisor countersigns a trainee; whoever wires the pages has proved
	// that it is them.
	Supervisor casebook.Actor
}

// Sign signs the plan as it stands: its inputs, every printed result and the
// versions of what computed them are kept as they were signed, and the sheet
// gets its number.
func (p *Pathway) Sign(ctx context.Context, by casebook.Actor, s Signing) (j Journey, err error) {
	err = p.do(ctx, by, VerbSign, func(t *turn) error {
		err := t.change(s.Case, s.Seen, casebook.VerbSign, "", func(c *caseAt) error {
			if err := t.writable(c); err != nil {
				return err
			}
			if c.number != c.head.Number {
				_, err := casebook.Revise(t.tx, t.stamp, c.id, c.number, c.Case) // refused: the case moved on
				return conflict(t.tx, err)
			}
			return t.sign(c, s)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(s.Case)
		return err
	})
	return j, err
}

// sign checks every condition and fills the signature.
func (t *turn) sign(c *caseAt, s Signing) error {
	around, err := t.gather(*c)
	if err != nil {
		return err
	}
	m, err := t.make(&around)
	if err != nil {
		return err
	}
	lone, err := t.unready(&around, &m, s)
	if err != nil {
		return err
	}
	supervisor, err := t.countersigned(s)
	if err != nil {
		return err
	}
	raw, err := json.Marshal(m.plan)
	if err != nil {
		return fmt.Errorf("pathway: plan to sign: %w", err)
	}
	sheet, err := t.tx.NextSheet(c.id)
	if err != nil {
		return err
	}
	number := 1
	if c.Signed != nil {
		number = c.Signed.PlanNumber + 1
	}
	versions := map[string]string{}
	for _, v := range m.plan.Versions {
		versions[v.Name] = v.Version
	}
	c.Signed = &casebook.Signed{Plan: raw, Versions: versions, Program: t.Program, By: t.by.ID, At: t.stamp.At, Supervisor: supervisor,
		PlanNumber: number, Sheet: sheet, ListDate: c.List.Date}
	c.Reopened, c.LoneReason = "", lone
	return nil
}

// unready refuses with every condition that is not met, and returns the
// reason of a lone worker when that stands in for the second person.
func (t *turn) unready(s *situation, m *made, by Signing) (lone string, err error) {
	var bad finding.Refusals
	for _, n := range needs(s, m) {
		if !n.Met && n.Code != NeedSecond {
			bad = append(bad, finding.Refusal{Code: "need-" + n.Code})
		}
	}
	switch {
	case s.ReadBack != nil && s.ReadBack.By == t.by.ID:
		bad = append(bad, finding.Refusal{Code: "second-person-signs"})
	case s.ReadBack != nil:
	case line(by.Alone) == "":
		bad = append(bad, finding.Refusal{Code: "need-" + NeedSecond})
	case t.by.Role != surgeon:
		bad = append(bad, finding.Refusal{Code: "lone-surgeon-only"})
	default:
		lone = line(by.Alone)
		from, err := t.loneFrom(s)
		if err != nil {
			return "", err
		}
		if t.now.Before(from) {
			bad = append(bad, finding.Refusal{Code: "lone-wait", Values: finding.Values{value("from", from.Format("15:04"))}})
		}
		if err := t.plain(s.Patient, lone); err != nil {
			return "", err
		}
	}
	return lone, bad.Err()
}

// countersigned returns the supervisor of a trainee, and refuses a trainee
// without one.
func (t *turn) countersigned(s Signing) (string, error) {
	if t.by.Role != trainee {
		return "", nil
	}
	if s.Supervisor.ID == "" || s.Supervisor.ID == t.by.ID {
		return "", refuse("need-supervisor", "supervisor")
	}
	senior, err := permit(t.tx, s.Supervisor, VerbSign)
	if err != nil {
		return "", err
	}
	if !senior.Senior() {
		return "", refuse("need-supervisor", "supervisor")
	}
	return senior.ID, nil
}

// loneFrom is when a lone worker may sign: the local delay after the last
// change to what is signed.
func (t *turn) loneFrom(s *situation) (time.Time, error) {
	versions, err := t.history(s.id)
	if err != nil {
		return time.Time{}, err
	}
	last := s.head.At
	for _, v := range slices.Backward(versions) {
		last = v.Revision.At
		if !slices.Contains(quiet, v.State.Verb) {
			break
		}
	}
	return last.In(t.now.Location()).Add(s.protocol.LoneDelay()), nil
}

// quiet are the verbs that change nothing of what a plan is made from.
var quiet = []casebook.Verb{casebook.VerbReadBack, casebook.VerbPass, casebook.VerbSign, casebook.VerbSheet}
