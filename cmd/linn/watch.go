package main

import (
	"context"
	"errors"
	"log/slog"
	"strconv"
	"sync"
	"time"

	"linn/finding"
	"linn/internal/pathway"
	"linn/internal/transfer/backup"
)

// watch looks after the record while the workbench serves: it reads the whole
// record through once, makes the backups when they are due, and knows what
// people have to be told. It writes nothing but the ward chain.
type watch struct {
	app    *app
	path   *pathway.Pathway
	log    *slog.Logger
	folder string
	to     string
	every  time.Duration
	done   chan struct{}

	mu     sync.Mutex
	broken []finding.Refusal
	newest *backup.Manifest
	failed *finding.Refusal
	tried  time.Time
}

// The times of the watch: how often it looks whether a backup is due, how long
// it waits after one that failed, and after how many times its interval the
// newest is stale.
const (
	defaultEvery = 24 * time.Hour
	lookEvery    = time.Minute
	tryAgain     = 15 * time.Minute
	staleAfter   = 2
)

func newWatch(a *app, s *settings, path *pathway.Pathway, log *slog.Logger) (*watch, error) {
	w := &watch{app: a, path: path, log: log, folder: s.BackupFolder, to: s.BackupTo, every: defaultEvery}
	if s.BackupHours != "" {
		n, err := strconv.Atoi(s.BackupHours)
		if err != nil || n < 1 || n > 24*31 {
			return nil, usageError(a.t("serve.backup-hours", value("got", s.BackupHours)))
		}
		w.every = time.Duration(n) * time.Hour
	}
	if s.BackupFolder != "" {
		if _, err := backup.ParseRecipients(s.BackupTo); err != nil {
			return nil, a.trusted(s.BackupFolder, err)
		}
	}
	return w, nil
}

// begin checks the newest links, which a start can wait for, and starts the
// rest.
func (w *watch) begin(ctx context.Context) error {
	report, err := w.path.VerifyNewest(ctx, newestLinks)
	if err != nil {
		return err
	}
	w.judge(report)
	w.remember(ctx)
	w.done = make(chan struct{})
	go w.run(ctx)
	return nil
}

// ended stops the watch and waits for it: after it nobody uses the record.
func (w *watch) ended(stop context.CancelFunc) {
	stop()
	if w.done != nil {
		<-w.done
	}
}

// newestLinks is how many links a start waits for.
const newestLinks = 1000

func (w *watch) run(ctx context.Context) {
	defer close(w.done)
	w.readThrough(ctx)
	for w.folder != "" {
		w.backUpWhenDue(ctx)
		select {
		case <-ctx.Done():
			return
		case <-time.After(lookEvery):
		}
	}
}

// readThrough walks the whole record, slowly enough that people do not notice,
// and holds it against the newest backup.
func (w *watch) readThrough(ctx context.Context) {
	began, last := time.Now(), time.Now()
	report, err := w.path.VerifyChains(ctx, func(int) {
		time.Sleep(min(breaths*time.Since(last), longestBreath))
		last = time.Now()
	})
	if err != nil {
		w.cannot(ctx, err)
		return
	}
	w.log.Info("record read through", "chains", report.Chains, "revisions", report.Revisions, "sound", report.Sound(), "seconds", time.Since(began).Seconds())
	w.judge(report)
	w.mu.Lock()
	newest := w.newest
	w.mu.Unlock()
	if newest == nil {
		return
	}
	var missing *backup.MissingError
	if err := backup.Against(ctx, w.path.Store, *newest); errors.As(err, &missing) {
		w.log.Error("the record lacks what a backup held", "held", newest.Ward.Revisions, "found", missing.Have)
		w.mu.Lock()
		w.broken = append(w.broken, finding.Refusal{Code: "record-shorter", Values: finding.Values{value("made", w.local(newest.MadeAt))}})
		w.mu.Unlock()
	} else if err != nil {
		w.cannot(ctx, err)
	}
}

// After each stretch of the reading through there is a pause of so many times
// what the stretch took, so that it takes a fifth of one processor whatever the
// machine, and a page waits for it no longer than a stretch.
const (
	breaths       = 4
	longestBreath = time.Second
)

func (w *watch) cannot(ctx context.Context, err error) {
	if ctx.Err() != nil {
		return
	}
	w.log.Error("the record could not be read through", "error", err)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.broken = append(w.broken, finding.Refusal{Code: "check-failed", Values: finding.Values{value("why", err.Error())}})
}

// judge keeps the first break for the notice above every page.
func (w *watch) judge(report pathway.Report) {
	if report.Sound() {
		return
	}
	b := append(report.Broken, report.Stale...)[0]
	w.log.Error("the record does not verify", "kind", b.Kind, "chain", b.Chain, "revision", b.Number, "fault", b.What)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.broken = []finding.Refusal{{Code: "record-broken", Values: finding.Values{value("kind", w.app.t("verify.kind."+string(b.Kind))), value("chain", b.Chain),
		value("n", strconv.Itoa(b.Number)), value("fault", w.app.t("verify.fault."+string(b.What)))}}}
}

// remember looks for the newest backup of this ward in the folder.
func (w *watch) remember(ctx context.Context) {
	if w.folder == "" {
		return
	}
	first, err := w.path.FirstHash(ctx)
	if err != nil {
		w.log.Error("which ward this is", "error", err)
		return
	}
	if m, found, err := backup.Newest(w.folder, first); err == nil && found {
		w.mu.Lock()
		w.newest = &m
		w.mu.Unlock()
	}
}

// backUpWhenDue makes a backup when the newest is old enough, and after one
// that failed not at once again.
func (w *watch) backUpWhenDue(ctx context.Context) {
	w.remember(ctx)
	now := w.path.Clock()
	w.mu.Lock()
	due := (w.newest == nil || now.Sub(w.newest.MadeAt) >= w.every) && now.Sub(w.tried) >= tryAgain
	w.mu.Unlock()
	if !due {
		return
	}
	m, err := w.app.backUp(ctx, w.path, w.folder, w.to, nil)
	if ctx.Err() != nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.tried = now
	if err != nil {
		w.log.Error("backup failed", "error", err)
		w.failed = &finding.Refusal{Code: "backup-failed", Values: finding.Values{value("at", w.local(now)), value("why", w.app.why(w.folder, err))}}
		return
	}
	w.log.Info("backup made", "bytes", m.Bytes, "revisions", m.Ward.Revisions)
	w.newest, w.failed = &m, nil
}

func (w *watch) local(t time.Time) string { return t.In(w.path.Clock().Location()).Format(minute) }

// Notices stand above every page.
func (w *watch) Notices() []finding.Refusal {
	w.mu.Lock()
	defer w.mu.Unlock()
	return append([]finding.Refusal(nil), w.broken...)
}

// Reminders stand on the Ward and on the Desk: the state of the backups.
func (w *watch) Reminders() (list []finding.Refusal) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := w.path.Clock()
	if w.failed != nil {
		list = append(list, *w.failed)
	}
	switch {
	case w.folder == "":
		list = append(list, finding.Refusal{Code: "backup-none"})
	case w.newest == nil:
		list = append(list, finding.Refusal{Code: "backup-never", Values: finding.Values{value("folder", w.folder)}})
	case now.Sub(w.newest.MadeAt) > staleAfter*w.every:
		list = append(list, finding.Refusal{Code: "backup-stale", Values: finding.Values{value("made", w.local(w.newest.MadeAt)),
			value("hours", strconv.Itoa(int(now.Sub(w.newest.MadeAt).Hours()))), value("folder", w.folder)}})
	}
	return list
}
