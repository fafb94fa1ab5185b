package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/pressly/goose/v3"
)

// OpenBeside opens a store for who manages accounts: also while a service works with the
// folder, to whose database it then writes for a moment. It must have brought that up to
// date.
func OpenBeside(ctx context.Context, place Place) (*Store, error) {
	s, err := OpenAt(ctx, place)
	if !errors.Is(err, ErrInUse) {
		return s, err
	}
	lock, err := os.Open(filepath.Join(place.Dir, "lock")) // not taken
	if err != nil {
		return nil, fmt.Errorf("store: %w", err)
	}
	s = &Store{dir: place.Dir, lock: lock}
	if err := s.openDatabase(ctx, place.Database); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if err := s.upToDate(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// upToDate answers an error for a database of another program than this one.
func (s *Store) upToDate(ctx context.Context) error {
	files, err := migrationsFor(s.in)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	provider, err := goose.NewProvider(s.in.goose, s.db, files)
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
