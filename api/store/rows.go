package store

import (
	"cmp"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"math"
	"net/url"
	"time"

	"secondcut/api"
)

// scanner is the Scan method of a row.
type scanner func(dest ...any) error

// collect reads all rows and closes them; no rows give an empty, non-nil slice.
func collect[T any](rows *sql.Rows, read func(scanner) (T, error)) ([]T, error) {
	defer rows.Close()
	out := []T{}
	for rows.Next() {
		v, err := read(rows.Scan)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// one reads a single row; a missing one is NotFound(what).
func one[T any](row *sql.Row, what string, read func(scanner) (T, error)) (T, error) {
	v, err := read(row.Scan)
	if errors.Is(err, sql.ErrNoRows) {
		return v, api.NotFound(what)
	}
	return v, err
}

// changed runs a statement that must change one row; none is NotFound(what).
func changed(ctx context.Context, tx *txn, what, query string, args ...any) error {
	n, err := affected(ctx, tx, query, args...)
	if err == nil && n == 0 {
		return api.NotFound(what)
	}
	return err
}

// affected runs a statement and returns how many rows it changed.
func affected(ctx context.Context, tx *txn, query string, args ...any) (int64, error) {
	res, err := tx.ExecContext(ctx, query, args...)
	if err != nil {
		return 0, err
	}
	return res.RowsAffected()
}

// jsonColumn keeps a value as JSON text; a nil pointer as the empty text.
type jsonColumn[T any] struct{ v **T }

// Scan reads the column.
func (c jsonColumn[T]) Scan(src any) error {
	text, _ := src.(string)
	if text == "" {
		return nil
	}
	*c.v = new(T)
	if err := json.Unmarshal([]byte(text), *c.v); err != nil {
		*c.v = nil
		return api.Damaged("record", err)
	}
	return nil
}

// mild is a scan target that takes a damaged value for an absent one, and notes it.
type mild struct {
	sql.Scanner
	damaged *error
}

// Scan reads the column.
func (m mild) Scan(src any) error {
	err := m.Scanner.Scan(src)
	if api.CodeOf(err) != api.CodeDamaged {
		return err
	}
	*m.damaged = err
	return nil
}

// column returns a scan target for a JSON column that may be empty.
func column[T any](v **T) sql.Scanner { return jsonColumn[T]{v} }

// list is a scan target for a JSON column that always holds a list.
type list[T any] struct{ v *[]T }

// Scan reads the column; null gives an empty list.
func (c list[T]) Scan(src any) error {
	text, _ := src.(string)
	err := json.Unmarshal([]byte(text), c.v)
	if *c.v == nil {
		*c.v = []T{}
	}
	if err != nil {
		return api.Damaged("record", err)
	}
	return nil
}

// text writes a value as JSON, a nil pointer as the empty text.
func text[T any](v *T) (string, error) {
	if v == nil {
		return "", nil
	}
	b, err := json.Marshal(v)
	return string(b), err
}

// texts writes several values as JSON.
func texts(values ...any) ([]string, error) {
	out := make([]string, len(values))
	for i, v := range values {
		b, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		out[i] = string(b)
	}
	return out, nil
}

func millis(t time.Time) int64 { return t.UnixMilli() }

// stamp is a scan target for a time kept in milliseconds.
type stamp struct{ t *time.Time }

// Scan reads the column.
func (s stamp) Scan(src any) error {
	ms, _ := src.(int64)
	*s.t = time.UnixMilli(ms).UTC()
	return nil
}

// pageArgs are the arguments of a query for one page of a list, newest first.
func pageArgs(p api.Page) []any {
	at := int64(math.MaxInt64)
	if !p.At.IsZero() {
		at = millis(p.At)
	}
	return []any{at, p.ID, cmp.Or[int64](int64(p.Limit), math.MaxInt64)}
}

// escape makes a file name safe inside a database URI.
func escape(file string) string { return (&url.URL{Path: file}).EscapedPath() }
