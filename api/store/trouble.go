package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"io"
	"io/fs"
	"net"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"

	"secondcut/api"
)

// explain says in the person's words what of the disk's and the database's trouble
// is known; other errors pass unchanged.
func explain(err error) error {
	if _, ok := errors.AsType[*api.Error](err); ok {
		return err
	}
	if s, ok := errors.AsType[*sqlite.Error](err); ok {
		switch s.Code() & 0xff { // the rest are details
		case sqlite3.SQLITE_FULL:
			return api.StorageFull(err)
		case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM:
			return api.Unavailable(err)
		case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
			return api.Damaged("database", err)
		}
		return err
	}
	if e, ok := errors.AsType[*pgconn.PgError](err); ok {
		return explainPostgres(e, err)
	}
	if unconnected(err) {
		return api.Unavailable(err)
	}
	if n, ok := errors.AsType[syscall.Errno](err); ok {
		switch n {
		case syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG:
			return api.StorageFull(err)
		}
		return api.Unavailable(err)
	}
	if _, ok := errors.AsType[*fs.PathError](err); ok {
		return api.Unavailable(err)
	}
	return err
}

// unconnected reports whether the connection to the database was lost or not made.
func unconnected(err error) bool {
	_, refused := errors.AsType[*pgconn.ConnectError](err)
	_, cut := errors.AsType[*net.OpError](err)
	return refused || cut || errors.Is(err, driver.ErrBadConn) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF)
}

// explainPostgres says what the classes of PostgreSQL's appendix A mean to a person.
func explainPostgres(e *pgconn.PgError, err error) error {
	switch {
	case e.Code == "53100": // disk full
		return api.StorageFull(err)
	case e.Code == "22021" || e.Code == "22P05": // a character that no text may hold
		return api.Invalid("text", "A name or text holds a character that cannot be kept.", "Leave it out and try again.")
	case strings.HasPrefix(e.Code, "XX"): // internal error: damage
		return api.Damaged("database", err)
	case slices.Contains([]string{"08", "25", "53", "55", "57", "58"}, e.Code[:2]): // connection, read only, resources, in use, shutdown, system
		return api.Unavailable(err)
	}
	return err
}

// put keeps a picture.
func (s *Store) put(ctx context.Context, data []byte) (string, error) {
	key := keyOf(data)
	s.holds.hold(key)
	added, err := s.blobs.put(ctx, key, data)
	if err != nil {
		return "", explain(err)
	}
	if added {
		s.stored.Add(int64(len(data)))
	}
	return key, nil
}

// Usage says how much there is in the store.
func (s *Store) Usage(ctx context.Context) (api.Usage, error) {
	u := api.Usage{PictureBytes: s.stored.Load()}
	var st syscall.Statfs_t
	if err := syscall.Statfs(filepath.Clean(s.dir), &st); err == nil {
		u.FreeBytes = int64(st.Bavail) * int64(st.Bsize)
	}
	var promised int64
	err := s.tx(ctx, func(tx *txn) error {
		return tx.QueryRowContext(ctx, `SELECT count(*), count(*) FILTER (WHERE kind = ?), (SELECT coalesce(sum(size), 0) FROM uploads WHERE photo_id = '')
			FROM jobs WHERE status = ?`, api.JobExport, api.JobQueued).Scan(&u.QueuedJobs, &u.QueuedExports, &promised)
	})
	if err != nil {
		return u, err
	}
	u.PictureBytes += promised
	return u, nil
}

// Ready reads from the database and writes a file beside the pictures.
func (s *Store) Ready(ctx context.Context) error {
	if err := s.db.QueryRowContext(ctx, `SELECT 1 FROM garments LIMIT 1`).Scan(new(int)); err != nil && !errors.Is(err, sql.ErrNoRows) {
		return explain(err)
	}
	return explain(s.blobs.ready(ctx))
}
