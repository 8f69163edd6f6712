package store

import (
	"bytes"
	"errors"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"linn/internal/care/casebook"
	"linn/internal/transfer/backup"
	"linn/internal/transfer/wardfile"
)

// furnished puts into a store one of everything that a ward file carries:
// signed and corrected cases, an erased patient, a ward chain, a log.
func furnished(t testing.TB, s casebook.Store) {
	t.Helper()
	var erased string
	do(t, s, func(tx casebook.Tx) error {
		for i := range 12 {
			patient, id, err := admit(tx, uint64(i))
			if err != nil {
				return err
			}
			sheet, err := tx.NextSheet(id)
			if err != nil {
				return err
			}
			if _, err := revise(tx, id, i, func(c *casebook.Case) { typical(c, i); c.Verb, c.Signed.Sheet = casebook.VerbSign, sheet }); err != nil {
				return err
			}
			erased = patient
			for range 60 { // more than one page of the log
				if err := tx.LogAccess(casebook.Access{At: at(i).At, Zone: "+05:45", Actor: "bo", What: casebook.AccessRead, Patient: patient, Case: id, Detail: "eye"}); err != nil {
					return err
				}
			}
		}
		return casebook.AppendWardHead(tx, at(20), "test")
	})
	do(t, s, func(tx casebook.Tx) error { return casebook.ErasePatient(tx, at(30), "bo", erased, "asked for") })
}

func exported(t testing.TB, s casebook.Store) ([]byte, wardfile.Summary) {
	t.Helper()
	var b bytes.Buffer
	sum, err := wardfile.Write(t.Context(), &b, s, wardfile.Origin{Program: "0.1.0-test", Stamp: at(40)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), sum
}

// TestCarry: a ward goes from every engine to every other with equal hashes,
// and comes back as the same bytes.
func TestCarry(t *testing.T) {
	for from, open := range engines {
		t.Run(from, func(t *testing.T) {
			s := open(t).store
			furnished(t, s)
			file, sum := exported(t, s)
			if sum.Revisions != 38 || sum.Keys != 11 || sum.Accesses != 720 || sum.WardNumber != 1 {
				t.Errorf("%+v", sum)
			}
			for to, open := range others(from) {
				got := open(t).store
				back, err := wardfile.Read(t.Context(), bytes.NewReader(file), got, nil)
				if err != nil || back != sum {
					t.Errorf("to %s: %+v, %v", to, back, err)
				}
				sound(t, got)
				again, _ := exported(t, got)
				if !bytes.Equal(again, file) {
					t.Errorf("to %s: another file came out", to)
				}
				do(t, got, func(tx casebook.Tx) error {
					if n, err := tx.NextSheet("C"); err != nil || n != 12+1000+1 {
						t.Errorf("to %s: the next sheet is %d, %v", to, n, err)
					}
					rows, err := tx.Patients()
					gone := slices.DeleteFunc(rows, func(p casebook.PatientRow) bool { return !p.Erased })
					if len(gone) != 1 {
						t.Fatalf("to %s: %d erased, %v", to, len(gone), err)
					}
					if _, err := tx.Key(gone[0].Patient); !errors.Is(err, casebook.ErrErased) {
						t.Errorf("to %s: the key of an erased patient: %v", to, err)
					}
					return nil
				})
				if _, err := wardfile.Read(t.Context(), bytes.NewReader(file), got, nil); !errors.Is(err, wardfile.ErrNotEmpty) {
					t.Errorf("to %s: read over a record: %v", to, err)
				}
			}
		})
	}
}

// others are the engines a ward goes to: all in the full form, else the next
// one by name, so that each is once at either end.
func others(from string) map[string]func(testing.TB) *engine {
	if os.Getenv("LINN_FULL") == "1" {
		return engines
	}
	names := slices.Sorted(maps.Keys(engines))
	next := names[(slices.Index(names, from)+1)%len(names)]
	return map[string]func(testing.TB) *engine{next: engines[next]}
}

// TestCarryRefuses: a file that was cut off, changed or is no ward leaves
// nothing behind and says what it is.
func TestCarryRefuses(t *testing.T) {
	s := casebook.NewMemory()
	furnished(t, s)
	file, _ := exported(t, s)
	lines := bytes.SplitAfter(file, []byte("\n"))
	lines = lines[:len(lines)-1]
	join := func(l ...[]byte) []byte { return bytes.Join(l, nil) }
	without := func(i int) []byte { return join(slices.Concat(lines[:i], lines[i+1:])...) }
	sealed := slices.IndexFunc(lines, func(l []byte) bool { return bytes.Contains(l, []byte(`"kind":"case"`)) })
	end := len(lines) - 1
	for name, c := range map[string]struct {
		file []byte
		want error
	}{
		"empty":               {nil, wardfile.ErrForeign},
		"a text":              {[]byte("Dear all\n"), wardfile.ErrForeign},
		"another JSON":        {[]byte(`{"format":"linn.eye/1"}`), wardfile.ErrForeign},
		"no end":              {without(end), wardfile.ErrCutOff},
		"cut in a line":       {file[:len(file)/2], wardfile.ErrCutOff},
		"header only":         {lines[0], wardfile.ErrCutOff},
		"newer format":        {bytes.Replace(file, []byte("linn.ward-file/1"), []byte("linn.ward-file/2"), 1), wardfile.ErrNewer},
		"an unknown line":     {join(lines[0], []byte("{\"tissue\":{}}\n")), wardfile.ErrNewer},
		"a key left out":      {without(1), wardfile.ErrDiffers},
		"a log line left out": {without(end - 1), wardfile.ErrDiffers},
		"more after the end":  {append(slices.Clone(file), lines[1]...), wardfile.ErrDiffers},
		"two headers":         {join(lines[0], file), wardfile.ErrForeign},
	} {
		into := casebook.NewMemory()
		_, err := wardfile.Read(t.Context(), bytes.NewReader(c.file), into, nil)
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v", name, err)
		}
		view(t, into, func(tx casebook.Tx) error {
			if _, err := tx.Last(); !errors.Is(err, casebook.ErrAbsent) {
				t.Errorf("%s: something was kept", name)
			}
			return nil
		})
	}
	for name, bad := range map[string][]byte{
		"a reading changed": bytes.Replace(file, []byte("43.25"), []byte("43.52"), 1),
		"a revision gone":   without(sealed),
		"an actor changed":  bytes.Replace(file, []byte(`"actor":"bo"`), []byte(`"actor":"al"`), 1),
	} {
		if _, err := wardfile.Read(t.Context(), bytes.NewReader(bad), casebook.NewMemory(), nil); err == nil || !strings.Contains(err.Error(), "line ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestBackupOnEveryEngine: a backup of each engine restores on it, and a later
// record holds everything it held.
func TestBackupOnEveryEngine(t *testing.T) {
	first, second := newKey(t), newKey(t)
	for name, open := range engines {
		t.Run(name, func(t *testing.T) {
			s, dir := open(t).store, t.TempDir()
			furnished(t, s)
			m, err := backup.Make(t.Context(), s, backup.Order{Folder: dir, To: []string{first.Public, second.Public}, From: wardfile.Origin{Program: "x", Stamp: at(50)}})
			if err != nil {
				t.Fatal(err)
			}
			admitted(t, s, 77) // after the backup
			for _, k := range []backup.Key{first, second} {
				into := casebook.Store(casebook.NewMemory())
				if k == second {
					into = open(t).store
				}
				r, err := backup.Restore(t.Context(), dir+"/"+m.File, k.Secret, into, nil)
				if err != nil || r.Ward != m.Ward || r.Alone {
					t.Fatalf("%+v, %v", r, err)
				}
				sound(t, into)
			}
			if err := backup.Against(t.Context(), s, m); err != nil {
				t.Error(err)
			}
			if got, found, err := backup.Newest(dir, m.Ward.First); !found || err != nil || got.SHA256 != m.SHA256 {
				t.Errorf("newest: %v %v", found, err)
			}
		})
	}
}

func newKey(t testing.TB) backup.Key {
	t.Helper()
	k, err := backup.NewKey()
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// TestAgainstFindsTheRemovedNewest: whoever removes the newest revision with
// the entry of the ward chain that lists it leaves a record that verifies; the
// manifest of a backup, which nobody needs a key to read, still tells.
func TestAgainstFindsTheRemovedNewest(t *testing.T) {
	s, dir := tamperable(t), t.TempDir()
	m, err := backup.Make(t.Context(), s, backup.Order{Folder: dir, To: []string{newKey(t).Public}, From: wardfile.Origin{Program: "x", Stamp: at(50)}})
	if err != nil {
		t.Fatal(err)
	}
	tamper(t, s, "DELETE FROM revision WHERE kind = 'ward'", "DELETE FROM chain WHERE kind = 'ward'", "DELETE FROM revision WHERE sequence = (SELECT MAX(sequence) FROM revision)")
	do(t, s, func(tx casebook.Tx) error { return tx.Rebuild() })
	sound(t, s) // nothing shows from inside
	var missing *backup.MissingError
	if err := backup.Against(t.Context(), s, m); !errors.As(err, &missing) || missing.Have >= m.Ward.Revisions {
		t.Errorf("against the backup: %v", err)
	}
	other := casebook.NewMemory()
	furnished(t, other)
	if err := backup.Against(t.Context(), other, m); !errors.Is(err, backup.ErrOtherWard) {
		t.Errorf("another ward: %v", err)
	}
}

// TestVerifyNewest finds a break in the newest links and is blind to older
// ones, which the whole walk finds.
func TestVerifyNewest(t *testing.T) {
	s := tamperable(t)
	newest := func(n int) (report casebook.Report) {
		view(t, s, func(tx casebook.Tx) (err error) {
			report, err = casebook.VerifyNewest(tx, n)
			return err
		})
		return report
	}
	if r := newest(3); !r.Sound() || r.Revisions != 3 {
		t.Errorf("%+v", r)
	}
	all := newest(1000)
	if !all.Sound() || all.Revisions < 5 {
		t.Errorf("%+v", all)
	}
	tamper(t, s, "UPDATE revision SET payload = replace(payload, 'right', 'left ') WHERE kind = 'case' AND chain = 'C' AND number = 2")
	if r := newest(2); !r.Sound() {
		t.Errorf("an older break in the newest links: %+v", r)
	}
	r := newest(1000)
	if len(r.Broken) != 1 || r.Broken[0].Chain != "C" || r.Broken[0].Number != 2 || r.Broken[0].What != casebook.FaultHash {
		t.Errorf("%+v", r)
	}
}
