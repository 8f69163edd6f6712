package store

import (
	"errors"
	"fmt"
	"os"

	"golang.org/x/sys/windows"
)

// takeLock takes the folder's lock for the life of the open file: the system
// gives it free when the program ends, however it ends.
func takeLock(path string) (*os.File, error) {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	err = windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &windows.Overlapped{})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return nil, errors.Join(ErrLocked, f.Close())
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("store: lock: %w", err), f.Close())
	}
	return f, nil
}

// syncDir does nothing: Windows has no fsync of folders.
func syncDir(string) error { return nil }
