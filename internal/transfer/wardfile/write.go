package wardfile

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"io"
	"slices"
	"unicode/utf8"

	"linn/internal/care/casebook"
)

// Origin says what made a file, and when.
type Origin struct {
	Program string
	Stamp   casebook.Stamp
}

// Write writes the whole record to w as it stands at one instant; writers of
// the record do not wait. A record that does not verify gives an
// *UnsoundError and no end line. progress, when not nil, is called now and
// then with the revisions written.
func Write(ctx context.Context, w io.Writer, s casebook.Store, from Origin, progress func(int)) (sum Summary, err error) {
	err = s.View(ctx, func(tx casebook.Tx) error {
		report, err := casebook.Verify(tx, nil)
		if err != nil {
			return err
		}
		if !report.Sound() {
			return &UnsoundError{report}
		}
		hash := sha256.New()
		out := &writer{enc: json.NewEncoder(io.MultiWriter(w, hash)), hash: hash, tx: tx, progress: progress}
		out.enc.SetEscapeHTML(false)
		sum, err = out.all(from)
		return err
	})
	return sum, err
}

type writer struct {
	enc      *json.Encoder
	hash     hash.Hash
	tx       casebook.Tx
	sum      Summary
	progress func(int)
}

func (w *writer) put(l line) error {
	if err := w.enc.Encode(l); err != nil {
		return fmt.Errorf("wardfile: %w", err)
	}
	return nil
}

func (w *writer) all(from Origin) (Summary, error) {
	err := w.put(line{Ward: &header{Format, from.Program, casebook.Instant(from.Stamp.At), from.Stamp.Zone}})
	for _, part := range []func() error{w.keys, w.revisions, w.accesses, w.attachments} {
		if err == nil {
			err = part()
		}
	}
	if err != nil {
		return w.sum, err
	}
	return w.sum, w.put(line{End: &end{w.sum, casebook.Digest(w.hash.Sum(nil))}})
}

func (w *writer) keys() error {
	patients, err := w.tx.Patients()
	if err != nil {
		return err
	}
	for _, p := range patients {
		if p.Key == (casebook.Key{}) {
			continue // erased
		}
		if err := w.put(line{Key: &key{p.Patient, hex.EncodeToString(p.Key[:])}}); err != nil {
			return err
		}
		w.sum.Keys++
	}
	return nil
}

func (w *writer) revisions() error {
	for r, err := range w.tx.Since(0) {
		if err != nil {
			return err
		}
		if !utf8.Valid(r.Payload) { // would not come out byte for byte
			return fmt.Errorf("wardfile: %s %s revision %d is not text", r.Kind, r.Chain, r.Number)
		}
		if err := w.put(line{Revision: lineOf(r)}); err != nil {
			return err
		}
		w.sum.count(r)
		if w.progress != nil && w.sum.Revisions%1000 == 0 {
			w.progress(w.sum.Revisions)
		}
	}
	return nil
}

// attachments writes the sealed files, one at a time.
func (w *writer) attachments() error {
	list, err := w.tx.Attachments()
	if err != nil {
		return err
	}
	for _, address := range list {
		patient, box, err := w.tx.Attachment(address)
		if err != nil {
			return err
		}
		if err := w.put(line{Attachment: &attachment{address, patient, box}}); err != nil {
			return err
		}
		w.sum.Attached++
	}
	return nil
}

// logPage is how many lines of the access log are read at a time.
const logPage = 500

// accesses writes the access log, the oldest line first.
func (w *writer) accesses() error {
	newest, err := w.tx.AccessLog(casebook.AccessQuery{Limit: 1})
	if err != nil || len(newest) == 0 {
		return err
	}
	for from := int64(1); from <= newest[0].Number; from += logPage {
		page, err := w.tx.AccessLog(casebook.AccessQuery{Before: from + logPage, Limit: logPage})
		if err != nil {
			return err
		}
		for _, a := range slices.Backward(page) {
			if a.Number < from {
				continue
			}
			w.sum.Accesses++
			if err := w.put(line{Access: &access{casebook.Instant(a.At), a.Zone, a.Actor, a.What, a.Patient, a.Case, a.Detail}}); err != nil {
				return err
			}
		}
	}
	return nil
}
