package plan

import (
	"linn/finding"
)

// State is what people have done about a plan so far.
type State struct {
	Identified bool // name and second identifier are recorded

	// Entered says, by contract key, that a reading was entered twice alike or
	// imported.
	Entered map[string]bool

	Unread int // fields whose text no rule could take

	Passed []Pass // gates that a senior let pass

	ReadBack bool  // a second person read name, side, length, K and lens from the source
	Lone     *Lone // instead of one

	SeniorNeeded, SeniorSigned bool // a trainee's signature needs a supervisor's
}

// Pass is a gated caution that a senior let pass while it said these values.
type Pass struct {
	Code   string            `json:"code"`
	Field  string            `json:"field,omitempty"`
	Values map[string]string `json:"values,omitempty"`
}

// Lone is a lone worker who signs without a second person.
type Lone struct {
	Reason string
	Waited bool // the local delay has gone by
}

// EnteredTwice are the readings that must be entered twice alike or imported.
var EnteredTwice = []string{"axial_length_mm", "k_flat_d", "k_steep_d"}

// Blocker is one reason why a plan cannot be signed yet.
type Blocker struct {
	Code    string           `json:"code"`
	Field   string           `json:"field,omitempty"`
	Finding *finding.Finding `json:"finding,omitempty"` // of stop-open and gate-open
}

// The codes of the blockers.
const (
	BlockIdentity   = "identity-missing"
	BlockUnread     = "reading-unread"
	BlockStop       = "stop-open"
	BlockGate       = "gate-open"
	BlockTwice      = "not-entered-twice"
	BlockLens       = "lens-not-chosen"
	BlockNoAnswer   = "no-prediction"
	BlockToric      = "toric-reason"
	BlockSecond     = "second-person"
	BlockLoneReason = "lone-reason"
	BlockLoneWait   = "lone-wait"
	BlockSenior     = "senior-signature"
)

// BlockerCodes lists the codes, for the words that go with them.
var BlockerCodes = []string{BlockIdentity, BlockUnread, BlockStop, BlockGate, BlockTwice, BlockLens, BlockNoAnswer, BlockToric, BlockSecond,
	BlockLoneReason, BlockLoneWait, BlockSenior}

// Ready lists everything that keeps a plan from being signed, in the order in
// which one would deal with it; none means it may be signed.
func Ready(p *Plan, s State) (list []Blocker) {
	block := func(is bool, code, field string) {
		if is {
			list = append(list, Blocker{Code: code, Field: field})
		}
	}
	block(!s.Identified, BlockIdentity, "")
	block(s.Unread > 0, BlockUnread, "")
	for _, f := range p.All() {
		switch {
		case f.Severity == finding.Stop:
			list = append(list, Blocker{Code: BlockStop, Field: f.Field, Finding: &f})
		case f.Gate && !s.passed(f):
			list = append(list, Blocker{Code: BlockGate, Field: f.Field, Finding: &f})
		}
	}
	for _, key := range EnteredTwice {
		block(!s.Entered[key] && !(replacesK(&p.Input.Eye) && key != "axial_length_mm"), BlockTwice, key)
	}
	block(p.Decision == nil, BlockLens, "")
	block(p.Decision != nil && !p.Decision.Predicted.Known, BlockNoAnswer, "")
	block(p.unreasoned(), BlockToric, "toric_reason")
	switch {
	case s.ReadBack:
	case s.Lone == nil:
		block(true, BlockSecond, "")
	default:
		block(s.Lone.Reason == "", BlockLoneReason, "")
		block(!s.Lone.Waited, BlockLoneWait, "")
	}
	block(s.SeniorNeeded && !s.SeniorSigned, BlockSenior, "")
	return list
}

// All lists the findings that speak of the plan that would be signed: of the
// eye and of the decision. Those of lenses that were not chosen are not among
// them.
func (p *Plan) All() []finding.Finding {
	list := append([]finding.Finding{}, p.Findings...)
	if p.Decision == nil {
		return list
	}
	list = append(list, p.Decision.Findings...)
	for i := range p.Lenses {
		if l := &p.Lenses[i]; l.Model == p.Decision.Model {
			list = append(list, l.Findings...)
			for _, m := range l.Methods {
				list = append(list, m.Findings...)
			}
		}
	}
	return worstFirst(list)
}

// passed reports whether a senior passed f as it now stands: with other
// values it is another finding.
func (s *State) passed(f finding.Finding) bool {
	for _, p := range s.Passed {
		if p.Code == f.Code && p.Field == f.Field && sameValues(p.Values, f.Values) {
			return true
		}
	}
	return false
}

func sameValues(passed map[string]string, now finding.Values) bool {
	if len(passed) != len(now) {
		return false
	}
	for _, v := range now {
		if passed[v.Name] != v.Text {
			return false
		}
	}
	return true
}
