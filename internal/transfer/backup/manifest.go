package backup

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"linn/internal/care/casebook"
	"linn/internal/transfer/wardfile"
)

// Format is the manifest's format.
const Format = "linn.backup/1"

// Manifest says what a backup is.
type Manifest struct {
	Format     string           `json:"format"`
	MadeAt     time.Time        `json:"made_at"`
	Zone       string           `json:"zone"`
	Program    string           `json:"program"`
	File       string           `json:"file"` // beside the manifest
	Bytes      int64            `json:"bytes"`
	SHA256     casebook.Digest  `json:"sha256"` // of the encrypted file
	Recipients []string         `json:"recipients"`
	Ward       wardfile.Summary `json:"ward"`
}

const (
	fileEnds     = ".age"
	manifestEnds = ".json"
	partEnds     = ".part"
	nameBegins   = "linn-"
	nameTime     = "20060102T150405.000Z"
)

// maxManifest bounds the file of a manifest.
const maxManifest = 1 << 20

// Errors of backups.
var (
	ErrManifest   = errors.New("the manifest cannot be read, or a newer program wrote it")
	ErrNoManifest = errors.New("there is no manifest beside the backup")
	ErrDamaged    = errors.New("the backup is not the file its manifest describes: it was cut off, damaged or exchanged")
	ErrOtherWard  = errors.New("the backup is of another ward")
	ErrExists     = errors.New("there is a backup of that name already, and none is written over")
	ErrMedium     = errors.New("what was written reads back otherwise: the medium is failing")
)

// ReadManifest reads the manifest of the backup at path, which is its .age or
// its .json file.
func ReadManifest(path string) (m Manifest, err error) {
	f, err := os.Open(manifestOf(path))
	if errors.Is(err, fs.ErrNotExist) {
		return m, ErrNoManifest
	}
	if err != nil {
		return m, fmt.Errorf("backup: %w", err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, maxManifest))
	if err != nil {
		return m, fmt.Errorf("backup: %w", err)
	}
	return parseManifest(text)
}

func parseManifest(text []byte) (m Manifest, err error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&m); err != nil || m.Format != Format || m.MadeAt.IsZero() || m.File != filepath.Base(m.File) || !strings.HasSuffix(m.File, fileEnds) {
		return Manifest{}, errors.Join(ErrManifest, err)
	}
	return m, nil
}

func manifestOf(path string) string {
	if strings.HasSuffix(path, manifestEnds) {
		return path
	}
	return strings.TrimSuffix(path, fileEnds) + manifestEnds
}

func (m Manifest) write(path string) error {
	text, err := json.MarshalIndent(m, "", "\t")
	if err != nil {
		return fmt.Errorf("backup: manifest: %w", err)
	}
	part := path + partEnds
	f, err := os.OpenFile(part, os.O_CREATE|os.O_TRUNC|os.O_WRONLY, 0o600)
	if err != nil {
		return fmt.Errorf("backup: %w", err)
	}
	_, err = f.Write(append(text, '\n'))
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = errors.Join(os.Rename(part, path), syncDir(filepath.Dir(path)))
	}
	if err != nil {
		return errors.Join(fmt.Errorf("backup: manifest: %w", err), os.Remove(part))
	}
	return nil
}

// Newest returns the manifest of the newest backup in folder of the ward whose
// first revision has this hash, its file being there in its full length; found
// is false when there is none. Manifests that cannot be read are passed over:
// they belong to no backup.
func Newest(folder string, first casebook.Digest) (m Manifest, found bool, err error) {
	list, err := filepath.Glob(filepath.Join(globbed(folder), nameBegins+"*"+manifestEnds))
	if err != nil {
		return m, false, fmt.Errorf("backup: %w", err)
	}
	slices.Sort(list)
	for _, path := range slices.Backward(list) {
		m, err := ReadManifest(path)
		if err != nil || m.Ward.First != first {
			continue
		}
		info, err := os.Stat(filepath.Join(folder, m.File))
		if err == nil && info.Size() == m.Bytes {
			return m, true, nil
		}
	}
	return Manifest{}, false, nil
}

// globbed keeps signs of patterns in a folder's name from being read as such.
func globbed(folder string) string {
	return strings.NewReplacer(`[`, `[[]`, `*`, `[*]`, `?`, `[?]`).Replace(folder)
}

// syncDir makes a rename in dir durable, where a folder can be synced.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	_ = d.Sync() // Windows and some sticks refuse; the file itself is synced
	return d.Close()
}
