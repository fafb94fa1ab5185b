package rest

import (
	"cmp"
	"context"
	"net/netip"
	"sync"
	"time"

	"github.com/gin-gonic/gin"
	"golang.org/x/time/rate"

	"secondcut/api"
)

// Room bounds what the service takes on. The zero value is usable.
type Room struct {
	// Queued is how many photos and strokes may wait, and Exports how many drawings;
	// defaults 500 and 100.
	Queued, Exports int
	// StorageBytes is how much all pictures may take; default no bound but the
	// disk's.
	StorageBytes int64
	// SpareBytes is what stays free on the disk; default 200 MiB.
	SpareBytes int64
	// ArchiveBytes is the largest archive that is read in; default 16 GiB.
	ArchiveBytes int64
	// PerSecond is how many requests one device may make in a second over a longer
	// time, and Burst how many at once; defaults 100 and 500.
	PerSecond, Burst int
}

func (r Room) archive() int64 { return cmp.Or(r.ArchiveBytes, 16<<30) }

// hasRoom answers CodeQueueFull or CodeStorageFull when a number of jobs and
// bytes more are too much.
func (s *service) hasRoom(ctx context.Context, bytes int64, jobs int) error {
	if err := s.houseHasRoom(ctx, bytes, jobs); err != nil {
		return err
	}
	u, err := s.Store.Usage(ctx)
	if err != nil {
		return err
	}
	if jobs > 0 && u.QueuedJobs-u.QueuedExports+jobs > cmp.Or(s.Room.Queued, 500) {
		return &api.Error{
			Code: api.CodeQueueFull, RetryAfter: 30 * time.Second,
			Message: "Many photos wait to be traced, and no more can be added now.",
			Remedy:  "Wait until some of them are done, and try again.",
		}
	}
	spare := cmp.Or(s.Room.SpareBytes, 200<<20)
	limit := s.Room.StorageBytes
	if limit > 0 && u.PictureBytes+bytes > limit || u.FreeBytes > 0 && bytes > 0 && u.FreeBytes-bytes < spare {
		return api.StorageFull(nil)
	}
	return nil
}

// houseWaiting is how many photos of one workspace may wait where it has no limit of
// its own, so that one alone cannot fill the queue for all.
const houseWaiting = 100

// houseHasRoom is hasRoom for the workspace of the asker, where there are accounts.
func (s *service) houseHasRoom(ctx context.Context, bytes int64, jobs int) error {
	who := callerOf(ctx)
	if who == nil || !s.people.Load() {
		return nil
	}
	w, err := s.People.Workspace(ctx, who.scope.Workspace)
	if err != nil {
		return err
	}
	if most := cmp.Or(w.Waiting, houseWaiting); jobs > 0 && w.QueuedJobs-w.QueuedExports+jobs > most {
		return &api.Error{
			Code: api.CodeQueueFull, RetryAfter: 30 * time.Second,
			Message: "As many photos of your workspace wait to be traced as may.",
			Remedy:  "Wait until some of them are done, and try again.",
		}
	}
	if w.Bytes > 0 && bytes > 0 && w.PictureBytes+bytes > w.Bytes {
		return &api.Error{
			Code: api.CodeStorageFull, RetryAfter: 5 * time.Minute,
			Message: "Your workspace has no room left for this.",
			Remedy:  "Empty the trash, delete garments that you have saved elsewhere, or ask whoever runs the service for more.",
		}
	}
	return nil
}

// rates holds how many requests each device may make.
type rates struct {
	mu     sync.Mutex
	limit  rate.Limit
	burst  int
	of     map[netip.Addr]*rate.Limiter
	others *rate.Limiter // of all that find no place in the table
}

// maxRates is how many devices are told apart.
const maxRates = 4096

func newRates(r Room) rates {
	limit, burst := rate.Limit(cmp.Or(r.PerSecond, 100)), cmp.Or(r.Burst, 500)
	return rates{limit: limit, burst: burst, of: map[netip.Addr]*rate.Limiter{}, others: rate.NewLimiter(limit, burst)}
}

// allow takes one request of a device.
func (r *rates) allow(peer netip.Addr) bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	l := r.of[peer]
	if l == nil && len(r.of) >= maxRates {
		for at, old := range r.of {
			if old.Tokens() >= float64(r.burst) { // it has been quiet
				delete(r.of, at)
			}
		}
	}
	switch {
	case l != nil:
	case len(r.of) < maxRates:
		l = rate.NewLimiter(r.limit, r.burst)
		r.of[peer] = l
	default:
		l = r.others
	}
	return l.Allow()
}

// guardRate refuses what comes too fast.
func (s *service) guardRate(c *gin.Context) {
	if peer := s.peer(c.Request); peer.IsValid() && s.rates.allow(peer) {
		return
	}
	s.refuse(c, &api.Error{
		Code: api.CodeTooFast, RetryAfter: time.Second,
		Message: "Too many requests came from this device.",
		Remedy:  "Wait a second and try again.",
	})
}
