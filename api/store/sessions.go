package store

import (
	"context"
	"time"
)

// AddSession lets a device in for 90 days.
func (s *Store) AddSession(ctx context.Context, hash string) error {
	return s.tx(ctx, func(tx *txn) error {
		_, err := tx.ExecContext(ctx, `INSERT INTO sessions VALUES (?, ?)`, hash, millis(time.Now()))
		return err
	})
}

// HasSession reports whether a device has been let in.
func (s *Store) HasSession(ctx context.Context, hash string) (bool, error) {
	var n int
	err := s.tx(ctx, func(tx *txn) error {
		return tx.QueryRowContext(ctx, `SELECT count(*) FROM sessions WHERE hash = ? AND created_at >= ?`, hash, millis(time.Now().Add(-sessionLife))).Scan(&n)
	})
	return n > 0, err
}
