package web

import (
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/pathway"
	"linn/source"
	"linn/unit"
)

// Identity is what stands at the top of every clinical view and print.
type Identity struct {
	CaseID     string
	Side       eye.Side
	Name       string
	Identifier string
	Sex        eye.Sex
	Age        unit.Reading[unit.Year]
	Born       unit.Date
	List       unit.Date // the theatre list; unknown: not on a list
	Place      int       // on the list, from 1; 0: none
	Plan       int       // number of the plan, 0: none yet
	Signed     bool
	Revision   int
}

// Progress is how far an eye has come.
type Progress struct {
	Measured, Checked, Lens, Sheet bool // complete
	Done, Visits                   bool // known on the page of one eye alone
}

// Ward is the list of eyes.
type Ward struct {
	Today   unit.Date
	Rows    []WardRow
	Waiting pathway.DueCount // operated eyes that wait for a visit
	Round   bool             // the actor may see them
}

// WardRow is one eye on the Ward.
type WardRow struct {
	Identity
	Model    string // lens model, "" when none is chosen
	Power    unit.Reading[unit.Dioptre]
	Progress Progress
	// Missing is the one thing that still keeps the plan from being signed,
	// nil when nothing does.
	Missing *Missing
}

// Missing is one open need or one finding that blocks.
type Missing struct {
	Need    string // code of a Need, or
	Finding finding.Finding
}

// EyeCase is one eye's journey.
type EyeCase struct {
	Identity
	SavedAt  time.Time // in the ward's zone; zero: nothing stored yet
	SavedBy  string
	Progress Progress
	Editable bool // the actor may enter readings
	Right    Readings
	Left     Readings
	Queue    []RepeatItem
	Findings []FindingItem
	Looked   bool             // there is a reading to look at
	Refused  finding.Refusals // why there is no plan
	Fellow   int              // revision of the fellow eye's own case, 0 when it has none
	Closed   string           // why nothing more is to be done, a key of "closed.KEY"
	MayClose bool
	Lens     LensPart
	Chamber  ChamberPart
	Signing  SignPart
	After    AfterPart
}

// Of returns the readings of a side.
func (c *EyeCase) Of(s eye.Side) *Readings {
	if s == eye.Left {
		return &c.Left
	}
	return &c.Right
}

// Readings are one eye as typed and as read.
type Readings struct {
	Eye     eye.Eye
	Texts   map[string]string          // as typed, by contract key
	Refused map[string]finding.Refusal // what could not be read, by contract key
}

// RepeatItem is a reading to be entered again.
type RepeatItem struct {
	Side    eye.Side
	Field   string
	Why     string // "second-entry", "disagrees", or the code of a finding
	Text    string // the second entry as typed, when it disagrees
	Refusal *finding.Refusal
}

// FindingItem is a finding with what can be done about it.
type FindingItem struct {
	finding.Finding
	Side   eye.Side // "" when it speaks of both eyes
	Ref    source.Ref
	Limit  string // the rule's threshold in words
	Passed *Act   // a gate that was let through, with its reason
	// On a sheet the moment is printed already.
	PassedOn *Signature
	Because  string
	Repeated bool // the reading was measured again and agreed
	MayPass  bool
	// Repeating buys: spread of the refraction now and after a repeat.
	SDNow, SDAfter unit.Reading[unit.Dioptre]
}

// Act is who did something, when, and why.
type Act struct {
	Name   string
	At     time.Time
	Reason string
}

// LensPart is what the methods answer and what was chosen. Model, Powers and
// Methods are of the model whose ladder is shown; Power is known when that is
// the chosen one.
type LensPart struct {
	Editable    bool
	Models      []ModelName
	Model       string // id of the model shown
	Chosen      *ChosenLens
	Target      unit.Reading[unit.Dioptre]
	TargetText  string           // as typed
	TargetBad   *finding.Refusal // why it could not be read
	Powers      []ShelfPower     // the steps shown, ascending
	Recommended *Recommended
	Methods     []MethodAnswer
	Absent      []Absent
	Findings    []FindingItem
	Advice      []Advice
	Operated    *pathway.AfterSurgery // what the methods after corneal surgery say together
	Placement   string                // where the lens is planned to sit, "" was not recorded
	Rescue      []pathway.Rescue      // the ways out when the operation goes otherwise
	Lengths     []pathway.LengthBeside
	Children    []pathway.ChildBeside
	Second      *pathway.SecondEye // what the first eye's error says
	Power       unit.Reading[unit.Dioptre]
	// For the chosen power, by the median of the methods in Basis.
	Basis     []string
	Predicted unit.Reading[unit.Dioptre] // with its SD
	Within50  unit.Reading[unit.Percent] // of the target
	Within100 unit.Reading[unit.Percent]
	Band      []BandPoint
	Shares    []Share
}

// ChosenLens is the lens that was chosen for the eye.
type ChosenLens struct {
	Model      string // id
	Name       string
	Power      unit.Dioptre
	Reason     string // for another power than the recommended
	NeedReason bool
}

// Recommended is the power on the shelf that comes nearest to the target.
type Recommended struct {
	Power, Predicted, Nearest unit.Dioptre
	Reason                    string // key of "text.recommended.KEY"
	Methods                   int
}

// Advice is what one publication prefers for this length.
type Advice struct {
	Ref     source.Ref
	Prefers []string
	Mean    bool // the mean of them
	Others  bool // and methods that are not published as equations
}

// ModelName names a lens model.
type ModelName struct{ ID, Name string }

// ShelfPower is one step of the shelf.
type ShelfPower struct {
	Power   unit.Dioptre
	Counted bool // how many there are is known
	Count   int
}

// Out reports that the power was counted and is not there.
func (p ShelfPower) Out() bool { return p.Counted && p.Count == 0 }

// MethodAnswer is one method's answer (linn.lens/1).
type MethodAnswer struct {
	ID, Version  string
	LensPosition unit.Reading[unit.Millimetre]
	Power        unit.Reading[unit.Dioptre]
	Emmetropia   unit.Reading[unit.Dioptre]
	Choices      []PowerChoice
	Findings     []finding.Finding
	Constant     string // "A 119.00", as printed
	Origin       string // of the constant, a key of "origin.KEY"
	Apart        bool   // shown, but never counted in agreement
	Preferred    bool   // a publication prefers it for this length
	Steps        []source.Step
}

// PowerChoice is the refraction a method predicts for a power.
type PowerChoice struct {
	Power, Refraction unit.Dioptre
}

// Absent is a method that lacks an input.
type Absent struct{ Method, Field string }

// BandPoint says where two of three such eyes would land with a power.
type BandPoint struct {
	Power, Low, High unit.Dioptre
}

// Share is one source's part of the variance of the refraction.
type Share struct {
	Name    string // key of "share.NAME"
	Percent unit.Percent
}

// SignPart is what signing needs and what was done.
type SignPart struct {
	Needs      []Need
	MayConfirm bool
	MaySign    bool
	// Beside: somebody else at this machine may be the second person.
	Beside     bool
	Supervised bool // the signature needs a supervisor's beside it
	// Alone: a lone worker may sign with a reason, AloneOpen: now, else from
	// AloneFrom.
	Alone     bool
	AloneOpen bool
	AloneFrom time.Time
	Confirmed *Act
	Signed    *Act
	Senior    string // who countersigned
	Sheet     string // sheet number, "" before signing
	Reopened  []finding.Finding
	Why       string // why a signed plan was reopened
	MayReopen bool
	MayList   bool
	Place     string // theatre or room of the list
}

// Need is one condition of signing: text "need.CODE".
type Need struct {
	Code   string
	Met    bool
	Values finding.Values
}

// Sheet is the theatre sheet of one eye.
type Sheet struct {
	Clock *Clock // nil when no incision is planned
	Identity
	Number    string // "" before signing
	Mark      string // content of the DataMatrix, "" before signing
	Past      bool   // signed, and the day of its list has passed
	Theatre   string
	Procedure string // key of "paper.procedure.NAME"
	Placement eye.Placement
	Model     string
	Power     unit.Reading[unit.Dioptre]
	Target    unit.Reading[unit.Dioptre]
	Assumed   bool                       // the target was not recorded
	Predicted unit.Reading[unit.Dioptre] // with its SD
	Low, High unit.Reading[unit.Dioptre]
	Basis     []string // methods behind the prediction
	Alerts    []FindingItem
	Asked     bool // about allergies
	Allergies []string
	Readings  []SheetLine
	Rescue    []pathway.Rescue // the ways out
	Measured  Signature
	Confirmed *Signature
	Signed    *Signature
	Senior    *Signature
	Alone     string // reason of a lone signature
	Open      []Blocker
	Checks    []SheetCheck
	WriteDown []string // keys of "paper.write.KEY"
	Phases    []SheetPhase
	Printed   time.Time
	Program   string // version
}

// SheetLine is one reading, of this eye and of the other.
type SheetLine struct {
	Field, Text, Fellow string // texts with their unit, "" not recorded
	Detail              string // key of "paper.length.KEY", or an axis
}

// Blocker is what is open before signing: "blocker.CODE" about a field.
type Blocker struct{ Code, Field string }

// SheetCheck is one of the team's checks.
type SheetCheck struct{ Moment, Key string }

// Signature is who did something and when, as printed.
type Signature struct{ Name, When string }

// Shelf is what lies ready.
type Shelf struct {
	Editable bool // models and constants
	Counting bool // stock
	Models   []Model

	Measuring bool // machines
	Machines  []Machine
}

// Machine is one phaco machine with what its measurements say.
type Machine struct {
	ID, Name string
	Revision int
	Complete bool
	Fits     []MachineFit
}

// MachineFit is one fitted number with its interval, printed.
type MachineFit struct{ Key, Value, Interval string }

// Model is one lens model with its constants and stock.
type Model struct {
	ID, Name  string
	Revision  int
	Withdrawn string // why it is not to be chosen any more
	Constants []ModelConstant
	Powers    []ShelfPower // the whole range, ascending
	From, To  unit.Dioptre
	Step      unit.Dioptre
}

// ModelConstant is one constant with where it comes from.
type ModelConstant struct {
	Method string // method it serves
	Name   string // "a", "sf_mm", …
	Value  string // printed with its unit
	Origin string // key of "origin.KEY"
	N      int    // eyes behind a fitted constant
	Since  unit.Date
}

// Desk is who works here.
type Desk struct {
	Editable bool
	People   []Person
}

// Person is an account.
type Person struct {
	Actor
	Revision   int
	Supervisor bool
	Closed     bool
	Password   bool // has one
}
