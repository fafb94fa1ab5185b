package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/jobs"
)

var burst = flag.Int("burst", 0, "how many photos TestBurst sends at once; 0 leaves it out")

const (
	// leastThroughput is the least share of (cores / CPU time of one trace) at which
	// a heap of photos is traced.
	leastThroughput = 0.85
	// mostWait bounds how long opening and saving a piece may take meanwhile, at the
	// 99th percentile.
	mostWait = 150 * time.Millisecond
	// mostMemory bounds what the service itself takes, in MiB, however many wait.
	mostMemory = 400
)

// TestBurst sends a heap of photos at once and works on a piece while they are
// traced. By the clock it judges only a machine with nothing else to do.
func TestBurst(t *testing.T) {
	if *burst == 0 {
		t.Skip("make soak runs it")
	}
	idle := isIdle()
	photos := variants(t, 8)
	one, again := traceTime(t, photos[0])
	p := startProgram(t, filepath.Join(t.TempDir(), "data"))
	defer p.stop(t)
	garment, piece := firstPiece(t, p, photos[0])
	before := treeTime(t, p.cmd.Process.Pid)
	begun := time.Now()
	var senders sync.WaitGroup
	for i := range *burst {
		senders.Go(func() {
			mustRequest(t, "POST", p.base+"/garments/"+garment+"/photos", photos[i%len(photos)], map[string]string{"Content-Type": "image/jpeg"}, nil)
		})
	}
	done := make(chan struct{})
	var waits []time.Duration
	var peak int
	var working sync.WaitGroup
	working.Go(func() { waits, peak = workOn(t, p, garment, piece, done) })
	senders.Wait()
	for left := *burst; left > 0; time.Sleep(100 * time.Millisecond) {
		left = waiting(t, p, garment)
	}
	took := time.Since(begun)
	close(done)
	working.Wait()
	cpu := treeTime(t, p.cmd.Process.Pid) - before
	ideal := float64(runtime.NumCPU()) / one.Seconds()
	got := float64(*burst) / took.Seconds()
	each := cpu / time.Duration(*burst)
	slices.Sort(waits)
	p50, p99 := waits[len(waits)/2], waits[len(waits)*99/100]
	t.Logf("one trace %.2f CPU s, %.2f in a process that has traced before; %d photos in %.1f s: %.2f/s, %.0f %% of %.2f/s; %.2f CPU s each, requests meanwhile included",
		one.Seconds(), again.Seconds(), *burst, took.Seconds(), got, 100*got/ideal, ideal, each.Seconds())
	t.Logf("%d requests meanwhile: median %v, p99 %v, worst %v; the service took %d MiB at most", len(waits), p50, p99, waits[len(waits)-1], peak)
	if most := time.Duration(float64(one) / leastThroughput); each > most {
		t.Errorf("a photo of the heap took %v of CPU time, want %v", each, most)
	}
	if idle {
		if got < leastThroughput*ideal {
			t.Errorf("%.2f photos a second, want %.2f", got, leastThroughput*ideal)
		}
		if p99 > mostWait {
			t.Errorf("p99 of opening and saving is %v, want %v", p99, mostWait)
		}
	} else {
		t.Log("this machine had other things to do: times by the clock are not judged")
	}
	if peak > mostMemory {
		t.Errorf("the service took %d MiB, want %d", peak, mostMemory)
	}
}

// traceTime is the CPU time of tracing one photo, and of drawing it from above, in
// processes that do nothing else: alone is that of a process of its own from start to
// end, the best of three; again that of one which has traced before, the best of the
// second to the fourth time.
func traceTime(t *testing.T, photo []byte) (alone, again time.Duration) {
	t.Helper()
	tracer, err := newTracer(childMemory)
	if err != nil {
		t.Fatal(err)
	}
	nothing := func(api.Step) {}
	once := func() {
		t.Helper()
		s, err := tracer.Open(t.Context(), photo, nothing, jobs.TraceOptions{})
		if err != nil {
			t.Fatal(err)
		}
		trace, err := s.Trace(t.Context(), nil, nothing)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := s.Backdrop(t.Context(), trace); err != nil {
			t.Fatal(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	alone, again = time.Hour, time.Hour
	for range 3 {
		before := childrenTime(t)
		once()
		alone = min(alone, childrenTime(t)-before)
	}
	tracer.Spare = 1
	once()
	for range 3 {
		before := treeTime(t, os.Getpid())
		once()
		again = min(again, treeTime(t, os.Getpid())-before)
	}
	return alone, again
}

// childrenTime is the CPU time of all children of this process that have ended.
func childrenTime(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_CHILDREN, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// workOn opens and saves a piece again and again, with short pauses, and watches
// how much memory the service takes.
func workOn(t *testing.T, p *program, garment, piece string, done <-chan struct{}) (waits []time.Duration, peak int) {
	pause := time.NewTicker(50 * time.Millisecond) // two busy people
	defer pause.Stop()
	timed := func(method, url string, body []byte, headers map[string]string, out any) {
		<-pause.C
		begun := time.Now()
		mustRequest(t, method, url, body, headers, out)
		waits = append(waits, time.Since(begun))
	}
	for {
		select {
		case <-done:
			return waits, peak
		default:
		}
		var now api.Piece
		timed("GET", p.base+"/garments/"+garment, nil, nil, nil)
		timed("GET", p.base+"/pieces/"+piece, nil, nil, &now)
		body, err := json.Marshal(api.PieceEdit{Name: now.Name, Knots: now.Knots, Holes: now.Holes})
		if err != nil {
			t.Error(err)
		}
		timed("PUT", p.base+"/pieces/"+piece, body, asHeader(now.Version), nil)
		timed("GET", p.base+"/pieces/"+piece+"/export?format=svg", nil, nil, nil)
		peak = max(peak, memory(t, p))
	}
}

// isIdle reports whether the machine has little else to do.
func isIdle() bool {
	data, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return false
	}
	load, err := strconv.ParseFloat(strings.Fields(string(data))[0], 64)
	return err == nil && load < 0.5*float64(runtime.NumCPU())
}

func waiting(t *testing.T, p *program, garment string) (n int) {
	t.Helper()
	var g api.Garment
	mustRequest(t, "GET", p.base+"/garments/"+garment, nil, nil, &g)
	for _, f := range g.Photos {
		if f.Status == api.PhotoQueued || f.Status == api.PhotoTracing {
			n++
		}
	}
	return n
}

// memory is the resident memory of the service's own process in MiB.
func memory(t *testing.T, p *program) int {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		t.Skip("this system does not tell how much memory a process takes")
	}
	_, rest, _ := strings.Cut(string(data), "VmRSS:")
	kib, _ := strconv.Atoi(strings.Fields(rest)[0])
	return kib >> 10
}

// treeTime is the CPU time of a process and of all its children, ended or not.
func treeTime(t *testing.T, pid int) time.Duration {
	t.Helper()
	own := procStat(pid)
	if own == nil {
		t.Skip("this system does not tell how much time a process takes")
	}
	const ticks = 100                              // a second, on all Linux systems of today
	total := own[11] + own[12] + own[13] + own[14] // proc(5): utime, stime, cutime, cstime
	entries, err := os.ReadDir("/proc")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		child, err := strconv.Atoi(e.Name())
		if err != nil {
			continue
		}
		if s := procStat(child); s != nil && s[1] == pid { // ppid
			total += s[11] + s[12]
		}
	}
	return time.Duration(total) * time.Second / ticks
}

// procStat returns the numbers of a process's /proc/PID/stat behind its name, the state
// as 0; nil when there is none.
func procStat(pid int) []int {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return nil
	}
	_, rest, _ := strings.Cut(string(data), ") ")
	var out []int
	for _, f := range strings.Fields(rest) {
		n, _ := strconv.Atoi(f)
		out = append(out, n)
	}
	return out
}
