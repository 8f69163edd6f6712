package store

import (
	"cmp"
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"
)

//go:embed migration
var migrations embed.FS

const (
	sqliteMigrations   = "migration/sqlite"
	postgresMigrations = "migration/postgres"
)

// SchemaError says that the database was made by a newer program.
type SchemaError struct{ Have, Known int }

func (e *SchemaError) Error() string {
	return fmt.Sprintf("store: the database has schema %d and this program knows %d: it can be read and exported, not written", e.Have, e.Known)
}

// step is one numbered step of the schema. A released step never changes.
type step struct {
	version int
	sql     string
}

// steps reads the migrations of a folder: NNNN_name.sql, numbered from 1
// without gaps.
func steps(folder string) ([]step, error) {
	names, err := fs.Glob(migrations, folder+"/*.sql")
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	var list []step
	for i, name := range names {
		text, err := migrations.ReadFile(name)
		if err != nil {
			return nil, err
		}
		number, _, _ := strings.Cut(strings.TrimPrefix(name, folder+"/"), "_")
		version, err := strconv.Atoi(number)
		if err != nil || version != i+1 {
			return nil, fmt.Errorf("store: migration %s is out of order", name)
		}
		list = append(list, step{version, string(text)})
	}
	return list, nil
}

// migrate brings the schema up to date, one transaction a step, and prepares
// the frequent queries. The version is read inside each transaction: another
// program may be doing the same.
func (d *database) migrate(ctx context.Context, folder string) error {
	list, err := steps(folder)
	if err != nil {
		return err
	}
	for done := false; !done; {
		if done, err = d.advance(ctx, list); err != nil {
			return err
		}
	}
	return d.prepared(ctx)
}

// advance applies the first step that is not applied; done says that there is
// none. Drivers run a text of several statements when it has no arguments.
func (d *database) advance(ctx context.Context, list []step) (done bool, err error) {
	t, err := d.write.BeginTx(ctx, nil)
	if err != nil {
		return false, fmt.Errorf("store: schema: %w", err)
	}
	defer t.Rollback() // after a commit it does nothing
	for _, q := range []string{cmp.Or(d.dialect.begin, "SELECT 1"), "CREATE TABLE IF NOT EXISTS schema_version (version INTEGER PRIMARY KEY)"} {
		if _, err := t.ExecContext(ctx, q); err != nil {
			return false, fmt.Errorf("store: schema: %w", err)
		}
	}
	have, err := version(ctx, t)
	switch {
	case err != nil:
		return false, err
	case have > len(list):
		return false, &SchemaError{Have: have, Known: len(list)}
	case have == len(list):
		d.schema = have
		return true, nil
	}
	next := list[have]
	if _, err := t.ExecContext(ctx, next.sql); err != nil {
		return false, fmt.Errorf("store: migration %d: %w", next.version, err)
	}
	if _, err := t.ExecContext(ctx, d.dialect.placeholders("INSERT INTO schema_version (version) VALUES (?)"), next.version); err != nil {
		return false, fmt.Errorf("store: migration %d: %w", next.version, err)
	}
	if err := t.Commit(); err != nil {
		return false, fmt.Errorf("store: migration %d: %w", next.version, err)
	}
	return false, nil
}

func (d *database) prepared(ctx context.Context) error {
	if !d.dialect.prepare {
		return nil
	}
	if err := d.write.stand(ctx, standing); err != nil {
		return err
	}
	return d.read.stand(ctx, standing[:2]) // the others write
}

// asker is a pool or a transaction.
type asker interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

func version(ctx context.Context, a asker) (have int, err error) {
	if err := a.QueryRowContext(ctx, "SELECT COALESCE(MAX(version), 0) FROM schema_version").Scan(&have); err != nil {
		return 0, fmt.Errorf("store: schema: %w", err)
	}
	return have, nil
}

// readable checks that a database opened for reading holds a record. A newer
// schema is read as far as this program knows it.
func (d *database) readable(ctx context.Context) error {
	have, err := version(ctx, d.read.DB)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	d.schema = have
	if d.dialect.prepare {
		return d.read.stand(ctx, standing[:2])
	}
	return nil
}
