package store

import (
	"strings"
	"testing"
)

// carried says of every table how it travels in a ward file. A table that is
// not named here would be lost by a restore.
var carried = map[string]string{
	"chain":          "follows from the revisions",
	"revision":       "in the file",
	"patient_key":    "in the file; a destroyed key follows from its revision",
	"access":         "in the file",
	"attachment":     "in the file",
	"operated_now":   "projection",
	"sheet":          "follows from the signed revisions, and a gap",
	"case_now":       "projection",
	"patient_now":    "projection",
	"schema_version": "of the database",
}

func TestEveryTableTravels(t *testing.T) {
	s := opened(t, "")
	rows, err := s.read.Query("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var names []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(name, "sqlite_") {
			names = append(names, name)
		}
	}
	for _, name := range names {
		if carried[name] == "" {
			t.Errorf("table %s does not travel: a restore would lose it", name)
		}
	}
}
