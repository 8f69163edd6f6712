package wardfile

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"hash"
	"io"
	"maps"
	"slices"

	"linn/internal/care/casebook"
)

// sheetGap is how many sheet numbers a record leaves out after a reading:
// sheets may have been printed after the file was made, and no number is given
// twice. A ward prints far fewer between two backups.
const sheetGap = 1000

// Read fills the record of s, which must be empty, from a file: all of it, or
// nothing. What was read verifies, and is what the file's last line says.
func Read(ctx context.Context, r io.Reader, s casebook.Store, progress func(int)) (sum Summary, err error) {
	err = s.Do(ctx, func(tx casebook.Tx) error {
		if _, err := tx.Last(); !errors.Is(err, casebook.ErrAbsent) {
			return errors.Join(err, ErrNotEmpty)
		}
		in := &reader{tx: tx, hash: sha256.New(), progress: progress, sheets: map[int]string{}}
		if err := in.all(ctx, r); err != nil {
			return err
		}
		sum = in.sum
		return in.verified()
	})
	if err != nil {
		return Summary{}, err
	}
	return sum, nil
}

type reader struct {
	tx       casebook.Tx
	n        int // line
	hash     hash.Hash
	sum      Summary
	ended    bool
	erased   []erasure
	sheets   map[int]string // sheet number → case
	last     int            // sheet number
	progress func(int)
}

// erasure is a patient whose key was destroyed.
type erasure struct {
	patient, second string
	stamp           casebook.Stamp
}

func (r *reader) all(ctx context.Context, from io.Reader) error {
	lines := bufio.NewScanner(from)
	lines.Buffer(make([]byte, 0, 1<<16), maxLine)
	for lines.Scan() {
		r.n++
		if err := errors.Join(ctx.Err(), r.take(lines.Bytes())); err != nil {
			return &LineError{r.n, err}
		}
		r.hash.Write(append(lines.Bytes(), '\n'))
	}
	switch err := lines.Err(); {
	case errors.Is(err, bufio.ErrTooLong):
		return &LineError{r.n + 1, ErrForeign}
	case err != nil:
		return fmt.Errorf("wardfile: %w", err)
	case r.n == 0:
		return ErrForeign
	case !r.ended:
		return ErrCutOff
	}
	return errors.Join(r.erase(), r.number())
}

// take reads one line.
func (r *reader) take(text []byte) error {
	var l line
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&l); err != nil {
		return r.unread(err)
	}
	switch {
	case r.ended:
		return fmt.Errorf("%w: there is more after the end", ErrDiffers)
	case (l.Ward != nil) != (r.n == 1):
		return ErrForeign
	case l.Ward != nil && l.Ward.Format != Format:
		return fmt.Errorf("%w: format %q", ErrNewer, l.Ward.Format)
	case l.Ward != nil:
		return nil
	case l.Key != nil:
		return r.key(l.Key)
	case l.Revision != nil:
		return r.revision(l.Revision)
	case l.Access != nil:
		return r.access(l.Access)
	case l.Attachment != nil:
		return r.attachment(l.Attachment)
	case l.End != nil:
		r.ended = true
		if l.End.Summary != r.sum || l.End.SHA256 != casebook.Digest(r.hash.Sum(nil)) {
			return ErrDiffers
		}
		return nil
	}
	return ErrForeign
}

// unread tells a foreign file from a line that was cut off or came from a
// newer program.
func (r *reader) unread(err error) error {
	var syntax *json.SyntaxError
	switch {
	case r.n == 1:
		return fmt.Errorf("%w: %w", ErrForeign, err)
	case errors.Is(err, io.ErrUnexpectedEOF), errors.As(err, &syntax):
		return fmt.Errorf("%w: %w", ErrCutOff, err)
	}
	return fmt.Errorf("%w: %w", ErrNewer, err)
}

func (r *reader) key(l *key) error {
	secret, err := l.read()
	if err != nil {
		return err
	}
	r.sum.Keys++
	return r.tx.PutKey(l.Patient, secret)
}

func (r *reader) access(l *access) error {
	a, err := l.read()
	if err != nil {
		return err
	}
	r.sum.Accesses++
	return r.tx.LogAccess(a)
}

func (r *reader) attachment(l *attachment) error {
	r.sum.Attached++
	switch address, err := r.tx.PutAttachment(l.Patient, l.Box); {
	case err != nil:
		return err
	case address != l.Address:
		return fmt.Errorf("%w: an attachment has another address", ErrDiffers)
	}
	return nil
}

func (r *reader) revision(l *revision) error {
	v, err := l.read()
	if err != nil {
		return err
	}
	if err := r.tx.Append(v); err != nil {
		return err
	}
	r.sum.count(v)
	if r.progress != nil && r.sum.Revisions%1000 == 0 {
		r.progress(r.sum.Revisions)
	}
	return r.follow(v)
}

// follow notes what the store keeps beside the chains and a revision tells of.
func (r *reader) follow(v casebook.Revision) error {
	switch v.Kind {
	case casebook.KindPatient:
		var p casebook.Patient
		if err := casebook.Decode(v, &p); err != nil {
			return err
		}
		if p.Verb == casebook.VerbErase {
			r.erased = append(r.erased, erasure{v.Chain, p.Second, casebook.Stamp{At: v.At, Zone: v.Zone, Actor: v.Actor}})
		}
	case casebook.KindCase:
		var c casebook.Case
		if err := casebook.Decode(v, &c); err != nil {
			return err
		}
		if c.Signed != nil && c.Signed.Sheet > 0 && r.sheets[c.Signed.Sheet] == "" {
			r.sheets[c.Signed.Sheet], r.last = v.Chain, max(r.last, c.Signed.Sheet)
		}
	}
	return nil
}

// erase notes who destroyed which key. The key that is destroyed here stands
// for the patient's, which was never in the file.
func (r *reader) erase() error {
	for _, e := range r.erased {
		if err := r.tx.PutKey(e.patient, casebook.Key{1}); err != nil {
			return err
		}
		if err := r.tx.DestroyKey(e.patient, e.stamp, e.second); err != nil {
			return err
		}
	}
	return nil
}

// number hands out the sheet numbers that were handed out, and the gap.
func (r *reader) number() error {
	next := 1
	for _, n := range slices.Sorted(maps.Keys(r.sheets)) {
		if n > next {
			if err := r.tx.SkipSheets(n - 1); err != nil {
				return err
			}
		}
		if _, err := r.tx.NextSheet(r.sheets[n]); err != nil {
			return err
		}
		next = n + 1
	}
	return r.tx.SkipSheets(r.last + sheetGap)
}

// verified walks what was read as a start would find it.
func (r *reader) verified() error {
	report, err := casebook.Verify(r.tx, nil)
	if err == nil && !report.Sound() {
		err = &UnsoundError{report}
	}
	return err
}
