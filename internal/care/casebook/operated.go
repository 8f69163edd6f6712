package casebook

import (
	"cmp"
	"strings"

	"linn/eye"
	"linn/internal/care/followup"
	"linn/unit"
)

// Follows names the case that another follows on the same eye.
type Follows struct {
	Case string `json:"case"`
	Why  string `json:"why"` // of FollowsWhy
}

// FollowsWhy is why an eye goes to theatre again.
var FollowsWhy = []string{"return-to-theatre", "lens-exchange"}

// ClosedOperated is how a case is closed when its operation is done.
const ClosedOperated = "operated"

// Operated reports whether the operation of the case is done.
func (c Case) Operated() bool {
	return c.Closed == ClosedOperated || c.Operation != nil && c.Operation.Done != nil
}

// FollowUp is the operated eye as the follow-up asks it.
func (c Case) FollowUp() followup.Eye {
	e := followup.Eye{Visits: c.Visits, Lost: c.Lost}
	if o := c.Operation; o != nil {
		e.On, e.Technique = o.On(), o.Ended()
	}
	return e
}

// OperatedRow is one operated eye: a projection of its case's newest revision.
type OperatedRow struct {
	Case    string
	Patient string // as the case was opened
	Side    eye.Side
	On      unit.Date // of the operation; zero: not recorded
	Bed     string
	Number  int // of the newest revision

	// From and Until are the window of the visit the eye waits for; zero when
	// it waits for none, or was given up.
	From, Until unit.Date
}

// OperatedQuery chooses operated eyes: those operated on Since or later, and
// those whose next visit was expected by Expected. Both zero: all.
type OperatedQuery struct {
	Since, Expected unit.Date
	Limit           int // 0: all
}

// Fits reports whether the row is chosen by q, the limit apart.
func (q OperatedQuery) Fits(o OperatedRow) bool {
	if !q.Since.Known() && !q.Expected.Known() {
		return true
	}
	return q.Since.Known() && o.On.Known() && !o.On.Before(q.Since) ||
		q.Expected.Known() && o.From.Known() && !q.Expected.Before(o.From)
}

// CompareOperated is the order of the round: bed, day of the operation, identifier.
func CompareOperated(a, b OperatedRow) int {
	return cmp.Or(strings.Compare(a.Bed, b.Bed), strings.Compare(a.On.String(), b.On.String()), strings.Compare(a.Case, b.Case))
}

// ProjectOperated derives the row of an operated eye from a revision of a
// case; is says that the eye is operated. A section of a newer program is
// passed over.
func ProjectOperated(r Revision) (o OperatedRow, is bool, err error) {
	var c Case
	if err := Decode(r, &c); err != nil && !newer(err) {
		return o, false, err
	}
	if !c.Operated() {
		return o, false, nil
	}
	e := c.FollowUp()
	o = OperatedRow{Case: r.Chain, Patient: c.Patient, Side: c.Side, On: e.On, Bed: c.Bed, Number: r.Number}
	if c.Lost == nil && e.On.Exact() {
		if n, done := e.Next(); !done {
			o.From, o.Until = n.From, n.Until
		}
	}
	return o, true, nil
}
