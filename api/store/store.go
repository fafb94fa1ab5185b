// Package store keeps garments, photos, pieces and jobs in one folder: records
// in an SQLite database, pictures in files named by their content. It implements
// [api.Store].
//
// The database is in WAL mode with one connection, which is the only writer, and
// every commit reaches the disk before it is answered. A picture is written
// before the row that names it, so that a crash leaves at most a file without a
// row; such files are swept when the store is opened.
package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"github.com/google/uuid"
	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the database driver "sqlite"

	"secondcut/api"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Store is an open data folder. It is safe for concurrent use.
type Store struct {
	db    *sql.DB
	lock  *os.File
	blobs *blobs
	// stored is how many bytes the pictures take: right after each sweep, and too
	// high by what was written twice at the same moment until the next.
	stored atomic.Int64
	dir    string
	// uploading is held while parts of uploads are written or deleted.
	uploading sync.Mutex
	watch     watchers
	holds     holds
	// cleaning is held by the one sweep at a time.
	cleaning sync.Mutex
}

var _ api.Store = (*Store)(nil)

// Open opens the data folder, makes it when it is missing, and brings its
// database up to date. It fails when another process has the folder open.
func Open(ctx context.Context, dir string) (*Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("store: making the data folder: %w", err)
	}
	lock, err := lockDir(dir)
	if err != nil {
		return nil, err
	}
	s := &Store{lock: lock, dir: dir}
	for _, sub := range []string{"pictures", "uploads"} {
		if err := os.Mkdir(filepath.Join(dir, sub), 0o700); err != nil && !errors.Is(err, fs.ErrExist) {
			return nil, errors.Join(fmt.Errorf("store: making the data folder: %w", err), s.Close())
		}
	}
	if s.blobs, err = openBlobs(filepath.Join(dir, "pictures")); err != nil {
		return nil, errors.Join(fmt.Errorf("store: opening the pictures: %w", err), s.Close())
	}
	// What an export or import left that was broken off.
	for _, name := range []string{"export-*", "import-*"} {
		left, _ := filepath.Glob(filepath.Join(dir, name)) // the pattern is a good one
		for _, l := range left {
			_ = os.RemoveAll(l)
		}
	}
	if err := s.open(ctx, filepath.Join(dir, "secondcut.db")); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, file string) error {
	const pragmas = "?_pragma=foreign_keys(1)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=busy_timeout(5000)&_pragma=secure_delete(1)&_txlock=immediate"
	db, err := sql.Open("sqlite", "file:"+escape(file)+pragmas)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	db.SetMaxOpenConns(1)
	s.db = db
	dir, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	provider, err := goose.NewProvider(goose.DialectSQLite3, db, dir)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	if err := notNewer(ctx, provider, db); err != nil {
		return err
	}
	if _, err := provider.Up(ctx); err != nil {
		return fmt.Errorf("store: bringing the database up to date: %w", err)
	}
	return s.Sweep(ctx)
}

// ErrNewer says that a newer program has changed the database.
var ErrNewer = errors.New("the data folder was written by a newer Secondcut; use that one, or another folder with --data")

// notNewer refuses a database with migrations that this program does not know.
func notNewer(ctx context.Context, p *goose.Provider, db *sql.DB) error {
	var has bool
	err := db.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE name = 'goose_db_version')`).Scan(&has)
	if err != nil || !has {
		return explainOpen(err)
	}
	var version int64
	if err := db.QueryRowContext(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version`).Scan(&version); err != nil {
		return explainOpen(err)
	}
	if sources := p.ListSources(); version > sources[len(sources)-1].Version {
		return fmt.Errorf("store: %w", ErrNewer)
	}
	return nil
}

func explainOpen(err error) error {
	if err == nil {
		return nil
	}
	if api.CodeOf(explain(err)) == api.CodeDamaged {
		return fmt.Errorf("store: the database is damaged; bring it back from a backup with secondcut restore, into another folder: %w", err)
	}
	return fmt.Errorf("store: reading the database: %w", err)
}

// DB returns the database, for a queue that keeps its own tables in it. It has
// one connection: hold it briefly.
func (s *Store) DB() *sql.DB { return s.db }

// Close closes the database and lets go of the folder.
func (s *Store) Close() error {
	var err error
	if s.db != nil {
		err = s.db.Close()
	}
	return errors.Join(err, s.lock.Close())
}

// keyLife is how long an idempotency key is remembered, and sessionLife how long
// a device stays let in.
const (
	keyLife     = 7 * 24 * time.Hour
	sessionLife = 90 * 24 * time.Hour
)

// Sweep deletes what nothing points to any more and what has had its time: keys,
// sessions, the trash and the pictures in it. It runs when the store is opened and
// is to be called now and then.
func (s *Store) Sweep(ctx context.Context) error {
	now := time.Now()
	err := s.tx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM keys WHERE created_at < ?`, millis(now.Add(-keyLife)))
		if err != nil {
			return err
		}
		if _, err = tx.ExecContext(ctx, `DELETE FROM sessions WHERE created_at < ?`, millis(now.Add(-sessionLife))); err != nil {
			return err
		}
		if err := sweepPeople(ctx, tx); err != nil {
			return err
		}
		if err := sweepExports(ctx, tx); err != nil {
			return err
		}
		if err := sweepSwatches(ctx, tx); err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, `DELETE FROM trash WHERE deleted_at < ?`, millis(now.Add(-api.TrashLife)))
		return err
	})
	if err != nil {
		return err
	}
	if err := s.sweepUploads(ctx); err != nil {
		return err
	}
	return s.sweepPictures(ctx)
}

// sweepPictures deletes the pictures that no row names.
func (s *Store) sweepPictures(ctx context.Context) error {
	s.cleaning.Lock()
	defer s.cleaning.Unlock()
	defer s.holds.sweep()()
	var used map[string]bool
	err := s.tx(ctx, func(tx *sql.Tx) (err error) {
		used, err = keysIn(ctx, tx, usedKeys())
		return err
	})
	if err != nil {
		return err
	}
	kept, err := s.blobs.keep(ctx, used, &s.holds)
	if err != nil {
		return explain(fmt.Errorf("store: deleting pictures: %w", err))
	}
	s.stored.Store(kept)
	return nil
}

// keyQuery is a query for keys of pictures.
type keyQuery struct {
	query string
	args  []any
}

// archivedKeys are the pictures that an archive holds: those of the workspace of ctx, or all.
func archivedKeys(ctx context.Context) keyQuery {
	here, args := ofGarments(ctx)
	mine, own := within(ctx, "workspace")
	return keyQuery{
		`SELECT original FROM photos WHERE true` + here + ` UNION SELECT upright FROM photos WHERE true` + here +
			` UNION SELECT plane_picture FROM photos WHERE true` + here + ` UNION SELECT picture FROM swatches WHERE true` + here +
			` UNION SELECT p.value FROM trash t, json_each(t.pictures) p WHERE true` + mine,
		slices.Concat(args, args, args, args, own),
	}
}

// usedKeys are all that are in use: the files of exports too.
func usedKeys() keyQuery {
	k := archivedKeys(context.Background())
	k.query += ` UNION SELECT file FROM jobs`
	return k
}

func keysIn(ctx context.Context, tx *sql.Tx, q keyQuery) (map[string]bool, error) {
	rows, err := tx.QueryContext(ctx, q.query, q.args...)
	if err != nil {
		return nil, err
	}
	used, err := collect(rows, func(scan scanner) (string, error) {
		var key string
		return key, scan(&key)
	})
	if err != nil {
		return nil, err
	}
	set := make(map[string]bool, len(used))
	for _, key := range used {
		set[key] = true
	}
	return set, nil
}

// tx runs f in a transaction. Errors of package api pass unchanged.
func (s *Store) tx(ctx context.Context, f func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return explain(fmt.Errorf("store: %w", err))
	}
	defer tx.Rollback() // does nothing after a commit
	if err := f(tx); err != nil {
		if _, ok := errors.AsType[*api.Error](err); ok {
			return err
		}
		return explain(fmt.Errorf("store: %w", err))
	}
	if err := tx.Commit(); err != nil {
		return explain(fmt.Errorf("store: %w", err))
	}
	return nil
}

// newID returns a random id that sorts by time of creation.
func newID() string { return uuid.Must(uuid.NewV7()).String() }
