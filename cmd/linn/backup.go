package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/internal/store"
	"linn/internal/transfer/backup"
)

// backupCommand writes an encrypted backup, or makes the recovery keys.
type backupCommand struct {
	Folder   string `arg:"" optional:"" help:"${help_backup_folder}"`
	To       string `help:"${help_backup_to}" env:"LINN_BACKUP_TO" placeholder:"KEYS"`
	MakeKeys string `help:"${help_backup_make_keys}" name:"make-keys" placeholder:"FILE.pdf" xor:"act"`
	where
}

func (c *backupCommand) Run(a *app) error {
	s, err := c.settled(a)
	if err != nil {
		return err
	}
	if c.MakeKeys != "" {
		return s.makeKeys(a, c.MakeKeys)
	}
	if c.To != "" {
		s.BackupTo = c.To
	}
	if c.Folder != "" {
		s.BackupFolder = c.Folder
	}
	if s.BackupFolder == "" {
		return usageError(a.t("backup.needs-folder"))
	}
	return c.write(a, s)
}

// write makes the backup beside the program that serves, if one does: then the
// ward chain is listed by that program.
func (c *backupCommand) write(a *app, s *settings) (err error) {
	record, err := s.openToBackUp(a)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, record.Close()) }()
	path := &pathway.Pathway{Store: record, Clock: clockIn(time.Local), Program: programVersion()}
	m, err := a.backUp(a.ctx, path, s.BackupFolder, s.BackupTo, a.walked)
	if err != nil {
		return a.trusted(s.BackupFolder, err)
	}
	fmt.Fprintln(a.out, a.t("backup.done", value("file", filepath.Join(s.BackupFolder, m.File)), value("bytes", strconv.FormatInt(m.Bytes, 10)),
		value("revisions", strconv.Itoa(m.Ward.Revisions)), value("n", strconv.Itoa(len(m.Recipients)))))
	return nil
}

// openToBackUp opens the record for writing, so that the ward chain can list
// the heads, and for reading when another program has it open.
func (s *settings) openToBackUp(a *app) (pathway.Store, error) {
	if s.DB != "" {
		return openDatabase(a, s.DB)
	}
	if !isFile(filepath.Join(s.Data, "linn.db")) {
		return nil, errors.New(a.t("verify.nothing", value("dir", s.Data)))
	}
	db, err := openFolder(a, s.Data, store.Options{})
	if errors.Is(err, store.ErrLocked) {
		return s.openToRead(a)
	}
	return db, err
}

// backUp lists the heads in the ward chain and writes a backup.
func (a *app) backUp(ctx context.Context, path *pathway.Pathway, folder, to string, progress func(int)) (m backup.Manifest, err error) {
	keys, err := backup.ParseRecipients(to)
	if err != nil {
		return m, err
	}
	if err := path.ListHeads(ctx, "backup"); err != nil && !errors.Is(err, pathway.ErrReadOnly) {
		return m, err
	}
	return backup.Make(ctx, path.Store, backup.Order{Folder: folder, To: keys, From: a.origin(path), Progress: progress})
}

// holders is how many people hold a recovery key, each a key of their own: one
// who is away or has lost it does not lose the ward, and a key that went astray
// is left out of the next backup without touching the other.
const holders = 2

// makeKeys makes the recovery keys, prints the secret halves for their holders
// and enters the public halves into the file of settings. The secret halves
// are nowhere else.
func (s *settings) makeKeys(a *app, file string) error {
	if s.BackupTo != "" {
		return usageError(a.t("backup.keys-set", value("keys", s.BackupTo)))
	}
	var pages bytes.Buffer
	var public []string
	print := paper.Keys{MadeOn: time.Now().Format(time.DateOnly), Ward: s.name()}
	for range holders {
		k, err := backup.NewKey()
		if err != nil {
			return err
		}
		public = append(public, k.Public)
		print.Keys = append(print.Keys, paper.Key{Public: k.Public, Secret: k.Secret})
	}
	if err := print.Write(&pages, words{a.lang}); err != nil {
		return err
	}
	f, err := os.OpenFile(file, os.O_CREATE|os.O_EXCL|os.O_WRONLY, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return a.trusted(file, err)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(pages.Bytes())
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := s.note("backup_to", strings.Join(public, ", ")); err != nil {
		return err
	}
	fmt.Fprintln(a.out, a.t("backup.keys-made", value("file", file), value("settings", filepath.Join(s.Data, settingsFile)), value("keys", strings.Join(public, "\n"))))
	return nil
}

// name tells this ward's print from another's: its folder, or its database
// without the address's secrets.
func (s *settings) name() string {
	if s.DB != "" {
		return "PostgreSQL"
	}
	return s.Data
}

// note adds a line to the file of settings.
func (s *settings) note(key, text string) error {
	if err := os.MkdirAll(s.Data, 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(filepath.Join(s.Data, settingsFile), os.O_CREATE|os.O_APPEND|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	line := key + " = " + strconv.Quote(text) + "\n"
	if info, err := f.Stat(); err == nil && info.Size() > 0 {
		line = "\n" + line
	}
	_, err = f.WriteString(line)
	return errors.Join(err, f.Sync(), f.Close())
}
