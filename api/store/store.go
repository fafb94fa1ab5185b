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
	"github.com/jackc/pgx/v5/pgxpool"
	"gocloud.dev/blob"
	_ "modernc.org/sqlite" // the database driver "sqlite"

	"secondcut/api"
)

// Store is an open data folder. It is safe for concurrent use.
type Store struct {
	db    *sql.DB
	in    *dialect
	pool  *pgxpool.Pool // nil with SQLite
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

// Place is where a store keeps what it holds.
type Place struct {
	// Dir is the data folder, of this process alone.
	Dir string
	// Database is the address of a PostgreSQL database, as postgres://USER@HOST/NAME;
	// default an SQLite database in the folder.
	Database string
	// Bucket takes the pictures; default a folder in Dir.
	Bucket *blob.Bucket
}

// Open opens a data folder with all in it.
func Open(ctx context.Context, dir string) (*Store, error) { return OpenAt(ctx, Place{Dir: dir}) }

// OpenAt opens a store, makes what is missing of it, and brings its database up to date.
// It fails when another process has the folder open.
func OpenAt(ctx context.Context, place Place) (*Store, error) {
	dir := place.Dir
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
	if place.Bucket != nil {
		s.blobs = &blobs{bucket: place.Bucket}
	} else if s.blobs, err = openBlobs(filepath.Join(dir, "pictures")); err != nil {
		return nil, errors.Join(fmt.Errorf("store: opening the pictures: %w", err), s.Close())
	}
	// What an export or import left that was broken off.
	for _, name := range []string{"export-*", "import-*"} {
		left, _ := filepath.Glob(filepath.Join(dir, name)) // the pattern is a good one
		for _, l := range left {
			_ = os.RemoveAll(l)
		}
	}
	if err := s.openDatabase(ctx, place.Database); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if err := s.migrate(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	if err := s.Sweep(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

func (s *Store) openDatabase(ctx context.Context, address string) error {
	if address != "" {
		return s.openPostgres(ctx, address)
	}
	return s.openSQLite(filepath.Join(s.dir, "secondcut.db"))
}

func (s *Store) openSQLite(file string) error {
	const pragmas = "?_pragma=foreign_keys(1)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=busy_timeout(5000)&_pragma=secure_delete(1)&_txlock=immediate"
	db, err := sql.Open("sqlite", "file:"+escape(file)+pragmas)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	db.SetMaxOpenConns(1)
	s.in, s.db = &sqliteDialect, db
	return nil
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
	if s.pool != nil {
		s.pool.Close()
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
	err := s.tx(ctx, func(tx *txn) error {
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
	err := s.tx(ctx, func(tx *txn) (err error) {
		used, err = keysIn(ctx, tx, usedKeys(s.in))
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
func archivedKeys(ctx context.Context, in *dialect) keyQuery {
	here, args := ofGarments(ctx)
	mine, own := within(ctx, "workspace")
	return keyQuery{
		`SELECT original FROM photos WHERE true` + here + ` UNION SELECT upright FROM photos WHERE true` + here +
			` UNION SELECT plane_picture FROM photos WHERE true` + here + ` UNION SELECT picture FROM swatches WHERE true` + here +
			` UNION SELECT p.value FROM trash t, ` + in.trashedPictures + ` WHERE true` + mine,
		slices.Concat(args, args, args, args, own),
	}
}

// usedKeys are all that are in use: the files of exports too.
func usedKeys(in *dialect) keyQuery {
	k := archivedKeys(context.Background(), in)
	k.query += ` UNION SELECT file FROM jobs`
	return k
}

func keysIn(ctx context.Context, tx *txn, q keyQuery) (map[string]bool, error) {
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

// tx runs f in a transaction; again where others come in its way, so f must begin anew
// each time. Errors of package api pass unchanged.
func (s *Store) tx(ctx context.Context, f func(*txn) error) error {
	return untilAlone(ctx, func() error { return s.once(ctx, f) })
}

func (s *Store) once(ctx context.Context, f func(*txn) error) error {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{Isolation: s.in.isolation})
	if err != nil {
		return explain(fmt.Errorf("store: %w", err))
	}
	defer tx.Rollback() // does nothing after a commit
	if err := f(&txn{tx, s.in}); err != nil {
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
