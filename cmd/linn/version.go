package main

import (
	_ "embed"
	"fmt"
	"runtime/debug"
	"strings"
)

// VERSION is a copy of the file of that name at the top of the project; a
// test holds them together. A file is embedded only from beside its package.
//
//go:embed VERSION
var versionFile string

// versionCommand prints the version of the program.
type versionCommand struct{}

func (versionCommand) Run(a *app) error {
	_, err := fmt.Fprintln(a.out, "linn "+programVersion())
	return err
}

// programVersion is the version with the commit when the build recorded one:
// "0.1.0" or "0.1.0 (1a2b3c4d5e6f, changed)".
func programVersion() string {
	v := strings.TrimSpace(versionFile)
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v
	}
	commit, changed := "", false
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			commit = s.Value[:min(12, len(s.Value))]
		case "vcs.modified":
			changed = s.Value == "true"
		}
	}
	switch {
	case commit == "":
		return v
	case changed:
		return v + " (" + commit + ", changed)"
	}
	return v + " (" + commit + ")"
}
