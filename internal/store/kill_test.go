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
)

// The environment of the child that TestKill kills.
const (
	childDir  = "LINN_STORE_TEST_DIR"
	childAcks = "LINN_STORE_TEST_ACKS"
	childPass = "LINN_STORE_TEST_PASSPHRASE"
)

func TestMain(m *testing.M) {
	if dir := os.Getenv(childDir); dir != "" {
		fmt.Fprintln(os.Stderr, writeUntilKilled(dir, os.Getenv(childAcks), os.Getenv(childPass)))
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

// writeUntilKilled revises one case and hands out sheet numbers, and notes
// each write in a file of its own once it is acknowledged.
func writeUntilKilled(dir, acks, passphrase string) error {
	ctx := context.Background()
	f, err := os.OpenFile(acks, os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	s, err := Open(ctx, dir, Options{Passphrase: []byte(passphrase), cost: 8})
	if err != nil {
		return err
	}
	for i := 0; ; i++ {
		var line string
		err := s.Do(ctx, func(tx casebook.Tx) error {
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
		if _, err := f.WriteString(line); err != nil {
			return err
		}
	}
}

// TestKill: a program killed at any instant has lost no acknowledged write and
// kept no half of one. Killing tests the program, not the power supply.
func TestKill(t *testing.T) {
	rounds := 3
	if os.Getenv("LINN_FULL") == "1" {
		rounds = 40
	}
	for _, passphrase := range []string{"", "correct horse"} {
		dir, acks := t.TempDir(), filepath.Join(t.TempDir(), "acks")
		s, err := Open(t.Context(), dir, Options{Passphrase: []byte(passphrase), cost: 8})
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
		chance := rand.New(rand.NewPCG(1, 2))
		written := 0
		for range rounds {
			killOnce(t, dir, acks, passphrase, 150*time.Millisecond+time.Duration(chance.IntN(400))*time.Millisecond)
			written = checkAcks(t, dir, acks, passphrase)
		}
		if written < 10*rounds {
			t.Errorf("only %d writes were acknowledged: the test saw too little", written)
		}
		t.Logf("%d rounds, %d acknowledged writes, encrypted: %v", rounds, written, passphrase != "")
	}
}

func killOnce(t *testing.T, dir, acks, passphrase string, after time.Duration) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	var said strings.Builder
	cmd := exec.CommandContext(t.Context(), self)
	cmd.Env = append(os.Environ(), childDir+"="+dir, childAcks+"="+acks, childPass+"="+passphrase)
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(after)
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err == nil || said.Len() > 0 {
		t.Fatalf("the child ended by itself: %v %s", err, said.String())
	}
}

// checkAcks opens the record that the child left and finds every acknowledged
// write in it.
func checkAcks(t *testing.T, dir, acks, passphrase string) (n int) {
	t.Helper()
	s, err := Open(t.Context(), dir, Options{Passphrase: []byte(passphrase), cost: 8}) // its lock went with it
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	sound(t, s)
	var integrity string
	if err := s.write.QueryRow("PRAGMA integrity_check").Scan(&integrity); err != nil || integrity != "ok" {
		t.Errorf("integrity: %s, %v", integrity, err)
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
	var sheets int
	if err := s.write.QueryRow("SELECT COUNT(*) FROM sheet").Scan(&sheets); err != nil || sheets != newest-1 {
		t.Errorf("%d sheets beside %d revisions: a write was kept by half, %v", sheets, newest, err)
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
