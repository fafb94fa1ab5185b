// Package storetest gives each test a store of its own: in a folder, or, with the flag
// -servers, on real servers that the test's process starts on this machine and ends.
package storetest

import (
	"context"
	"flag"
	"fmt"
	"os"
	"sync"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"secondcut/api/store"
)

var onServers = flag.Bool("servers", false, "run the tests on servers (PostgreSQL) instead of a folder")

// running are the servers of this process, nil where there are none.
var running *servers

type servers struct {
	postgres *Postgres
	mu       sync.Mutex
	places   map[string]store.Place
	spare    []string // databases of tests that have ended, empty again
}

// Main runs the tests of a package, and servers for them if they are asked for. It is
// for the package's TestMain.
func Main(m *testing.M) {
	flag.Parse()
	os.Exit(run(m))
}

func run(m *testing.M) int {
	if !*onServers {
		return m.Run()
	}
	dir, err := os.MkdirTemp("", "secondcut-servers-*")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	p, err := StartPostgres(dir, Hasty)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer p.Stop()
	if err := p.template(); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	running = &servers{postgres: p, places: map[string]store.Place{}}
	return m.Run()
}

// Servers reports whether stores of tests are on servers.
func Servers() bool { return running != nil }

// FolderOnly skips a test of what only a data folder has.
func FolderOnly(t testing.TB, what string) {
	t.Helper()
	if Servers() {
		t.Skip("of a data folder only:", what)
	}
}

// Place returns the place for a store whose data folder is dir: the same one again for the
// same folder. It goes with the test that asks first.
func Place(t testing.TB, dir string) store.Place {
	t.Helper()
	if running == nil {
		return store.Place{Dir: dir}
	}
	running.mu.Lock()
	defer running.mu.Unlock()
	p, ok := running.places[dir]
	if !ok {
		p = store.Place{Dir: dir, Database: running.database(t)}
		running.places[dir] = p
	}
	return p
}

// templateName is the database that all others begin as.
const templateName = "secondcut_template"

// template makes a database that is up to date, so that not every test has to.
func (p *Postgres) template() error {
	ctx := context.Background()
	if err := p.exec(ctx, `CREATE DATABASE `+templateName); err != nil {
		return err
	}
	dir, err := os.MkdirTemp("", "secondcut-template-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	s, err := store.OpenAt(ctx, store.Place{Dir: dir, Database: p.Address(templateName)})
	if err != nil {
		return err
	}
	return s.Close()
}

// database returns the address of an empty one. One that a test has left is emptied and
// taken again: to make one takes longer than most tests.
func (r *servers) database(t testing.TB) string {
	t.Helper()
	var address string
	if n := len(r.spare); n > 0 {
		address, r.spare = r.spare[n-1], r.spare[:n-1]
	} else {
		name := "t" + uuid.NewString()[:8]
		if err := r.postgres.exec(t.Context(), `CREATE DATABASE `+name+` TEMPLATE `+templateName); err != nil {
			t.Fatal(err)
		}
		address = r.postgres.Address(name)
	}
	t.Cleanup(func() {
		if err := empty(context.Background(), address); err != nil {
			t.Error(err)
			return
		}
		r.mu.Lock()
		defer r.mu.Unlock()
		r.spare = append(r.spare, address)
	})
	return address
}

// empty deletes all rows but those that migrations have made.
func empty(ctx context.Context, address string) error {
	c, err := pgx.Connect(ctx, address)
	if err != nil {
		return err
	}
	defer c.Close(ctx)
	_, err = c.Exec(ctx, `DO $$ DECLARE t text; BEGIN
		SET LOCAL session_replication_role = replica; -- in any order
		FOR t IN SELECT tablename FROM pg_tables WHERE schemaname = 'public' AND tablename NOT IN ('goose_db_version', 'river_migration', 'workspaces')
			LOOP EXECUTE 'DELETE FROM ' || quote_ident(t); END LOOP;
		DELETE FROM goose_db_version WHERE version_id = 9999; -- a test's future
		DELETE FROM workspaces WHERE name <> 'default';
	END $$`)
	return err
}

// exec runs a statement outside of any of the tests' databases.
func (p *Postgres) exec(ctx context.Context, statement string) error {
	c, err := pgx.Connect(ctx, p.Address("postgres"))
	if err != nil {
		return err
	}
	defer c.Close(ctx)
	_, err = c.Exec(ctx, statement)
	return err
}
