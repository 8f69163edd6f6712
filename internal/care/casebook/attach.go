package casebook

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"time"
)

// Attached is a photo or a scanned sheet that belongs to a case. Its file
// stands beside the record, sealed under the patient's key; the record holds
// its address, so that a lost or changed file shows.
type Attached struct {
	Address Digest    `json:"address"` // SHA-256 of the ciphertext
	Type    MediaType `json:"type"`
	Size    int       `json:"size"` // of the file, in bytes
	What    string    `json:"what"` // of AttachedWhat
	By      string    `json:"by"`
	At      time.Time `json:"at"`

	// Withdrawn says why it does not belong here; it stays.
	Withdrawn string `json:"withdrawn,omitempty"`
}

// AttachedWhat is what a file shows. A file's own name is not kept: names of
// files are names of people.
var AttachedWhat = []string{"theatre-sheet", "lens-label", "photo", "scan-of-paper", "consent", "other"}

// MediaType is the type of a file as it was found in its first bytes.
type MediaType string

// The types that are taken. Whatever a browser could run is not among them.
const (
	JPEG MediaType = "image/jpeg"
	PNG  MediaType = "image/png"
	PDF  MediaType = "application/pdf"
)

// MaxAttachment is the size of the largest file: a page scanned in colour or a
// phone's photo is smaller.
const MaxAttachment = 12 << 20

// Sniff tells the type from the first bytes, "" when it is none that is taken.
// What a sender says of a file is not believed.
func Sniff(file []byte) MediaType {
	for _, m := range []struct {
		magic string
		is    MediaType
	}{{"\xff\xd8\xff", JPEG}, {"\x89PNG\r\n\x1a\n", PNG}, {"%PDF-", PDF}} {
		if bytes.HasPrefix(file, []byte(m.magic)) {
			return m.is
		}
	}
	return ""
}

// ErrOtherPatient says that a box stands in the record for somebody else.
var ErrOtherPatient = errors.New("casebook: the attachment is kept for another patient")

// sealOverhead is what sealing adds to a file: nonce and tag.
const sealOverhead = 12 + 16

// CheckAttachment is the rule of every store for keeping a box.
func CheckAttachment(patient string, box []byte) error {
	if patient == "" || len(box) <= sealOverhead || len(box) > MaxAttachment+sealOverhead {
		return errors.New("casebook: an attachment needs its patient, and a size within bounds")
	}
	return nil
}

// SealAttachment encrypts a file under the patient's key, as Seal does an
// identity. The nonce is made from key and file, so that the same file of the
// same patient gives the same box and is kept once; another file shares a nonce
// with a chance of 2^-96 a pair.
func SealAttachment(file []byte, patient string, key Key) ([]byte, error) {
	gcm, err := newGCM(key)
	if err != nil {
		return nil, err
	}
	made := sum([]byte("linn.attachment/1"), key[:], file)
	nonce := made[:gcm.NonceSize()]
	return gcm.Seal(bytes.Clone(nonce), nonce, file, attachedTo(patient)), nil
}

// UnsealAttachment decrypts what SealAttachment wrote.
func UnsealAttachment(box []byte, patient string, key Key) ([]byte, error) {
	gcm, err := newGCM(key)
	if err != nil {
		return nil, err
	}
	if len(box) < gcm.NonceSize() {
		return nil, ErrSeal
	}
	file, err := gcm.Open(nil, box[:gcm.NonceSize()], box[gcm.NonceSize():], attachedTo(patient))
	if err != nil {
		return nil, ErrSeal
	}
	return file, nil
}

func attachedTo(patient string) []byte { return []byte("linn.attachment/1 " + patient) }

// AddressOf is the address of a box.
func AddressOf(box []byte) Digest { return sha256.Sum256(box) }
