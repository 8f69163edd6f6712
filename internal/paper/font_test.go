package paper

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io/fs"
	"path"
	"strings"
	"testing"
)

// Every embedded file is listed with its hash, every line has its file, and a
// licence stands in every folder.
func TestFontManifest(t *testing.T) {
	text, err := fs.ReadFile(Fonts(), "fonts/MANIFEST.txt")
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]string{}
	for line := range strings.Lines(string(text)) {
		if c := strings.Split(strings.TrimSpace(line), "\t"); line[0] != '#' {
			if len(c) != 5 {
				t.Fatalf("%q has %d columns, want 5", line, len(c))
			}
			listed[c[0]] = c[1]
		}
	}
	err = fs.WalkDir(Fonts(), "fonts", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Base(name) == "MANIFEST.txt" {
			return err
		}
		b, err := fs.ReadFile(Fonts(), name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(b)
		short := strings.TrimPrefix(name, "fonts/")
		if listed[short] != hex.EncodeToString(sum[:]) {
			t.Errorf("%s: SHA-256 not as listed", short)
		}
		delete(listed, short)
		if _, err := fs.Stat(Fonts(), path.Dir(name)+"/LICENSE"); err != nil {
			t.Errorf("%s has no licence beside it", short)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range listed {
		t.Errorf("MANIFEST.txt lists %s, which is not there", name)
	}
}

func TestSettable(t *testing.T) {
	for _, c := range []struct{ text, face string }{
		{"Åse Bjørnsdóttir", "atkinson"},
		{"+21.50\u202fD, \u22120.25\u202fD ±0.44 ≤ µm °", "atkinson"},
		{"Анна", "noto"},
		{"Nguyễn Thị Ánh", "noto"},
	} {
		_, f, err := settable(c.text)
		if err != nil || f.name != c.face {
			t.Errorf("%q: face %q, %v; want %q", c.text, f.name, err, c.face)
		}
	}
	for _, text := range []string{"सीता", "李", "\U0001F600", "عبد"} {
		var e *UncoveredError
		if _, _, err := settable(text); !errors.As(err, &e) {
			t.Errorf("%q was taken: %v", text, err)
		}
	}
}
