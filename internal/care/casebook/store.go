package casebook

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"time"
)

// Store keeps the record. It is safe for concurrent use.
type Store interface {
	// Do runs fn as one write: all of it is kept when fn returns nil, and
	// nothing otherwise. When Do returns nil the revisions are on the disk.
	// fn must not call Do or View of the same store.
	Do(ctx context.Context, fn func(Tx) error) error

	// View runs fn on one unchanging state of the record. Writing methods of
	// its Tx return ErrReadOnly.
	View(ctx context.Context, fn func(Tx) error) error

	Close() error
}

// Tx is one transaction. It is used by one goroutine and ends with the
// function it was given to.
type Tx interface {
	// Append adds r to its chain under the rules of CheckAppend. When the
	// chain has moved on since r was made it returns a *ConflictError.
	Append(r Revision) error

	// Head returns the newest revision of a chain, ErrAbsent when there is none.
	Head(kind Kind, chain string) (Revision, error)

	// Chain walks the revisions of one chain from the first to the newest.
	Chain(kind Kind, chain string) iter.Seq2[Revision, error]

	// Heads walks the newest revision of every chain of a kind, in the order
	// of their identifiers.
	Heads(kind Kind) iter.Seq2[Revision, error]

	// Since walks the revisions of all chains after a sequence number, in
	// sequence order: what is new to a reader who has seen the rest.
	Since(sequence int64) iter.Seq2[Revision, error]

	// Last returns the revision with the highest sequence, ErrAbsent in an
	// empty record.
	Last() (Revision, error)

	// PutKey keeps the key of a new patient; a patient's key is never replaced.
	PutKey(patient string, key Key) error

	// Key returns the patient's key: ErrAbsent when there never was one,
	// ErrErased when it was destroyed.
	Key(patient string) (Key, error)

	// DestroyKey destroys the patient's key beyond recovery. by and the actor
	// of stamp are two different people.
	DestroyKey(patient string, stamp Stamp, second string) error

	// LogAccess adds a line to the access log.
	LogAccess(a Access) error

	// AccessLog lists the lines that fit q, the newest first.
	AccessLog(q AccessQuery) ([]Access, error)

	// NextSheet hands out the next number of a printed sheet. A number that
	// was committed is never handed out again.
	NextSheet(caseID string) (int, error)

	// SkipSheets leaves out the sheet numbers up to through, which is above
	// the last one.
	SkipSheets(through int) error

	// Ward lists the eye cases that fit q by list date (cases without one
	// last), place on the list, and identifier.
	Ward(q WardQuery) ([]WardRow, error)

	// Operated lists the operated eyes that fit q by bed, day of the operation
	// and identifier.
	Operated(q OperatedQuery) ([]OperatedRow, error)

	// PutAttachment keeps the ciphertext of an attachment under its SHA-256.
	// The same box put twice is kept once; another patient's is refused.
	PutAttachment(patient string, box []byte) (Digest, error)

	// Attachment returns the ciphertext under address, ErrAbsent when there is
	// none.
	Attachment(address Digest) (patient string, box []byte, err error)

	// Attachments lists the addresses of all attachments in their order.
	Attachments() ([]Digest, error)

	// Patients lists every patient in the order of their identifiers, merged
	// and erased ones too.
	Patients() ([]PatientRow, error)

	// Kin lists a patient and every record that was merged into it, by
	// whatever way, in the order of their identifiers.
	Kin(patient string) ([]string, error)

	// Rebuild derives every projection anew from the chains.
	Rebuild() error
}

// Errors that callers branch on.
var (
	ErrAbsent   = errors.New("not in the record")
	ErrErased   = errors.New("erased: the key was destroyed")
	ErrReadOnly = errors.New("the record is open for reading only")

	// Of the disk. After ErrDiskFull or ErrDisk it is not known whether the
	// write is kept: it was not acknowledged.
	ErrDiskFull = errors.New("the disk is full")
	ErrDisk     = errors.New("the disk fails")
	ErrDamaged  = errors.New("the database is damaged")
)

// ConflictError says that the chain has moved on since the writer read it.
// Theirs is the newest revision; Mine was not kept.
type ConflictError struct {
	Mine, Theirs Revision
}

func (e *ConflictError) Error() string {
	return fmt.Sprintf("casebook: %s %s: revision %d does not follow the newest, %d", e.Mine.Kind, e.Mine.Chain, e.Mine.Number, e.Theirs.Number)
}

// What an access was.
const (
	AccessRead   = "read"
	AccessChange = "change"
	AccessPrint  = "print"
	AccessExport = "export"
)

// Access is one line of the access log.
type Access struct {
	At      time.Time
	Zone    string
	Actor   string
	What    string // AccessRead, …
	Patient string
	Case    string // "" when the access was to the patient as a whole
	Detail  string // the page or verb; never a name, an identifier or a reading
	Number  int64  // given by the store: 1, 2, 3, …
}

// AccessQuery chooses lines of the access log; empty fields choose all.
type AccessQuery struct {
	Patient, Actor string
	Before         int64 // only lines with a smaller number; 0: from the newest
	Limit          int   // 0: AccessLimit
}

// AccessLimit is how many lines of the access log are listed when the query
// does not say.
const AccessLimit = 200
