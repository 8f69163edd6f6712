package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"linn/internal/care/casebook"
)

// dialect is what differs between the engines apart from the migrations.
type dialect struct {
	numbered bool   // placeholders are $1, $2, … instead of ?
	begin    string // run first in a writing transaction
	prepare  bool   // keep statements prepared; the PostgreSQL driver keeps its own
	view     sql.TxOptions
}

// The reading connections of SQLite are read-only by query_only, and a
// transaction of theirs sees one state by itself.
var sqliteDialect = dialect{prepare: true}

// database is the part that all SQL stores share.
type database struct {
	dialect dialect
	write   pool
	read    pool
	schema  int // of the database as it stands open
	mu      sync.Mutex
}

// pool is a set of connections with the statements that stand prepared on it.
type pool struct {
	*sql.DB
	standing map[string]*sql.Stmt
}

// stand prepares the frequent queries once. It is done when the store opens:
// in a transaction the pool that writes has no second connection to do it on.
func (p *pool) stand(ctx context.Context, queries []string) error {
	if p.DB == nil {
		return nil
	}
	p.standing = map[string]*sql.Stmt{}
	for _, q := range queries {
		s, err := p.PrepareContext(ctx, q)
		if err != nil {
			return fmt.Errorf("store: prepare: %w", err)
		}
		p.standing[q] = s
	}
	return nil
}

func (p *pool) close() error {
	if p.DB == nil {
		return nil
	}
	return p.DB.Close() // closes the statements as well
}

func (d *database) close() error { return errors.Join(d.read.close(), d.write.close()) }

// do runs fn in a writing transaction and says whether it destroyed a key.
func (d *database) do(ctx context.Context, fn func(casebook.Tx) error) (destroyed bool, err error) {
	defer func() { err = named(err) }()
	t, err := d.begin(ctx, &d.write, nil)
	if err != nil {
		return false, err
	}
	t.writing = true
	done := false
	defer func() {
		if !done { // an error or a panic in fn
			err = errors.Join(err, t.rollback())
		}
	}()
	if d.dialect.begin != "" {
		if err := t.exec("begin", d.dialect.begin); err != nil {
			return false, err
		}
	}
	if err := fn(t); err != nil {
		return false, err
	}
	done = true
	if err := t.tx.Commit(); err != nil {
		return false, fmt.Errorf("store: commit: %w", err)
	}
	return t.destroyed, nil
}

// View runs fn on one unchanging state of the record.
func (d *database) View(ctx context.Context, fn func(casebook.Tx) error) (err error) {
	defer func() { err = named(err) }()
	t, err := d.begin(ctx, &d.read, &d.dialect.view)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, t.rollback()) }()
	return fn(t)
}

func (d *database) begin(ctx context.Context, p *pool, o *sql.TxOptions) (*tx, error) {
	t, err := p.BeginTx(ctx, o)
	if err != nil {
		return nil, fmt.Errorf("store: begin: %w", err)
	}
	return &tx{ctx: ctx, tx: t, pool: p, dialect: d.dialect, schema: d.schema}, nil
}

// tx is a casebook.Tx in SQL. Every query is read to its end before the next
// begins: a PostgreSQL connection cannot have two open.
type tx struct {
	ctx       context.Context
	tx        *sql.Tx
	pool      *pool
	dialect   dialect
	schema    int
	writing   bool
	destroyed bool
}

func (t *tx) rollback() error {
	if err := t.tx.Rollback(); err != nil && !errors.Is(err, sql.ErrTxDone) {
		return fmt.Errorf("store: roll back: %w", err)
	}
	return nil
}

// exec runs a statement; what names it in errors.
func (t *tx) exec(what, query string, args ...any) error {
	var err error
	if s, ok := t.pool.standing[query]; ok {
		_, err = t.tx.StmtContext(t.ctx, s).ExecContext(t.ctx, args...)
	} else {
		_, err = t.tx.ExecContext(t.ctx, t.dialect.placeholders(query), args...)
	}
	if err != nil {
		return fmt.Errorf("store: %s: %w", what, err)
	}
	return nil
}

// rows runs a query and reads it to its end with scan.
func (t *tx) rows(what, query string, args []any, scan func(*sql.Rows) error) (err error) {
	rows, err := t.query(query, args)
	if err != nil {
		return fmt.Errorf("store: %s: %w", what, err)
	}
	defer func() {
		if err = errors.Join(err, rows.Close()); err != nil {
			err = fmt.Errorf("store: %s: %w", what, err)
		}
	}()
	for rows.Next() {
		if err := scan(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

func (t *tx) query(query string, args []any) (*sql.Rows, error) {
	if s, ok := t.pool.standing[query]; ok {
		return t.tx.StmtContext(t.ctx, s).QueryContext(t.ctx, args...)
	}
	return t.tx.QueryContext(t.ctx, t.dialect.placeholders(query), args...)
}

// one runs a query for at most one row; found is false when there is none.
func (t *tx) one(what, query string, args []any, into ...any) (found bool, err error) {
	err = t.rows(what, query, args, func(r *sql.Rows) error {
		found = true
		return r.Scan(into...)
	})
	return found, err
}

// placeholders rewrites ? to $1, $2, … No query holds a question mark in a text.
func (d dialect) placeholders(query string) string {
	if !d.numbered {
		return query
	}
	var b strings.Builder
	n := 0
	for part := range strings.SplitSeq(query, "?") {
		if n > 0 {
			b.WriteString("$" + strconv.Itoa(n))
		}
		b.WriteString(part)
		n++
	}
	return b.String()
}
