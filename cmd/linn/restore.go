package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"linn/internal/pathway"
	"linn/internal/store"
	"linn/internal/transfer/backup"
	"linn/internal/transfer/wardfile"
)

// restoreCommand makes a record from a backup, or tries it and throws the
// record away.
type restoreCommand struct {
	File    string `arg:"" help:"${help_restore_file}"`
	KeyFile string `help:"${help_restore_key_file}" name:"key-file" placeholder:"FILE"`
	Drill   bool   `help:"${help_restore_drill}"`
	where
}

func (c *restoreCommand) Run(a *app) error {
	if c.Drill {
		return c.drill(a)
	}
	s, err := c.settled(a)
	if err != nil {
		return err
	}
	r, err := c.restore(a, s)
	if err != nil {
		return a.trusted(c.File, err)
	}
	fmt.Fprintln(a.out, a.t("restore.done", value("place", s.name()), value("revisions", strconv.Itoa(r.Ward.Revisions)), value("made", madeAt(r))))
	fmt.Fprintln(a.out, a.t("restore.after"))
	return nil
}

func (c *restoreCommand) restore(a *app, s *settings) (r backup.Restored, err error) {
	if free, err := vacant(s.Data); s.DB == "" && (err != nil || !free) { // before the key is asked for
		return r, errors.Join(err, wardfile.ErrNotEmpty)
	}
	secret, err := c.secret(a)
	if err != nil {
		return r, err
	}
	err = s.fill(a, func(ctx context.Context, record pathway.Store) (err error) {
		r, err = backup.Restore(ctx, c.file(), secret, record, a.walked)
		return err
	})
	if err == nil && r.Alone {
		a.say("restore.alone")
	}
	return r, err
}

// file is the encrypted file, also when the manifest was named.
func (c *restoreCommand) file() string {
	if rest, ok := strings.CutSuffix(c.File, ".json"); ok {
		return rest + ".age"
	}
	return c.File
}

func madeAt(r backup.Restored) string {
	if r.Alone {
		return "?"
	}
	return r.Manifest.MadeAt.Local().Format(minute)
}

// secret is the recovery key: from a file, from LINN_RECOVERY_KEY, or asked
// for. It is never an option's value: those can be seen by everybody.
func (c *restoreCommand) secret(a *app) (string, error) {
	if c.KeyFile != "" {
		text, refused, err := a.read(c.KeyFile)
		if len(refused) > 0 {
			return "", refused
		}
		return string(text), err
	}
	if key := os.Getenv("LINN_RECOVERY_KEY"); key != "" {
		return key, nil
	}
	text, err := a.ask("restore.ask-key", "restore.needs-key")
	return string(text), err
}

// drill restores into a throw-away folder, verifies, and says whether the day
// it is needed for would go well. It touches no ward.
func (c *restoreCommand) drill(a *app) (err error) {
	dir, err := os.MkdirTemp("", "linn-drill-")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	began := time.Now()
	s := &settings{Data: filepath.Join(dir, "ward")}
	r, err := c.restore(a, s)
	if err != nil {
		return a.trusted(c.File, err)
	}
	db, err := openFolder(a, s.Data, store.Options{ReadOnly: true})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	path := &pathway.Pathway{Store: db, Clock: clockIn(time.Local), Program: programVersion()}
	v, err := path.VerifyUnattended(a.ctx, a.walked)
	if err != nil {
		return err
	}
	a.tellVerification(&v)
	if !v.Sound() {
		return errRefused
	}
	fmt.Fprintln(a.out, a.t("restore.drilled", value("made", madeAt(r)), value("revisions", strconv.Itoa(v.Revisions)),
		value("seconds", strconv.FormatFloat(time.Since(began).Seconds(), 'f', 1, 64))))
	return nil
}
