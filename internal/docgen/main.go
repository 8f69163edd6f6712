// Command docgen writes the documents that are made from the program itself:
// docs/findings.md, docs/formulas.md and docs/formats.md. A test fails when
// they are stale.
//
//	go run ./internal/docgen
package main

import (
	"fmt"
	"os"
	"path/filepath"

	// The packages that declare findings and constants.
	_ "linn/calc/astigmatism"
	_ "linn/calc/biometry"
	_ "linn/calc/fluidics"
	_ "linn/calc/heat"
	_ "linn/calc/lenspower"
	_ "linn/calc/optics"
	_ "linn/calc/refraction"
	_ "linn/calc/supplies"
	_ "linn/calc/ultrasound"
	_ "linn/internal/learn/audit"
	_ "linn/internal/learn/constants"
)

//go:generate go run .

func main() {
	root, err := moduleRoot()
	if err != nil {
		fail(err)
	}
	made, err := documents(root)
	if err != nil {
		fail(err)
	}
	for _, d := range made {
		if err := os.WriteFile(filepath.Join(root, d.path), []byte(d.body), 0o644); err != nil {
			fail(err)
		}
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, "docgen:", err)
	os.Exit(1)
}

// moduleRoot is the nearest folder above that holds go.mod.
func moduleRoot() (string, error) {
	dir, err := os.Getwd()
	for err == nil {
		if _, e := os.Stat(filepath.Join(dir, "go.mod")); e == nil {
			return dir, nil
		}
		if filepath.Dir(dir) == dir {
			return "", fmt.Errorf("no go.mod above %s", dir)
		}
		dir = filepath.Dir(dir)
	}
	return "", err
}

// document is one generated file.
type document struct{ path, body string }

func documents(root string) ([]document, error) {
	formulas, err := formulasDocument(root)
	if err != nil {
		return nil, err
	}
	formats, err := formatsDocument()
	if err != nil {
		return nil, err
	}
	return []document{{"docs/findings.md", findingsDocument()}, {"docs/formulas.md", formulas}, {"docs/formats.md", formats}}, nil
}

const generated = "<!-- Written by go run ./internal/docgen from the program itself; do not edit. -->\n\n"
