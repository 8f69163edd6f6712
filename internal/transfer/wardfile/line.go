package wardfile

import (
	"encoding/hex"
	"errors"
	"fmt"

	"linn/internal/care/casebook"
)

// Format is the first line's format.
const Format = "linn.ward-file/1"

// maxLine bounds a line: the largest payload with every sign escaped, or the
// largest attachment.
const maxLine = 64 << 20

// line is one line; exactly one field is set.
type line struct {
	Ward     *header   `json:"ward,omitempty"`
	Key      *key      `json:"key,omitempty"`
	Revision *revision `json:"revision,omitempty"`
	Access   *access   `json:"access,omitempty"`

	Attachment *attachment `json:"attachment,omitempty"`

	End *end `json:"end,omitempty"`
}

type header struct {
	Format  string `json:"format"`
	Program string `json:"program"`
	MadeAt  string `json:"made_at"`
	Zone    string `json:"zone"`
}

type key struct {
	Patient string `json:"patient"`
	Secret  string `json:"secret"`
}

// attachment is a sealed file beside the record; JSON writes the box in base64.
type attachment struct {
	Address casebook.Digest `json:"address"`
	Patient string          `json:"patient"`
	Box     []byte          `json:"box"`
}

type revision struct {
	Kind    casebook.Kind   `json:"kind"`
	Chain   string          `json:"chain"`
	Number  int             `json:"number"`
	Format  string          `json:"format"`
	At      string          `json:"at"`
	Zone    string          `json:"zone"`
	Actor   string          `json:"actor"`
	Payload string          `json:"payload"`
	Prev    casebook.Digest `json:"prev"`
	Hash    casebook.Digest `json:"hash"`
}

type access struct {
	At      string `json:"at"`
	Zone    string `json:"zone"`
	Actor   string `json:"actor"`
	What    string `json:"what"`
	Patient string `json:"patient"`
	Case    string `json:"case,omitempty"`
	Detail  string `json:"detail,omitempty"`
}

// Summary is the last line: how much there is, and the digest of the record
// with the newest entry of its ward chain.
type Summary struct {
	First      casebook.Digest `json:"first"` // hash of the first revision: tells one ward from another
	Revisions  int             `json:"revisions"`
	Keys       int             `json:"keys"`
	Accesses   int             `json:"accesses"`
	Attached   int             `json:"attachments"`
	Digest     casebook.Digest `json:"digest"`
	WardNumber int             `json:"ward_number"`
	WardHash   casebook.Digest `json:"ward_hash"`
}

// end is the last line: the summary, and the SHA-256 of all lines before it,
// which covers what no chain does.
type end struct {
	Summary
	SHA256 casebook.Digest `json:"sha256"`
}

// count takes one more revision into the summary.
func (s *Summary) count(r casebook.Revision) {
	if s.Revisions++; s.Revisions == 1 {
		s.First = r.Hash
	}
	s.Digest = casebook.Roll(s.Digest, r)
	if r.Kind == casebook.KindWard {
		s.WardNumber, s.WardHash = r.Number, r.Hash
	}
}

func lineOf(r casebook.Revision) *revision {
	return &revision{r.Kind, r.Chain, r.Number, r.Format, casebook.Instant(r.At), r.Zone, r.Actor, string(r.Payload), r.Prev, r.Hash}
}

func (l *revision) read() (casebook.Revision, error) {
	at, err := casebook.ParseInstant(l.At)
	return casebook.Revision{Kind: l.Kind, Chain: l.Chain, Number: l.Number, Format: l.Format, At: at, Zone: l.Zone, Actor: l.Actor,
		Payload: []byte(l.Payload), Prev: l.Prev, Hash: l.Hash}, err
}

func (k *key) read() (secret casebook.Key, err error) {
	if hex.DecodedLen(len(k.Secret)) != len(secret) {
		return secret, errors.New("the key has the wrong length")
	}
	_, err = hex.Decode(secret[:], []byte(k.Secret))
	return secret, err
}

func (a *access) read() (casebook.Access, error) {
	at, err := casebook.ParseInstant(a.At)
	return casebook.Access{At: at, Zone: a.Zone, Actor: a.Actor, What: a.What, Patient: a.Patient, Case: a.Case, Detail: a.Detail}, err
}

// Errors that callers branch on.
var (
	ErrCutOff   = errors.New("the file was cut off: its last line is missing")
	ErrForeign  = errors.New("the file is not a ward")
	ErrNewer    = errors.New("the file was made by a newer program")
	ErrNotEmpty = errors.New("there is a record already, and none is written over")
	ErrDiffers  = errors.New("the file does not hold what its last line says")
)

// UnsoundError says that a record does not verify.
type UnsoundError struct{ Report casebook.Report }

// First is the first place that does not hold.
func (e *UnsoundError) First() casebook.Break {
	for _, b := range append(e.Report.Broken, e.Report.Stale...) {
		return b
	}
	return casebook.Break{}
}

func (e *UnsoundError) Error() string {
	return fmt.Sprintf("the record does not verify: %s", e.First())
}

// LineError says which line of a file could not be taken.
type LineError struct {
	Line  int
	Cause error
}

func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.Cause) }
func (e *LineError) Unwrap() error { return e.Cause }
