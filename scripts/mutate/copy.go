package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// needed is the part of the module a copy holds.
var needed = []string{"go.mod", "go.sum", "unit", "source", "finding", "eye", "calc/optics", "calc/biometry", "calc/refraction", "calc/lenspower", "internal/checkvalue", "internal/locale"}

// edit changes one place of one file.
type edit struct{ file, old, new string }

// slip is a mistake that has been made, or could easily be, and the test that
// has to notice it.
type slip struct {
	name  string
	edits []edit
	pkg   string
	test  string // full name, with the subtest
	says  string // what the test has to say, when the wrong value is known
}

// apply makes the edits and returns the files as they were. Every old text must
// stand exactly once; otherwise nothing is known about what was tested.
func (s slip) apply(dir string) (was map[string][]byte, err error) {
	was = map[string][]byte{}
	for _, e := range s.edits {
		path := filepath.Join(dir, filepath.FromSlash(e.file))
		text, err := os.ReadFile(path)
		if err != nil {
			return was, err
		}
		if n := strings.Count(string(text), e.old); n != 1 || e.old == e.new {
			return was, fmt.Errorf("%s: %q stands %d times, not once", e.file, e.old, n)
		}
		if _, again := was[e.file]; !again {
			was[e.file] = text
		}
		if err := os.WriteFile(path, []byte(strings.Replace(string(text), e.old, e.new, 1)), 0o600); err != nil {
			return was, err
		}
	}
	return was, nil
}

func restore(dir string, was map[string][]byte) error {
	for file, text := range was {
		if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(file)), text, 0o600); err != nil {
			return err
		}
	}
	return nil
}

// copyModule copies what is needed of the module at root into dir.
func copyModule(root, dir string) error {
	for _, part := range needed {
		err := filepath.WalkDir(filepath.Join(root, filepath.FromSlash(part)), func(path string, d fs.DirEntry, err error) error {
			if err != nil {
				return err
			}
			rel, err := filepath.Rel(root, path)
			if err != nil {
				return err
			}
			to := filepath.Join(dir, rel)
			if d.IsDir() {
				return os.MkdirAll(to, 0o700)
			}
			text, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
				return err
			}
			return os.WriteFile(to, text, 0o600)
		})
		if err != nil {
			return err
		}
	}
	return nil
}

func command(ctx context.Context, dir, name string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, name, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOWORK=off")
	return cmd
}
