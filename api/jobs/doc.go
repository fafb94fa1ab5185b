// Package jobs traces photos and draws garments in the background: durable, with
// progress, cancellation and retries. It implements [api.Queue].
//
// What there is to do stands in the store, as jobs in state queued. River, whose
// tables live in the same database, only says when and how many at a time; its
// own jobs carry nothing but the id of ours. A worker claims the job in the
// store first, so that a job which River offers twice (after a crash, or a retry)
// is run once. At the start all jobs that were running are queued again; one that
// has brought the process down too often is given up.
package jobs
