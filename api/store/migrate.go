package store

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"

	"github.com/pressly/goose/v3"

	"secondcut/api"
)

// The migrations. PostgreSQL begins where the first of its own folder does and goes on
// with those of both; a file of the same name in its folder takes the place of one of
// both. So new ones are written for both: TEXT, BIGINT and DOUBLE PRECISION, no INTEGER,
// which has 32 bits there.
//
//go:embed migrations/*.sql migrations/postgres/*.sql
var migrations embed.FS

// migrationsFor are the files for a database.
func migrationsFor(d *dialect) (fs.FS, error) {
	both, err := fs.Sub(migrations, "migrations")
	if err != nil || !d.postgres {
		return both, err
	}
	own, err := fs.Sub(both, "postgres")
	return overlay{own, both}, err
}

// overlay is a folder of files, of which own come before those of both, that begin after
// the first of own.
type overlay struct{ own, both fs.FS }

// Open opens a file.
func (o overlay) Open(name string) (fs.File, error) {
	f, err := o.own.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		return o.both.Open(name)
	}
	return f, err
}

// ReadDir lists the files.
func (o overlay) ReadDir(name string) ([]fs.DirEntry, error) {
	list, err := fs.ReadDir(o.own, name)
	if err != nil {
		return nil, err
	}
	more, err := fs.ReadDir(o.both, name)
	first := list[0].Name()
	for _, e := range more {
		if e.Name() > first && path.Ext(e.Name()) == ".sql" && !slices.ContainsFunc(list, func(own fs.DirEntry) bool { return own.Name() == e.Name() }) {
			list = append(list, e)
		}
	}
	return list, err
}

// migrate brings the database up to date.
func (s *Store) migrate(ctx context.Context) error {
	files, err := migrationsFor(s.in)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	provider, err := goose.NewProvider(s.in.goose, s.db, files)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	return s.Alone(ctx, func(ctx context.Context) error {
		if err := notNewer(ctx, provider); err != nil {
			return err
		}
		if _, err := provider.Up(ctx); err != nil {
			return fmt.Errorf("store: bringing the database up to date: %w", explain(err))
		}
		return nil
	})
}

// ErrNewer says that a newer program has changed the database.
var ErrNewer = errors.New("the data was written by a newer Secondcut; use that one, or another folder with --data")

// notNewer refuses a database with migrations that this program does not know.
func notNewer(ctx context.Context, p *goose.Provider) error {
	version, err := p.GetDBVersion(ctx)
	if err != nil {
		return explainOpen(err)
	}
	if sources := p.ListSources(); version > sources[len(sources)-1].Version {
		return fmt.Errorf("store: %w", ErrNewer)
	}
	return nil
}

func explainOpen(err error) error {
	if api.CodeOf(explain(err)) == api.CodeDamaged {
		return fmt.Errorf("store: the database is damaged; bring it back from a backup with secondcut restore, into another folder: %w", err)
	}
	return fmt.Errorf("store: reading the database: %w", err)
}
