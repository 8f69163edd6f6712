package backup

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"linn/internal/care/casebook"
	"linn/internal/transfer/wardfile"
)

var stamp = casebook.Stamp{At: time.Date(2026, 3, 4, 3, 15, 0, 0, time.UTC), Zone: "+05:45", Actor: "linn"}

// ward is a record with one person on its Desk.
func ward(t testing.TB, name string) *casebook.Memory {
	t.Helper()
	m := casebook.NewMemory()
	err := m.Do(t.Context(), func(tx casebook.Tx) error {
		_, err := casebook.Revise(tx, stamp, "ann", 0, casebook.Person{Verb: casebook.VerbAdmit, Name: name, Role: casebook.Surgeon, Active: true})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func key(t testing.TB) Key {
	t.Helper()
	k, err := NewKey()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func order(dir string, minute int, to ...string) Order {
	s := stamp
	s.At = s.At.Add(time.Duration(minute) * time.Minute)
	return Order{Folder: dir, To: to, From: wardfile.Origin{Program: "0.1.0", Stamp: s}}
}

// TestKeysAsTyped: a key is read as people type it from paper, and one wrong
// sign is noticed.
func TestKeysAsTyped(t *testing.T) {
	k := key(t)
	for _, typed := range []string{k.Secret, strings.ToLower(k.Secret), k.Secret[:16] + "\n" + k.Secret[16:40] + "  " + k.Secret[40:], " " + k.Secret[len(secretBegins):] + "\n"} {
		if got, err := identity(typed); err != nil || got.String() != k.Secret {
			t.Errorf("%v", err)
		}
	}
	for i := len(secretBegins); i < len(k.Secret); i++ {
		other := byte('Q')
		if k.Secret[i] == other {
			other = 'P'
		}
		if _, err := identity(k.Secret[:i] + string(other) + k.Secret[i+1:]); !errors.Is(err, ErrSecret) {
			t.Errorf("sign %d exchanged: %v", i, err)
		}
	}
	for _, bad := range []string{"", "x", k.Public} {
		if _, err := identity(bad); !errors.Is(err, ErrSecret) || bad != "" && strings.Contains(err.Error(), bad) && len(bad) > 1 {
			t.Errorf("%v", err)
		}
	}
	if list, err := ParseRecipients(" " + k.Public + ",\n" + k.Public); err != nil || len(list) != 2 {
		t.Errorf("%v %v", list, err)
	}
	if _, err := ParseRecipients(" , "); !errors.Is(err, ErrNoRecipient) {
		t.Error(err)
	}
	if _, err := ParseRecipients(k.Secret); !errors.Is(err, ErrSecretGiven) {
		t.Error(err)
	}
}

// TestNewest passes over what is no backup of this ward: another's, one cut
// off, one without its manifest, one whose file is gone.
func TestNewest(t *testing.T) {
	dir, k, mine := filepath.Join(t.TempDir(), "a [stick]*"), key(t), ward(t, "Ann")
	if err := os.Mkdir(dir, 0o700); err != nil {
		t.Fatal(err)
	}
	must := func(s casebook.Store, minute int) Manifest {
		m, err := Make(t.Context(), s, order(dir, minute, k.Public))
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	good := must(mine, 1)
	if _, err := Make(t.Context(), mine, order(dir, 1, k.Public)); !errors.Is(err, ErrExists) {
		t.Errorf("written over: %v", err)
	}
	cut, bare, gone := must(mine, 2), must(mine, 3), must(mine, 4)
	must(ward(t, "Bo"), 5)
	if err := errors.Join(os.Truncate(filepath.Join(dir, cut.File), cut.Bytes-1), os.Remove(manifestOf(filepath.Join(dir, bare.File))), os.Remove(filepath.Join(dir, gone.File)),
		os.WriteFile(filepath.Join(dir, "linn-99.json"), []byte("{"), 0o600), os.WriteFile(filepath.Join(dir, "linn-98.age.part"), []byte("half"), 0o600)); err != nil {
		t.Fatal(err)
	}
	got, found, err := Newest(dir, good.Ward.First)
	if err != nil || !found || got.File != good.File || !got.MadeAt.Equal(good.MadeAt) {
		t.Errorf("%+v %v %v", got, found, err)
	}
	if _, found, err := Newest(filepath.Join(dir, "none"), good.Ward.First); found || err != nil {
		t.Errorf("%v %v", found, err)
	}
}

// TestMakeLeavesNothingHalf: when the folder or the record fails, no file
// stays that could be taken for a backup.
func TestMakeLeavesNothingHalf(t *testing.T) {
	k := key(t)
	dir := t.TempDir()
	if _, err := Make(t.Context(), ward(t, "Ann"), order(filepath.Join(dir, "no stick"), 1, k.Public)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("into no folder: %v", err)
	}
	broken := errors.New("the record fails")
	if _, err := Make(t.Context(), failing{broken}, order(dir, 1, k.Public)); !errors.Is(err, broken) {
		t.Errorf("%v", err)
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 0 {
		t.Errorf("left behind %v, %v", list, err)
	}
}

type failing struct{ err error }

func (f failing) Do(_ context.Context, _ func(casebook.Tx) error) error   { return f.err }
func (f failing) View(_ context.Context, _ func(casebook.Tx) error) error { return f.err }
func (f failing) Close() error                                            { return nil }

func FuzzParseManifest(f *testing.F) {
	f.Add([]byte(`{"format":"linn.backup/1","made_at":"2026-03-04T03:15:00Z","file":"linn-1.age"}`))
	f.Add([]byte(`{"format":"linn.backup/1","made_at":"2026-03-04T03:15:00Z","file":"../x.age"}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		m, err := parseManifest(text)
		if err == nil && (m.File != filepath.Base(m.File) || m.Format != Format) {
			t.Errorf("%+v", m)
		}
		if err != nil && !errors.Is(err, ErrManifest) {
			t.Error(err)
		}
	})
}
