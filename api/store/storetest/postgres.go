package storetest

import (
	"context"
	"errors"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// Postgres is a PostgreSQL server on a port of its own. It must not run as root, so it
// then runs as the user that the package of Debian makes for it.
type Postgres struct {
	dir, bin string
	port     int
	care     Care
	as       *syscall.SysProcAttr
	process  *exec.Cmd
}

// Care says whether what a server has acknowledged must outlive a power cut.
type Care []string

var (
	// Careful is how a server runs in earnest.
	Careful Care
	// Hasty is quicker: for tests in which no server dies.
	Hasty = Care{"-c", "fsync=off", "-c", "synchronous_commit=off", "-c", "full_page_writes=off"}
)

// StartPostgres makes a server below a folder and starts it.
func StartPostgres(dir string, care Care) (*Postgres, error) {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb") // the pattern is a good one
	if len(found) == 0 {
		return nil, errors.New("there is no PostgreSQL server (make packages-test)")
	}
	slices.Sort(found)
	port, err := FreePort()
	if err != nil {
		return nil, err
	}
	p := &Postgres{dir: filepath.Join(dir, "postgres"), bin: filepath.Dir(found[len(found)-1]), port: port, care: care, as: &syscall.SysProcAttr{Pdeathsig: syscall.SIGINT}}
	if err := os.Mkdir(p.dir, 0o700); err != nil {
		return nil, err
	}
	if err := p.otherUser(dir); err != nil {
		return nil, err
	}
	init := exec.Command(filepath.Join(p.bin, "initdb"), "-D", p.dir, "-U", "secondcut", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "-N")
	init.SysProcAttr, init.Dir = p.as, p.dir
	if out, err := init.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, out)
	}
	return p, p.Start()
}

// otherUser lets the server run as the user postgres where we are root.
func (p *Postgres) otherUser(above string) error {
	if os.Getuid() != 0 {
		return nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return err
	}
	uid, err1 := strconv.ParseUint(u.Uid, 10, 32)
	gid, err2 := strconv.ParseUint(u.Gid, 10, 32)
	p.as.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return errors.Join(err1, err2, os.Chmod(above, 0o711), os.Chown(p.dir, int(uid), int(gid)))
}

// Address is where a database of the server is.
func (p *Postgres) Address(database string) string {
	return fmt.Sprintf("postgres://secondcut@127.0.0.1:%d/%s?sslmode=disable", p.port, database)
}

// Start starts the server, again after [Postgres.Kill], and waits until it answers.
func (p *Postgres) Start() error {
	p.process = exec.Command(filepath.Join(p.bin, "postgres"), append([]string{
		"-D", p.dir, "-p", strconv.Itoa(p.port),
		"-c", "listen_addresses=127.0.0.1", "-c", "unix_socket_directories=", "-c", "max_connections=300",
	}, p.care...)...)
	log, err := os.Create(filepath.Join(filepath.Dir(p.dir), "postgres.log"))
	if err != nil {
		return err
	}
	defer log.Close()
	p.process.SysProcAttr, p.process.Dir, p.process.Stdout, p.process.Stderr = p.as, p.dir, log, log
	if err := p.process.Start(); err != nil {
		return err
	}
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		c, err := pgx.Connect(context.Background(), p.Address("postgres"))
		if err == nil {
			return c.Close(context.Background())
		}
		if time.Now().After(end) {
			said, _ := os.ReadFile(log.Name())
			return errors.Join(fmt.Errorf("PostgreSQL does not start: %w: %s", err, said), p.Kill())
		}
	}
}

// Stop ends the server.
func (p *Postgres) Stop() { _ = p.end(syscall.SIGINT) }

// Kill ends the server as a crash does.
func (p *Postgres) Kill() error { return p.end(syscall.SIGQUIT) }

func (p *Postgres) end(how syscall.Signal) error {
	err := p.process.Process.Signal(how)
	_ = p.process.Wait() // how it ended was our doing
	return err
}

// FreePort returns a port that nothing listens on.
func FreePort() (int, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return 0, err
	}
	defer l.Close()
	return l.Addr().(*net.TCPAddr).Port, nil
}
