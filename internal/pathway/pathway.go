// Package pathway holds what people do with the ward, one verb a function, in
// the order in which a patient meets them:
//
//	AddPatient → OpenCase → Measure → SecondEntry → MeasureAgain → Check →
//	Pass → Choose → List → ReadBack → Sign → Sheet → Reopen → Close
//
// and beside them Correct, MoveReadings, MergePatients and Erase for what went
// wrong, the Ward, and the ward's own things: Shelf, Desk, Protocol, AccessLog,
// Verify.
//
// A verb loads from the store, asks care and calc, records one revision and
// returns what now stands. Every verb takes the person who does it; the role is
// read from the Desk, not believed. The clock and chance come in with the
// Pathway. What people can mend comes back as finding.Refusals, what their role
// may not do as *ForbiddenError, and two people at once as *Conflict.
package pathway

import (
	"io"

	"linn/internal/care/casebook"
)

// Pathway is what the verbs stand on.
type Pathway struct {
	Store   casebook.Store
	Clock   casebook.Clock // in the ward's zone
	Random  io.Reader      // unguessable bytes, for identifiers and keys
	Program string         // this program's version, for signed plans

	// Off keeps every plan from being made: the program did not reproduce its
	// own check values when it started.
	Off bool

	// Hash turns a new password into its encoded hash, or says by a
	// finding.Refusal why it cannot be taken.
	Hash func(password, name string) (string, error)

	register register
}
