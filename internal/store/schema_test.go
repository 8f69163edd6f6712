package store

import (
	"context"
	"database/sql"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"linn/internal/care/casebook"
)

var update = flag.Bool("update", false, "write the newest testdata/schema-N.sql when it does not exist")

// TestReleasedSchemas: a record of every released schema opens, is brought up
// to date, and keeps every revision and hash. Its tables are those that the
// migrations up to its number make: a released migration is never changed.
func TestReleasedSchemas(t *testing.T) {
	list, err := steps(sqliteMigrations)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		t.Run(fmt.Sprint(s.version), func(t *testing.T) {
			path := fmt.Sprintf("testdata/schema-%d.sql", s.version)
			text, err := os.ReadFile(path)
			if errors.Is(err, os.ErrNotExist) && *update && s.version == len(list) {
				text = []byte(dumpSample(t))
				err = os.WriteFile(path, text, 0o644)
			}
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			loadDump(t, dir, string(text))
			if was, is := schemaOf(t, dir), schemaAt(t, list[:s.version]); was != is {
				t.Errorf("the migrations no longer make schema %d:\n%s\nit was\n%s", s.version, is, was)
			}
			r, err := Open(t.Context(), dir, Options{})
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			sound(t, r)
			revisions := 0
			view(t, r, func(tx casebook.Tx) error {
				for _, rev := range collect(t, tx.Since(0)) {
					revisions++
					if !strings.Contains(string(text), rev.Hash.String()) {
						t.Errorf("%s %s revision %d has another hash", rev.Kind, rev.Chain, rev.Number)
					}
				}
				return nil
			})
			if n := strings.Count(string(text), "INSERT INTO revision "); n != revisions || n == 0 {
				t.Errorf("%d revisions of %d", revisions, n)
			}
			var have int
			if have, err = version(context.Background(), r.read.DB); err != nil || have != len(list) {
				t.Errorf("brought to schema %d, %v", have, err)
			}
		})
	}
}

// dumpSample makes a small record with everything in it and writes it as SQL.
func dumpSample(t *testing.T) string {
	s := tamperable(t)
	do(t, s, func(tx casebook.Tx) error {
		if err := casebook.ErasePatient(tx, at(3), "bo", "Q", "order"); err != nil {
			return err
		}
		if _, err := tx.NextSheet("C"); err != nil {
			return err
		}
		if err := sampleAfter(tx); err != nil {
			return err
		}
		for id, p := range map[string]casebook.Payload{
			"ann":                  casebook.Person{Name: "Ann O'Example", Role: casebook.Surgeon, Active: true},
			"tarn-2":               casebook.LensModel{Model: "Tarn 2", Constants: []casebook.Constant{{Name: "a", Value: 118.5, Origin: casebook.LabelConstant}}},
			casebook.ProtocolChain: casebook.Protocol{ReadingAgeDays: 180},
		} {
			if _, err := casebook.Revise(tx, at(4), id, 0, p); err != nil {
				return err
			}
		}
		return tx.LogAccess(casebook.Access{At: at(5).At, Zone: "+05:45", Actor: "ann", What: casebook.AccessRead, Patient: "P"})
	})
	return dump(t, s.write.DB)
}

// dump writes a database as SQL: tables, rows, then triggers and indexes.
func dump(t *testing.T, db *sql.DB) string {
	var b strings.Builder
	fmt.Fprintf(&b, "PRAGMA application_id = %d;\n", applicationID)
	var tables []string
	query(t, db, "SELECT name, sql FROM sqlite_schema WHERE type = 'table' ORDER BY name", func(row []string) {
		tables = append(tables, row[0])
		fmt.Fprintf(&b, "%s;\n", row[1])
	})
	for _, table := range tables {
		var columns []string
		query(t, db, "SELECT 'quote(' || name || ')' FROM pragma_table_info('"+table+"')", func(row []string) { columns = append(columns, row[0]) })
		query(t, db, "SELECT "+strings.Join(columns, " || ', ' || ")+" FROM "+table, func(row []string) {
			fmt.Fprintf(&b, "INSERT INTO %s VALUES (%s);\n", table, row[0])
		})
	}
	query(t, db, "SELECT sql FROM sqlite_schema WHERE type <> 'table' AND sql IS NOT NULL ORDER BY name", func(row []string) {
		fmt.Fprintf(&b, "%s;\n", row[0])
	})
	return b.String()
}

func query(t *testing.T, db *sql.DB, text string, each func([]string)) {
	t.Helper()
	rows, err := db.Query(text)
	if err != nil {
		t.Fatal(text, err)
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		t.Fatal(err)
	}
	row, into := make([]string, len(columns)), make([]any, len(columns))
	for i := range row {
		into[i] = &row[i]
	}
	for rows.Next() {
		if err := rows.Scan(into...); err != nil {
			t.Fatal(text, err)
		}
		each(row)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
}

func loadDump(t *testing.T, dir, text string) {
	t.Helper()
	db, err := sql.Open(ncruces, fileURI(filepath.Join(dir, databaseFile), nil)+"?_pragma=foreign_keys(0)")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(text); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
}

func schemaOf(t *testing.T, dir string) string {
	db, err := sql.Open(ncruces, fileURI(filepath.Join(dir, databaseFile), nil))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	return schemaText(t, db)
}

func schemaText(t *testing.T, db *sql.DB) string {
	var b strings.Builder
	query(t, db, "SELECT type, sql FROM sqlite_schema WHERE sql IS NOT NULL AND name <> 'schema_version' ORDER BY type, name", func(row []string) {
		fmt.Fprintf(&b, "%s: %s\n", row[0], row[1])
	})
	return b.String()
}

func schemaAt(t *testing.T, list []step) string {
	db, err := sql.Open(ncruces, fileURI(filepath.Join(t.TempDir(), "x.db"), nil))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	for _, s := range list {
		if _, err := db.Exec(s.sql); err != nil {
			t.Fatal(err)
		}
	}
	return schemaText(t, db)
}
