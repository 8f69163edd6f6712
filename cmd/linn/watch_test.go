package main

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"testing"
	"time"

	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/internal/transfer/backup"
)

// watched is a watch over a small record with a clock that is set by hand.
func watched(t *testing.T, folder string) (w *watch, now *time.Time) {
	t.Helper()
	at := time.Date(2026, 3, 4, 9, 0, 0, 0, time.UTC)
	k, err := backup.NewKey()
	if err != nil {
		t.Fatal(err)
	}
	a := &app{ctx: t.Context(), out: &buffer{}, err: &buffer{}, lang: locale.English}
	path := &pathway.Pathway{Store: casebook.NewMemory(), Clock: func() time.Time { return at }}
	err = path.Store.Do(t.Context(), func(tx casebook.Tx) error {
		_, err := casebook.Revise(tx, path.MachineStamp(), "ann", 0, casebook.Person{Verb: casebook.VerbAdmit, Name: "Ann", Role: casebook.Surgeon, Active: true})
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	w, err = newWatch(a, &settings{BackupFolder: folder, BackupTo: k.Public, BackupHours: "12"}, path, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	return w, &at
}

func codesOf(list []finding.Refusal) (codes string) {
	for _, r := range list {
		codes += r.Code + " "
		if text := locale.T(locale.English, "notice."+r.Code, r.Values...); text[0] == '[' {
			return "no text for " + r.Code
		}
	}
	return codes
}

// What the Ward says of its backups: none set, none yet, made, stale, failed;
// a stick that comes back is written to and the warning goes.
func TestReminders(t *testing.T) {
	stick := t.TempDir() + "/stick"
	w, now := watched(t, stick)
	says := func(when, want string) {
		t.Helper()
		if got := codesOf(w.Reminders()); got != want {
			t.Errorf("%s: %q, want %q", when, got, want)
		}
	}
	says("at first", "backup-never ")
	w.backUpWhenDue(t.Context())
	says("without the stick", "backup-failed backup-never ")
	if err := os.Mkdir(stick, 0o700); err != nil {
		t.Fatal(err)
	}
	w.backUpWhenDue(t.Context())
	says("at once again", "backup-failed backup-never ")
	*now = now.Add(tryAgain)
	w.backUpWhenDue(t.Context())
	says("with the stick", "")
	*now = now.Add(24 * time.Hour)
	says("a day later", "")
	*now = now.Add(time.Minute)
	says("stale", "backup-stale ")
	w.backUpWhenDue(t.Context())
	says("made anew", "")
	if list, err := os.ReadDir(stick); err != nil || len(list) != 4 {
		t.Errorf("%v, %v", list, err)
	}
	none, _ := watched(t, "")
	if got := codesOf(none.Reminders()); got != "backup-none " {
		t.Errorf("nothing set: %q", got)
	}
}

// unwell is a store that reads a broken record.
type unwell struct {
	casebook.Store
	err error
}

func (u unwell) View(ctx context.Context, fn func(casebook.Tx) error) error {
	if u.err != nil {
		return u.err
	}
	return u.Store.View(ctx, fn)
}

// A record that cannot be read through, or lacks what a backup held, is said
// above every page.
func TestWatchTellsOfABrokenRecord(t *testing.T) {
	w, now := watched(t, t.TempDir())
	w.backUpWhenDue(t.Context())
	w.readThrough(t.Context())
	if got := codesOf(w.Notices()); got != "" {
		t.Errorf("sound: %q", got)
	}
	w.newest.Ward.Revisions++
	w.readThrough(t.Context())
	if got := codesOf(w.Notices()); got != "record-shorter " {
		t.Errorf("shorter: %q", got)
	}
	*now = now.Add(time.Hour)
	w.broken = nil
	w.path.Store = unwell{w.path.Store, errors.New("disk I/O error")}
	w.readThrough(t.Context())
	if got := codesOf(w.Notices()); got != "check-failed " {
		t.Errorf("unreadable: %q", got)
	}
	w.judge(pathway.Report{Broken: []casebook.Break{{Kind: casebook.KindCase, Chain: "C", Number: 4, What: casebook.FaultHash}}})
	if got := codesOf(w.Notices()); got != "record-broken " {
		t.Errorf("broken: %q", got)
	}
}
