package store

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"linn/internal/care/casebook"
	"linn/internal/transfer/backup"
	"linn/internal/transfer/wardfile"
)

// The environment of the child that the kill tests kill.
const (
	childDoes = "LINN_STORE_TEST_DOES" // one of childWork
	childDir  = "LINN_STORE_TEST_DIR"
	childURL  = "LINN_STORE_TEST_URL"
	childPass = "LINN_STORE_TEST_PASSPHRASE"
	childTo   = "LINN_STORE_TEST_TO" // folder of backups, and the public key
	childKey  = "LINN_STORE_TEST_KEY"
)

// childWork is what a child can be doing when it is killed. What it
// acknowledges it says on its standard output; the parent keeps the list.
var childWork = map[string]func(victim) error{"write": victim.write, "open": victim.open, "back up": victim.backUp, "restore": victim.restore}

func TestMain(m *testing.M) {
	if does := os.Getenv(childDoes); does != "" {
		v := victim{dir: os.Getenv(childDir), url: os.Getenv(childURL), pass: os.Getenv(childPass), to: os.Getenv(childTo), key: os.Getenv(childKey)}
		fmt.Fprintln(os.Stderr, childWork[does](v))
		os.Exit(1)
	}
	code := m.Run()
	for _, end := range cleanups {
		end()
	}
	os.Exit(code)
}

// cleanups run when all tests are done.
var cleanups []func()

// victim is a record that a child works on until it is killed.
type victim struct{ dir, url, pass, to, key string }

func (v victim) opened(ctx context.Context) (casebook.Store, error) {
	if v.url != "" {
		return OpenPostgres(ctx, v.url)
	}
	return Open(ctx, v.dir, Options{Passphrase: []byte(v.pass), cost: 8})
}

// write revises one case and hands out sheet numbers.
func (v victim) write() error {
	s, err := v.opened(context.Background())
	if err != nil {
		return err
	}
	return writeOn(s)
}

func writeOn(s casebook.Store) error {
	for i := 0; ; i++ {
		var line string
		err := s.Do(context.Background(), func(tx casebook.Tx) error {
			r, err := revise(tx, "C", i, func(c *casebook.Case) { c.Target = strings.Repeat("t", i%5000) })
			if err != nil {
				return err
			}
			sheet, err := tx.NextSheet("C")
			line = fmt.Sprintf("%d %s %d\n", r.Number, r.Hash, sheet)
			return err
		})
		if err != nil {
			return err
		}
		if _, err := os.Stdout.WriteString(line); err != nil {
			return err
		}
	}
}

// open makes or migrates a record, and waits.
func (v victim) open() error {
	if _, err := v.opened(context.Background()); err != nil {
		return err
	}
	select {}
}

// backUp writes revisions and makes one backup after the other meanwhile.
func (v victim) backUp() error {
	s, err := v.opened(context.Background())
	if err != nil {
		return err
	}
	go func() {
		fmt.Fprintln(os.Stderr, writeOn(s))
		os.Exit(1)
	}()
	for i := 0; ; i++ {
		stamp := at(0)
		stamp.At = time.Now()
		err := s.Do(context.Background(), func(tx casebook.Tx) error { return casebook.AppendWardHead(tx, stamp, "backup") })
		if err != nil {
			return err
		}
		_, err = backup.Make(context.Background(), s, backup.Order{Folder: v.to, To: []string{v.key}, From: wardfile.Origin{Program: "x", Stamp: stamp}})
		if err != nil {
			return err
		}
	}
}

// restore fills an empty record from a backup.
func (v victim) restore() error {
	s, err := v.opened(context.Background())
	if err != nil {
		return err
	}
	if _, err := backup.Restore(context.Background(), v.to, v.key, s, nil); err != nil {
		return err
	}
	select {}
}

// killRounds is how often a test kills: in the short form, and in the full one.
func killRounds(short, full int) int {
	if os.Getenv("LINN_FULL") == "1" {
		return full
	}
	return short
}

// victims are the engines whose program is killed.
var victims = map[string]func(testing.TB) victim{
	"sqlite":           func(t testing.TB) victim { return victim{dir: t.TempDir()} },
	"sqlite encrypted": func(t testing.TB) victim { return victim{dir: t.TempDir(), pass: "correct horse"} },
}

// begin makes a record with one case in it.
func (v victim) begin(t *testing.T) {
	t.Helper()
	s, err := v.opened(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	do(t, s, func(tx casebook.Tx) error {
		sealed, err := casebook.Seal(casebook.Identity{Name: "P"}, "P", casebook.Key{1}, random(1))
		if err != nil {
			return err
		}
		if _, err := casebook.NewPatient(tx, at(0), "P", casebook.Key{1}, sealed); err != nil {
			return err
		}
		_, err = casebook.Revise(tx, at(0), "C", 0, casebook.Case{Patient: "P", Side: "left", Verb: casebook.VerbOpen})
		return err
	})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestKill: a program killed at any instant has lost no acknowledged write and
// kept no half of one, and starts again in no time. Killing tests the program,
// not the power supply.
func TestKill(t *testing.T) {
	for name, make := range victims {
		t.Run(name, func(t *testing.T) {
			v, acks := make(t), filepath.Join(t.TempDir(), "acks")
			v.begin(t)
			chance := rand.New(rand.NewPCG(1, 2))
			written, rounds := 0, killRounds(10, 200)
			for range rounds {
				v.kill(t, "write", acks, time.Duration(chance.IntN(150))*time.Millisecond)
				written = v.checkAcks(t, acks)
			}
			if written < 2*rounds {
				t.Errorf("only %d writes were acknowledged: the test saw too little", written)
			}
			t.Logf("%d rounds, %d acknowledged writes", rounds, written)
		})
	}
}

// kill lets a child work for a while and kills it; one that acknowledges is
// given the time from its first acknowledgement on, however slow the machine.
// What it said it had done is added to the file acks, which is this process's.
func (v victim) kill(t *testing.T, does, acks string, after time.Duration) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	list, err := os.OpenFile(acks, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		t.Fatal(err)
	}
	defer list.Close()
	var said strings.Builder
	cmd := exec.CommandContext(t.Context(), self)
	cmd.Env = append(os.Environ(), childDoes+"="+does, childDir+"="+v.dir, childURL+"="+v.url, childPass+"="+v.pass, childTo+"="+v.to, childKey+"="+v.key)
	cmd.Stderr = &said
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	from := bufio.NewReader(out)
	if does == "write" || does == "back up" {
		_, _ = from.Peek(1)
	}
	time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	if _, err := io.Copy(list, from); err != nil {
		t.Error(err)
	}
	if err := cmd.Wait(); err == nil || said.Len() > 0 {
		t.Fatalf("the child ended by itself: %v %s", err, said.String())
	}
}

// restart is how long a start may take after a kill.
const restart = 2 * time.Second

// again opens the record that the child left, as a start does.
func (v victim) again(t *testing.T) casebook.Store {
	t.Helper()
	began := time.Now()
	s, err := v.opened(t.Context()) // the child's lock went with it
	if err != nil {
		t.Fatal(err)
	}
	view(t, s, func(tx casebook.Tx) error {
		r, err := casebook.VerifyNewest(tx, 1000)
		if !r.Sound() {
			t.Errorf("the newest links: %v", r.Broken)
		}
		return err
	})
	if took := time.Since(began); took > restart {
		t.Errorf("the start took %v", took)
	}
	return s
}

// checkAcks opens the record that the child left and finds every acknowledged
// write in it.
func (v victim) checkAcks(t *testing.T, acks string) (n int) {
	t.Helper()
	s := v.again(t)
	defer s.Close()
	sound(t, s)
	if lite, ok := s.(*SQLite); ok {
		var integrity string
		if err := lite.write.QueryRow("PRAGMA integrity_check").Scan(&integrity); err != nil || integrity != "ok" {
			t.Errorf("integrity: %s, %v", integrity, err)
		}
	}
	hashes, newest := map[int]string{}, 0
	view(t, s, func(tx casebook.Tx) error {
		for r, err := range tx.Chain(casebook.KindCase, "C") {
			if err != nil {
				return err
			}
			hashes[r.Number], newest = r.Hash.String(), r.Number
		}
		return nil
	})
	if sheets := sheetsIn(t, s); sheets != newest-1 {
		t.Errorf("%d sheets beside %d revisions: a write was kept by half", sheets, newest)
	}
	f, err := os.Open(acks)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for lines := bufio.NewReader(f); ; n++ {
		line, err := lines.ReadString('\n')
		if errors.Is(err, io.EOF) {
			return n // a last line that was cut off acknowledges nothing
		}
		if err != nil {
			t.Fatal(err)
		}
		var number, sheet int
		var hash string
		if _, err := fmt.Sscan(line, &number, &hash, &sheet); err != nil {
			t.Fatal(err)
		}
		if hashes[number] != hash || sheet != number-1 {
			t.Fatalf("acknowledged revision %d (sheet %d) is not in the record", number, sheet)
		}
	}
}

func sheetsIn(t *testing.T, s casebook.Store) (n int) {
	t.Helper()
	var pool *pool
	switch s := s.(type) {
	case *SQLite:
		pool = &s.read
	case *Postgres:
		pool = &s.read
	}
	if err := pool.QueryRow("SELECT COUNT(*) FROM sheet").Scan(&n); err != nil {
		t.Fatal(err)
	}
	return n
}

// TestKillWhileMigrating: a program killed while it makes a record or brings a
// released schema up to date leaves one that the next start brings to its end.
func TestKillWhileMigrating(t *testing.T) {
	old, err := os.ReadFile("testdata/schema-1.sql")
	if err != nil {
		t.Fatal(err)
	}
	chance := rand.New(rand.NewPCG(3, 4))
	for round := range killRounds(10, 200) {
		v := victim{dir: t.TempDir()}
		if round%2 == 1 {
			loadDump(t, v.dir, string(old))
		}
		v.kill(t, "open", filepath.Join(t.TempDir(), "acks"), time.Duration(chance.IntN(80))*time.Millisecond)
		s := v.again(t)
		sound(t, s)
		n := 0
		view(t, s, func(tx casebook.Tx) error {
			n = len(collect(t, tx.Since(0)))
			return nil
		})
		if want := strings.Count(string(old), "INSERT INTO revision ") * (round % 2); n != want {
			t.Errorf("round %d: %d revisions, not %d", round, n, want)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}

// TestKillWhileBackingUp: a program killed while it makes backups has lost
// nothing, and every manifest it left belongs to a backup that restores.
func TestKillWhileBackingUp(t *testing.T) {
	k := newKey(t)
	for name, make := range victims {
		t.Run(name, func(t *testing.T) {
			v, acks := make(t), filepath.Join(t.TempDir(), "acks")
			v.to, v.key = t.TempDir(), k.Public
			v.begin(t)
			chance := rand.New(rand.NewPCG(5, 6))
			var list []string
			for round := 0; round < killRounds(2, 60) || len(list) == 0 && round < 30; round++ {
				v.kill(t, "back up", acks, time.Duration(chance.IntN(500))*time.Millisecond)
				v.checkAcks(t, acks)
				list, _ = filepath.Glob(v.to + "/*.json")
			}
			if len(list) == 0 {
				t.Fatal("no backup was made")
			}
			for i, path := range list {
				m, err := backup.ReadManifest(path)
				if err != nil {
					t.Fatal(err)
				}
				if i%10 != 0 && i != len(list)-1 { // some, and the newest
					continue
				}
				into := casebook.NewMemory()
				if _, err := backup.Restore(t.Context(), filepath.Join(v.to, m.File), k.Secret, into, nil); err != nil {
					t.Errorf("%s: %v", path, err)
				}
				s := v.again(t)
				if err := backup.Against(t.Context(), s, m); err != nil {
					t.Errorf("%s: %v", path, err)
				}
				if err := s.Close(); err != nil {
					t.Error(err)
				}
			}
			t.Logf("%d backups", len(list))
		})
	}
}

// TestKillWhileRestoring: a restore that was killed left nothing or the whole
// record, and can be begun again.
func TestKillWhileRestoring(t *testing.T) {
	k, dir := newKey(t), t.TempDir()
	from := casebook.NewMemory()
	furnished(t, from)
	m, err := backup.Make(t.Context(), from, backup.Order{Folder: dir, To: []string{k.Public}, From: wardfile.Origin{Program: "x", Stamp: at(50)}})
	if err != nil {
		t.Fatal(err)
	}
	for name, make := range victims {
		t.Run(name, func(t *testing.T) {
			chance := rand.New(rand.NewPCG(7, 8))
			whole := 0
			for range killRounds(3, 60) {
				v := make(t)
				v.to, v.key = filepath.Join(dir, m.File), k.Secret
				v.kill(t, "restore", filepath.Join(t.TempDir(), "acks"), time.Duration(chance.IntN(900))*time.Millisecond)
				s := v.again(t)
				_, err := backup.Restore(t.Context(), v.to, v.key, s, nil)
				if errors.Is(err, wardfile.ErrNotEmpty) {
					whole++
				} else if err != nil {
					t.Error(err)
				}
				sound(t, s)
				if err := backup.Against(t.Context(), s, m); err != nil {
					t.Error(err)
				}
				if err := s.Close(); err != nil {
					t.Error(err)
				}
			}
			t.Logf("%d were whole already", whole)
		})
	}
}
