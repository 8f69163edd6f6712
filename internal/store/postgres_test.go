//go:build linux

package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"linn/internal/care/casebook"
)

// The server under test: Debian's PostgreSQL 15, started once for all tests
// with its own files, on a socket only.
const postgresBinaries = "/usr/lib/postgresql/15/bin"

func init() {
	engines["postgresql"] = func(t testing.TB) *engine { return openTestPostgres(t) }
	victims["postgresql"] = func(t testing.TB) victim { return victim{url: testDatabase(t)} }
}

type testServer struct {
	dir  string
	cmd  *exec.Cmd
	dbs  int
	mu   sync.Mutex
	fail error
}

var server = sync.OnceValue(func() *testServer {
	s := &testServer{}
	s.fail = s.start()
	cleanups = append(cleanups, s.stop)
	return s
})

func (s *testServer) start() (err error) {
	if s.dir, err = os.MkdirTemp("", "linn-postgres-"); err != nil {
		return err
	}
	attr := &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	if os.Getuid() == 0 { // the server refuses root
		u, err := user.Lookup("postgres")
		if err != nil {
			return err
		}
		uid, _ := strconv.Atoi(u.Uid)
		gid, _ := strconv.Atoi(u.Gid)
		attr.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
		if err := os.Chown(s.dir, uid, gid); err != nil {
			return err
		}
	}
	initdb := exec.Command(filepath.Join(postgresBinaries, "initdb"), "-D", s.dir+"/data", "-U", "linn", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
	initdb.SysProcAttr, initdb.Dir = attr, s.dir
	if out, err := initdb.CombinedOutput(); err != nil {
		return fmt.Errorf("initdb: %w: %s", err, out)
	}
	s.cmd = exec.Command(filepath.Join(postgresBinaries, "postgres"), "-D", s.dir+"/data", "-k", s.dir, "-c", "listen_addresses=")
	s.cmd.SysProcAttr, s.cmd.Dir = attr, s.dir
	return s.cmd.Start()
}

func (s *testServer) stop() {
	if s.cmd != nil && s.cmd.Process != nil {
		_ = s.cmd.Process.Signal(syscall.SIGQUIT) // at once: the files are thrown away
		_ = s.cmd.Wait()
	}
	_ = os.RemoveAll(s.dir)
}

func (s *testServer) url(database string) string {
	return fmt.Sprintf("host=%s user=linn dbname=%s", s.dir, database)
}

// database makes a new empty database and returns its address.
func (s *testServer) database(t testing.TB) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	db, err := sql.Open("pgx", s.url("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for deadline := time.Now().Add(30 * time.Second); db.Ping() != nil; time.Sleep(50 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the server does not answer: ", db.Ping())
		}
	}
	s.dbs++
	name := fmt.Sprintf("ward%d", s.dbs)
	if _, err := db.Exec("CREATE DATABASE " + name); err != nil {
		t.Fatal(err)
	}
	return s.url(name)
}

func testDatabase(t testing.TB) string {
	t.Helper()
	if _, err := os.Stat(postgresBinaries); err != nil {
		if os.Getenv("LINN_STRICT") == "1" {
			t.Fatal("PostgreSQL 15 is not installed in ", postgresBinaries)
		}
		t.Skip("PostgreSQL 15 is not installed in ", postgresBinaries)
	}
	s := server()
	if s.fail != nil {
		t.Fatal(s.fail)
	}
	return s.database(t)
}

func openTestPostgres(t testing.TB) *engine {
	url := testDatabase(t)
	e := &engine{}
	open := func() casebook.Store {
		s, err := OpenPostgres(context.Background(), url)
		if err != nil {
			t.Fatal(err)
		}
		e.store = s
		return s
	}
	open()
	e.reopen = func() casebook.Store {
		if err := e.store.Close(); err != nil {
			t.Fatal(err)
		}
		return open()
	}
	t.Cleanup(func() {
		if err := e.store.Close(); err != nil {
			t.Error(err)
		}
	})
	return e
}

func TestPostgresTriggers(t *testing.T) {
	s := openTestPostgres(t).store.(*Postgres)
	patient, id := admitted(t, s, 1)
	do(t, s, func(tx casebook.Tx) error {
		if _, err := tx.NextSheet(id); err != nil {
			return err
		}
		return tx.LogAccess(casebook.Access{At: at(1).At, Zone: "x", Actor: "ann", What: casebook.AccessRead, Patient: patient})
	})
	for _, statement := range []string{
		"UPDATE revision SET payload = '{}'", "DELETE FROM revision", "TRUNCATE revision", "TRUNCATE chain CASCADE",
		"UPDATE chain SET id = 'x'", "DELETE FROM chain",
		"UPDATE access SET actor = 'x'", "DELETE FROM access", "TRUNCATE access",
		"UPDATE sheet SET number = 9", "DELETE FROM sheet", "TRUNCATE sheet",
		"UPDATE patient_key SET secret = 'x'", "UPDATE patient_key SET secret = ''", "DELETE FROM patient_key", "TRUNCATE patient_key",
		"UPDATE patient_key SET secret = '', destroyed_at = 'now', destroyed_by = 'ann', destroyed_second = 'ann'",
	} {
		if _, err := s.write.Exec(statement); err == nil {
			t.Errorf("%s was taken", statement)
		}
	}
	sound(t, s)
}

// TestPostgresTwoPrograms: two programs write to one record; the loser of an
// edit is told, and nothing else goes wrong.
func TestPostgresTwoPrograms(t *testing.T) {
	url := testDatabase(t)
	var stores []*Postgres
	var group sync.WaitGroup
	opened := make(chan *Postgres, 2)
	for range 2 { // both make the record at once
		group.Go(func() {
			s, err := OpenPostgres(context.Background(), url)
			if err != nil {
				t.Error(err)
				return
			}
			opened <- s
		})
	}
	group.Wait()
	close(opened)
	for s := range opened {
		t.Cleanup(func() { s.Close() })
		stores = append(stores, s)
	}
	if len(stores) != 2 {
		t.FailNow()
	}
	_, id := admitted(t, stores[0], 1)
	for _, s := range stores {
		group.Go(func() {
			for i := range 20 {
				err := s.Do(context.Background(), func(tx casebook.Tx) error {
					if _, err := tx.NextSheet(id); err != nil {
						return err
					}
					_, err := revise(tx, id, i, func(c *casebook.Case) { c.Target = fmt.Sprint(i) })
					return err
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
	view(t, stores[1], func(tx casebook.Tx) error {
		if n := len(collect(t, tx.Chain(casebook.KindCase, id))); n != 41 {
			t.Errorf("%d revisions", n)
		}
		return nil
	})
	sound(t, stores[0])
}

// TestPostgresServer: settings that could lose an acknowledged write are
// refused, and an address with a password is not repeated in an error.
func TestPostgresServer(t *testing.T) {
	url := testDatabase(t)
	if _, err := OpenPostgres(t.Context(), url+" options='-c synchronous_commit=off'"); err == nil || !strings.Contains(err.Error(), "synchronous_commit") {
		t.Errorf("opened with synchronous_commit off: %v", err)
	}
	_, err := OpenPostgres(t.Context(), "postgres://linn:open-sesame@[::1/x")
	if err == nil || strings.Contains(err.Error(), "sesame") {
		t.Errorf("a broken address: %v", err)
	}
	s, err := OpenPostgres(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.write.Exec("INSERT INTO schema_version (version) VALUES (99)"); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	var newer *SchemaError
	if _, err := OpenPostgres(t.Context(), url); !errors.As(err, &newer) {
		t.Errorf("opened a newer schema: %v", err)
	}
}
