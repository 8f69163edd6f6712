package casebook

import (
	"encoding/json"
	"time"

	"linn/eye"
	"linn/internal/care/followup"
	"linn/internal/care/operation"
	"linn/unit"
)

// Verb is what was done when a revision was written.
type Verb string

// The verbs of the record. The pathway may bring others: a verb is shown, and
// nothing is computed from it.
const (
	VerbOpen     Verb = "open"
	VerbMeasure  Verb = "measure"
	VerbRepeat   Verb = "repeat"
	VerbPass     Verb = "pass" // a gated caution
	VerbChoose   Verb = "choose"
	VerbPhases   Verb = "phases" // settings of the machine
	VerbReadBack Verb = "read-back"
	VerbSign     Verb = "sign"
	VerbReopen   Verb = "reopen"
	VerbList     Verb = "list"
	VerbSheet    Verb = "sheet"
	VerbCorrect  Verb = "correct"
	VerbMoveAway Verb = "move-away"
	VerbMoveHere Verb = "move-here"
	VerbMerge    Verb = "merge"
	VerbErase    Verb = "erase"
	VerbScan     Verb = "scan" // a box held against the plan
	VerbOperate  Verb = "operate"
	VerbFollowUp Verb = "follow-up"
	VerbAttach   Verb = "attach"
	VerbClose    Verb = "close"
	VerbAdmit    Verb = "admit"     // a person to the Desk
	VerbStock    Verb = "stock"     // lenses counted
	VerbConstant Verb = "constants" // of a lens model
	VerbSettle   Verb = "settle"    // the local protocol
	VerbHeads    Verb = "heads"     // the ward chain lists the others
)

// Case is one state of an eye case: one eye, one operation; "linn.case/1".
// Its patient and side never change along the chain; what was entered on the
// wrong eye or patient is moved by two revisions, see Move.
type Case struct {
	Patient string   `json:"patient"` // chain of the patient it was opened under
	Side    eye.Side `json:"side"`
	Verb    Verb     `json:"verb"`
	Reason  string   `json:"reason,omitempty"`

	// Eye holds the readings as typed. Unread holds text typed into a field
	// that no rule could take, by field key: it is kept, shown and repaired,
	// and a case that has any is not signed.
	Eye    eye.Eye           `json:"eye"`
	Unread map[string]string `json:"unread,omitempty"`

	// Details are what is known about single readings beyond their value.
	Details map[string]Detail `json:"details,omitempty"`

	// Second are the second entries, by field key: what a person typed again
	// without seeing the first, or that the value was imported.
	Second map[string]SecondEntry `json:"second,omitempty"`

	Repeats []Repetition `json:"repeats,omitempty"`
	Passes  []Pass       `json:"passes,omitempty"`

	List   *Listing `json:"list,omitempty"`
	Target string   `json:"target,omitempty"` // what was agreed with the patient, in words
	Chosen *Chosen  `json:"chosen,omitempty"`

	// Machine is the chain of the machine on the Shelf; Phases are its settings
	// as typed: phase → key → text.
	Machine string                       `json:"machine,omitempty"`
	Phases  map[string]map[string]string `json:"phases,omitempty"`
	Decided *Decided                     `json:"decided,omitempty"`
	Drugs   *Drugs                       `json:"drugs,omitempty"`
	Consent *Consent                     `json:"consent,omitempty"`
	Mark    *Said                        `json:"mark,omitempty"`   // on the skin
	Listed  *Said                        `json:"listed,omitempty"` // as the list was written

	ReadBack   *ReadBack `json:"read_back,omitempty"`
	LoneReason string    `json:"lone_reason,omitempty"` // why there is no second person

	Signed   *Signed `json:"signed,omitempty"`
	Reopened string  `json:"reopened,omitempty"` // why the signed plan no longer holds; Signed stays
	Closed   string  `json:"closed,omitempty"`   // why nothing more is to be done

	// After names the case that this one follows on the same eye: a return to
	// theatre, an exchange of the lens.
	After *Follows `json:"after,omitempty"`

	Operation *operation.Record  `json:"operation,omitempty"` // as done
	InHand    *operation.InHand  `json:"in_hand,omitempty"`   // the box that agreed last
	Stopped   []operation.InHand `json:"stopped,omitempty"`   // boxes that did not
	Bed       string             `json:"bed,omitempty"`       // where the morning round finds the eye
	Visits    []followup.Visit   `json:"visits,omitempty"`
	Lost      *followup.Lost     `json:"lost,omitempty"` // why nobody expects the eye any more
	Attached  []Attached         `json:"attached,omitempty"`

	MovedFrom []Moved `json:"moved_from,omitempty"` // readings that came from another case
	Masked    []Mask  `json:"masked,omitempty"`     // readings that belong to another case

	// Once is the key under which a browser sent what this revision holds: what
	// is sent again under it was stored already. It is of this revision alone.
	Once string `json:"once,omitempty"`
}

// Kind is KindCase.
func (Case) Kind() Kind { return KindCase }

// Format is "linn.case/1".
func (Case) Format() string { return "linn.case/1" }

// Detail is what is known about one reading beyond its value; texts as typed.
type Detail struct {
	SD         string    `json:"sd,omitempty"`
	N          int       `json:"n,omitempty"`
	Method     string    `json:"method,omitempty"`
	Device     string    `json:"device,omitempty"`
	Operator   string    `json:"operator,omitempty"`
	MeasuredOn unit.Date `json:"measured_on,omitzero"`
}

// SecondEntry is a reading's second entry.
type SecondEntry struct {
	Text     string    `json:"text,omitempty"`
	By       string    `json:"by,omitempty"`
	At       time.Time `json:"at,omitzero"`
	Imported bool      `json:"imported,omitempty"` // came from a device file, was not typed
}

// Repetition is a reading that was measured again.
type Repetition struct {
	Field  string    `json:"field"`
	Old    string    `json:"old"`
	New    string    `json:"new"`
	By     string    `json:"by"`
	At     time.Time `json:"at"`
	Reason string    `json:"reason,omitempty"`
}

// Pass is a gated caution that a senior let pass.
type Pass struct {
	Code   string    `json:"code"`
	Field  string    `json:"field,omitempty"`
	By     string    `json:"by"`
	At     time.Time `json:"at"`
	Reason string    `json:"reason"`

	// Values are the finding's numbers when it was passed: a pass holds only
	// while the finding still says the same.
	Values map[string]string `json:"values,omitempty"`
}

// Listing is the theatre list the case stands on.
type Listing struct {
	Date  unit.Date `json:"date"`
	Place string    `json:"place,omitempty"`
	Order int       `json:"order,omitempty"` // place on the list, from 1
}

// Chosen is the lens the surgeon chose.
type Chosen struct {
	Lens   string       `json:"lens"` // chain of the lens model
	Model  string       `json:"model"`
	Power  unit.Dioptre `json:"power_d"`
	Reason string       `json:"reason,omitempty"`
}

// ReadBack is the second person who read name, side, length, K and lens from
// the source.
type ReadBack struct {
	By string    `json:"by"`
	At time.Time `json:"at"`
}

// Signed is a signed plan with all that is needed to print it again and to
// compute it again.
type Signed struct {
	// Plan is the plan's JSON: inputs, every printed result, versions of the
	// methods, constants.
	Plan json.RawMessage `json:"plan"`

	// Versions name the methods' versions and Program the program's, so that
	// a recalled version finds its plans.
	Versions map[string]string `json:"versions,omitempty"`
	Program  string            `json:"program,omitempty"`

	By         string    `json:"by"`
	At         time.Time `json:"at"`
	Supervisor string    `json:"supervisor,omitempty"` // who countersigned a trainee
	PlanNumber int       `json:"plan_number"`          // 1 for the case's first signed plan
	Sheet      int       `json:"sheet,omitempty"`      // number of the printed sheet, see Tx.NextSheet
	ListDate   unit.Date `json:"list_date,omitzero"`   // "valid only for the list of …"
}

// Moved names readings that came from another case.
type Moved struct {
	Case   string    `json:"case"`
	Fields []string  `json:"fields"`
	By     string    `json:"by"`
	At     time.Time `json:"at"`
	Reason string    `json:"reason"`
}

// Mask hides readings that were entered on the wrong case: in every revision
// up to Through the fields are another eye's and are not shown, see Hide.
type Mask struct {
	Fields  []string  `json:"fields"`
	Through int       `json:"through"` // number of the last revision that holds them
	Case    string    `json:"case"`    // where they belong
	By      string    `json:"by"`
	At      time.Time `json:"at"`
	Reason  string    `json:"reason"`
}
