package sheet

// Check is one of the team's checks, by key, with the moment it belongs to.
type Check struct {
	Moment string // sign-in, time-out, sign-out
	Key    string
}

// The moments, in order.
const (
	SignIn  = "sign-in"  // before anaesthesia
	TimeOut = "time-out" // before the first incision
	SignOut = "sign-out" // before the patient leaves
)

// Checks are the team's checks in the order of the operation. Their content
// is common practice, in our own words; a ward's own list goes before it.
var Checks = []Check{
	{SignIn, "person"}, {SignIn, "eye-marked"}, {SignIn, "consent"}, {SignIn, "allergy"}, {SignIn, "lens-ready"},
	{TimeOut, "all-pause"}, {TimeOut, "lens-aloud"}, {TimeOut, "box-opened"}, {TimeOut, "sterile"}, {TimeOut, "antibiotic"},
	{SignOut, "label-kept"}, {SignOut, "counts"}, {SignOut, "room-cleared"},
}

// WriteDown is what must be written down, in order.
var WriteDown = []string{"implanted", "placement", "technique", "events", "times"}
