package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
	"github.com/pressly/goose/v3"
)

// dialect is what differs between the two databases. All else is SQL that both accept,
// with ? for the arguments.
type dialect struct {
	goose goose.Dialect
	// postgres says that arguments are $1, $2 and so on, that numbers are no truth values,
	// and that transactions run side by side.
	postgres  bool
	isolation sql.IsolationLevel
	// columns asks for names and types of a table's columns, the types as SQLite has them.
	columns string
	// trashedPictures are the rows p of the pictures that an entry t of the trash names.
	trashedPictures string
	// asJSON follows a text that an operator is to read as JSON.
	asJSON string
}

var (
	// One connection writes, so that each transaction sees what all before it have done.
	sqliteDialect = dialect{
		goose:           goose.DialectSQLite3,
		columns:         `SELECT name, type FROM pragma_table_info(?)`,
		trashedPictures: `json_each(t.pictures) p`,
	}
	// Each transaction sees the database of one moment, and is run again when another one
	// has changed meanwhile what it wants to change.
	postgresDialect = dialect{
		goose: goose.DialectPostgres, postgres: true, isolation: sql.LevelRepeatableRead,
		columns: `SELECT column_name, CASE data_type WHEN 'text' THEN 'TEXT' WHEN 'double precision' THEN 'REAL' ELSE 'INTEGER' END
			FROM information_schema.columns WHERE table_schema = current_schema() AND table_name = ?`,
		trashedPictures: `json_array_elements_text(t.pictures::json) p (value)`,
		asJSON:          "::json",
	}
)

// bind writes a query and its arguments as the database takes them. No query holds a
// question mark that is not an argument.
func (d *dialect) bind(query string, args []any) (string, []any) {
	if !d.postgres {
		return query, args
	}
	var b strings.Builder
	n := 0
	for before, after, more := strings.Cut(query, "?"); ; before, after, more = strings.Cut(after, "?") {
		b.WriteString(before)
		if !more {
			break
		}
		n++
		b.WriteString("$" + strconv.Itoa(n))
	}
	out := make([]any, len(args))
	for i, a := range args {
		if yes, ok := a.(bool); ok {
			a = number(yes)
		}
		out[i] = a
	}
	return b.String(), out
}

// number is how a truth value is kept.
func number(yes bool) int64 {
	if yes {
		return 1
	}
	return 0
}

// txn is a transaction in either database.
type txn struct {
	tx *sql.Tx
	in *dialect
}

// QueryContext runs a query that returns rows.
func (t *txn) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	query, args = t.in.bind(query, args)
	return t.tx.QueryContext(ctx, query, args...)
}

// QueryRowContext runs a query that returns at most one row.
func (t *txn) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	query, args = t.in.bind(query, args)
	return t.tx.QueryRowContext(ctx, query, args...)
}

// ExecContext runs a statement.
func (t *txn) ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error) {
	query, args = t.in.bind(query, args)
	return t.tx.ExecContext(ctx, query, args...)
}

// collision is how a transaction failed that another one ran beside.
type collision int

const (
	byRow collision = iota + 1 // both changed a row
	byKey                      // a row of that key is there now, or the row that it refers to is not
)

// collides reports whether a transaction failed because another one ran beside it, so
// that it may succeed when it is run again (PostgreSQL's appendix A: serialization failure,
// deadlock, a statement prepared when the table had another form; unique and foreign key
// violation).
func collides(err error) (bool, collision) {
	e, ok := errors.AsType[*pgconn.PgError](err)
	if !ok {
		return false, 0
	}
	switch e.Code {
	case "40001", "40P01", "0A000":
		return true, byRow
	case "23505", "23503":
		return true, byKey
	}
	return false, 0
}
