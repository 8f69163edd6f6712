package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"linn/internal/care/casebook"
)

// writeLock is the advisory lock that every writing transaction takes: writes
// follow one another, as on SQLite, whichever program makes them. The number
// is 'linn' in ASCII.
const writeLock = applicationID

// Connections of one program. Writers wait for each other; a second
// connection lets the next one be ready.
const (
	postgresWriters = 2
	postgresReaders = 8
)

var postgresDialect = dialect{
	numbered: true,
	begin:    fmt.Sprintf("SELECT pg_advisory_xact_lock(%d)", writeLock),
	view:     sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true},
}

// Postgres is a record in a PostgreSQL database. It is a casebook.Store. Its
// growth and its standby are PostgreSQL's own.
//
// A destroyed key is gone from the database; in archived write-ahead logs and
// backups it stays until those expire, and that is the hospital's rule to set.
type Postgres struct{ database }

var _ casebook.Store = (*Postgres)(nil)

// OpenPostgres opens the record in the database at url and makes it when there
// is none. The password comes from the environment or the password file, never
// from the command line.
func OpenPostgres(ctx context.Context, url string) (*Postgres, error) {
	config, err := pgx.ParseConfig(url)
	if err != nil {
		return nil, errors.New("store: the database address cannot be read") // it may hold a password
	}
	if !strings.Contains(url, "default_query_exec_mode") {
		// Works behind a pooler as well: it keeps no statement on the server.
		config.DefaultQueryExecMode = pgx.QueryExecModeCacheDescribe
	}
	config.RuntimeParams["application_name"] = "linn"
	s := &Postgres{database{dialect: postgresDialect}}
	s.write.DB, s.read.DB = stdlib.OpenDB(*config), stdlib.OpenDB(*config)
	s.write.SetMaxOpenConns(postgresWriters)
	s.read.SetMaxOpenConns(postgresReaders)
	s.read.SetMaxIdleConns(postgresReaders)
	if err := s.checkServer(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if err := s.migrate(ctx, postgresMigrations); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// checkServer refuses a server that could lose an acknowledged write or
// garble a name.
func (s *Postgres) checkServer(ctx context.Context) error {
	for _, c := range []struct {
		name    string
		refused []string
	}{
		{"fsync", []string{"off"}},
		{"full_page_writes", []string{"off"}},
		{"synchronous_commit", []string{"off"}},
		{"server_encoding", []string{"SQL_ASCII", "LATIN1", "WIN1252"}},
	} {
		var got string
		if err := s.write.QueryRowContext(ctx, "SHOW "+c.name).Scan(&got); err != nil {
			return fmt.Errorf("store: ask %s: %w", c.name, err)
		}
		for _, bad := range c.refused {
			if got == bad {
				return fmt.Errorf("store: the database has %s = %s", c.name, got)
			}
		}
	}
	return nil
}

// Do runs fn as one write. After a key was destroyed its table is written
// anew, so that no dead row holds it.
func (s *Postgres) Do(ctx context.Context, fn func(casebook.Tx) error) error {
	destroyed, err := s.do(ctx, fn)
	if err != nil || !destroyed {
		return err
	}
	if _, err := s.write.ExecContext(ctx, "VACUUM (FULL) patient_key"); err != nil {
		return fmt.Errorf("store: the key is destroyed and its dead row is not cleared: %w", err)
	}
	return nil
}

// Close closes the connections.
func (s *Postgres) Close() error { return s.close() }
