package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"linn/internal/care/casebook"
)

// opened opens a record in a new folder on the program's own driver.
func opened(t testing.TB, passphrase string) *SQLite {
	t.Helper()
	s, err := Open(t.Context(), t.TempDir(), Options{Passphrase: []byte(passphrase), cost: 8})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// TestTriggers: the database itself refuses to change what is written once.
func TestTriggers(t *testing.T) {
	for _, driver := range []string{ncruces, "sqlite"} {
		s := openSQLite(t, driver, nil).store.(*SQLite)
		patient, id := admitted(t, s, 1)
		do(t, s, func(tx casebook.Tx) error {
			if _, err := tx.NextSheet(id); err != nil {
				return err
			}
			return tx.LogAccess(casebook.Access{At: at(1).At, Zone: "x", Actor: "ann", What: casebook.AccessRead, Patient: patient})
		})
		for _, statement := range []string{
			"UPDATE revision SET payload = '{}'",
			"DELETE FROM revision",
			"INSERT OR REPLACE INTO revision SELECT sequence, kind, chain, number, format, at, zone, actor, '{}', prev, hash FROM revision",
			"INSERT OR REPLACE INTO revision SELECT sequence + 100, kind, chain, number, format, at, zone, actor, '{}', prev, hash FROM revision",
			"UPDATE chain SET id = 'x'",
			"DELETE FROM chain",
			"UPDATE access SET actor = 'x'",
			"DELETE FROM access",
			"INSERT OR REPLACE INTO access SELECT number, at, zone, 'x', what, patient, case_id, detail FROM access",
			"UPDATE sheet SET number = 9",
			"DELETE FROM sheet",
			"INSERT OR REPLACE INTO sheet VALUES (1, 'x')",
			"DELETE FROM patient_key",
			"UPDATE patient_key SET secret = 'x'",
			"UPDATE patient_key SET secret = ''",
			"UPDATE patient_key SET secret = '', destroyed_at = 'now', destroyed_by = 'ann', destroyed_second = 'ann'",
			"INSERT OR REPLACE INTO patient_key (patient, secret) SELECT patient, 'x' FROM patient_key",
			"INSERT INTO revision SELECT sequence + 100, kind, 'nowhere', number, format, at, zone, actor, payload, prev, hash FROM revision", // foreign key
			"INSERT INTO sheet VALUES ('two', 'x')", // STRICT
		} {
			if _, err := s.write.Exec(statement); err == nil {
				t.Errorf("%s: %s was taken", driver, statement)
			}
		}
		sound(t, s)
	}
}

// tamper changes the file of a record behind the triggers.
func tamper(t *testing.T, s *SQLite, statements ...string) {
	t.Helper()
	db, err := sql.Open(ncruces, fileURI(s.path, url.Values{"_pragma": {"busy_timeout(10000)", "foreign_keys(0)"}}))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var triggers []string
	rows, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		triggers = append(triggers, "DROP TRIGGER "+name)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		t.Fatal(err)
	}
	for _, statement := range append(triggers, statements...) {
		if _, err := db.Exec(statement); err != nil {
			t.Fatal(statement, err)
		}
	}
}

// TestVerifyFinds: every way of tampering shows, at the first broken link.
func TestVerifyFinds(t *testing.T) {
	// The record: patient 1 with case C of 4 revisions, patient 2 with a case,
	// all listed in the ward chain.
	const ofCase = " WHERE kind = 'case' AND chain = 'C'"
	for name, c := range map[string]struct {
		statements []string
		want       []casebook.Break
	}{
		"nothing":            {nil, nil},
		"payload":            {[]string{"UPDATE revision SET payload = replace(payload, '\"1\"', '\"7\"')" + ofCase + " AND number = 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultHash}}},
		"actor":              {[]string{"UPDATE revision SET actor = 'bo'" + ofCase + " AND number = 3"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 3, What: casebook.FaultHash}}},
		"instant":            {[]string{"UPDATE revision SET at = '2026-03-04T03:15:00.000000001Z'" + ofCase + " AND number = 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultHash}}},
		"zone":               {[]string{"UPDATE revision SET zone = 'UTC'" + ofCase + " AND number = 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultHash}}},
		"instant unreadable": {[]string{"UPDATE revision SET at = 'noon'" + ofCase + " AND number = 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultHash}}},
		"hash unreadable":    {[]string{"UPDATE revision SET hash = 'x' || substr(hash, 2)" + ofCase + " AND number = 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultHash}}},
		"middle removed":     {[]string{"DELETE FROM revision" + ofCase + " AND number = 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 3, What: casebook.FaultNumber}}},
		"middle removed, renumbered": {[]string{"DELETE FROM revision" + ofCase + " AND number = 2",
			"UPDATE revision SET number = number - 1" + ofCase + " AND number > 2"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultPrevious}}},
		"newest removed":     {[]string{"DELETE FROM revision" + ofCase + " AND number = 4"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 4, What: casebook.FaultRemoved}}},
		"first removed":      {[]string{"DELETE FROM revision" + ofCase + " AND number = 1"}, []casebook.Break{{Kind: "case", Chain: "C", Number: 2, What: casebook.FaultNumber}}},
		"given another name": {[]string{"UPDATE chain SET id = 'D' WHERE id = 'C'", "UPDATE revision SET chain = 'D' WHERE chain = 'C'"}, []casebook.Break{{Kind: "case", Chain: "D", Number: 1, What: casebook.FaultPrevious}, {Kind: "case", Chain: "C", Number: 4, What: casebook.FaultRemoved}}},
		"whole chain removed": {[]string{"DELETE FROM revision" + ofCase, "DELETE FROM chain WHERE id = 'C'", "DELETE FROM case_now WHERE id = 'C'"},
			[]casebook.Break{{Kind: "case", Chain: "C", Number: 4, What: casebook.FaultRemoved}, {Kind: "ward", Chain: "ward", Number: 1, What: casebook.FaultUnlisted}}},
		"key removed":             {[]string{"DELETE FROM patient_key WHERE patient = 'P'"}, []casebook.Break{{Kind: "patient", Chain: "P", Number: 1, What: casebook.FaultKey}}},
		"key exchanged":           {[]string{"UPDATE patient_key SET secret = (SELECT secret FROM patient_key WHERE patient <> 'P') WHERE patient = 'P'"}, []casebook.Break{{Kind: "patient", Chain: "P", Number: 1, What: casebook.FaultSeal}}},
		"side changed throughout": {[]string{"UPDATE revision SET payload = replace(payload, 'right', 'left')" + ofCase}, []casebook.Break{{Kind: "case", Chain: "C", Number: 1, What: casebook.FaultHash}}},
	} {
		t.Run(name, func(t *testing.T) {
			s := tamperable(t)
			tamper(t, s, c.statements...)
			report := verify(t, s)
			if len(report.Broken) != len(c.want) {
				t.Fatalf("broken %v, want %v", report.Broken, c.want)
			}
			for i, b := range report.Broken {
				if b != c.want[i] {
					t.Errorf("broken %v, want %v", b, c.want[i])
				}
			}
		})
	}
}

func tamperable(t *testing.T) *SQLite {
	s := opened(t, "")
	do(t, s, func(tx casebook.Tx) error {
		for i, p := range []string{"P", "Q"} {
			key := casebook.Key{byte(i + 1)}
			sealed, err := casebook.Seal(casebook.Identity{Name: p}, p, key, random(1))
			if err != nil {
				return err
			}
			if _, err := casebook.NewPatient(tx, at(0), p, key, sealed); err != nil {
				return err
			}
			id := string(p[0] - 'P' + 'C') // C, D's neighbour stays free
			if p == "Q" {
				id = "K"
			}
			if _, err := casebook.Revise(tx, at(0), id, 0, casebook.Case{Patient: p, Side: "right", Verb: casebook.VerbOpen}); err != nil {
				return err
			}
		}
		for i := range 3 {
			if _, err := revise(tx, "C", i, func(c *casebook.Case) { c.Target = fmt.Sprint(i + 1) }); err != nil {
				return err
			}
		}
		return casebook.AppendWardHead(tx, at(9), "backup")
	})
	return s
}

// TestStaleProjection: a projection that was changed is found and rebuilt.
func TestStaleProjection(t *testing.T) {
	for name, c := range map[string]struct {
		statement string
		want      casebook.Break
	}{
		"case":          {"UPDATE case_now SET side = 'left' WHERE id = 'C'", casebook.Break{Kind: "case", Chain: "C", Number: 4, What: casebook.FaultStale}},
		"case missing":  {"DELETE FROM case_now WHERE id = 'C'", casebook.Break{Kind: "case", Chain: "C", Number: 4, What: casebook.FaultStale}},
		"case invented": {"INSERT INTO case_now SELECT 'X', patient, side, state, list_date, list_place, list_order, model, power_d, sheet, lacks, number, changed FROM case_now WHERE id = 'C'", casebook.Break{Kind: "case", Chain: "X", Number: 4, What: casebook.FaultStale}},
		"garbled":       {"UPDATE case_now SET changed = 'noon', list_date = 'soon' WHERE id = 'C'", casebook.Break{Kind: "case", Chain: "C", Number: 4, What: casebook.FaultStale}},
		"patient":       {"UPDATE patient_now SET sealed = '' WHERE id = 'P'", casebook.Break{Kind: "patient", Chain: "P", Number: 1, What: casebook.FaultStale}},
	} {
		t.Run(name, func(t *testing.T) {
			s := tamperable(t)
			if _, err := s.write.Exec(c.statement); err != nil {
				t.Fatal(err)
			}
			if r := verify(t, s); len(r.Stale) != 1 || r.Stale[0] != c.want || len(r.Broken) != 0 {
				t.Errorf("found %+v, want %v", r, c.want)
			}
			do(t, s, func(tx casebook.Tx) error { return tx.Rebuild() })
			sound(t, s)
		})
	}
}

// TestNewerRecord: what a newer program wrote is read as far as it is
// understood, shown as such by Verify, and not written to.
func TestNewerRecord(t *testing.T) {
	for name, c := range map[string]struct{ format, payload string }{
		"section": {"linn.case/1", `{"patient":"P","side":"right","verb":"measure","eye":{},"target":"known","nose":{"length_mm":40}}`},
		"format":  {"linn.case/2", `{"eyes":3}`},
	} {
		t.Run(name, func(t *testing.T) {
			s := tamperable(t)
			var r casebook.Revision
			view(t, s, func(tx casebook.Tx) (err error) {
				r, err = tx.Head(casebook.KindCase, "C")
				return err
			})
			r.Format, r.Payload, r.Number, r.Prev, r.Sequence = c.format, []byte(c.payload), 5, r.Hash, r.Sequence+1000
			r.Hash = r.Sum()
			_, err := s.write.Exec(insertRevision, r.Sequence, string(r.Kind), r.Chain, r.Number, r.Format, casebook.Instant(r.At), r.Zone, r.Actor, string(r.Payload), r.Prev.String(), r.Hash.String())
			if err != nil {
				t.Fatal(err)
			}
			report := verify(t, s)
			if len(report.Broken) != 0 || len(report.Stale) != 0 || len(report.Newer) != 1 || report.Newer[0].Number != 5 {
				t.Errorf("found %+v", report)
			}
			err = s.Do(t.Context(), func(tx casebook.Tx) error {
				state, head, err := casebook.Load[casebook.Case](tx, "C")
				var newer *casebook.FormatError
				if !errors.As(err, &newer) || name == "section" && state.Target != "known" {
					t.Errorf("load gives %+v, %v", state, err)
				}
				_, err = casebook.Revise(tx, at(1), "C", head.Number, state)
				return err
			})
			var newer *casebook.FormatError
			if !errors.As(err, &newer) {
				t.Errorf("written after a newer program: %v", err)
			}
			do(t, s, func(tx casebook.Tx) error { // other chains go on
				_, err := revise(tx, "K", 1, func(c *casebook.Case) {})
				return err
			})
		})
	}
}

func TestLock(t *testing.T) {
	s := opened(t, "")
	if _, err := Open(t.Context(), s.Dir(), Options{}); !errors.Is(err, ErrLocked) {
		t.Errorf("opened twice: %v", err)
	}
	admitted(t, s, 1)
	beside, err := Open(t.Context(), s.Dir(), Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	sound(t, beside)
	if err := beside.Do(t.Context(), func(casebook.Tx) error { return nil }); !errors.Is(err, casebook.ErrReadOnly) {
		t.Errorf("written beside the writer: %v", err)
	}
	if err := beside.Close(); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := Open(t.Context(), s.Dir(), Options{})
	if err != nil {
		t.Fatal("the lock was not given free:", err)
	}
	s.write.DB, s.read.DB = again.write.DB, again.read.DB // closed once more by the clean-up
	s.lock = again.lock
}

// TestSettings: the settings hold on every connection, and a connection on
// which one does not is found.
func TestSettings(t *testing.T) {
	s := opened(t, "")
	if err := s.checkConnections(t.Context()); err != nil {
		t.Error(err)
	}
	for _, setting := range settings {
		if setting.name == "journal_mode" {
			continue // belongs to the file
		}
		wrong := map[string]string{"busy_timeout": "5", "synchronous": "NORMAL", "foreign_keys": "0", "secure_delete": "0", "temp_store": "FILE", "trusted_schema": "1"}[setting.name]
		db, err := sql.Open(ncruces, s.source(false)+"&_pragma="+setting.name+"("+wrong+")")
		if err != nil {
			t.Fatal(err)
		}
		if err := s.checkPool(t.Context(), db, 2, "0"); err == nil || !strings.Contains(err.Error(), setting.name) {
			t.Errorf("%s = %s: %v", setting.name, wrong, err)
		}
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	}
}

func TestForeignFiles(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, databaseFile), bytes.Repeat([]byte("holiday photographs "), 1000), 0o600); err != nil {
		t.Fatal(err)
	}
	if s, err := Open(t.Context(), dir, Options{}); !errors.Is(err, ErrForeign) {
		t.Errorf("opened a text: %v, %v", s, err)
	}
	dir = t.TempDir()
	db, err := sql.Open(ncruces, fileURI(filepath.Join(dir, databaseFile), nil))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE schema_version (version INTEGER); CREATE TABLE photograph (name TEXT)"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	for _, o := range []Options{{}, {ReadOnly: true}} {
		if _, err := Open(t.Context(), dir, o); err == nil {
			t.Errorf("opened another program's database, %+v", o)
		}
	}
	if _, err := Open(t.Context(), filepath.Join(dir, "none"), Options{ReadOnly: true}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("opened nothing: %v", err)
	}
	if _, err := os.Stat(filepath.Join(dir, "none")); err == nil {
		t.Error("opening for reading made a folder")
	}
}

func TestNewerSchema(t *testing.T) {
	s := opened(t, "")
	_, id := admitted(t, s, 1)
	if _, err := s.write.Exec("INSERT INTO schema_version (version) VALUES (99)"); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if _, err := s.write.Exec("VACUUM INTO ?", filepath.Join(dir, databaseFile)); err != nil {
		t.Fatal(err)
	}
	var newer *SchemaError
	if _, err := Open(t.Context(), dir, Options{}); !errors.As(err, &newer) || newer.Have != 99 {
		t.Errorf("opened a newer schema: %v", err)
	}
	r, err := Open(t.Context(), dir, Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	view(t, r, func(tx casebook.Tx) error {
		_, err := tx.Head(casebook.KindCase, id)
		return err
	})
	if err := r.Close(); err != nil {
		t.Error(err)
	}
}

// TestPassphrase: no page is readable without the passphrase, and each way of
// getting it wrong has its own answer.
func TestPassphrase(t *testing.T) {
	ctx := t.Context()
	s := opened(t, "correct horse")
	if !s.Encrypted() {
		t.Fatal("not encrypted")
	}
	do(t, s, func(tx casebook.Tx) error {
		_, err := casebook.Revise(tx, at(0), "ann", 0, casebook.Person{Name: "Ann Conspicuous", Role: casebook.Nurse})
		return err
	})
	for _, name := range []string{databaseFile, databaseFile + "-wal"} {
		b, err := os.ReadFile(filepath.Join(s.Dir(), name))
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(b, []byte("Conspicuous")) || bytes.Contains(b, []byte("SQLite format")) || bytes.Contains(b, []byte("CREATE TABLE")) {
			t.Errorf("%s can be read", name)
		}
	}
	if err := s.release(); err != nil { // leaves the WAL file as it is
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		o    Options
		want error
	}{
		"wrong":           {Options{Passphrase: []byte("correct horse ")}, ErrPassphrase},
		"none":            {Options{}, ErrEncrypted},
		"wrong, reading":  {Options{Passphrase: []byte("x"), ReadOnly: true}, ErrPassphrase},
		"right, reading":  {Options{Passphrase: []byte("correct horse"), ReadOnly: true}, nil},
		"right":           {Options{Passphrase: []byte("correct horse")}, nil},
		"after the right": {Options{Passphrase: []byte("battery staple")}, ErrPassphrase},
	} {
		r, err := Open(ctx, s.Dir(), c.o)
		if !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", name, err, c.want)
		}
		if err == nil {
			sound(t, r)
			if err := r.Close(); err != nil {
				t.Error(err)
			}
		}
	}
	plain := opened(t, "")
	if err := plain.release(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(ctx, plain.Dir(), Options{Passphrase: []byte("x")}); !errors.Is(err, ErrNotEncrypted) {
		t.Errorf("a passphrase for a plain record: %v", err)
	}
	again, err := Open(ctx, s.Dir(), Options{Passphrase: []byte("correct horse")})
	if err != nil {
		t.Fatal(err)
	}
	key := hex.EncodeToString(again.cipher.key)
	if err := again.Close(); err != nil {
		t.Error(err)
	}
	// A damaged first page under the right passphrase, and its error.
	if err := os.WriteFile(filepath.Join(s.Dir(), databaseFile), bytes.Repeat([]byte{7}, 8192), 0o600); err != nil {
		t.Fatal(err)
	}
	_, err = Open(ctx, s.Dir(), Options{Passphrase: []byte("correct horse")})
	if err == nil || strings.Contains(err.Error(), key) || strings.Contains(err.Error(), key[:16]) {
		t.Errorf("a damaged file: %v", err)
	}
	s.read.DB, s.write.DB = nil, nil
	reopen(t, s, plain)
}

// reopen lets the clean-up close records that a test has released.
func reopen(t *testing.T, records ...*SQLite) {
	for _, s := range records {
		s.read.DB, s.write.DB, s.lock = nil, nil, nil
	}
}

func TestDamagedKeyFile(t *testing.T) {
	for name, text := range map[string]string{
		"not JSON":     "salt and pepper",
		"newer":        `{"format":"linn.key/2"}`,
		"huge memory":  `{"format":"linn.key/1","cipher":"aes-256-xts","derive":"argon2id","passes":1,"memory_kib":4294967295,"lanes":1,"salt":"00112233445566778899aabbccddeeff","check":""}`,
		"short salt":   `{"format":"linn.key/1","cipher":"aes-256-xts","derive":"argon2id","passes":1,"memory_kib":8,"lanes":1,"salt":"00","check":""}`,
		"other cipher": `{"format":"linn.key/1","cipher":"rot13","derive":"argon2id","passes":1,"memory_kib":8,"lanes":1,"salt":"00112233445566778899aabbccddeeff","check":""}`,
	} {
		path := filepath.Join(t.TempDir(), keyFile)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := openCipher(path, []byte("x"), false, 8); err == nil || errors.Is(err, ErrPassphrase) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestKeyLeavesTheDisk: after an erasure no file of the folder holds the key.
func TestKeyLeavesTheDisk(t *testing.T) {
	s := opened(t, "")
	patient, _ := admitted(t, s, 1)
	var key casebook.Key
	view(t, s, func(tx casebook.Tx) (err error) {
		key, err = tx.Key(patient)
		return err
	})
	secret := []byte(hex.EncodeToString(key[:]))
	if !onDisk(t, s.Dir(), secret) {
		t.Fatal("the key is not on the disk before: the test sees nothing")
	}
	do(t, s, func(tx casebook.Tx) error { return casebook.ErasePatient(tx, at(1), "bo", patient, "order") })
	if onDisk(t, s.Dir(), secret) {
		t.Error("the key is on the disk after it was destroyed")
	}
}

// TestKeyLeavesTheDiskLater: with a reader in the way the key goes with the
// write after it has left.
func TestKeyLeavesTheDiskLater(t *testing.T) {
	s := opened(t, "")
	patient, id := admitted(t, s, 1)
	var key casebook.Key
	view(t, s, func(tx casebook.Tx) (err error) {
		key, err = tx.Key(patient)
		return err
	})
	secret := []byte(hex.EncodeToString(key[:]))
	if _, err := s.write.Exec("PRAGMA busy_timeout = 50"); err != nil { // do not wait long for the reader
		t.Fatal(err)
	}
	view(t, s, func(tx casebook.Tx) error {
		if _, err := tx.Last(); err != nil {
			return err
		}
		do(t, s, func(tx casebook.Tx) error { return casebook.ErasePatient(tx, at(1), "bo", patient, "order") })
		return nil
	})
	if !s.scrub {
		t.Error("the reader was not in the way: the test sees nothing")
	}
	do(t, s, func(tx casebook.Tx) error {
		_, err := revise(tx, id, 1, func(*casebook.Case) {})
		return err
	})
	if s.scrub || onDisk(t, s.Dir(), secret) {
		t.Error("the key is on the disk after the next write")
	}
}

func onDisk(t *testing.T, dir string, what []byte) bool {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil || len(names) == 0 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(b, what) {
			return true
		}
	}
	return false
}

// TestDiskFull: a write that does not fit is refused whole, and the record
// goes on when there is room again.
func TestDiskFull(t *testing.T) {
	s := opened(t, "")
	_, id := admitted(t, s, 1)
	var pages int
	if err := s.write.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	limit := func(n int) {
		if _, err := s.write.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", n)); err != nil {
			t.Fatal(err)
		}
	}
	limit(pages + 2)
	write := func(ctx context.Context) error {
		return s.Do(ctx, func(tx casebook.Tx) error {
			_, err := revise(tx, id, 1, func(c *casebook.Case) { c.Target = strings.Repeat("t", 3000) })
			return err
		})
	}
	var err error
	taken := 0
	for ; err == nil && taken < 50; taken++ {
		err = write(t.Context())
	}
	if err == nil || !strings.Contains(err.Error(), "full") {
		t.Fatalf("after %d writes: %v", taken, err)
	}
	sound(t, s)
	limit(pages + 1000)
	if err := write(t.Context()); err != nil {
		t.Error(err)
	}
	view(t, s, func(tx casebook.Tx) error {
		if n := len(collect(t, tx.Chain(casebook.KindCase, id))); n != taken+1 {
			t.Errorf("%d revisions after %d writes", n, taken)
		}
		return nil
	})
	sound(t, s)
}

func TestPermissions(t *testing.T) {
	dir := t.TempDir()
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	s, err := Open(t.Context(), dir, Options{Passphrase: []byte("x"), cost: 8})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	admitted(t, s, 1)
	for _, name := range []string{"", databaseFile, databaseFile + "-wal", keyFile, lockFile} { // the -shm file holds no pages
		name = filepath.Join(dir, name)
		info, err := os.Stat(name)
		if err != nil {
			t.Fatal(err)
		}
		if info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s can be read by others: %v", filepath.Base(name), info.Mode())
		}
	}
}

// TestCutOffBeginnings: a record whose making was cut off is made to the end.
func TestCutOffBeginnings(t *testing.T) {
	for name, begin := range map[string]string{"nothing": "SELECT 1", "version table": "CREATE TABLE schema_version (version INTEGER PRIMARY KEY)"} {
		dir := t.TempDir()
		db, err := sql.Open(ncruces, fileURI(filepath.Join(dir, databaseFile), nil))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := db.Exec("PRAGMA journal_mode = WAL; " + begin); err != nil {
			t.Fatal(err)
		}
		if err := db.Close(); err != nil {
			t.Fatal(err)
		}
		s, err := Open(t.Context(), dir, Options{})
		if err != nil {
			t.Fatal(name, err)
		}
		admitted(t, s, 1)
		sound(t, s)
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}

// TestOddFolders: names that mean something in a file URI.
func TestOddFolders(t *testing.T) {
	for _, name := range []string{"with space", "per%20cent", "a?b&c=d#e", "नेत्र"} {
		dir := filepath.Join(t.TempDir(), name)
		s, err := Open(t.Context(), dir, Options{})
		if err != nil {
			t.Fatal(name, err)
		}
		admitted(t, s, 1)
		if err := s.Close(); err != nil {
			t.Error(err)
		}
		if _, err := os.Stat(filepath.Join(dir, databaseFile)); err != nil {
			t.Error(err)
		}
	}
}
