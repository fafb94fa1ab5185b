//go:build !linux

package apart

import "runtime/debug"

// Limit bounds what the Go runtime keeps, to half of mib MiB; this system offers
// no bound on a whole process that C code obeys.
func Limit(mib int) error {
	debug.SetMemoryLimit(int64(mib) << 19)
	return nil
}
