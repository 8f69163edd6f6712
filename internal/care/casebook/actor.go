package casebook

import "time"

// Role is what a person does on the ward. What a role may do is decided in
// internal/pathway.
type Role string

// The roles.
const (
	Technician    Role = "technician"
	Trainee       Role = "trainee"
	Surgeon       Role = "surgeon"
	Nurse         Role = "nurse"
	Counsellor    Role = "counsellor"
	Auditor       Role = "auditor"
	Administrator Role = "administrator"
)

// Roles lists the roles in the order in which a patient meets them.
var Roles = []Role{Technician, Trainee, Surgeon, Nurse, Counsellor, Auditor, Administrator}

// Clinical reports whether the role works with patients' eyes: only a clinical
// person can be the second person who reads a plan back.
func (r Role) Clinical() bool {
	return r == Technician || r == Trainee || r == Surgeon || r == Nurse
}

// Actor is the person who does something. ID is the chain of the person on
// the Desk.
type Actor struct {
	ID, Name   string
	Role       Role
	Supervisor bool // a surgeon who may pass gates and countersign for trainees
}

// Senior reports whether the actor may pass a gated caution: a surgeon listed
// as supervisor on the Desk.
func (a Actor) Senior() bool { return a.Role == Surgeon && a.Supervisor }

// Clock tells the time. Its location is the ward's zone.
type Clock func() time.Time

// Stamp says who did something and when.
type Stamp struct {
	At    time.Time // UTC
	Zone  string    // name of the ward's zone, or its offset when it has no name
	Actor string    // ID of the person
}

// StampOf reads the clock once for the actor.
func StampOf(clock Clock, actor Actor) Stamp {
	t := clock()
	zone := t.Location().String()
	if zone == "Local" || zone == "" { // the system's zone has no portable name
		zone = t.Format("-07:00")
	}
	return Stamp{At: t.UTC(), Zone: zone, Actor: actor.ID}
}
