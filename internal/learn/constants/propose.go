package constants

import (
	"math"
	"slices"
	"strings"

	"linn/unit"
)

// leastProposal is the fewest eyes a proposal is made from, leastMove the
// smallest mean error worth a change, newest the share of the latest eyes that
// must not get worse. Our own choice.
const (
	leastProposal = 20
	leastMove     = 0.10 // D
	newest        = 0.20
)

// Reason says why a change is not proposed.
type Reason string

// The reasons.
const (
	FewEyes    Reason = "few-eyes"    // below 20
	NoFit      Reason = "no-fit"      // see the error of Draw
	SmallMove  Reason = "small-move"  // drawn mean error below 0.10 D
	MayBeNone  Reason = "may-be-none" // the interval of the drawn mean error holds 0
	WorseLater Reason = "worse-later" // made from the older eyes, it fails on the newest fifth
)

// Proposal is a change of one constant, for a person to accept or reject.
type Proposal struct {
	Key     Key
	InForce unit.Constant
	Drawn   Drawn
	Gain    Gain     // cross-validated
	Newest  Gain     // the newest fifth, by a constant made from the rest
	Eyes    []string // IDs it is made from, by date
	Against []Reason // empty: proposed
}

// Proposed reports whether nothing speaks against the change.
func (p Proposal) Proposed() bool { return len(p.Against) == 0 }

// Propose fits, draws and judges. What speaks against the change is listed with
// it; nothing is hidden. Of two cases with one ID
// the later is left out.
func (s Set) Propose(prior Prior) (Proposal, error) {
	s.Cases = distinct(s.Cases)
	p := Proposal{Key: s.Key, InForce: s.InForce}
	d, err := s.Draw(prior)
	p.Drawn = d
	s, _ = s.split()
	s.order()
	for _, c := range s.Cases {
		p.Eyes = append(p.Eyes, c.ID)
	}
	if err != nil {
		p.Against = []Reason{NoFit}
		return p, err
	}
	if len(s.Cases) < leastProposal {
		p.Against = []Reason{FewEyes}
		return p, nil
	}
	if p.Gain, err = s.CrossValidate(prior); err != nil {
		p.Against = []Reason{NoFit}
		return p, err
	}
	if p.Newest, err = s.later(prior); err != nil {
		p.Against = []Reason{NoFit}
		return p, err
	}
	p.judge()
	return p, nil
}

// judge applies the rules.
func (p *Proposal) judge() {
	e := p.Drawn.Error
	if math.Abs(float64(e.Mean)) < leastMove {
		p.Against = append(p.Against, SmallMove)
	}
	if e.Low <= 0 && e.High >= 0 {
		p.Against = append(p.Against, MayBeNone)
	}
	if p.Newest.Mean < 0 {
		p.Against = append(p.Against, WorseLater)
	}
}

// later judges the newest fifth by a constant made from the older eyes.
func (s Set) later(prior Prior) (Gain, error) {
	cut := len(s.Cases) - int(math.Ceil(newest*float64(len(s.Cases))))
	old, late := s, s
	old.Cases, late.Cases = s.Cases[:cut], s.Cases[cut:]
	d, err := old.draw(prior)
	if err != nil {
		return Gain{}, err
	}
	return gain(late.errors(float64(s.InForce)), late.errors(float64(d.Constant))), nil
}

// distinct keeps the first case of each ID.
func distinct(list []Case) []Case {
	seen := map[string]bool{}
	return slices.DeleteFunc(slices.Clone(list), func(c Case) bool {
		id := strings.TrimSpace(c.ID)
		twice := seen[id]
		seen[id] = true
		return twice
	})
}
