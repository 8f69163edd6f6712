package casebook

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"time"
)

// Kind is what a chain is about.
type Kind string

// The kinds of chain.
const (
	KindPatient  Kind = "patient"
	KindCase     Kind = "case"
	KindPerson   Kind = "person"
	KindLens     Kind = "lens"
	KindProtocol Kind = "protocol"
	KindList     Kind = "list"
	KindWard     Kind = "ward"
)

// Kinds lists the kinds; the ward chain, which lists the others, is last.
var Kinds = []Kind{KindPatient, KindCase, KindPerson, KindLens, KindMachine, KindProtocol, KindList, KindWard}

// The chains that exist once.
const (
	ProtocolChain = "local"
	WardChain     = "ward"
)

// Digest is a SHA-256 sum.
type Digest [sha256.Size]byte

// String writes the sum in hexadecimal.
func (d Digest) String() string { return hex.EncodeToString(d[:]) }

// MarshalText writes the sum in hexadecimal.
func (d Digest) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads 64 hexadecimal digits.
func (d *Digest) UnmarshalText(b []byte) error {
	if hex.DecodedLen(len(b)) != len(d) || len(b)%2 != 0 {
		return fmt.Errorf("casebook: a digest has %d hexadecimal digits, not %d", hex.EncodedLen(len(d)), len(b))
	}
	_, err := hex.Decode(d[:], b)
	return err
}

// Revision is one link of a chain. It is written once.
type Revision struct {
	Kind    Kind
	Chain   string // identifier of the chain, see NewID
	Number  int    // 1, 2, 3, …: the order of the chain
	Format  string // of the payload, "linn.case/1"
	At      time.Time
	Zone    string
	Actor   string
	Payload []byte // JSON in UTF-8, as stored
	Prev    Digest // hash of the revision before, or Genesis for the first
	Hash    Digest

	// Sequence is the place of the revision in the whole record, given by the
	// store when it is appended. It is not hashed: a chain keeps its hashes
	// when it is carried to another ward.
	Sequence int64
}

// instant is how an instant is written and hashed: UTC, nine decimals, so that
// text order is time order.
const instant = "2006-01-02T15:04:05.000000000Z"

// Instant writes an instant as it is stored and hashed.
func Instant(t time.Time) string { return t.UTC().Format(instant) }

// ParseInstant reads what Instant wrote.
func ParseInstant(s string) (time.Time, error) { return time.Parse(instant, s) }

// Sum computes the hash of r:
//
//	SHA-256(previous ‖ kind ‖ format ‖ time ‖ actor ‖ payload)
//
// Each field is preceded by its length as eight bytes, most significant first.
// The time is the instant as stored, a space and the zone's name.
func (r Revision) Sum() Digest {
	return sum(r.Prev[:], []byte(r.Kind), []byte(r.Format), []byte(Instant(r.At)+" "+r.Zone), []byte(r.Actor), r.Payload)
}

// Genesis is the previous hash of a chain's first revision. It is made from
// the kind and the identifier, so that the revisions of one chain cannot be
// passed off as another's.
func Genesis(kind Kind, chain string) Digest {
	return sum([]byte("linn.chain/1"), []byte(kind), []byte(chain))
}

func sum(fields ...[]byte) (d Digest) {
	h := sha256.New()
	var length [8]byte
	for _, f := range fields {
		binary.BigEndian.PutUint64(length[:], uint64(len(f)))
		h.Write(length[:])
		h.Write(f)
	}
	h.Sum(d[:0])
	return d
}

// NewID makes the identifier of a new chain: a UUID of version 7 (RFC 9562
// §5.7) from the instant and 10 bytes of random.
func NewID(random io.Reader, at time.Time) (string, error) {
	var b [16]byte
	binary.BigEndian.PutUint64(b[:8], uint64(at.UnixMilli())<<16)
	if _, err := io.ReadFull(random, b[6:]); err != nil {
		return "", fmt.Errorf("casebook: random bytes for an identifier: %w", err)
	}
	b[6] = b[6]&0x0f | 0x70
	b[8] = b[8]&0x3f | 0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", b[:4], b[4:6], b[6:8], b[8:10], b[10:]), nil
}

// Roll takes r into the digest of the whole record before it; the digest of
// an empty record is zero. Two records with one digest hold the same revisions
// in the same order.
func Roll(before Digest, r Revision) Digest {
	return sum([]byte("linn.record/1"), before[:], []byte(r.Kind), []byte(r.Chain), r.Hash[:])
}
