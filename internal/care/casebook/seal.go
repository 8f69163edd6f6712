package casebook

import (
	"crypto/aes"
	"crypto/cipher"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// Key is the key of one patient's identity: AES-256.
type Key [32]byte

// String does not show the key.
func (Key) String() string { return "key" }

// GoString does not show the key.
func (Key) GoString() string { return "casebook.Key" }

// NewKey makes a patient's key from 32 bytes of random.
func NewKey(random io.Reader) (k Key, err error) {
	if _, err = io.ReadFull(random, k[:]); err != nil {
		return Key{}, fmt.Errorf("casebook: random bytes for a key: %w", err)
	}
	return k, nil
}

// ErrSeal says that a sealed identity does not open under the key: it is
// another patient's, or it was changed.
var ErrSeal = errors.New("casebook: the sealed identity does not open")

// Seal encrypts an identity with AES-256-GCM (NIST SP 800-38D) under the
// patient's key. The nonce is 12 random bytes, written before the ciphertext;
// a patient has far fewer revisions than the 2^32 that a random nonce allows.
// The patient's identifier is authenticated with it, so that a sealed text
// cannot be moved to another patient.
func Seal(id Identity, patient string, key Key, random io.Reader) (string, error) {
	plain, err := json.Marshal(id)
	if err != nil {
		return "", fmt.Errorf("casebook: encode identity: %w", err)
	}
	gcm, err := newGCM(key)
	if err != nil {
		return "", err
	}
	nonce := make([]byte, gcm.NonceSize())
	if _, err := io.ReadFull(random, nonce); err != nil {
		return "", fmt.Errorf("casebook: random bytes for a nonce: %w", err)
	}
	return base64.StdEncoding.EncodeToString(gcm.Seal(nonce, nonce, plain, authenticated(patient))), nil
}

// Unseal decrypts what Seal wrote.
func Unseal(sealed, patient string, key Key) (Identity, error) {
	box, err := base64.StdEncoding.DecodeString(sealed)
	if err != nil {
		return Identity{}, ErrSeal
	}
	gcm, err := newGCM(key)
	if err != nil {
		return Identity{}, err
	}
	if len(box) < gcm.NonceSize() {
		return Identity{}, ErrSeal
	}
	plain, err := gcm.Open(nil, box[:gcm.NonceSize()], box[gcm.NonceSize():], authenticated(patient))
	if err != nil {
		return Identity{}, ErrSeal
	}
	return decodeIdentity(plain, patient)
}

// decodeIdentity reads an identity as Decode reads a payload: a section of a
// newer program gives what was understood and a *FormatError.
func decodeIdentity(plain []byte, patient string) (Identity, error) {
	var id Identity
	strict := decode(plain, &id, true)
	if strict == nil {
		return id, nil
	}
	id = Identity{}
	if err := decode(plain, &id, false); err != nil {
		return Identity{}, fmt.Errorf("casebook: identity: %w: %w", ErrGarbled, err)
	}
	return id, &FormatError{Kind: KindPatient, Chain: patient, Format: Patient{}.Format(), Cause: strict}
}

func authenticated(patient string) []byte { return []byte("linn.identity/1 " + patient) }

func newGCM(key Key) (cipher.AEAD, error) {
	block, err := aes.NewCipher(key[:])
	if err != nil {
		return nil, fmt.Errorf("casebook: cipher: %w", err)
	}
	gcm, err := cipher.NewGCM(block)
	if err != nil {
		return nil, fmt.Errorf("casebook: cipher: %w", err)
	}
	return gcm, nil
}

// Identify reads who a patient is now: the newest state's identity under the
// patient's key. The error is ErrErased for an erased patient.
func Identify(tx Tx, patient string) (Identity, error) {
	p, _, err := Load[Patient](tx, patient)
	if err != nil {
		return Identity{}, err
	}
	if p.Erased {
		return Identity{}, ErrErased
	}
	key, err := tx.Key(patient)
	if err != nil {
		return Identity{}, err
	}
	return Unseal(p.Sealed, patient, key)
}

// Resolve follows merges to the patient that patient turned out to be.
func Resolve(tx Tx, patient string) (string, error) {
	seen := map[string]bool{}
	for {
		p, _, err := Load[Patient](tx, patient)
		if err != nil || p.MergedInto == "" {
			return patient, err
		}
		if seen[patient] {
			return patient, fmt.Errorf("casebook: patient %s is merged in a circle", patient)
		}
		seen[patient], patient = true, p.MergedInto
	}
}
