package casebook

import (
	"encoding/base64"
	"fmt"
	"io"
	"time"

	"linn/eye"
)

// The verbs of decision, drugs and consent.
const (
	VerbDecide  Verb = "decide"
	VerbDrugs   Verb = "drugs"
	VerbConsent Verb = "consent"
)

// Decided is what was found beside the readings and what the surgeon chose.
type Decided struct {
	Answers     map[string]string `json:"answers,omitempty"` // by question of the rules, as typed
	Technique   string            `json:"technique,omitempty"`
	Anaesthesia string            `json:"anaesthesia,omitempty"`
	Reason      string            `json:"reason,omitempty"` // why against the leans
	By          string            `json:"by,omitempty"`     // who chose
	At          time.Time         `json:"at,omitzero"`
}

// Drugs are the drugs as drawn up: lines by the keys of the dose format.
type Drugs struct {
	Weight string              `json:"weight_kg,omitempty"`
	Lines  []map[string]string `json:"lines,omitempty"`
	Drops  string              `json:"drops,omitempty"` // name of the local drop schedule
}

// Consent is what the patient agreed to, or refused.
type Consent struct {
	Side       eye.Side `json:"side,omitempty"`      // as the signed paper says
	Procedure  string   `json:"procedure,omitempty"` // as the signed paper says
	Refused    bool     `json:"refused,omitempty"`
	Counsellor string   `json:"counsellor,omitempty"` // a person of the Desk
	Language   string   `json:"language,omitempty"`
	Risks      []string `json:"risks,omitempty"`     // shown, by key
	Signature  string   `json:"signature,omitempty"` // signature, thumbprint
	Trainee    string   `json:"trainee,omitempty"`   // yes, no, "" not asked
	Teaching   string   `json:"teaching,omitempty"`  // yes, no, "" not asked

	// Sealed holds the names of people who stand beside the patient, under
	// the key of the patient For, see SealText.
	Sealed string `json:"sealed,omitempty"`
	For    string `json:"sealed_for,omitempty"`

	By string    `json:"by"`
	At time.Time `json:"at"`
}

// Beside are the people who stand beside the patient at the consent.
type Beside struct {
	Interpreter string `json:"interpreter,omitempty"`
	Witness     string `json:"witness,omitempty"`
	Guardian    string `json:"guardian,omitempty"`
}

// Said is an eye and an operation as one source names them.
type Said struct {
	Side      eye.Side  `json:"side"`
	Procedure string    `json:"procedure,omitempty"`
	By        string    `json:"by"`
	At        time.Time `json:"at"`
}

// SealText encrypts a text that names people under a patient's key, as Seal
// does an identity; what for is authenticated with it.
func SealText(text, patient string, key Key, random io.Reader) (string, error) {
	gcm, err := newGCM(key)
	if err != nil {
		return "", err
	}
	nonce := make([]byte, gcm.NonceSize())
	if _, err := io.ReadFull(random, nonce); err != nil {
		return "", fmt.Errorf("casebook: random bytes for a nonce: %w", err)
	}
	return base64.StdEncoding.EncodeToString(gcm.Seal(nonce, nonce, []byte(text), authenticatedText(patient))), nil
}

// UnsealText decrypts what SealText wrote.
func UnsealText(sealed, patient string, key Key) (string, error) {
	box, err := base64.StdEncoding.DecodeString(sealed)
	if err != nil {
		return "", ErrSeal
	}
	gcm, err := newGCM(key)
	if err != nil {
		return "", err
	}
	if len(box) < gcm.NonceSize() {
		return "", ErrSeal
	}
	plain, err := gcm.Open(nil, box[:gcm.NonceSize()], box[gcm.NonceSize():], authenticatedText(patient))
	if err != nil {
		return "", ErrSeal
	}
	return string(plain), nil
}

func authenticatedText(patient string) []byte { return []byte("linn.text/1 " + patient) }
