package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/util/vfsutil"
	"github.com/ncruces/go-sqlite3/vfs"
	"github.com/ncruces/go-sqlite3/vfs/xts"

	"linn/internal/care/casebook"
)

// The failing disk stands between SQLite and the system: it lets every call
// through until the nth one that changes the disk, and fails that one.
type disk struct {
	vfs.VFS
	fault *fault
}

// plan says which call fails, and how.
type plan struct {
	kind  string // "write", "full", "sync", "truncate": which calls are counted
	at    int    // the call that fails, from 1; 0 is none
	torn  bool   // half of a failing write reaches the disk
	stays bool   // every later call fails as well
}

// fault carries a plan out.
type fault struct {
	mu sync.Mutex
	plan
	calls int // that were counted
	hit   bool
}

// strikes counts a call and says whether it fails.
func (f *fault) strikes(kind string) (p plan, fails bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.kind != kind && !(f.kind == "full" && kind == "write") {
		return f.plan, false
	}
	f.calls++
	fails = f.at != 0 && (f.calls == f.at || f.stays && f.calls > f.at)
	f.hit = f.hit || fails
	return f.plan, fails
}

// set begins a new count and says whether the plan before it struck.
func (f *fault) set(p plan) (hit bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	hit, f.plan, f.calls, f.hit = f.hit, p, 0, false
	return hit
}

func (d disk) OpenFilename(name *vfs.Filename, flags vfs.OpenFlag) (vfs.File, vfs.OpenFlag, error) {
	f, flags, err := vfsutil.WrapOpenFilename(d.VFS, name, flags)
	if err != nil {
		return nil, flags, err
	}
	return &failingFile{f, d.fault}, flags, nil
}

func (d disk) Open(name string, flags vfs.OpenFlag) (vfs.File, vfs.OpenFlag, error) {
	f, flags, err := vfsutil.WrapOpen(d.VFS, name, flags)
	if err != nil {
		return nil, flags, err
	}
	return &failingFile{f, d.fault}, flags, nil
}

type failingFile struct {
	vfs.File
	fault *fault
}

func (f *failingFile) Unwrap() vfs.File               { return f.File }
func (f *failingFile) SharedMemory() vfs.SharedMemory { return vfsutil.WrapSharedMemory(f.File) }
func (f *failingFile) LockState() vfs.LockLevel       { return vfsutil.WrapLockState(f.File) }
func (f *failingFile) HasMoved() (bool, error)        { return vfsutil.WrapHasMoved(f.File) }
func (f *failingFile) SetPowersafeOverwrite(psow bool) {
	vfsutil.WrapSetPowersafeOverwrite(f.File, psow)
}
func (f *failingFile) PowersafeOverwrite() bool { return vfsutil.WrapPowersafeOverwrite(f.File) }

func (f *failingFile) WriteAt(p []byte, off int64) (int, error) {
	how, fails := f.fault.strikes("write")
	if !fails {
		return f.File.WriteAt(p, off)
	}
	n := 0
	if how.torn {
		n, _ = f.File.WriteAt(p[:len(p)/2], off)
	}
	if how.kind == "full" {
		return n, sqlite3.FULL
	}
	return n, sqlite3.IOERR_WRITE
}

func (f *failingFile) Sync(flags vfs.SyncFlag) error {
	if _, fails := f.fault.strikes("sync"); fails {
		return sqlite3.IOERR_FSYNC
	}
	return f.File.Sync(flags)
}

func (f *failingFile) Truncate(size int64) error {
	if _, fails := f.fault.strikes("truncate"); fails {
		return sqlite3.IOERR_TRUNCATE
	}
	return f.File.Truncate(size)
}

// failing is the one failing disk, alone and below page encryption.
var failing = &fault{}

func init() {
	base := disk{vfs.Find("os"), failing}
	vfs.Register("failing", base)
	vfs.Register("failing-xts", xts.Wrap(base, nil))
}

// acked is what the program was told is on the disk.
type acked struct {
	revisions int // of case C
	sheets    int
}

// scene opens a record, writes to it, erases nobody and closes: every write
// that returns without an error is acknowledged. It goes on after an error, as
// people do who press the button again.
func scene(v victim) (got acked, errs []error) {
	s, err := Open(context.Background(), v.dir, Options{disk: v.disk(), Passphrase: []byte(v.pass), cost: 8})
	if err != nil {
		return got, []error{err}
	}
	keep := func(err error) {
		if err != nil {
			errs = append(errs, err)
		}
	}
	for i := range 6 {
		err := s.Do(context.Background(), func(tx casebook.Tx) error {
			if _, err := revise(tx, "C", i, func(c *casebook.Case) { c.Target = strings.Repeat("t", 1500*i) }); err != nil {
				return err
			}
			_, err := tx.NextSheet("C")
			return err
		})
		keep(err)
		if err == nil {
			got.revisions, got.sheets = got.revisions+1, got.sheets+1
		}
		if i == 3 { // as after a key was destroyed
			keep(s.checkpoint(context.Background()))
		}
	}
	keep(s.Close())
	return got, errs
}

// TestFailingDisk: whichever call fails, once or for good, whole or torn, a
// message says that the disk failed or is full, every acknowledged write is
// there when the disk works again, none is there by half, and the record
// verifies.
func TestFailingDisk(t *testing.T) {
	for _, pass := range []string{"", "correct horse"} {
		for _, p := range []plan{{kind: "write"}, {kind: "write", torn: true}, {kind: "write", stays: true}, {kind: "full"}, {kind: "full", stays: true},
			{kind: "sync"}, {kind: "sync", stays: true}, {kind: "truncate"}, {kind: "truncate", stays: true}} {
			if pass != "" && os.Getenv("LINN_FULL") != "1" && !p.torn && (p.kind != "sync" || p.stays) {
				continue // left to the full form
			}
			t.Run(fmt.Sprintf("%s torn=%v stays=%v encrypted=%v", p.kind, p.torn, p.stays, pass != ""), func(t *testing.T) {
				struck := 0
				for p.at = 1; ; p.at += stride(p.kind, pass != "") {
					if !faultAt(t, p, pass) {
						break
					}
					struck++
				}
				if struck == 0 {
					t.Error("the fault never struck")
				}
				t.Logf("%d faults", struck)
			})
		}
	}
}

// disk is the failing one, below the victim's encryption if it has any.
func (v victim) disk() string {
	if v.pass != "" {
		return "failing-xts"
	}
	return "failing"
}

// faultAt plays the scene on a new record with one fault, and says whether the
// fault struck.
func faultAt(t *testing.T, p plan, pass string) bool {
	v := victim{dir: t.TempDir(), pass: pass}
	v.begin(t)
	failing.set(p)
	got, errs := scene(v)
	if failing.set(plan{}) {
		v.checkFault(t, p.at, got, errs)
		return true
	}
	if len(errs) > 0 || got.revisions != 6 {
		t.Fatalf("without a fault: %+v %v", got, errs)
	}
	return false
}

// stride leaves calls out: most of them in the short form, and under page
// encryption, which writes a page in eight pieces.
func stride(kind string, encrypted bool) int {
	full := os.Getenv("LINN_FULL") == "1"
	switch {
	case kind == "truncate":
		return 1
	case kind == "sync":
		return map[bool]int{true: 1, false: 5}[full]
	case encrypted:
		return map[bool]int{true: 13, false: 311}[full]
	}
	return map[bool]int{true: 1, false: 43}[full]
}

func (v victim) checkFault(t *testing.T, n int, got acked, errs []error) {
	t.Helper()
	for _, err := range errs {
		var late *casebook.ConflictError // the write before was kept and not acknowledged
		if !errors.Is(err, casebook.ErrDisk) && !errors.Is(err, casebook.ErrDiskFull) && !errors.As(err, &late) {
			t.Errorf("call %d: an unclear message: %v", n, err)
		}
	}
	s, err := v.opened(t.Context())
	if err != nil {
		t.Fatalf("call %d: the record does not open again: %v", n, err)
	}
	defer s.Close()
	sound(t, s)
	revisions := 0
	view(t, s, func(tx casebook.Tx) error {
		revisions = len(collect(t, tx.Chain(casebook.KindCase, "C"))) - 1 // without the opening
		return nil
	})
	if sheets := sheetsIn(t, s); revisions < got.revisions || sheets != revisions {
		t.Errorf("call %d: %d revisions and %d sheets, %d were acknowledged; %v", n, revisions, sheets, got.revisions, errs)
	}
}

// TestCorruptedPage: a page that changed on the disk is found by the start or
// by verify, with a message, and what a backup holds comes back.
func TestCorruptedPage(t *testing.T) {
	v := victim{dir: t.TempDir()}
	v.begin(t)
	s, err := Open(t.Context(), v.dir, Options{})
	if err != nil {
		t.Fatal(err)
	}
	do(t, s, func(tx casebook.Tx) error {
		for i := range 30 {
			if _, err := revise(tx, "C", i, func(c *casebook.Case) { c.Target = strings.Repeat("t", 3000) }); err != nil {
				return err
			}
		}
		return nil
	})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(v.dir, databaseFile)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	const page = 4096
	for n := range len(whole) / page {
		bad := append([]byte{}, whole...)
		for i := range 64 {
			bad[n*page+page/2+i] ^= 0x5a
		}
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if why := foundBy(t, v.dir); why == "" && string(bad[n*page+page/2:n*page+page/2+64]) != string(whole[n*page+page/2:n*page+page/2+64]) && !unused(whole[n*page:(n+1)*page]) {
			t.Errorf("page %d of %d: nothing was found", n+1, len(whole)/page)
		}
	}
}

// unused reports whether the changed part of a page holds nothing.
func unused(page []byte) bool {
	return strings.Trim(string(page[len(page)/2:len(page)/2+64]), "\x00") == ""
}

// foundBy says how damage is noticed, "" when it is not.
func foundBy(t *testing.T, dir string) string {
	t.Helper()
	clear := func(err error) string {
		if !errors.Is(err, casebook.ErrDamaged) && !errors.Is(err, ErrForeign) && !strings.Contains(err.Error(), "damaged") {
			t.Errorf("an unclear message: %v", err)
		}
		return err.Error()
	}
	s, err := Open(t.Context(), dir, Options{ReadOnly: true})
	if err != nil {
		return clear(err)
	}
	defer s.Close()
	var report casebook.Report
	err = s.View(t.Context(), func(tx casebook.Tx) (err error) {
		report, err = casebook.Verify(tx, nil)
		return err
	})
	switch {
	case err != nil:
		return clear(err)
	case !report.Sound():
		return fmt.Sprint(report.Broken, report.Stale)
	}
	var integrity string
	if err := s.read.QueryRow("PRAGMA integrity_check").Scan(&integrity); err != nil {
		return err.Error()
	}
	if integrity != "ok" {
		return integrity
	}
	return ""
}
