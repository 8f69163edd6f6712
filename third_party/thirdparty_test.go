package thirdparty

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"os"
	"path"
	"strings"
	"testing"
)

type line struct{ file, sum, name, version, licence, use string }

func manifest(t *testing.T) map[string]line {
	t.Helper()
	f, err := os.Open("MANIFEST.txt")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all := map[string]line{}
	for s := bufio.NewScanner(f); s.Scan(); {
		if strings.HasPrefix(s.Text(), "#") {
			continue
		}
		c := strings.Split(s.Text(), "\t")
		if len(c) != 6 {
			t.Fatalf("%q has %d columns, want 6", s.Text(), len(c))
		}
		all[c[0]] = line{c[0], c[1], c[2], c[3], c[4], c[5]}
	}
	if len(all) == 0 {
		t.Fatal("the manifest is empty")
	}
	return all
}

// Every file is listed with its hash, and every line has its file.
func TestManifest(t *testing.T) {
	all := manifest(t)
	err := fs.WalkDir(os.DirFS("."), ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || path.Dir(name) == "." {
			return err
		}
		b, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(b)
		switch l, ok := all[name]; {
		case !ok:
			t.Errorf("%s is not in MANIFEST.txt", name)
		case l.sum != hex.EncodeToString(sum[:]):
			t.Errorf("%s differs from its SHA-256 in MANIFEST.txt", name)
		}
		delete(all, name)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for name := range all {
		t.Errorf("MANIFEST.txt lists %s, which is not there", name)
	}
}

// A licence text stands in every folder, and only files for the program are
// embedded.
func TestLicencesAndEmbedding(t *testing.T) {
	for name, l := range manifest(t) {
		if _, err := os.Stat(path.Dir(name) + "/LICENSE"); err != nil {
			t.Errorf("%s has no licence text beside it", name)
		}
		_, err := fs.Stat(Files, name)
		if embedded := err == nil; embedded != (l.use == "program") {
			t.Errorf("%s: embedded %v, used by %s", name, embedded, l.use)
		}
	}
}
