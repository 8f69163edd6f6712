package layout

import (
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// partRow is a line of docs/parts.md: `name` | version | licence | why | if it fails.
var partRow = regexp.MustCompile("(?m)^\\| `([^`]+)` \\| ([^|]+) \\| ([^|]+) \\| ([^|]+) \\| ([^|]+) \\|$")

// parsed go.mod lines: "module version", with "// indirect" where it is not
// asked for by our own code.
var requireLine = regexp.MustCompile(`(?m)^\s*(?:require\s+)?([a-z0-9][^\s]*\.[^\s]*)\s+(v\S+)(\s*// indirect)?$`)

func readFile(t *testing.T, name string) string {
	t.Helper()
	b, err := fs.ReadFile(root(), name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestPartsAreListed holds docs/parts.md against everything made by others:
// the modules that our code imports, the tools of go.mod, its direct
// requirements, and the files of the manifests. Nothing may be missing, and
// nothing listed that is not here.
func TestPartsAreListed(t *testing.T) {
	listed := map[string]string{}
	for _, m := range partRow.FindAllStringSubmatch(readFile(t, "docs/parts.md"), -1) {
		listed[m[1]] = strings.TrimSpace(m[2])
	}
	here := partsHere(t)
	for _, name := range slices.Sorted(maps.Keys(here)) {
		switch version, ok := listed[name]; {
		case !ok:
			t.Errorf("docs/parts.md does not list %s %s", name, here[name])
		case version != here[name]:
			t.Errorf("docs/parts.md lists %s %s; here is %s", name, version, here[name])
		}
	}
	for name := range listed {
		if here[name] == "" {
			t.Errorf("docs/parts.md lists %s, which is not here", name)
		}
	}
}

// partsHere maps every part in use to its version.
func partsHere(t *testing.T) map[string]string {
	here, versions := map[string]string{}, map[string]string{}
	mod := readFile(t, "go.mod")
	for _, m := range requireLine.FindAllStringSubmatch(mod, -1) {
		versions[m[1]] = m[2]
		if m[3] == "" {
			here[m[1]] = m[2]
		}
	}
	use := func(pkg string) {
		for m, v := range versions {
			if pkg == m || strings.HasPrefix(pkg, m+"/") {
				here[m] = v
			}
		}
	}
	for _, f := range theHouse(t).files {
		for _, spec := range f.ast.Imports {
			use(strings.Trim(spec.Path.Value, `"`))
		}
	}
	for _, m := range regexp.MustCompile(`(?m)^tool\s+(\S+)$`).FindAllStringSubmatch(mod, -1) {
		use(m[1])
	}
	for _, manifest := range manifests(t) {
		for line := range strings.Lines(readFile(t, manifest)) {
			if cols := strings.Split(strings.TrimSpace(line), "\t"); len(cols) >= 4 && !strings.HasPrefix(line, "#") {
				name, _, _ := strings.Cut(cols[2], " (")
				here[name] = cols[3]
			}
		}
	}
	return here
}

// manifests are the lists of embedded files made by others.
func manifests(t *testing.T) (names []string) {
	err := fs.WalkDir(root(), ".", func(name string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && skipped(name) {
			return fs.SkipDir
		}
		if err == nil && path.Base(name) == "MANIFEST.txt" {
			names = append(names, name)
		}
		return err
	})
	if err != nil || len(names) == 0 {
		t.Fatalf("manifests: %q, %v", names, err)
	}
	return names
}
