package web

import (
	"context"
	"errors"
	"net/http"

	"linn/eye"
	"linn/finding"
)

// Pathway is what the pages ask of the rest of the program: one call a page
// or a form. Every answer is already permitted to the Actor. Errors that a
// page can say in words are [ErrNotFound], [ErrForbidden], [*Conflict] and
// finding.Refusals; any other is a fault of the machinery.
type Pathway interface {
	// Ward lists the eyes to do, in list order.
	Ward(ctx context.Context, by Actor) (Ward, error)
	// StartCase opens a case for one eye and returns its id.
	StartCase(ctx context.Context, by Actor, c NewCase) (id string, err error)
	// Eye is one eye's journey as it stands.
	Eye(ctx context.Context, by Actor, id string) (EyeCase, error)
	// Measure stores the readings as typed, as one revision.
	Measure(ctx context.Context, by Actor, m Measurement) (EyeCase, error)
	// Repeat stores second entries of readings.
	Repeat(ctx context.Context, by Actor, m Measurement) (EyeCase, error)
	// Pass lets a gated caution through, with a reason.
	Pass(ctx context.Context, by Actor, p Pass) (EyeCase, error)
	// Choose sets the lens model, power, guiding method or target.
	Choose(ctx context.Context, by Actor, c Choice) (EyeCase, error)
	// Confirm is the second person's reading from the source.
	Confirm(ctx context.Context, by Actor, c Confirmation) (EyeCase, error)
	// Sign signs the plan.
	Sign(ctx context.Context, by Actor, s Signing) (EyeCase, error)
	// Sheet is the theatre sheet, signed or as a preview.
	Sheet(ctx context.Context, by Actor, id string) (Sheet, error)

	Shelf(ctx context.Context, by Actor) (Shelf, error)
	AddModel(ctx context.Context, by Actor, m NewModel) error
	// Stock sets which powers of a model are in the house.
	Stock(ctx context.Context, by Actor, s StockChange) error

	Desk(ctx context.Context, by Actor) (Desk, error)
	AddPerson(ctx context.Context, by Actor, p NewPerson) error
	ChangePerson(ctx context.Context, by Actor, p PersonChange) error
}

// Access is what the pages ask of the accounts: who is there, and the doors.
// It keeps sessions in cookies of its own.
type Access interface {
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
	Demo() []Actor
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
	By       string
	At       string // "10:42"
	Rows     []Difference
	Mine     Measurement // to be stored again on the newer revision
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
}

// Measurement is a set of readings as typed.
type Measurement struct {
	CaseID   string
	Revision int // that the form was made from
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

// Choice is the lens form as typed.
type Choice struct {
	CaseID   string
	Revision int
	Model    string
	Power    string
	Method   string
	Target   string
}

// Confirmation is what the second person ticked.
type Confirmation struct {
	CaseID   string
	Revision int
	Read     []string // of ConfirmItems
}

// ConfirmItems are what the second person reads from the source.
var ConfirmItems = []string{"name", "side", "length", "k", "lens"}

// Signing is the act of signing; Alone carries the reason of a lone worker.
type Signing struct {
	CaseID   string
	Revision int
	Alone    string
}

// NewModel is the form for a lens model; constants as typed by contract key.
type NewModel struct {
	Name      string
	Constants map[string]string
	From, To  string
	Step      string
}

// StockChange sets the powers in the house for one model.
type StockChange struct {
	Model  string
	Powers []string
}

// NewPerson is the form for an account.
type NewPerson struct {
	Name     string
	SignIn   string
	Password string
	Role     string
}

// PersonChange edits an account.
type PersonChange struct {
	ID         string
	Role       string
	Supervisor bool
	Closed     bool
}

// Refused makes a Refusals of one reason about a form field.
func Refused(code, field string, values ...finding.Value) finding.Refusals {
	return finding.Refusals{{Code: code, Field: field, Values: values}}
}

// TwiceFields are the readings that must be entered twice alike before signing.
var TwiceFields = []string{"axial_length_mm", "k_flat_d", "k_steep_d"}
