// Package fence keeps every request to its workspace. It wraps the store and the queue
// that the interface works with: a record of somebody else is not found, as if it were
// not there, so that ids tell nothing. It has no method by embedding: one that is added
// to the store does not compile until it is said here how far it reaches.
package fence

import (
	"context"
	"io"

	"secondcut/api"
)

// Around returns a store and a queue that reach no further than the scope of each
// call's context. A call without one reaches nothing.
func Around(s api.OwnedStore, q api.Queue) (api.OwnedStore, api.Queue) {
	f := fence{s}
	return f, gate{f, q}
}

type fence struct{ all api.OwnedStore }

// Owner answers CodeNotFound for a record that the context does not reach.
func (f fence) Owner(ctx context.Context, kind api.RecordKind, id string) (api.Scope, error) {
	scope, ok := api.ScopeOf(ctx)
	if !ok {
		return api.Scope{}, errNoScope()
	}
	owner, err := f.all.Owner(ctx, kind, id)
	if err != nil {
		return api.Scope{}, err
	}
	if owner.Workspace != scope.Workspace || scope.Garment != "" && owner.Garment != scope.Garment {
		return api.Scope{}, api.NotFound(kind.String())
	}
	return owner, nil
}

func (f fence) inside(ctx context.Context, kind api.RecordKind, id string) error {
	_, err := f.Owner(ctx, kind, id)
	return err
}

// whole answers an error where the context does not reach a whole workspace.
func whole(ctx context.Context) error {
	scope, ok := api.ScopeOf(ctx)
	if !ok {
		return errNoScope()
	}
	if scope.Garment != "" {
		return api.NotFound("page")
	}
	return nil
}

// errNoScope is the service's own fault.
func errNoScope() error {
	return &api.Error{Code: api.CodeInternal, Message: "A request without a workspace reached the store."}
}

// mine keeps the keys of creations of one workspace apart from those of others.
func mine(ctx context.Context, key api.Key) api.Key {
	if scope, _ := api.ScopeOf(ctx); key.Value != "" && scope.Workspace != api.DefaultWorkspace {
		key.Scope = "in " + scope.Workspace + ": " + key.Scope
	}
	return key
}

// get runs a call on a record that the context reaches.
func get[T any](ctx context.Context, f fence, kind api.RecordKind, id string, call func() (T, error)) (T, error) {
	if err := f.inside(ctx, kind, id); err != nil {
		var none T
		return none, err
	}
	return call()
}

// gate is the queue: it takes what the store has let in, and is asked by ids otherwise.
type gate struct {
	fence fence
	queue api.Queue
}

// Enqueue asks for a job to be run that the store has made.
func (g gate) Enqueue(ctx context.Context, job api.Job) error { return g.queue.Enqueue(ctx, job) }

// Cancel ends a job that the context reaches.
func (g gate) Cancel(ctx context.Context, jobID string) (*api.Job, error) {
	return get(ctx, g.fence, api.RecordJob, jobID, func() (*api.Job, error) { return g.queue.Cancel(ctx, jobID) })
}

// Forget lets a photo go that the store has deleted.
func (g gate) Forget(photoID string) { g.queue.Forget(photoID) }

// The methods that reach a whole workspace, which the store keeps them to.

func (f fence) Garments(ctx context.Context, page api.Page) ([]api.GarmentSummary, error) {
	if err := whole(ctx); err != nil {
		return nil, err
	}
	return f.all.Garments(ctx, page)
}

func (f fence) CreateGarment(ctx context.Context, name string, key api.Key) (*api.Garment, error) {
	if err := whole(ctx); err != nil {
		return nil, err
	}
	return f.all.CreateGarment(ctx, name, mine(ctx, key))
}

func (f fence) ImportGarment(ctx context.Context, n api.NewGarment, key api.Key) (*api.Garment, error) {
	if err := whole(ctx); err != nil {
		return nil, err
	}
	return f.all.ImportGarment(ctx, n, mine(ctx, key))
}

func (f fence) Trash(ctx context.Context, page api.Page) ([]api.Trashed, error) {
	if err := whole(ctx); err != nil {
		return nil, err
	}
	return f.all.Trash(ctx, page)
}

func (f fence) EmptyTrash(ctx context.Context, trashID string) error {
	err := whole(ctx)
	if trashID != "" {
		err = f.inside(ctx, api.RecordTrash, trashID)
	}
	if err != nil {
		return err
	}
	return f.all.EmptyTrash(ctx, trashID)
}

func (f fence) Export(ctx context.Context, w io.Writer) ([]string, error) {
	if err := whole(ctx); err != nil {
		return nil, err
	}
	return f.all.Export(ctx, w)
}

func (f fence) Import(ctx context.Context, r io.Reader) (api.Imported, error) {
	if err := whole(ctx); err != nil {
		return api.Imported{}, err
	}
	return f.all.Import(ctx, r)
}

// What says nothing of anybody's records.

func (f fence) Ready(ctx context.Context) error                   { return f.all.Ready(ctx) }
func (f fence) Usage(ctx context.Context) (api.Usage, error)      { return f.all.Usage(ctx) }
func (f fence) AddSession(ctx context.Context, hash string) error { return f.all.AddSession(ctx, hash) }

func (f fence) HasSession(ctx context.Context, hash string) (bool, error) {
	return f.all.HasSession(ctx, hash)
}

// Watch only says that something has changed; what, has to be asked for.
func (f fence) Watch(id string) (<-chan struct{}, func()) { return f.all.Watch(id) }

// What the queue's workers alone may do.

func (f fence) ClaimJob(context.Context, string) (*api.Work, error)  { return nil, errNoScope() }
func (f fence) StepJob(context.Context, string, api.Step) error      { return errNoScope() }
func (f fence) ReleaseJob(context.Context, string, bool) error       { return errNoScope() }
func (f fence) FinishJob(context.Context, string, api.Outcome) error { return errNoScope() }
func (f fence) CancelJob(context.Context, string) (*api.Job, error)  { return nil, errNoScope() }

func (f fence) RequeueJobs(context.Context) ([]api.Job, error) { return nil, errNoScope() }
