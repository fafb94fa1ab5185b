package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// row is a row of any table, by column. Its JSON is the same for the same row.
type row map[string]any

// dump reads whole rows.
func dump(ctx context.Context, tx *txn, query string, args ...any) ([]row, error) {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	return collect(rows, func(scanner) (row, error) { return scanRow(rows) })
}

// scanRow reads the row that rows stands at.
func scanRow(rows *sql.Rows) (row, error) {
	names, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	values, at := make([]any, len(names)), make([]any, len(names))
	for i := range values {
		at[i] = &values[i]
	}
	if err := rows.Scan(at...); err != nil {
		return nil, err
	}
	r := row{}
	for i, name := range names {
		r[name] = values[i]
	}
	return r, nil
}

// readRow reads the JSON of a row.
func readRow(text []byte) (r row, err error) {
	d := json.NewDecoder(bytes.NewReader(text))
	d.UseNumber()
	if err := d.Decode(&r); err != nil {
		return nil, err
	}
	for name, v := range r {
		switch v := v.(type) {
		case json.Number:
			if r[name], err = v.Int64(); err != nil {
				if r[name], err = v.Float64(); err != nil {
					return nil, err
				}
			}
		case string, nil:
		default:
			return nil, fmt.Errorf("column %s holds neither text nor number", name)
		}
	}
	return r, nil
}

// insert writes a row into a table. Columns that the table does not have (any
// more) are left out; those that the row does not have take their defaults. SQLite
// itself would take a text for a number, which nothing could read again.
func insert(ctx context.Context, tx *txn, table string, r row) error {
	known, err := columns(ctx, tx, table)
	if err != nil {
		return err
	}
	var names, marks []string
	var values []any
	for _, name := range slices.Sorted(maps.Keys(r)) {
		if kind, ok := known[name]; ok {
			if !fits(r[name], kind) {
				return fmt.Errorf("column %s does not hold what it should", name)
			}
			names, marks, values = append(names, name), append(marks, "?"), append(values, r[name])
		}
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO `+table+` (`+strings.Join(names, ", ")+`) VALUES (`+strings.Join(marks, ", ")+`)`, values...)
	return err
}

// fits says whether a value of [readRow] can stand in a column of that type. What must
// not be missing the table says itself.
func fits(v any, kind string) bool {
	switch v.(type) {
	case string:
		return kind == "TEXT"
	case int64:
		return kind != "TEXT"
	case float64:
		return real(kind)
	}
	return true
}

// real reports whether a column of that type holds numbers with fractions.
func real(kind string) bool { return kind == "REAL" || kind == "DOUBLE PRECISION" }

// columns are the types of a table's columns by name.
func columns(ctx context.Context, tx *txn, table string) (map[string]string, error) {
	rows, err := tx.QueryContext(ctx, tx.in.columns, table)
	if err != nil {
		return nil, err
	}
	type column struct{ name, kind string }
	all, err := collect(rows, func(scan scanner) (c column, err error) { return c, scan(&c.name, &c.kind) })
	known := map[string]string{}
	for _, c := range all {
		known[c.name] = c.kind
	}
	return known, err
}
