package store

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"linn/internal/care/casebook"
)

// TestBackup: a backup restores to the same record, encrypted or not, and by a
// restore the passphrase is set, changed or taken away.
func TestBackup(t *testing.T) {
	for name, c := range map[string]struct{ before, after string }{
		"plain": {"", ""}, "encrypted": {"one", "one"}, "passphrase set": {"", "two"}, "changed": {"one", "two"}, "taken away": {"one", ""},
	} {
		t.Run(name, func(t *testing.T) {
			s := opened(t, c.before)
			patient, id := admitted(t, s, 1)
			do(t, s, func(tx casebook.Tx) error {
				_, err := tx.NextSheet(id)
				return err
			})
			path := filepath.Join(t.TempDir(), "ward.backup")
			report, err := s.Backup(t.Context(), at(5), path)
			if err != nil || report.Revisions != 3 {
				t.Fatal(report, err)
			}
			admitted(t, s, 2) // after the backup
			dir := filepath.Join(t.TempDir(), "restored")
			if _, err := Restore(t.Context(), path, []byte(c.before), dir, []byte(c.after)); err != nil {
				t.Fatal(err)
			}
			b, err := os.ReadFile(filepath.Join(dir, databaseFile))
			if err != nil || bytes.HasPrefix(b, []byte("SQLite format")) != (c.after == "") {
				t.Errorf("encrypted: %v, %v", c.after != "", err)
			}
			r, err := Open(t.Context(), dir, Options{Passphrase: []byte(c.after)})
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			sound(t, r)
			view(t, r, func(tx casebook.Tx) error {
				if n := len(collect(t, tx.Since(0))); n != 3 {
					t.Errorf("%d revisions", n)
				}
				who, err := casebook.Identify(tx, patient)
				if who.Name != "Patient 1 Example" {
					t.Errorf("who %+v", who)
				}
				return err
			})
			do(t, r, func(tx casebook.Tx) error {
				if n, err := tx.NextSheet(id); err != nil || n != 1+restoreGap+1 {
					t.Errorf("next sheet %d, %v", n, err)
				}
				return nil
			})
		})
	}
}

func TestBackupRefuses(t *testing.T) {
	s := opened(t, "")
	admitted(t, s, 1)
	dir := t.TempDir()
	path := filepath.Join(dir, "ward.backup")
	if err := os.WriteFile(path, []byte("an older backup"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Backup(t.Context(), at(1), path); err == nil {
		t.Error("a file was written over")
	}
	if _, err := s.Backup(t.Context(), at(1), filepath.Join(dir, "none", "x")); err == nil {
		t.Error("a backup into no folder")
	}
	if err := os.WriteFile(filepath.Join(dir, "again.part"), []byte("cut off"), 0o600); err != nil {
		t.Fatal(err)
	}
	again := filepath.Join(dir, "again")
	if _, err := s.Backup(t.Context(), at(1), again); err != nil {
		t.Errorf("after a backup that was cut off: %v", err)
	}
	if _, err := Restore(t.Context(), again, nil, s.Dir(), nil); err == nil {
		t.Error("restored over a record")
	}
	if _, err := Restore(t.Context(), filepath.Join(dir, "absent"), nil, filepath.Join(dir, "new"), nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("restored from nothing: %v", err)
	}
	if _, err := Restore(t.Context(), path, nil, filepath.Join(dir, "new"), nil); err == nil {
		t.Error("restored from a text")
	}
	if empty, err := Empty(filepath.Join(dir, "new")); err != nil || !empty {
		t.Errorf("a refused restore leaves something behind: %v", err)
	}
}

// TestBackupVerifies: a record that does not verify gives no backup, and a
// backup that was tampered with is not restored.
func TestBackupVerifies(t *testing.T) {
	s := tamperable(t)
	dir := t.TempDir()
	good := filepath.Join(dir, "good")
	if _, err := s.Backup(t.Context(), at(1), good); err != nil {
		t.Fatal(err)
	}
	const cut = "DELETE FROM revision WHERE kind = 'case' AND chain = 'C' AND number = 4"
	tamper(t, &SQLite{path: good}, cut)
	var unsound *UnsoundError
	if _, err := Restore(t.Context(), good, nil, filepath.Join(dir, "new"), nil); !errors.As(err, &unsound) {
		t.Errorf("restored a tampered backup: %v", err)
	}
	tamper(t, s, cut)
	if _, err := s.Backup(t.Context(), at(1), filepath.Join(dir, "bad")); !errors.As(err, &unsound) {
		t.Errorf("backed up a tampered record: %v", err)
	} else if b := unsound.Report.Broken[0]; b.Chain != "C" || b.Number != 4 || b.What != casebook.FaultRemoved {
		t.Errorf("the break is %v", b)
	}
	if list, err := filepath.Glob(filepath.Join(dir, "bad*")); err != nil || len(list) != 0 {
		t.Errorf("left behind %v, %v", list, err)
	}
}
