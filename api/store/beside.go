package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"
)

// OpenBeside opens a data folder for who manages accounts: also while a service works
// with it, whose database it then writes to for a moment. It must have brought that up
// to date.
func OpenBeside(ctx context.Context, dir string) (*Store, error) {
	s, err := Open(ctx, dir)
	if !errors.Is(err, ErrInUse) {
		return s, err
	}
	lock, err := os.Open(filepath.Join(dir, "lock")) // not taken
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	s = &Store{dir: dir, lock: lock}
	if s.db, err = sql.Open("sqlite", "file:"+escape(filepath.Join(dir, "secondcut.db"))+"?_pragma=foreign_keys(1)&_pragma=synchronous(FULL)&_pragma=busy_timeout(5000)&_pragma=secure_delete(1)&_txlock=immediate"); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	s.db.SetMaxOpenConns(1)
	if err := s.upToDate(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// upToDate answers an error for a database of another program than this one.
func (s *Store) upToDate(ctx context.Context) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, s.db, files)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	version, err := provider.GetDBVersion(ctx)
	if err != nil {
		return explainOpen(err)
	}
	if sources := provider.ListSources(); version != sources[len(sources)-1].Version {
		return errors.New("the service that runs with this data folder is of another version; use its own program, or stop it first")
	}
	return nil
}
