package store

import (
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
// the frequent queries.
func (d *database) migrate(ctx context.Context, folder string) error {
	list, err := steps(folder)
	if err != nil {
		return err
	}
	if _, err := d.write.ExecContext(ctx, "CREATE TABLE IF NOT EXISTS schema_version (version INTEGER PRIMARY KEY)"); err != nil {
		return fmt.Errorf("store: schema: %w", err)
	}
	have, err := version(ctx, d.write.DB)
	if err != nil {
		return err
	}
	if have > len(list) {
		return &SchemaError{Have: have, Known: len(list)}
	}
	for _, s := range list[have:] {
		if err := d.apply(ctx, s); err != nil {
			return err
		}
	}
	return d.prepared(ctx)
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

func version(ctx context.Context, db *sql.DB) (have int, err error) {
	if err := db.QueryRowContext(ctx, "SELECT COALESCE(MAX(version), 0) FROM schema_version").Scan(&have); err != nil {
		return 0, fmt.Errorf("store: schema: %w", err)
	}
	return have, nil
}

// apply runs one step. Drivers run a text of several statements when it has no
// arguments.
func (d *database) apply(ctx context.Context, s step) error {
	t, err := d.write.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("store: migration %d: %w", s.version, err)
	}
	defer t.Rollback() // after a commit it does nothing
	if d.dialect.begin != "" {
		if _, err := t.ExecContext(ctx, d.dialect.begin); err != nil {
			return fmt.Errorf("store: migration %d: %w", s.version, err)
		}
	}
	if _, err := t.ExecContext(ctx, s.sql); err != nil {
		return fmt.Errorf("store: migration %d: %w", s.version, err)
	}
	if _, err := t.ExecContext(ctx, d.dialect.placeholders("INSERT INTO schema_version (version) VALUES (?)"), s.version); err != nil {
		return fmt.Errorf("store: migration %d: %w", s.version, err)
	}
	if err := t.Commit(); err != nil {
		return fmt.Errorf("store: migration %d: %w", s.version, err)
	}
	return nil
}

// readable checks that a database opened for reading holds a record. A newer
// schema is read as far as this program knows it.
func (d *database) readable(ctx context.Context) error {
	if _, err := version(ctx, d.read.DB); err != nil {
		return fmt.Errorf("%w: %w", ErrForeign, err)
	}
	if d.dialect.prepare {
		return d.read.stand(ctx, standing[:2])
	}
	return nil
}
