package store

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"

	"secondcut/api"
)

// poolSize is how many connections to PostgreSQL a replica has, where the address does
// not say pool_max_conns: some are held for long, by those who listen.
const poolSize = 12

// openPostgres connects to a database; address is a URL as libpq has it.
func (s *Store) openPostgres(ctx context.Context, address string) error {
	config, err := pgxpool.ParseConfig(address)
	if err != nil {
		return fmt.Errorf("store: the address of the database: %w", err) // the library leaves the password out
	}
	if !strings.Contains(address, "pool_max_conns") {
		config.MaxConns = poolSize
	}
	if s.pool, err = pgxpool.NewWithConfig(ctx, config); err != nil {
		return fmt.Errorf("store: %w", err)
	}
	s.in, s.db = &postgresDialect, stdlib.OpenDBFromPool(s.pool)
	if err := s.pool.Ping(ctx); err != nil {
		return fmt.Errorf("store: the database does not answer: %w", err)
	}
	return nil
}

// aloneKey names the lock of those who change the form of the database: the first bytes of
// our name.
const aloneKey = 0x7365636f6e646375

// Alone runs f while no other replica runs anything so. In a data folder nobody else is
// there.
func (s *Store) Alone(ctx context.Context, f func(context.Context) error) error {
	if s.pool == nil {
		return f(ctx)
	}
	conn, err := s.pool.Acquire(ctx)
	if err != nil {
		return fmt.Errorf("store: %w", explain(err))
	}
	// A connection that ends lets go of its locks.
	defer func() { _ = conn.Hijack().Close(context.WithoutCancel(ctx)) }()
	if _, err := conn.Exec(ctx, `SELECT pg_advisory_lock($1)`, int64(aloneKey)); err != nil {
		return fmt.Errorf("store: %w", explain(err))
	}
	return f(ctx)
}

// Pool returns the connections to PostgreSQL, for a queue that listens there; nil with
// SQLite.
func (s *Store) Pool() *pgxpool.Pool { return s.pool }

// patience is how long a transaction is run again that others come in the way of: as long
// as SQLite waits for its one writer.
const patience = 5 * time.Second

// keyTries is how often one is run again that another one may have been quicker than, to
// make a row of the same key. It finds that row then; else it is wrong itself.
const keyTries = 3

// untilAlone runs f again as long as other transactions come in its way.
func untilAlone(ctx context.Context, f func() error) error {
	end := time.Now().Add(patience)
	for n := 1; ; n++ {
		err := f()
		same, how := collides(err)
		if !same || how == byKey && n >= keyTries {
			return err
		}
		if time.Now().After(end) {
			return api.Unavailable(err)
		}
		select {
		case <-time.After(time.Duration(rand.Int64N(int64(min(n, 20) * int(time.Millisecond))))):
		case <-ctx.Done():
			return errors.Join(ctx.Err(), err)
		}
	}
}
