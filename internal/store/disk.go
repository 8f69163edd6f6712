package store

import (
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/ncruces/go-sqlite3"

	"linn/internal/care/casebook"
)

// named gives an error of an engine the name that callers branch on, where the
// disk is at fault: full, failing or damaged.
func named(err error) error {
	for _, e := range []struct {
		sqlite sqlite3.ErrorCode
		states []string // PostgreSQL's
		name   error
	}{
		{sqlite3.FULL, []string{"53100"}, casebook.ErrDiskFull},
		{sqlite3.IOERR, []string{"58030"}, casebook.ErrDisk},
		{sqlite3.CORRUPT, []string{"XX001", "XX002"}, casebook.ErrDamaged},
	} {
		if errors.Is(err, e.sqlite) || hasState(err, e.states) {
			return fmt.Errorf("%w: %w", e.name, err)
		}
	}
	return err
}

func hasState(err error, states []string) bool {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) {
		return false
	}
	for _, s := range states {
		if pg.Code == s {
			return true
		}
	}
	return false
}
