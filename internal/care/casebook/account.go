package casebook

import "time"

// Invitation is a one-time way to set a password. The link itself is not kept:
// Sum is the SHA-256 of its token, in hexadecimal.
type Invitation struct {
	Sum   string    `json:"sum"`
	Until time.Time `json:"until"`
}

// Glass is a look at one patient that a role does not allow, taken in an
// emergency: with a reason, for a short while, and reviewed afterwards.
type Glass struct {
	Patient  string    `json:"patient"`
	Case     string    `json:"case"`
	Since    time.Time `json:"since"`
	Until    time.Time `json:"until"`
	Reason   string    `json:"reason"`
	Reviewed *Review   `json:"reviewed,omitempty"`
}

// Review is what somebody else found about a broken glass.
type Review struct {
	By   string    `json:"by"`
	At   time.Time `json:"at"`
	Note string    `json:"note"`
}
