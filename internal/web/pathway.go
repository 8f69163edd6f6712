package web

import (
	"context"
	"errors"
	"io"
	"net/http"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/pathway"
)

// Pathway is what the pages ask of the rest of the program: one call a page
// or a form. Every answer is already permitted to the Actor. Errors that a
// page can say in words are [ErrNotFound], [ErrForbidden], [*Conflict] and
// finding.Refusals; any other is a fault of the machinery.
type Pathway interface {
	Chains
	Days
	Emergencies

	// Ward lists the eyes to do, in list order.
	Ward(ctx context.Context, by Actor) (Ward, error)
	// StartCase opens a case for one eye and returns its id.
	StartCase(ctx context.Context, by Actor, c NewCase) (id string, err error)
	// Eye is one eye's journey as it stands, with the ladder of a lens model;
	// "" is the chosen one, or one that fits.
	Eye(ctx context.Context, by Actor, id, model string) (EyeCase, error)
	// Optics is the eye as an optical instrument, with the chosen lens or the
	// recommended one.
	Optics(ctx context.Context, by Actor, caseID string, w pathway.WhatIf) (EyeOptics, error)
	// Measure stores the readings as typed, as one revision.
	Measure(ctx context.Context, by Actor, m Measurement) (EyeCase, error)
	// Repeat stores second entries of readings.
	Repeat(ctx context.Context, by Actor, m Measurement) (EyeCase, error)
	// Pass lets a gated caution through, with a reason.
	Pass(ctx context.Context, by Actor, p Pass) (EyeCase, error)
	// Choose sets target, lens model and power.
	Choose(ctx context.Context, by Actor, c Choice) (EyeCase, error)
	// SetPhases keeps the machine's settings by phase.
	SetPhases(ctx context.Context, by Actor, p PhaseForm) (EyeCase, error)
	// List puts the case on a theatre list, or takes it off.
	List(ctx context.Context, by Actor, l Listing) (EyeCase, error)
	// Confirm is the second person's reading from the source.
	Confirm(ctx context.Context, by Actor, c Confirmation) (EyeCase, error)
	// Sign signs the plan.
	Sign(ctx context.Context, by Actor, s Signing) (EyeCase, error)
	// Reopen takes a signed plan out of force.
	Reopen(ctx context.Context, by Actor, r Reopening) (EyeCase, error)
	// Close ends the case: operated, dropped or opened by mistake.
	Close(ctx context.Context, by Actor, c Closing) error
	// Sheet is the theatre sheet, signed or as a preview.
	Sheet(ctx context.Context, by Actor, id string) (Sheet, error)
	// Print writes the same sheet as PDF.
	Print(ctx context.Context, by Actor, id string, w io.Writer) error

	AfterPathway

	// Cornea is the cornea of the case with its incision; Incise plans it.
	Cornea(ctx context.Context, by Actor, id string) (CorneaCase, error)
	Incise(ctx context.Context, by Actor, f IncisionForm) error

	// Person is who the person of a case is, as the form to correct it.
	Person(ctx context.Context, by Actor, id string) (PersonForm, error)
	CorrectPerson(ctx context.Context, by Actor, f PersonForm) error

	// Care is one eye with what is recorded beside its readings.
	Care(ctx context.Context, by Actor, id string) (CarePart, error)
	// Record stores one form of the pages Decided and Drugs.
	Record(ctx context.Context, by Actor, f CareForm) error
	// Doses are the unit's targets and limits of drugs.
	Doses(ctx context.Context, by Actor) (DoseRules, error)
	SetDoses(ctx context.Context, by Actor, f DoseRulesForm) error
	// OwnRisks is what the record says of capsule rupture by technique beside
	// the published model; AcceptRisk makes it the unit's own intercept.
	OwnRisks(ctx context.Context, by Actor) (OwnRisks, error)
	AcceptRisk(ctx context.Context, by Actor, f OwnRiskForm) error

	Shelf(ctx context.Context, by Actor) (Shelf, error)
	AddModel(ctx context.Context, by Actor, m NewModel) error
	// AddMachine puts a machine with its measurements on the Shelf, or says why
	// the data cannot support it.
	AddMachine(ctx context.Context, by Actor, m MachineForm) error
	// Stock sets which powers of a model are in the house.
	Stock(ctx context.Context, by Actor, s StockChange) error

	Desk(ctx context.Context, by Actor) (Desk, error)
	// AddPerson adds an account; without a password it waits for an invitation.
	AddPerson(ctx context.Context, by Actor, p NewPerson) (id string, err error)
	ChangePerson(ctx context.Context, by Actor, p PersonChange) error
	// Protocol is the ward's own rules, as the form to settle them.
	Protocol(ctx context.Context, by Actor) (Protocol, error)
	SetProtocol(ctx context.Context, by Actor, p Protocol) error
	// AccessLog lists who looked at or changed what, the newest first; more
	// says that older lines are left.
	AccessLog(ctx context.Context, by Actor, q LogQuery) (list []LogLine, more bool, err error)

	// May reports whether a person's role does a thing at all.
	May(by Actor, what Deed) bool
}

// Deed is something a role may or may not do.
type Deed string

// The deeds that pages ask about before they offer a form.
const (
	ToOpenCase Deed = "open-case"
	ToList     Deed = "list"
	ToLook     Deed = "eye"
	ToCorrect  Deed = "correct"
	ToReadLog  Deed = "access-log"
	ToTally    Deed = "tally"

	ToMeasureMachine Deed = "machine"
	ToRound          Deed = "round"
	ToVisit          Deed = "follow-up"
)

// Access is what the pages ask of the accounts: who is there, and the doors.
// It keeps sessions in cookies of its own.
type Access interface {
	Keys

	// Who is signed in on this request.
	Who(r *http.Request) (Actor, bool)
	// SignIn opens a session; a wrong name or password is ErrWrongPassword,
	// too many tries ErrTooMany.
	SignIn(w http.ResponseWriter, r *http.Request, name, password string) error
	SignOut(w http.ResponseWriter, r *http.Request) error
	// Empty reports that no account exists yet.
	Empty(ctx context.Context) (bool, error)
	// First creates the first administrator and opens a session.
	First(w http.ResponseWriter, r *http.Request, p NewPerson) error
	// Demo lists the invented people one may be; nil outside the demo.
	Demo(r *http.Request) []Actor
	// Vouch proves a second person at the same machine and opens no session;
	// a wrong name or password is ErrWrongPassword.
	Vouch(w http.ResponseWriter, r *http.Request, name, password string) (Actor, error)
	// Be takes the part of one of them.
	Be(w http.ResponseWriter, r *http.Request, id string) error
}

// What the pages can say in words.
var (
	ErrNotFound      = errors.New("web: not found")
	ErrForbidden     = errors.New("web: not permitted")
	ErrWrongPassword = errors.New("web: wrong name or password")
	ErrTooMany       = errors.New("web: too many tries")
)

// Role is what a person may do.
type Role string

// The roles, in the order the Desk lists them.
const (
	Surgeon       Role = "surgeon"
	Trainee       Role = "trainee"
	Nurse         Role = "nurse"
	Technician    Role = "technician"
	Counsellor    Role = "counsellor"
	Auditor       Role = "auditor"
	Administrator Role = "administrator"
)

// Roles lists them.
var Roles = []Role{Surgeon, Trainee, Nurse, Technician, Counsellor, Auditor, Administrator}

// Actor is who asks.
type Actor struct {
	ID   string
	Name string
	Role Role
}

// Conflict says that somebody else stored a newer revision meanwhile. The
// loser sees both versions.
type Conflict struct {
	CaseID   string
	Revision int // the newer one
	Fellow   int // and of the fellow eye's case, 0 when it has none
	By       string
	At       string       // "10:42"
	Rows     []Difference // of readings; none when another form came late
	Mine     Measurement  // to be stored again on the newer revision
}

func (c *Conflict) Error() string { return "web: a newer revision exists" }

// Difference is one field two people typed differently.
type Difference struct {
	Side         eye.Side
	Field        string
	Mine, Theirs string // as typed, "" for empty
}

// NewCase is the form that opens a case. Texts are as typed.
type NewCase struct {
	Name, Identifier string
	Sex              string
	Born             string // ISO date at any precision, or an age in years
	Side             string
	List             string // ISO date, "" for none
	Allergies        string // separated by commas
	NoAllergies      bool   // asked, none known
}

// PersonForm corrects who a person is. Texts are as typed, as in NewCase.
type PersonForm struct {
	CaseID           string
	Revision         int // of the person's record
	Name, Identifier string
	Sex, Born        string
	Allergies        string
	NoAllergies      bool
	Reason           string
}

// Protocol is the ward's own rules as typed; an empty number is not settled,
// and the usual one holds.
type Protocol struct {
	Editable             bool
	Revision             int
	Hospital, Zone       string
	Places               string // rooms, separated by semicolons
	ReadingAge           string // days
	LoneDelay            string // minutes
	Recalled             string // "srk-t 1, program 0.2.0"
	Phone                string // whom a patient rings after the operation
	Reason               string
	UsualAge, UsualDelay string
}

// LogQuery chooses lines of the access log.
type LogQuery struct {
	Person     string // id, "" for everybody
	Identifier string // of the patient, "" for all
	Before     int64  // only lines with a smaller number; 0: from the newest
}

// LogLine is one line of the access log.
type LogLine struct {
	Number     int64
	At         time.Time
	Name       string // of the person who did it
	What, Verb string
	CaseID     string
}

// Measurement is a set of readings as typed.
type Measurement struct {
	CaseID   string
	Revision int // that the form was made from
	Fellow   int // revision of the fellow eye's own case, 0 when it has none
	Eyes     map[eye.Side]map[string]string
}

// Pass lets a gated caution through.
type Pass struct {
	CaseID   string
	Revision int
	Code     string
	Field    string
	Reason   string
}

// Choice is the lens form as typed. Shown is the model whose ladder the form
// was made from: a power of another model's ladder is not a choice.
type Choice struct {
	CaseID   string
	Revision int
	Model    string
	Shown    string
	Power    string
	Target   string
	Place    string // bag, sulcus, chamber; "" leaves it
	Reason   string // for another power than the recommended
}

// PhaseForm is the machine's settings by phase as typed: phase → key → text.
type PhaseForm struct {
	CaseID   string
	Revision int
	Machine  string
	Settings map[string]map[string]string
}

// Listing puts a case on a theatre list; an empty date takes it off.
type Listing struct {
	CaseID   string
	Revision int
	Date     string
	Place    string // theatre or room
	Order    string // on the list, from 1
}

// Reopening takes a signed plan out of force.
type Reopening struct {
	CaseID   string
	Revision int
	Reason   string
}

// Closing ends a case.
type Closing struct {
	CaseID   string
	Revision int
	Why      string // one of ClosedWhy
	Reason   string
}

// ClosedWhy are the reasons of closing, as keys of "closed.KEY".
var ClosedWhy = []string{"operated", "dropped", "mistake"}

// Confirmation is what the second person ticked.
type Confirmation struct {
	CaseID   string
	Revision int
	Read     []string // of ConfirmItems
}

// ConfirmItems are what the second person reads from the source.
var ConfirmItems = []string{"name", "side", "length", "k", "lens"}

// Signing is the act of signing; Alone carries the reason of a lone worker,
// Supervisor who proved at this machine that they countersign a trainee.
type Signing struct {
	CaseID     string
	Revision   int
	Alone      string
	Supervisor Actor
}

// NewModel is the form for a lens model; constants as typed by contract key.
type NewModel struct {
	Name      string
	Constants map[string]string
	From, To  string
	Step      string
	Cylinders map[string]string // of a toric model, by key; nil for none

	Material, Pieces, MadeFor string // what decides where it may go
}

// MachineForm is what was measured on a machine, as typed: part → rows → key.
type MachineForm struct {
	ID, Name, Gauge, Incision string
	Revision                  int
	Parts                     map[string][]map[string]string
}

// StockChange counts the powers in the house for one model: power → count,
// both as typed. An empty count was not counted.
type StockChange struct {
	Model    string
	Revision int
	Counts   map[string]string
}

// NewPerson is the form for an account. The name is also the sign-in name.
type NewPerson struct {
	Name       string
	Password   string
	Role       string
	Supervisor bool
}

// PersonChange edits an account.
type PersonChange struct {
	ID         string
	Revision   int
	Role       string
	Supervisor bool
	Closed     bool
	Password   string // "" leaves it
}

// Refused makes a Refusals of one reason about a form field.
func Refused(code, field string, values ...finding.Value) finding.Refusals {
	return finding.Refusals{{Code: code, Field: field, Values: values}}
}
