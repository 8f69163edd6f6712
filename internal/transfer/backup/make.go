package backup

import (
	"compress/gzip"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"filippo.io/age"

	"linn/internal/care/casebook"
	"linn/internal/transfer/wardfile"
)

// Order says where a backup goes and who can open it.
type Order struct {
	Folder   string
	To       []string // public halves of the recovery keys
	From     wardfile.Origin
	Progress func(revisions int)
}

// Make writes a backup of the record of s into a folder that exists: a stick
// that is not plugged in is not made up for by a folder of its name. Writers
// of the record do not wait.
func Make(ctx context.Context, s casebook.Store, o Order) (m Manifest, err error) {
	to, err := recipients(o.To)
	if err != nil {
		return m, err
	}
	if _, err := os.ReadDir(o.Folder); err != nil {
		return m, fmt.Errorf("backup: %w", err)
	}
	name := nameBegins + o.From.Stamp.At.UTC().Format(nameTime)
	m = Manifest{Format: Format, MadeAt: o.From.Stamp.At.UTC(), Zone: o.From.Stamp.Zone, Program: o.From.Program, File: name + fileEnds, Recipients: o.To}
	path := filepath.Join(o.Folder, m.File)
	for _, taken := range []string{path, manifestOf(path)} {
		if _, err := os.Lstat(taken); err == nil {
			return m, ErrExists
		}
	}
	part := path + partEnds
	defer func() {
		if err != nil {
			err = errors.Join(err, removed(part))
		}
	}()
	if err := m.fill(ctx, s, o, to, part); err != nil {
		return m, err
	}
	if err := m.compare(part, ErrMedium); err != nil {
		return m, err
	}
	if err := os.Rename(part, path); err != nil {
		return m, fmt.Errorf("backup: %w", err)
	}
	return m, m.write(manifestOf(path))
}

func removed(path string) error {
	if err := os.Remove(path); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// fill writes the encrypted file and what the manifest says of it.
func (m *Manifest) fill(ctx context.Context, s casebook.Store, o Order, to []age.Recipient, part string) error {
	f, err := os.OpenFile(part, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	err = m.stream(ctx, f, s, o, to)
	return errors.Join(err, f.Sync(), f.Close())
}

func (m *Manifest) stream(ctx context.Context, w io.Writer, s casebook.Store, o Order, to []age.Recipient) (err error) {
	hash := &counter{hash: sha256.New()}
	sealed, err := age.Encrypt(io.MultiWriter(w, hash), to...)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	packed := gzip.NewWriter(sealed)
	if m.Ward, err = wardfile.Write(ctx, packed, s, o.From, o.Progress); err != nil {
		return err
	}
	if err := errors.Join(packed.Close(), sealed.Close()); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	m.Bytes, m.SHA256 = hash.n, casebook.Digest(hash.hash.Sum(nil))
	return nil
}

// compare reads an encrypted file and holds it against the manifest.
func (m *Manifest) compare(path string, differs error) error {
	f, err := os.Open(path)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	defer f.Close()
	hash := &counter{hash: sha256.New()}
	if _, err := io.Copy(hash, f); err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	if hash.n != m.Bytes || casebook.Digest(hash.hash.Sum(nil)) != m.SHA256 {
		return differs
	}
	return nil
}

// counter sums up what is written to it.
type counter struct {
	hash interface {
		io.Writer
		Sum([]byte) []byte
	}
	n int64
}

func (c *counter) Write(b []byte) (int, error) {
	c.n += int64(len(b))
	return c.hash.Write(b)
}
