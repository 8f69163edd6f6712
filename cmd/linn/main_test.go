package main

import (
	"flag"
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write what the commands print into the scripts")

func TestMain(m *testing.M) {
	testscript.Main(tidy{m}, map[string]func(){"linn": main})
}

// tidy takes away what the tests share.
type tidy struct{ *testing.M }

func (t tidy) Run() int {
	defer func() {
		if seeded.dir != "" {
			os.RemoveAll(seeded.dir)
		}
	}()
	return t.M.Run()
}

// The commands as people type them.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", UpdateScripts: *update, RequireExplicitExec: true, RequireUniqueNames: true})
}

func TestVersionIsTheProjects(t *testing.T) {
	top, err := os.ReadFile("../../VERSION")
	if err != nil {
		t.Fatal(err)
	}
	if string(top) != versionFile {
		t.Errorf("cmd/linn/VERSION says %q, VERSION says %q", versionFile, top)
	}
}
