package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"syscall"
	"time"

	"linn/finding"
	"linn/internal/pathway"
	"linn/internal/store"
	"linn/internal/transfer/backup"
	"linn/internal/transfer/wardfile"
)

// exportCommand writes a whole ward to one file.
type exportCommand struct {
	File string `arg:"" help:"${help_export_file}"`
	where
}

// importCommand fills an empty record from such a file.
type importCommand struct {
	File string `arg:"" help:"${help_import_file}"`
	where
}

// where is the record a command is about.
type where struct {
	Data string `help:"${help_data}" env:"LINN_DATA" placeholder:"DIR"`
	DB   string `help:"${help_db}" env:"LINN_DB" name:"db" placeholder:"URL"`
}

// settled are the settings of the record.
func (w *where) settled(a *app) (*settings, error) {
	s := &settings{Data: w.Data, DB: w.DB}
	return s, s.complete(a, false)
}

func (a *app) origin(path *pathway.Pathway) wardfile.Origin {
	return wardfile.Origin{Program: programVersion(), Stamp: path.MachineStamp()}
}

func (a *app) walked(n int) { a.say("verify.progress", value("n", strconv.Itoa(n))) }

func (c *exportCommand) Run(a *app) (err error) {
	s, err := c.settled(a)
	if err != nil {
		return err
	}
	record, err := s.openToRead(a)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, record.Close()) }()
	path := &pathway.Pathway{Store: record, Clock: clockIn(time.Local), Program: programVersion()}
	sum, err := a.writeWard(c.File, path)
	if err != nil {
		return a.trusted(c.File, err)
	}
	a.tellWard("export.done", c.File, &sum)
	return nil
}

// writeWard writes a ward to a file that must not exist, or to standard output.
func (a *app) writeWard(name string, path *pathway.Pathway) (sum wardfile.Summary, err error) {
	if name == "-" {
		return wardfile.Write(a.ctx, a.out, path.Store, a.origin(path), a.walked)
	}
	f, err := os.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if err != nil {
		return sum, err
	}
	sum, err = wardfile.Write(a.ctx, f, path.Store, a.origin(path), a.walked)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		err = errors.Join(err, os.Remove(name))
	}
	return sum, err
}

func (a *app) tellWard(key, file string, sum *wardfile.Summary) {
	fmt.Fprintln(a.err, a.t(key, value("file", file), value("revisions", strconv.Itoa(sum.Revisions)),
		value("accesses", strconv.Itoa(sum.Accesses)), value("digest", sum.Digest.String())))
}

func (c *importCommand) Run(a *app) error {
	s, err := c.settled(a)
	if err != nil {
		return err
	}
	f, err := a.open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	var sum wardfile.Summary
	err = s.fill(a, func(ctx context.Context, record pathway.Store) (err error) {
		sum, err = wardfile.Read(ctx, f, record, a.walked)
		return err
	})
	if err != nil {
		return a.trusted(c.File, err)
	}
	a.tellWard("import.done", c.File, &sum)
	return nil
}

// making is the ending of a folder's name while its record is being filled: a
// fill that was cut off never stands where a record is looked for.
const making = ".restoring"

// fill makes a new record and fills it: in the folder, which must be absent or
// empty, or in an empty database. A passphrase in LINN_PASSPHRASE encrypts the
// new folder. Nothing stays of a fill that did not end well.
func (s *settings) fill(a *app, with func(context.Context, pathway.Store) error) (err error) {
	if s.DB != "" {
		db, err := openDatabase(a, s.DB)
		if err != nil {
			return err
		}
		return errors.Join(with(a.ctx, db), db.Close())
	}
	if free, err := vacant(s.Data); err != nil || !free {
		return errors.Join(err, wardfile.ErrNotEmpty)
	}
	part := filepath.Clean(s.Data) + making
	if err := os.RemoveAll(part); err != nil { // of one that was cut off
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.RemoveAll(part))
		}
	}()
	if err := a.fillFolder(part, with); err != nil {
		return err
	}
	return move(part, s.Data)
}

func (a *app) fillFolder(dir string, with func(context.Context, pathway.Store) error) error {
	db, err := openFolder(a, dir, store.Options{})
	if err != nil {
		return err
	}
	return errors.Join(with(a.ctx, db), db.Close())
}

// vacant reports whether a folder is absent, or holds nothing but the file of
// settings.
func vacant(dir string) (bool, error) {
	list, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	return len(list) == 0 || len(list) == 1 && list[0].Name() == settingsFile, err
}

// move puts a filled folder where it belongs, and the settings that lay there
// into it.
func move(part, dir string) error {
	text, err := os.ReadFile(filepath.Join(dir, settingsFile))
	switch {
	case err == nil:
		err = errors.Join(os.WriteFile(filepath.Join(part, settingsFile), text, 0o600), os.Remove(filepath.Join(dir, settingsFile)))
	case errors.Is(err, fs.ErrNotExist):
		err = nil
	}
	if err != nil {
		return err
	}
	if err := os.Remove(dir); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return os.Rename(part, dir)
}

// trusted says in words what went wrong with a ward's file. What people can
// mend is a refusal.
func (a *app) trusted(file string, err error) error {
	if r := (finding.Refusals)(nil); errors.As(err, &r) {
		return a.refuse(file, r)
	}
	words, known := a.inWords(file, err)
	if !known {
		return err
	}
	fmt.Fprintln(a.err, words)
	return errRefused
}

// why is an error as a notice says it.
func (a *app) why(file string, err error) string {
	words, _ := a.inWords(file, err)
	return words
}

// inWords says an error in people's words, where it is one that they know.
func (a *app) inWords(file string, err error) (words string, known bool) {
	var unsound *wardfile.UnsoundError
	if errors.As(err, &unsound) {
		b := unsound.First()
		return a.t("trust.unsound", value("file", file), value("kind", a.t("verify.kind."+string(b.Kind))), value("chain", b.Chain),
			value("n", strconv.Itoa(b.Number)), value("fault", a.t("verify.fault."+string(b.What)))), true
	}
	at := ""
	if line := (*wardfile.LineError)(nil); errors.As(err, &line) {
		at = ":" + strconv.Itoa(line.Line)
	}
	for _, k := range trustErrors {
		if errors.Is(err, k.err) {
			return a.t("trust."+k.key, value("file", file+at), value("why", err.Error())), true
		}
	}
	if at != "" { // a link or a key that does not hold
		return a.t("trust.line", value("file", file+at), value("why", err.Error())), true
	}
	return err.Error(), false
}

// trustErrors are the errors of the ward's files that people are told in
// words, the more telling first.
var trustErrors = []struct {
	err error
	key string
}{
	{backup.ErrWrongKey, "wrong-key"}, {backup.ErrSecret, "secret"}, {backup.ErrSecretGiven, "secret-given"}, {backup.ErrRecipient, "recipient"},
	{backup.ErrNoRecipient, "no-recipient"}, {backup.ErrDamaged, "damaged"}, {backup.ErrMedium, "medium"}, {backup.ErrExists, "exists"},
	{backup.ErrManifest, "manifest"}, {backup.ErrNoManifest, "no-manifest"}, {backup.ErrOtherWard, "other-ward"},
	{wardfile.ErrNotEmpty, "not-empty"}, {wardfile.ErrCutOff, "cut-off"}, {wardfile.ErrForeign, "foreign"}, {wardfile.ErrNewer, "newer"}, {wardfile.ErrDiffers, "differs"},
	{fs.ErrExist, "file-exists"}, {syscall.ENOSPC, "full"}, {io.ErrShortWrite, "full"},
}
