package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"secondcut/api/jobs"
	"secondcut/api/rest"
	"secondcut/api/store"
	"secondcut/web"
)

// serveFlags are the flags of the serve command as given.
type serveFlags struct {
	addr, data, demo        string
	lan, container, verbose bool
	memory                  int
	tokenFile               string
	storageGB               int
	publicURL               string
}

func newServeCommand() *cobra.Command {
	var f serveFlags
	cmd := &cobra.Command{
		Use:   "serve",
		Short: "Start the service with the editor for the browser",
		Long: `Serve starts Secondcut as a page in the browser of this machine. Photos and
pieces are kept in one folder and nowhere else.

With --lan, a phone on the same private network can take the photos: scan the
code that appears here or on the page. The link in it works once. The connection
is not encrypted, so use it on a network that you trust.

The interface for programs is described under /api/v1/docs.`,
		Example: `  secondcut serve
  secondcut serve --lan`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return serve(cmd.Context(), cmd.OutOrStdout(), f) },
	}
	cmd.Flags().StringVar(&f.addr, "addr", "127.0.0.1:8080", "address and port to listen on")
	cmd.Flags().StringVar(&f.data, "data", "", "folder for photos and pieces (default "+dataHint+")")
	cmd.Flags().BoolVar(&f.lan, "lan", false, "let phones on the same private network in, by a code to scan")
	cmd.Flags().StringVar(&f.demo, "demo", "", "load the photos of this `FOLDER` (with a demo.json) if there is no garment yet")
	cmd.Flags().BoolVar(&f.container, "container", false, "take every peer for this machine: for a container whose port is published on 127.0.0.1 only")
	cmd.Flags().BoolVarP(&f.verbose, "verbose", "v", false, "log every request")
	cmd.Flags().StringVar(&f.tokenFile, "token-file", "", "let in whoever sends the token in this `FILE` as a bearer token, or opens /pair/TOKEN")
	cmd.Flags().IntVar(&f.storageGB, "max-storage", 0, "refuse photos when all pictures take so many GB (default: while the disk has room)")
	cmd.Flags().IntVar(&f.memory, "photo-memory", childMemory, "memory in MiB that the process which traces a photo may take")
	cmd.Flags().StringVar(&f.publicURL, "public-url", "", "`ADDRESS` at which people find the service, through something that speaks TLS, such as https://patterns.example; needs accounts")
	cmd.MarkFlagsMutuallyExclusive("lan", "container", "token-file")
	cmd.MarkFlagsMutuallyExclusive("lan", "public-url")
	return cmd
}

const dataHint = "$XDG_DATA_HOME/secondcut or ~/.local/share/secondcut"

// dataDir returns the folder for the data where none is named (XDG Base Directory
// Specification).
func dataDir() (string, error) {
	if dir := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(dir) {
		return filepath.Join(dir, "secondcut"), nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", errors.New("there is no home folder to keep the data in; name a folder with --data")
	}
	return filepath.Join(home, ".local", "share", "secondcut"), nil
}

func (f serveFlags) reach() reach {
	switch {
	case f.lan:
		return reachLAN
	case f.container:
		return reachContainer
	case f.tokenFile != "" || f.publicURL != "":
		return reachToken
	}
	return reachMachine
}

// serve runs the service until ctx ends.
func serve(ctx context.Context, out io.Writer, f serveFlags) (err error) {
	level := slog.LevelWarn
	if f.verbose {
		level = slog.LevelInfo
	}
	log := slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: level}))
	at, err := addresses(f.addr, f.reach())
	if err != nil {
		return err
	}
	token, err := readToken(f.tokenFile)
	if err != nil {
		return err
	}
	if f.data, err = dataOr(f.data); err != nil {
		return err
	}
	st, err := store.Open(ctx, f.data)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	accounts, err := st.HasAccounts(ctx)
	if err != nil {
		return err
	}
	public, err := publicURL(f.publicURL, accounts)
	if err != nil {
		return err
	}
	apart, err := newTracer(f.memory)
	if err != nil {
		return err
	}
	if !accounts { // where people of several houses share it, no photo meets the process of another
		apart.Spare = runtime.NumCPU()
	}
	queue, err := jobs.New(ctx, st, st, apart, jobs.Options{Workers: runtime.NumCPU(), Drawer: apart, Logger: log})
	if err != nil {
		return err
	}
	listeners, err := listen(at)
	if err != nil {
		return err
	}
	if err := queue.Start(ctx); err != nil {
		return err
	}
	done := make(chan struct{})
	var sweeping sync.WaitGroup
	sweeping.Go(func() { sweep(st, log, done) })
	defer sweeping.Wait()
	opt := rest.Options{
		Store: st, Queue: queue, People: st, Public: public, Darkroom: apart, Files: web.Files, TrustPeers: f.container, Done: done, Logger: log,
		Token: token, Build: build(), Room: rest.Room{StorageBytes: int64(f.storageGB) << 30},
	}
	if f.lan {
		opt.Hosts, opt.Pairing = pairing(listeners, out)
	} else if token != "" || public != nil {
		opt.Hosts = ownAddresses(at[0].Addr())
	}
	server := newServer(rest.New(opt), log)
	failed := make(chan error, len(listeners))
	for _, l := range listeners {
		go func() { failed <- server.Serve(l) }()
	}
	go func() { _, _ = web.Files() }() // made while somebody opens a browser; an error shows there
	base := baseURL(listeners[0])
	if err := greet(out, base, opt.Pairing); err != nil {
		log.Warn("the code could not be shown", "error", err)
	}
	if f.demo != "" {
		if err := loadDemo(ctx, base+rest.Base, f.demo); err != nil && ctx.Err() == nil {
			log.Warn("the demo was not loaded", "error", err)
		}
	}
	select {
	case <-ctx.Done():
	case err = <-failed:
	}
	close(done)
	return errors.Join(err, stop(server, queue))
}

// build names this program as it was built: its file's size and time.
func build() string {
	self, err := os.Executable()
	if err != nil {
		return ""
	}
	st, err := os.Stat(self)
	if err != nil {
		return ""
	}
	return fmt.Sprint(st.Size(), st.ModTime().UnixNano())
}

// minToken is the least length of a token: longer than anybody can try out.
const minToken = 20

// readToken reads the token, "" without a file.
func readToken(file string) (string, error) {
	if file == "" {
		return "", nil
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return "", fmt.Errorf("--token-file: %w", err)
	}
	token := strings.TrimSpace(string(data))
	if len(token) < minToken || strings.ContainsAny(token, " \t\r\n/?#%") {
		return "", fmt.Errorf("--token-file: %s must hold one word of %d characters or more, such as: openssl rand -hex 20", file, minToken)
	}
	return token, nil
}

// publicURL reads the address that people use. Behind a proxy everybody seems to be on
// this machine: without accounts, everybody could do everything.
func publicURL(text string, accounts bool) (*url.URL, error) {
	if text == "" {
		return nil, nil
	}
	u, err := url.Parse(text)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Hostname() == "" || strings.Trim(u.Path, "/") != "" {
		return nil, fmt.Errorf("--public-url %q: give scheme and name, such as https://patterns.example", text)
	}
	if !accounts {
		return nil, errors.New("--public-url lets everybody in as long as there are no accounts; add one with: secondcut user add NAME --role owner")
	}
	return u, nil
}

// dataOr returns the data folder that was named, or the usual one.
func dataOr(named string) (string, error) {
	if named != "" {
		return named, nil
	}
	return dataDir()
}

// sweepEvery is how often is looked for what has had its time.
const sweepEvery = time.Hour

// sweep empties the trash and the like now and then until done.
func sweep(st *store.Store, log *slog.Logger, done <-chan struct{}) {
	tick := time.NewTicker(sweepEvery)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			if err := st.Sweep(context.Background()); err != nil {
				log.Warn("what has had its time was not removed", "error", err)
			}
		case <-done:
			return
		}
	}
}

// newServer returns a server that does not wait for ever for a slow or silent
// client. Bodies and answers have their own limits, in package rest.
func newServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{
		Handler:           h,
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    64 << 10,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
}

// stop lets requests end, then puts running jobs back into the queue.
func stop(server *http.Server, queue *jobs.Queue) error {
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	err := server.Shutdown(ctx)
	return errors.Join(err, queue.Stop(ctx))
}

// pairing returns the addresses that phones may use and the link that lets one
// in; a new link is written to out when one has been used.
func pairing(listeners []net.Listener, out io.Writer) ([]netip.Addr, *rest.Pairing) {
	var hosts []netip.Addr
	for _, l := range listeners[1:] {
		hosts = append(hosts, l.Addr().(*net.TCPAddr).AddrPort().Addr().Unmap())
	}
	return hosts, rest.NewPairing(baseURL(listeners[1]), func(next string) {
		fmt.Fprintf(out, "\nA device was let in. The link for the next one:\n%s\n", next)
	})
}

// baseURL is where a browser finds the listener; one that listens everywhere is
// found here.
func baseURL(l net.Listener) string {
	at := l.Addr().(*net.TCPAddr).AddrPort()
	ip := at.Addr().Unmap()
	if ip.IsUnspecified() {
		ip = netip.MustParseAddr("127.0.0.1")
	}
	return "http://" + netip.AddrPortFrom(ip, at.Port()).String()
}

func greet(out io.Writer, base string, p *rest.Pairing) error {
	fmt.Fprintf(out, "Secondcut is at %s   (stop it with Ctrl-C)\n", base)
	if p == nil {
		return nil
	}
	code, err := p.Terminal()
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "\nScan this with the phone to let it in; the link works once:\n\n%s\n%s\n\nWhat the phone sends is not encrypted: use a network that you trust.\n", code, p.URL())
	return err
}
