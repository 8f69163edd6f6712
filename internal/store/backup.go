package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"linn/internal/care/casebook"
)

// restoreGap is how many sheet numbers a restored record leaves out: sheets
// may have been printed after the backup was made, and no number is given
// twice. A ward prints far fewer between two backups.
const restoreGap = 1000

// Backup lists the heads in the ward chain, writes the whole record to path,
// which must not exist, and verifies what it wrote. An encrypted record gives
// an encrypted backup, with its key file at path + ".key". Writers wait
// meanwhile.
func (s *SQLite) Backup(ctx context.Context, stamp casebook.Stamp, path string) (report casebook.Report, err error) {
	err = s.Do(ctx, func(tx casebook.Tx) error { return casebook.AppendWardHead(tx, stamp, "backup") })
	if err != nil {
		return report, err
	}
	if _, err := os.Lstat(path); err == nil {
		return report, fmt.Errorf("store: backup: %s exists", path)
	}
	part := path + ".part"
	if err := s.writeCopy(ctx, part); err != nil {
		return report, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, removeAll(part, part+".key"))
		}
	}()
	if report, err = s.check(ctx, part); err != nil {
		return report, err
	}
	if s.cipher != nil {
		if err := os.Rename(part+".key", path+".key"); err != nil {
			return report, fmt.Errorf("store: backup: %w", err)
		}
	}
	if err := errors.Join(os.Rename(part, path), syncDir(filepath.Dir(path))); err != nil {
		return report, fmt.Errorf("store: backup: %w", err)
	}
	return report, nil
}

func (s *SQLite) writeCopy(ctx context.Context, part string) error {
	if err := removeAll(part, part+".key"); err != nil { // of a backup that was cut off
		return err
	}
	if err := vacuumInto(ctx, s.write.DB, s.Encrypted(), part, s.cipher); err != nil {
		return errors.Join(err, removeAll(part))
	}
	if s.cipher == nil {
		return nil
	}
	return s.cipher.writeHeader(part + ".key")
}

// vacuumInto writes a compact copy of the database behind db, which is
// encrypted or not, under the cipher c and makes it durable.
func vacuumInto(ctx context.Context, db *sql.DB, encrypted bool, path string, c *pageCipher) error {
	abs, err := filepath.Abs(path)
	if err != nil {
		return fmt.Errorf("store: copy: %w", err)
	}
	// Made here so that only the ward's account can read it.
	f, err := os.OpenFile(abs, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return fmt.Errorf("store: copy: %w", err)
	}
	q := c.parameters()
	if c == nil && encrypted {
		q.Set("vfs", "os") // the driver's plain one; else the copy inherits the cipher, without a key
	}
	if _, err = db.ExecContext(ctx, "VACUUM INTO ?", fileURI(abs, q)); err != nil {
		return errors.Join(fmt.Errorf("store: copy: %w", err), f.Close())
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("store: copy: %w", err)
	}
	return nil
}

// check verifies a copy as a restore would find it.
func (s *SQLite) check(ctx context.Context, path string) (report casebook.Report, err error) {
	c := &SQLite{path: path, driver: s.driver, ro: true, cipher: s.cipher}
	if err := c.connect(); err != nil {
		return report, err
	}
	defer func() { err = errors.Join(err, c.release()) }()
	if err := c.readable(ctx); err != nil {
		return report, err
	}
	err = c.View(ctx, func(tx casebook.Tx) (err error) {
		report, err = casebook.Verify(tx, nil)
		return err
	})
	if err == nil && !report.Sound() {
		err = &UnsoundError{report}
	}
	return report, err
}

// UnsoundError says that a record does not verify.
type UnsoundError struct{ Report casebook.Report }

func (e *UnsoundError) Error() string {
	for _, b := range append(e.Report.Broken, e.Report.Stale...) {
		return "store: the record does not verify: " + b.String()
	}
	return "store: the record does not verify"
}

// Restore makes a record in dir, which must be absent or empty, from a backup.
// old opens an encrypted backup; passphrase encrypts the new record, so that a
// restore is also how a passphrase is set, changed or taken away. The sheet
// numbers go on after a gap. An erasure made after the backup has to be made
// again: the backup still holds that patient's key.
func Restore(ctx context.Context, backup string, old []byte, dir string, passphrase []byte) (report casebook.Report, err error) {
	if empty, err := Empty(dir); err != nil || !empty {
		return report, errors.Join(errors.New("store: restore: the folder is not empty"), err)
	}
	from := &SQLite{path: backup, driver: ncruces, ro: true}
	if _, err := os.Stat(backup); err != nil {
		return report, fmt.Errorf("store: restore: %w", err)
	}
	if from.cipher, err = openCipher(backup+".key", old, false, memoryKiB); err != nil {
		return report, err
	}
	if report, err = from.check(ctx, backup); err != nil {
		return report, err
	}
	if err := from.copyInto(ctx, dir, passphrase); err != nil {
		return report, err
	}
	s, err := Open(ctx, dir, Options{Passphrase: passphrase})
	if err != nil {
		return report, err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	return report, s.skipSheets(ctx)
}

func (s *SQLite) copyInto(ctx context.Context, dir string, passphrase []byte) (err error) {
	if err := privateFolder(dir); err != nil {
		return err
	}
	var c *pageCipher
	if len(passphrase) > 0 {
		if c, err = makeCipher(filepath.Join(dir, keyFile), passphrase, memoryKiB); err != nil {
			return err
		}
	}
	// VACUUM INTO is refused on a connection that only queries.
	q := s.cipher.parameters()
	q.Add("_pragma", "busy_timeout(10000)")
	path, err := filepath.Abs(s.path)
	if err != nil {
		return fmt.Errorf("store: restore: %w", err)
	}
	db, err := sql.Open(s.driver, fileURI(path, q))
	if err != nil {
		return errOpen(err)
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return errors.Join(vacuumInto(ctx, db, s.Encrypted(), filepath.Join(dir, databaseFile), c), syncDir(dir))
}

func (s *SQLite) skipSheets(ctx context.Context) error {
	_, err := s.do(ctx, func(c casebook.Tx) error {
		t := c.(*tx)
		var n int
		if _, err := t.one("last sheet", "SELECT COALESCE(MAX(number), 0) FROM sheet", nil, &n); err != nil {
			return err
		}
		return t.exec("skip sheets", "INSERT INTO sheet (number, case_id) VALUES (?, '')", n+restoreGap)
	})
	return err
}

func removeAll(paths ...string) (err error) {
	for _, p := range paths {
		if e := os.Remove(p); e != nil && !errors.Is(e, os.ErrNotExist) {
			err = errors.Join(err, fmt.Errorf("store: %w", e))
		}
	}
	return err
}
