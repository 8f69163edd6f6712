package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"linn/internal/pathway"
	"linn/internal/store"
	"linn/internal/transfer/backup"
)

// verifyCommand walks the whole record and computes every signed plan again.
type verifyCommand struct {
	Data string `help:"${help_data}" env:"LINN_DATA" placeholder:"DIR"`
	DB   string `help:"${help_db}" env:"LINN_DB" name:"db" placeholder:"URL"`

	Against string `help:"${help_verify_against}" placeholder:"MANIFEST"`
}

func (c *verifyCommand) Run(a *app) (err error) {
	s := settings{Data: c.Data, DB: c.DB}
	if err := s.complete(a, false); err != nil {
		return err
	}
	record, err := s.openToRead(a)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, record.Close()) }()
	path := &pathway.Pathway{Store: record, Clock: clockIn(time.Local), Program: programVersion()}
	v, err := path.VerifyUnattended(a.ctx, a.walked)
	if err != nil {
		return err
	}
	a.tellVerification(&v)
	err = c.against(a, path)
	if err == nil && !v.Sound() {
		err = errRefused
	}
	return err
}

// against holds the record against a backup's manifest, which needs no key.
func (c *verifyCommand) against(a *app, path *pathway.Pathway) error {
	if c.Against == "" {
		return nil
	}
	m, err := backup.ReadManifest(c.Against)
	if err == nil {
		err = backup.Against(a.ctx, path.Store, m)
	}
	made := value("made", m.MadeAt.Local().Format(minute))
	var missing *backup.MissingError
	switch {
	case errors.As(err, &missing):
		fmt.Fprintln(a.out, a.t("verify.missing", made, value("n", strconv.Itoa(m.Ward.Revisions)), value("have", strconv.Itoa(missing.Have))))
		return errRefused
	case err != nil:
		return a.trusted(c.Against, err)
	}
	fmt.Fprintln(a.out, a.t("verify.against", made, value("revisions", strconv.Itoa(m.Ward.Revisions))))
	return nil
}

// openToRead opens the record beside the program that writes it, if one runs.
func (s *settings) openToRead(a *app) (pathway.Store, error) {
	if s.DB != "" {
		return openDatabase(a, s.DB)
	}
	db, err := openFolder(a, s.Data, store.Options{ReadOnly: true})
	if errors.Is(err, fs.ErrNotExist) || err != nil && !isFile(filepath.Join(s.Data, "linn.db")) {
		return nil, errors.New(a.t("verify.nothing", value("dir", s.Data)))
	}
	return db, err
}

func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}

// tellVerification says what was found: the first broken link of every broken
// chain, rows of the Ward that do not follow from the record, and every line
// of a signed plan that comes out otherwise.
func (a *app) tellVerification(v *pathway.Verification) {
	fmt.Fprintln(a.out, a.t("verify.walked", value("chains", strconv.Itoa(v.Chains)), value("revisions", strconv.Itoa(v.Revisions)), value("plans", strconv.Itoa(v.Plans))))
	tell := func(key string, kind, chain string, number int, fault string) {
		fmt.Fprintln(a.out, a.t(key, value("kind", a.t("verify.kind."+kind)), value("chain", chain), value("n", strconv.Itoa(number)), value("fault", a.t("verify.fault."+fault))))
	}
	for _, b := range v.Broken {
		tell("verify.broken", string(b.Kind), b.Chain, b.Number, string(b.What))
	}
	for _, b := range v.Stale {
		tell("verify.stale", string(b.Kind), b.Chain, b.Number, string(b.What))
	}
	for _, b := range v.Newer {
		tell("verify.newer", string(b.Kind), b.Chain, b.Number, string(b.What))
	}
	for _, d := range v.Differs {
		fmt.Fprintln(a.out, a.t("verify.differs", value("chain", d.Case), value("n", strconv.Itoa(d.Number)), value("what", d.Field), value("was", d.Signed), value("is", d.Now)))
	}
	if v.Sound() {
		fmt.Fprintln(a.out, a.t("verify.sound"))
	}
}
