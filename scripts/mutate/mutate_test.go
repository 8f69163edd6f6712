package main

import (
	"os"
	"path/filepath"
	"testing"
)

// TestEditsStandOnce: the text every slip changes stands exactly once where the
// slip says, so a change of the formulas cannot leave a slip behind unseen.
func TestEditsStandOnce(t *testing.T) {
	dir := t.TempDir()
	if err := copyModule("../..", dir); err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	for _, s := range slips {
		if names[s.name] || s.name == "" || s.test == "" || s.pkg == "" || len(s.edits) == 0 {
			t.Errorf("slip %+v", s)
		}
		names[s.name] = true
		was, err := s.apply(dir)
		if err != nil {
			t.Errorf("%s: %v", s.name, err)
		}
		if err := restore(dir, was); err != nil {
			t.Fatal(err)
		}
	}
}

func TestApply(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.go")
	write := func(text string) {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name, text, old string
		ok              bool
	}{
		{"once", "x = 1.716", "1.716", true},
		{"twice", "x = 1.716 // 1.716", "1.716", false},
		{"never", "x = 1.715", "1.716", false},
	} {
		write(c.text)
		was, err := slip{edits: []edit{{"a.go", c.old, "1.7"}}}.apply(dir)
		if (err == nil) != c.ok {
			t.Errorf("%s: %v", c.name, err)
		}
		if err := restore(dir, was); err != nil {
			t.Fatal(err)
		}
		if text, err := os.ReadFile(path); err != nil || string(text) != c.text {
			t.Errorf("%s: %q was not restored: %v", c.name, text, err)
		}
	}
	if _, err := (slip{edits: []edit{{"none.go", "a", "b"}}}).apply(dir); err == nil {
		t.Error("a file that is not there")
	}
	write("x")
	if _, err := (slip{edits: []edit{{"a.go", "x", "x"}}}).apply(dir); err == nil {
		t.Error("a slip that changes nothing")
	}
}
