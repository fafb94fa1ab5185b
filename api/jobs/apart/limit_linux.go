package apart

import (
	"fmt"
	"os"
	"runtime/debug"
	"strconv"
	"syscall"
)

// Limit bounds this process for good: mib MiB of private memory, no file written,
// no memory image left after a crash. It gives way to other processes (nice 10),
// and is the one that the system ends first when memory runs out.
//
// The bound is RLIMIT_DATA, which counts the private memory that can be written
// to, that of C and C++ included, whether used yet or not (Linux 4.7 and newer).
// RLIMIT_AS would count what the Go runtime reserves and never uses as well.
// What goes over it gets no memory: the Go runtime then ends the process.
func Limit(mib int) error {
	bytes := uint64(mib) << 20
	for what, value := range map[int]uint64{syscall.RLIMIT_DATA: bytes, syscall.RLIMIT_FSIZE: 0, syscall.RLIMIT_CORE: 0} {
		if err := syscall.Setrlimit(what, &syscall.Rlimit{Cur: value, Max: value}); err != nil {
			return fmt.Errorf("apart: setting the limits: %w", err)
		}
	}
	// The collector works harder before the bound is reached.
	debug.SetMemoryLimit(int64(bytes / 2))
	// These two are courtesies; a container may forbid them.
	beNice(10)
	if f, err := os.OpenFile("/proc/self/oom_score_adj", os.O_WRONLY, 0); err == nil {
		_, _ = f.WriteString("500")
		_ = f.Close()
	}
	return nil
}

// beNice lowers the priority of every thread that there is; a new one takes over
// that of the thread which makes it.
func beNice(nice int) {
	threads, _ := os.ReadDir("/proc/self/task")
	for _, t := range threads {
		if id, err := strconv.Atoi(t.Name()); err == nil {
			_ = syscall.Setpriority(syscall.PRIO_PROCESS, id, nice)
		}
	}
}
