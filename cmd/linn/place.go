package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"

	"linn/internal/pathway"
	"linn/internal/store"
)

// place is where the record lies, opened.
type place struct {
	store   pathway.Store
	demo    string // folder of the demo, "" outside it
	throw   bool   // the folder goes when the program ends
	sitting string // who the demo begins as, when it was furnished before
}

// demoMark says that the demo made a folder. It holds nothing until the demo's
// ward is whole, and then who it begins as.
const demoMark = "linn.demo"

func openPlace(a *app, s *settings, demo bool) (*place, error) {
	if demo {
		return openDemo(a, s)
	}
	if s.DB != "" {
		db, err := openDatabase(a, s.DB)
		return &place{store: db}, err
	}
	if _, err := os.Stat(filepath.Join(s.Data, demoMark)); err == nil {
		return nil, usageError(a.t("serve.is-demo", value("dir", s.Data)))
	}
	db, err := openFolder(a, s.Data, store.Options{})
	return &place{store: db}, err
}

// openFolder opens the record of a folder. The passphrase of an encrypted one
// comes from LINN_PASSPHRASE, or is asked for.
func openFolder(a *app, dir string, o store.Options) (*store.SQLite, error) {
	if pass := os.Getenv("LINN_PASSPHRASE"); pass != "" {
		o.Passphrase = []byte(pass)
	}
	db, err := store.Open(a.ctx, dir, o)
	if errors.Is(err, store.ErrEncrypted) {
		if o.Passphrase, err = a.askPassphrase(); err != nil {
			return nil, err
		}
		db, err = store.Open(a.ctx, dir, o)
	}
	for known, key := range map[error]string{store.ErrLocked: "serve.locked", store.ErrPassphrase: "serve.passphrase", store.ErrNotEncrypted: "serve.not-encrypted", store.ErrForeign: "serve.foreign"} {
		if errors.Is(err, known) {
			return nil, toldError{a.t(key, value("dir", dir)), known}
		}
	}
	return db, err
}

func (a *app) askPassphrase() ([]byte, error) {
	return a.ask("serve.ask-passphrase", "serve.needs-passphrase")
}

// toldError is an error in people's words that still is what it was.
type toldError struct {
	words string
	error
}

func (e toldError) Error() string { return e.words }
func (e toldError) Unwrap() error { return e.error }

// ask asks for a secret at the terminal without showing what is typed. Where
// that cannot be, it is not asked at all.
func (a *app) ask(question, refusal string) ([]byte, error) {
	in, ok := a.in.(*os.File)
	if ok {
		info, err := in.Stat()
		ok = err == nil && info.Mode()&os.ModeCharDevice != 0
	}
	hide, show := exec.Command("stty", "-echo"), exec.Command("stty", "echo")
	hide.Stdin, show.Stdin = in, in
	if !ok || hide.Run() != nil {
		return nil, errors.New(a.t(refusal))
	}
	fmt.Fprint(a.err, a.t(question)+" ")
	text, err := readLine(in)
	fmt.Fprintln(a.err)
	return []byte(text), errors.Join(err, show.Run())
}

// readLine reads to the end of the line, byte by byte: what follows is for
// whoever reads next.
func readLine(in *os.File) (string, error) {
	var b strings.Builder
	for one := make([]byte, 1); ; {
		if _, err := in.Read(one); err != nil {
			return "", err
		}
		if one[0] == '\n' {
			return strings.TrimSuffix(b.String(), "\r"), nil
		}
		b.WriteByte(one[0])
	}
}

// openDemo takes a throw-away folder, or one that is absent, empty or made by
// an earlier demo.
func openDemo(a *app, s *settings) (*place, error) {
	p := &place{demo: s.Data}
	if s.Data == "" {
		dir, err := os.MkdirTemp("", "linn-demo-")
		if err != nil {
			return nil, err
		}
		p.demo, p.throw = dir, true
	}
	empty, err := store.Empty(p.demo)
	if err != nil {
		return nil, err
	}
	mark := filepath.Join(p.demo, demoMark)
	begun, err := os.ReadFile(mark)
	switch {
	case err == nil:
		p.sitting = strings.TrimSpace(string(begun))
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	case !empty:
		return nil, usageError(a.t("serve.not-demo", value("dir", p.demo)))
	default:
		if err := errors.Join(os.MkdirAll(p.demo, 0o700), os.WriteFile(mark, nil, 0o600)); err != nil {
			return nil, err
		}
	}
	db, err := openFolder(a, p.demo, store.Options{})
	if err != nil {
		return nil, errors.Join(err, p.tidy())
	}
	p.store = db
	return p, nil
}

// furnish fills the demo with its invented ward and says who it begins as.
func (p *place) furnish(a *app, path *pathway.Pathway) (first string, err error) {
	if p.demo == "" || p.sitting != "" {
		return p.sitting, nil
	}
	empty, err := path.DeskEmpty(a.ctx)
	if err != nil {
		return "", err
	}
	if !empty { // an earlier demo was cut off before its ward was whole
		return "", errors.New(a.t("serve.half-demo", value("dir", p.demo)))
	}
	if first, err = path.SeedDemo(a.ctx); err != nil {
		return "", err
	}
	return first, os.WriteFile(filepath.Join(p.demo, demoMark), []byte(first+"\n"), 0o600)
}

func (p *place) close() error {
	var err error
	if p.store != nil {
		err = p.store.Close()
	}
	return errors.Join(err, p.tidy())
}

// tidy takes a throw-away folder away.
func (p *place) tidy() error {
	if !p.throw {
		return nil
	}
	return os.RemoveAll(p.demo)
}
