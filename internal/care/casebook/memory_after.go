package casebook

import (
	"bytes"
	"crypto/sha256"
	"slices"
)

// Operated lists the operated eyes that fit q.
func (t *memoryTx) Operated(q OperatedQuery) ([]OperatedRow, error) {
	var list []OperatedRow
	for _, o := range t.m.operated {
		if q.Fits(o) {
			list = append(list, o)
		}
	}
	slices.SortFunc(list, CompareOperated)
	if q.Limit > 0 && len(list) > q.Limit {
		list = list[:q.Limit]
	}
	return list, nil
}

// PutAttachment keeps a box under its address.
func (t *memoryTx) PutAttachment(patient string, sealed []byte) (Digest, error) {
	if !t.write {
		return Digest{}, ErrReadOnly
	}
	address := Digest(sha256.Sum256(sealed))
	if err := CheckAttachment(patient, sealed); err != nil {
		return address, err
	}
	if was, kept := t.m.boxes[address]; kept {
		if was.patient != patient {
			return address, ErrOtherPatient
		}
		return address, nil
	}
	t.undo = append(t.undo, put(t.m.boxes, address, box{patient, bytes.Clone(sealed)}))
	return address, nil
}

// Attachment returns the box under address.
func (t *memoryTx) Attachment(address Digest) (string, []byte, error) {
	b, kept := t.m.boxes[address]
	if !kept {
		return "", nil, ErrAbsent
	}
	return b.patient, bytes.Clone(b.sealed), nil
}

// Attachments lists the addresses.
func (t *memoryTx) Attachments() ([]Digest, error) {
	var list []Digest
	for address := range t.m.boxes {
		list = append(list, address)
	}
	slices.SortFunc(list, func(a, b Digest) int { return bytes.Compare(a[:], b[:]) })
	return list, nil
}
