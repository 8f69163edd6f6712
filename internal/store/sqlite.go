package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	_ "github.com/ncruces/go-sqlite3/driver" // "sqlite3"

	"linn/internal/care/casebook"
)

// The files of a ward's folder.
const (
	databaseFile = "linn.db"
	keyFile      = "linn.key" // only when the ward set a passphrase
	lockFile     = "linn.lock"
)

// ncruces is the name under which the driver registers itself.
const ncruces = "sqlite3"

// readers is the number of reading connections: more than a ward's clients
// ever use at one instant.
const readers = 4

// Options say how to open a ward's folder.
type Options struct {
	// Passphrase encrypts the pages of a new record and opens an encrypted
	// one. It comes from a prompt or the environment, never from the command
	// line.
	Passphrase []byte

	// ReadOnly opens the record beside the program that writes it, or one that
	// a newer program wrote. It takes no lock and changes nothing.
	ReadOnly bool

	driver string // another driver, in tests
	disk   string // another file system of the driver's, in tests
	cost   uint32 // another memory cost of the passphrase, in tests
}

// Errors of opening.
var (
	ErrLocked       = errors.New("store: another program has this folder open")
	ErrPassphrase   = errors.New("store: the passphrase is not the one of this record")
	ErrEncrypted    = errors.New("store: the record is encrypted and needs its passphrase")
	ErrNotEncrypted = errors.New("store: the record is not encrypted; a passphrase is set when a record is made or restored")
	ErrForeign      = errors.New("store: the file is not a record of this program")
)

// SQLite is a record in a folder. It is a casebook.Store.
type SQLite struct {
	database
	dir    string
	path   string      // of the database
	cipher *pageCipher // nil when not encrypted
	lock   *os.File
	driver string
	disk   string
	ro     bool
	scrub  bool // a destroyed key may still stand in the WAL file; guarded by database.mu
}

var _ casebook.Store = (*SQLite)(nil)

// Open opens the record in dir and makes it when there is none. It checks that
// the settings hold on the writing and on several reading connections, and
// brings an older schema up to date; a newer one gives a *SchemaError unless
// it is opened for reading only.
func Open(ctx context.Context, dir string, o Options) (s *SQLite, err error) {
	s = &SQLite{dir: dir, path: filepath.Join(dir, databaseFile), driver: cmp.Or(o.driver, ncruces), disk: o.disk, ro: o.ReadOnly}
	defer func() {
		if err != nil {
			err = named(errors.Join(err, s.release()))
			s = nil
		}
	}()
	fresh, err := s.prepare(o)
	if err != nil {
		return s, err
	}
	if s.cipher, err = openCipher(filepath.Join(dir, keyFile), o.Passphrase, fresh, cmp.Or(o.cost, memoryKiB)); err != nil {
		return s, err
	}
	if err = s.connect(); err != nil {
		return s, err
	}
	if err = s.checkConnections(ctx); err != nil {
		return s, err
	}
	if o.ReadOnly {
		return s, s.readable(ctx)
	}
	if err = s.checkOurs(ctx); err != nil {
		return s, err
	}
	return s, s.migrate(ctx, sqliteMigrations)
}

// prepare makes the folder, takes the lock and says whether the record is new.
func (s *SQLite) prepare(o Options) (fresh bool, err error) {
	if o.ReadOnly {
		if _, err := os.Stat(s.path); err != nil {
			return false, fmt.Errorf("store: %w", err)
		}
		return false, nil
	}
	if err := privateFolder(s.dir); err != nil {
		return false, err
	}
	if s.lock, err = takeLock(filepath.Join(s.dir, lockFile)); err != nil {
		return false, err
	}
	// Made here so that only the ward's account can read it; the WAL file
	// takes its permissions by modeof.
	f, err := os.OpenFile(s.path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return false, fmt.Errorf("store: %w", err)
	}
	info, err := f.Stat()
	if err == nil && info.Size() == 0 {
		fresh = true
	}
	return fresh, errors.Join(err, f.Close())
}

// privateFolder makes the folder, or makes one that is there, the ward's
// account's alone: the files in it hold the patients' keys.
func privateFolder(dir string) error {
	if err := errors.Join(os.MkdirAll(dir, 0o700), os.Chmod(dir, 0o700)); err != nil {
		return fmt.Errorf("store: %w", err)
	}
	return nil
}

// settings are asked for in the data-source name and checked on the
// connections: what SQLite calls them and the value it must answer.
// busy_timeout stands first, so that the others wait for a lock.
var settings = []struct{ name, set, answer string }{
	{"busy_timeout", "10000", "10000"}, // milliseconds
	{"journal_mode", "WAL", "wal"},
	{"synchronous", "FULL", "2"},
	{"foreign_keys", "1", "1"},
	{"secure_delete", "1", "1"}, // a destroyed key is overwritten
	{"temp_store", "MEMORY", "2"},
	{"trusted_schema", "0", "0"},
}

// skips reports whether a setting is left as it is: the journal mode belongs to
// the file, and a reader does not change the file.
func (s *SQLite) skips(name string) bool { return s.ro && name == "journal_mode" }

func (s *SQLite) source(reading bool) string {
	q := s.cipher.parameters()
	if s.disk != "" {
		q.Set("vfs", s.disk)
	}
	for _, p := range settings {
		if s.skips(p.name) {
			continue
		}
		q.Add("_pragma", p.name+"("+p.set+")")
	}
	lock := "immediate"
	if reading {
		q.Add("_pragma", "query_only(1)")
		lock = "deferred"
	}
	q.Set("_txlock", lock)
	q.Set("modeof", s.path)
	return fileURI(s.path, q)
}

// fileURI writes an SQLite file URI, on Windows with the slash before the
// drive's letter.
func fileURI(path string, q url.Values) string {
	path = filepath.ToSlash(path)
	if filepath.VolumeName(path) != "" && !strings.HasPrefix(path, "/") {
		path = "/" + path
	}
	query := strings.ReplaceAll(q.Encode(), "+", "%20") // SQLite does not read + as a space
	return (&url.URL{Scheme: "file", OmitHost: true, Path: path, RawQuery: query}).String()
}

func (s *SQLite) connect() (err error) {
	if s.path, err = filepath.Abs(s.path); err != nil {
		return fmt.Errorf("store: %w", err)
	}
	s.dialect = sqliteDialect
	if s.read.DB, err = sql.Open(s.driver, s.source(true)); err != nil {
		return errOpen(err)
	}
	s.read.SetMaxOpenConns(readers)
	s.read.SetMaxIdleConns(readers)
	if s.ro {
		return nil
	}
	if s.write.DB, err = sql.Open(s.driver, s.source(false)); err != nil {
		return errOpen(err)
	}
	s.write.SetMaxOpenConns(1)
	s.write.SetMaxIdleConns(1)
	return nil
}

// errOpen keeps the data-source name, which holds the key, out of an error.
func errOpen(error) error { return errors.New("store: the database cannot be opened") }

// checkConnections asks the settings on the writing connection and on all
// reading ones at once.
func (s *SQLite) checkConnections(ctx context.Context) error {
	if s.write.DB != nil {
		if err := s.checkPool(ctx, s.write.DB, 1, "0"); err != nil {
			return err
		}
	}
	return s.checkPool(ctx, s.read.DB, readers, "1")
}

func (s *SQLite) checkPool(ctx context.Context, pool *sql.DB, n int, queryOnly string) (err error) {
	var held []*sql.Conn
	defer func() {
		for _, c := range held {
			err = errors.Join(err, c.Close())
		}
	}()
	for range n {
		c, err := pool.Conn(ctx)
		if err != nil {
			return s.openError(err)
		}
		held = append(held, c)
		if err := s.checkSettings(ctx, c, queryOnly); err != nil {
			return s.openError(err)
		}
	}
	return nil
}

func (s *SQLite) checkSettings(ctx context.Context, c *sql.Conn, queryOnly string) error {
	check := func(name, want string) error {
		var got string
		if err := c.QueryRowContext(ctx, "PRAGMA "+name).Scan(&got); err != nil {
			return fmt.Errorf("store: ask %s: %w", name, err)
		}
		if got != want {
			return fmt.Errorf("store: %s is %s on a connection, not %s", name, got, want)
		}
		return nil
	}
	for _, p := range settings {
		if s.skips(p.name) {
			continue
		}
		if err := check(p.name, p.answer); err != nil {
			return err
		}
	}
	return check("query_only", queryOnly)
}

// applicationID marks the database file as a record of this program: 'linn' in
// ASCII. The first migration sets it.
const applicationID = 0x6c696e6e

// checkOurs refuses a database that holds another program's tables.
func (s *SQLite) checkOurs(ctx context.Context) error {
	const query = "SELECT (SELECT COUNT(*) FROM sqlite_schema), (SELECT COUNT(*) FROM sqlite_schema WHERE name = 'revision'), application_id FROM pragma_application_id"
	var tables, ours, id int
	if err := s.write.QueryRowContext(ctx, query).Scan(&tables, &ours, &id); err != nil {
		return s.openError(err)
	}
	// schema_version alone is a record whose making was cut off.
	if tables > 1 && (ours == 0 || id != applicationID) {
		return ErrForeign
	}
	return nil
}

// openError tells a wrong passphrase, which cannot happen once the key file
// has checked it, from a damaged or foreign file.
func (s *SQLite) openError(err error) error {
	if strings.Contains(err.Error(), "not a database") {
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	return err
}

// Dir is the ward's folder.
func (s *SQLite) Dir() string { return s.dir }

// Encrypted reports whether the pages are encrypted.
func (s *SQLite) Encrypted() bool { return s.cipher != nil }

// Do runs fn as one write. After a key was destroyed the WAL file, where it
// may still stand, is emptied.
func (s *SQLite) Do(ctx context.Context, fn func(casebook.Tx) error) error {
	if s.ro {
		return casebook.ErrReadOnly
	}
	destroyed, err := s.do(ctx, fn)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.scrub = s.scrub || destroyed; s.scrub {
		s.scrub = s.checkpoint(ctx) != nil // a reader is in the way: tried again after the next write
	}
	return nil
}

// checkpoint moves the WAL file's pages into the database and empties it.
func (s *SQLite) checkpoint(ctx context.Context) error {
	var busy, log, moved int
	if err := s.write.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &log, &moved); err != nil {
		return named(fmt.Errorf("store: checkpoint: %w", err))
	}
	if busy != 0 {
		return errors.New("store: checkpoint: a reader holds the file")
	}
	return nil
}

// Close ends all transactions that are done, empties the WAL file and gives
// the folder free.
func (s *SQLite) Close() error {
	var err error
	if s.write.DB != nil {
		_, optimized := s.write.Exec("PRAGMA optimize")
		err = errors.Join(optimized, s.checkpoint(context.Background()))
	}
	return errors.Join(err, s.release())
}

func (s *SQLite) release() error {
	err := errors.Join(s.database.close())
	if s.lock != nil {
		err = errors.Join(err, s.lock.Close()) // closing gives the lock free
		s.lock = nil
	}
	return err
}

// Empty reports whether dir is absent or holds no files.
func Empty(dir string) (bool, error) {
	list, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return true, nil
	}
	return len(list) == 0, err
}
