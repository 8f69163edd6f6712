package web

import (
	"context"
	"time"

	"linn/eye"
	"linn/unit"
)

// Chains is what the pages ask about earlier revisions, and about putting
// right what was entered wrong.
type Chains interface {
	// History lists the revisions of a case or a patient, and what differs
	// between two of them.
	History(ctx context.Context, by Actor, q HistoryQuery) (History, error)
	// Correct changes readings with a reason, also those of a signed plan.
	Correct(ctx context.Context, by Actor, m Measurement, reason string) (EyeCase, error)

	// Card finds the person with a second identifier, for one of the deeds
	// ToMove, ToMerge, ToErase; ErrNotFound when there is none.
	Card(ctx context.Context, by Actor, to Deed, identifier string) (Card, error)
	// Move takes readings from the wrong case to the right one.
	Move(ctx context.Context, by Actor, m Moving) error
	// Merge records that two records are one person; second has looked too.
	Merge(ctx context.Context, by, second Actor, m Merging) error
	// Erase destroys the key of a person's identity and returns the chain
	// that is left.
	Erase(ctx context.Context, by, second Actor, e Erasing) (patient string, err error)

	// Verify walks the whole record.
	Verify(ctx context.Context, by Actor) (Verified, error)
}

// The deeds of the chain pages.
const (
	ToSeeHistory Deed = "history"
	ToMove       Deed = "move"
	ToMerge      Deed = "merge"
	ToErase      Deed = "erase"
	ToVerify     Deed = "verify"
)

// HistoryQuery chooses a chain and two of its revisions; none is 0.
type HistoryQuery struct {
	CaseID, Patient string
	Older, Newer    int
}

// History is a chain as its page shows it.
type History struct {
	Identity     // of the case; of a patient name and identifier alone
	Patient      string
	Erased       bool
	Past         []PastLine
	Older, Newer int
	Changes      []Changed
}

// PastLine is one revision.
type PastLine struct {
	Number       int
	At           time.Time
	By           string
	Verb, Reason string
	Second       string
	Hash         string
}

// Changed is one stored field that differs between two revisions.
type Changed struct{ Field, Old, New string }

// Card is a person with their cases.
type Card struct {
	Patient          string
	Name, Identifier string
	Sex              eye.Sex
	Age              unit.Reading[unit.Year]
	Also             int // records merged into this one
	Cases            []CardCase
}

// CardCase is one case on a card.
type CardCase struct {
	CaseID   string
	Side     eye.Side
	State    string // open, signed, reopened, closed
	Revision int
	List     unit.Date
}

// Moving is the form that takes readings to another case. Typed repeats the
// identifier of the person they belong to.
type Moving struct {
	CaseID, To        string
	Revision, ToSeen  int
	Fields            []string
	Reason            string
	Identifier, Typed string
}

// Merging says that the first record and the second are one person; the first
// leads to the second from now on. Typed repeats the first's identifier.
type Merging struct{ Identifier, Into, Reason, Typed string }

// Erasing destroys a person's key. Typed repeats the identifier.
type Erasing struct{ Identifier, Reason, Typed string }

// Verified is what a verification found.
type Verified struct {
	Chains, Revisions, Plans int
	Broken, Stale, Newer     []BrokenLink
	Differs                  []PlanDiffers
	Sound                    bool
}

// BrokenLink is a place in the record where something does not hold.
type BrokenLink struct {
	Kind, Chain, Fault string
	Number             int
}

// PlanDiffers is a printed line of a signed plan that comes out otherwise.
type PlanDiffers struct {
	CaseID             string
	Number             int
	Field, Signed, Now string
}
