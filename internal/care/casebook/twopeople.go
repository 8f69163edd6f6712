package casebook

import (
	"errors"
	"fmt"
	"slices"
)

// Errors of the rules around keys and pairs of people.
var (
	ErrKeyTwice  = errors.New("casebook: the patient has, or had, a key")
	ErrSheets    = errors.New("casebook: these sheet numbers were handed out")
	ErrTwoPeople = errors.New("casebook: this needs two different people")
)

// CheckTwo says whether stamp's actor and second are two different people.
func CheckTwo(stamp Stamp, second string) error {
	if stamp.Actor == "" || second == "" || stamp.Actor == second {
		return ErrTwoPeople
	}
	return nil
}

// CheckKey is the rule of every store for keeping a key.
func CheckKey(patient string, key Key) error {
	if patient == "" || key == (Key{}) {
		return errors.New("casebook: a key needs its patient and is not zero")
	}
	return nil
}

// CheckAccess is the rule of every store for a line of the access log.
func CheckAccess(a Access) error {
	known := []string{AccessRead, AccessChange, AccessPrint, AccessExport}
	if a.At.IsZero() || a.Zone == "" || a.Actor == "" || a.Patient == "" || !slices.Contains(known, a.What) {
		return fmt.Errorf("casebook: an access needs instant, zone, actor, patient and one of %v", known)
	}
	return nil
}

// NewPatient opens a patient's chain with its key: the identity is sealed and
// the key kept, in one transaction.
func NewPatient(tx Tx, stamp Stamp, patient string, key Key, sealed string) (Revision, error) {
	if err := tx.PutKey(patient, key); err != nil {
		return Revision{}, err
	}
	return Revise(tx, stamp, patient, 0, Patient{Verb: VerbOpen, Sealed: sealed})
}

// MergePatient records that a patient turned out to be another one; the actor
// of stamp and second have both looked. Nothing of either is changed: the
// cases keep the patient they were opened under, and Resolve leads to the
// other.
func MergePatient(tx Tx, stamp Stamp, second, patient, into, reason string) error {
	if err := CheckTwo(stamp, second); err != nil {
		return err
	}
	target, err := Resolve(tx, into)
	if err != nil {
		return err
	}
	p, r, err := Load[Patient](tx, patient)
	if err != nil {
		return err
	}
	if target == patient || p.MergedInto != "" || p.Erased || reason == "" {
		return errors.New("casebook: a merge needs two patients, neither merged before, and a reason")
	}
	p.Verb, p.Reason, p.Second, p.MergedInto = VerbMerge, reason, second, into
	_, err = Revise(tx, stamp, patient, r.Number, p)
	return err
}

// ErasePatient destroys the patient's key by lawful order of two people. The
// chain stays, its hashes cover the ciphertext and still verify.
func ErasePatient(tx Tx, stamp Stamp, second, patient, reason string) error {
	if err := CheckTwo(stamp, second); err != nil {
		return err
	}
	p, r, err := Load[Patient](tx, patient)
	if err != nil {
		return err
	}
	if p.Erased || reason == "" {
		return errors.New("casebook: an erasure needs a patient who is not erased, and a reason")
	}
	if err := tx.DestroyKey(patient, stamp, second); err != nil {
		return err
	}
	p.Verb, p.Reason, p.Second, p.Sealed, p.Erased = VerbErase, reason, second, "", true
	_, err = Revise(tx, stamp, patient, r.Number, p)
	return err
}
