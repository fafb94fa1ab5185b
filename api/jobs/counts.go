package jobs

import (
	"maps"

	"secondcut/api"
)

// count notes how a job ended.
func (q *Queue) count(s api.JobStatus) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.ended[s]++
}

// Ended returns how many jobs have ended in each state since the start.
func (q *Queue) Ended() map[api.JobStatus]int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return maps.Clone(q.ended)
}

// Running returns how many jobs are running.
func (q *Queue) Running() int {
	q.mu.Lock()
	defer q.mu.Unlock()
	return len(q.running)
}
