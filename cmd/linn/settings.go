package main

import (
	"cmp"
	"errors"
	"io/fs"
	"maps"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"linn/finding"
	"linn/internal/access"
	"linn/internal/locale"
)

// settings say where the ward's record lies and how it is reached. A flag goes
// before its LINN_ variable, and that before the file linn.toml in the folder.
type settings struct {
	Data    string `help:"${help_data}" env:"LINN_DATA" placeholder:"DIR"`
	DB      string `help:"${help_db}" env:"LINN_DB" name:"db" placeholder:"URL"`
	Listen  string `help:"${help_listen}" env:"LINN_LISTEN" placeholder:"127.0.0.1:7373"`
	TLSCert string `help:"${help_tls_cert}" env:"LINN_TLS_CERT" name:"tls-cert" placeholder:"FILE"`
	TLSKey  string `help:"${help_tls_key}" env:"LINN_TLS_KEY" name:"tls-key" placeholder:"FILE"`
	TLSOwn  bool   `help:"${help_tls_own}" env:"LINN_TLS_OWN" name:"tls-own"`
	Zone    string `help:"${help_zone}" env:"LINN_ZONE" placeholder:"NAME"`

	// From the file or the variable alone.
	BackupFolder string `kong:"-"`
	BackupHours  string `kong:"-"` // between two backups while serving
	BackupTo     string `kong:"-"` // public halves of the recovery keys
}

// defaultListen is this machine alone.
const defaultListen = "127.0.0.1:7373"

func (s *settings) secure() bool { return s.TLSOwn || s.TLSCert != "" || s.TLSKey != "" }

// complete fills what neither flag nor variable gave, and refuses what must
// not be.
func (s *settings) complete(a *app, demo bool) error {
	if passwordIn(s.DB) && s.DB != os.Getenv("LINN_DB") {
		return usageError(a.t("serve.password-on-line"))
	}
	if s.Data == "" && !demo {
		dir, err := dataFolder()
		if err != nil {
			return err
		}
		s.Data = dir
	}
	for name, into := range map[string]*string{"LINN_BACKUP_FOLDER": &s.BackupFolder, "LINN_BACKUP_HOURS": &s.BackupHours, "LINN_BACKUP_TO": &s.BackupTo} {
		*into = cmp.Or(*into, os.Getenv(name))
	}
	if err := s.fromFile(a); err != nil {
		return err
	}
	s.Listen = cmp.Or(s.Listen, defaultListen)
	switch {
	case demo && s.DB != "":
		return usageError(a.t("serve.demo-db"))
	case s.TLSOwn && (s.TLSCert != "" || s.TLSKey != ""):
		return usageError(a.t("serve.tls-both"))
	case s.secure() && !s.TLSOwn && (s.TLSCert == "" || s.TLSKey == ""):
		return usageError(a.t("serve.tls-pair"))
	}
	var refused finding.Refusal
	if err := access.CheckListen(s.Listen, s.secure(), demo); errors.As(err, &refused) {
		return usageError(strings.TrimSuffix(locale.Refusal(a.lang, refused), "."))
	}
	return nil
}

func passwordIn(db string) bool {
	u, err := url.Parse(db)
	if err != nil || u.User == nil {
		return strings.Contains(db, "password=")
	}
	_, has := u.User.Password()
	return has || strings.Contains(db, "password=")
}

// settingsFile is the file in the ward's folder.
const settingsFile = "linn.toml"

func (s *settings) fromFile(a *app) error {
	if s.Data == "" {
		return nil
	}
	path := filepath.Join(s.Data, settingsFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	into := map[string]*string{"listen": &s.Listen, "db": &s.DB, "tls_cert": &s.TLSCert, "tls_key": &s.TLSKey, "zone": &s.Zone,
		"backup_folder": &s.BackupFolder, "backup_hours": &s.BackupHours, "backup_to": &s.BackupTo}
	found, refused := parseSettings(data, append(slices.Sorted(maps.Keys(into)), "tls_own"))
	if len(refused) > 0 {
		return a.refuse(path, refused)
	}
	for key, into := range into {
		*into = cmp.Or(*into, found[key])
	}
	s.TLSOwn = s.TLSOwn || found["tls_own"] == "yes"
	return nil
}

// dataFolder is the folder for a program's data of this user.
func dataFolder() (string, error) {
	if base := os.Getenv("XDG_DATA_HOME"); base != "" && filepath.IsAbs(base) {
		return filepath.Join(base, "linn"), nil
	}
	if base := os.Getenv("LocalAppData"); runtime.GOOS == "windows" && base != "" {
		return filepath.Join(base, "linn"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", err
	}
	if runtime.GOOS == "darwin" {
		return filepath.Join(home, "Library", "Application Support", "linn"), nil
	}
	return filepath.Join(home, ".local", "share", "linn"), nil
}
