package store

import (
	"context"
	"database/sql"
	"os"
)

// Exec runs a statement as the store runs its own, with ? for the arguments.
func (s *Store) Exec(query string, args ...any) (sql.Result, error) {
	query, args = s.in.bind(query, args)
	return s.db.Exec(query, args...)
}

// QueryRow runs a query as the store runs its own.
func (s *Store) QueryRow(query string, args ...any) *sql.Row {
	query, args = s.in.bind(query, args)
	return s.db.QueryRow(query, args...)
}

// Syncing puts f in the place of what syncs pictures and their folders, for tests of
// trouble.
func (s *Store) Syncing(f func(*os.File) error) { s.blobs.sync = f }

// KeepBlob keeps bytes that no row names, as a crash leaves them.
func (s *Store) KeepBlob(data []byte) error {
	_, err := s.blobs.put(context.Background(), keyOf(data), data)
	return err
}
