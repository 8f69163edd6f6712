package backup

import (
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"os"

	"filippo.io/age"

	"linn/internal/care/casebook"
	"linn/internal/transfer/wardfile"
)

// Restored says what came out of a backup.
type Restored struct {
	Ward     wardfile.Summary
	Manifest Manifest
	Alone    bool // there was no manifest to hold it against
}

// Restore fills the record of s, which must be empty, from the backup at path:
// all of it, or nothing. secret is one of the recovery keys.
func Restore(ctx context.Context, path, secret string, s casebook.Store, progress func(int)) (r Restored, err error) {
	key, err := identity(secret)
	if err != nil {
		return r, err
	}
	r.Manifest, err = ReadManifest(path)
	switch r.Alone = errors.Is(err, ErrNoManifest); {
	case r.Alone:
	case err != nil:
		return r, err
	default:
		if err := r.Manifest.compare(path, ErrDamaged); err != nil {
			return r, err
		}
	}
	f, err := os.Open(path)
	if err != nil {
		return r, fmt.Errorf("backup: %w", err)
	}
	defer f.Close()
	if r.Ward, err = unpack(ctx, f, key, s, progress); err != nil {
		return r, err
	}
	return r, nil
}

func unpack(ctx context.Context, f io.Reader, key age.Identity, s casebook.Store, progress func(int)) (sum wardfile.Summary, err error) {
	open, err := age.Decrypt(f, key)
	var wrong *age.NoIdentityMatchError
	switch {
	case errors.As(err, &wrong):
		return sum, ErrWrongKey
	case err != nil:
		return sum, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	packed, err := gzip.NewReader(open)
	if err != nil {
		return sum, fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return wardfile.Read(ctx, damaged{packed}, s, progress)
}

// damaged says of everything that breaks a reading off that the backup is
// damaged.
type damaged struct{ io.Reader }

func (d damaged) Read(b []byte) (int, error) {
	n, err := d.Reader.Read(b)
	if err != nil && !errors.Is(err, io.EOF) {
		err = fmt.Errorf("%w: %w", ErrDamaged, err)
	}
	return n, err
}

// MissingError says that a record does not hold what a backup of it held.
type MissingError struct {
	Manifest Manifest
	Have     int // revisions in the record
}

func (e *MissingError) Error() string {
	if e.Have < e.Manifest.Ward.Revisions {
		return fmt.Sprintf("the backup held %d revisions and the record holds %d", e.Manifest.Ward.Revisions, e.Have)
	}
	return fmt.Sprintf("the first %d revisions of the record are not those of the backup", e.Manifest.Ward.Revisions)
}

// Against holds a record against the manifest of a backup that was made of it:
// everything the backup held must still be there, unchanged and in its order.
// It needs no key. The error is a *MissingError when something is not.
func Against(ctx context.Context, s casebook.Store, m Manifest) error {
	return s.View(ctx, func(tx casebook.Tx) error {
		var digest casebook.Digest
		n := 0
		for r, err := range tx.Since(0) {
			if err != nil {
				return err
			}
			if n == 0 && r.Hash != m.Ward.First {
				return ErrOtherWard
			}
			if n == m.Ward.Revisions {
				break
			}
			digest = casebook.Roll(digest, r)
			n++
		}
		if n != m.Ward.Revisions || digest != m.Ward.Digest {
			return &MissingError{m, n}
		}
		return nil
	})
}
