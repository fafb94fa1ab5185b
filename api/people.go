package api

import (
	"context"
	"fmt"
	"slices"
	"time"
	"unicode/utf8"
)

// DefaultWorkspace holds everything where there are no accounts.
const DefaultWorkspace = "default"

// Role is what somebody may do in a workspace.
type Role string

// The roles, each with all that the one before may do. A viewer looks and prints; an
// editor changes and shares; an owner also takes out or brings in everything and empties the trash.
const (
	RoleViewer Role = "viewer"
	RoleEditor Role = "editor"
	RoleOwner  Role = "owner"
)

var roles = []Role{RoleViewer, RoleEditor, RoleOwner}

// Known reports whether it is one of the roles.
func (r Role) Known() bool { return slices.Contains(roles, r) }

// May reports whether a role includes another one.
func (r Role) May(need Role) bool {
	return r.Known() && slices.Index(roles, r) >= slices.Index(roles, need)
}

// Workspace is one house's garments, apart from those of all others. Zero limits are
// those of the service.
type Workspace struct {
	Name      string
	CreatedAt time.Time
	WorkspaceLimits
}

// WorkspaceLimits bound one workspace: Bytes that its photos may take, and Waiting photos at once.
type WorkspaceLimits struct {
	Bytes   int64
	Waiting int
}

// WorkspaceUsage is what a workspace holds against its limits: the bytes of photos,
// also in the trash and under way, and the jobs that wait.
type WorkspaceUsage struct {
	Workspace
	Garments      int
	PictureBytes  int64
	QueuedJobs    int
	QueuedExports int
}

// Account is somebody who may sign in. It belongs to one workspace.
type Account struct {
	ID        string
	Name      string
	Workspace string
	Role      Role
	// Password is how a password is known again; empty where there is none.
	Password  string
	CreatedAt time.Time
}

// Link lets whoever has it see one garment, without its photos, until it expires.
type Link struct {
	ID        string    `json:"id"`
	GarmentID string    `json:"garment_id"`
	CreatedAt time.Time `json:"created_at"`
	ExpiresAt time.Time `json:"expires_at"`
	Workspace string    `json:"-"`
}

// Limits of links.
const (
	// MaxLinkLife is how long a link may be good.
	MaxLinkLife = 365 * 24 * time.Hour
	// MaxLinks is how many links of a garment may be good at a time.
	MaxLinks = 50
)

// AccessLife is how long a sign-in in a browser is good.
const AccessLife = 30 * 24 * time.Hour

// People keeps who may do what. Secrets are known by their digests only. What is
// missing is CodeNotFound.
type People interface {
	// HasAccounts reports whether there is any account: from then on everybody signs in.
	HasAccounts(ctx context.Context) (bool, error)
	// AddAccount keeps a new account, and its workspace where that is new; CodeThere
	// when the name is taken.
	AddAccount(ctx context.Context, a Account) (*Account, error)
	// Accounts lists all by workspace and name.
	Accounts(ctx context.Context) ([]Account, error)
	Account(ctx context.Context, name string) (*Account, error)
	// RemoveAccount ends an account with its tokens and sign-ins. Its workspace stays.
	RemoveAccount(ctx context.Context, name string) error
	SetPassword(ctx context.Context, name, password string) error

	// Grant lets an account in with a secret until a time; the zero time is for ever.
	Grant(ctx context.Context, accountID, hash string, until time.Time) error
	// Granted returns the account of a secret.
	Granted(ctx context.Context, hash string) (*Account, error)
	// Revoke ends one secret, and RevokeAll all of an account.
	Revoke(ctx context.Context, hash string) error
	RevokeAll(ctx context.Context, name string) error

	// AddLink keeps a link to a garment.
	AddLink(ctx context.Context, garmentID, hash string, until time.Time) (*Link, error)
	// Links lists the links of a garment that are good still, last made first.
	Links(ctx context.Context, garmentID string) ([]Link, error)
	Linked(ctx context.Context, hash string) (*Link, error)
	RevokeLink(ctx context.Context, garmentID, id string) error

	// Workspaces says what each holds.
	Workspaces(ctx context.Context) ([]WorkspaceUsage, error)
	Workspace(ctx context.Context, name string) (*WorkspaceUsage, error)
	SetLimits(ctx context.Context, name string, limits WorkspaceLimits) error
}

// Scope says which records a request may reach: those of one workspace, and of these
// one garment alone where Garment is set.
type Scope struct {
	Workspace string
	Garment   string
}

// RecordKind names a kind of record that a request may ask for by its id.
type RecordKind string

// The kinds of record that have ids of their own.
const (
	RecordGarment RecordKind = "garment"
	RecordPhoto   RecordKind = "photo"
	RecordPiece   RecordKind = "piece"
	RecordJob     RecordKind = "job"
	RecordUpload  RecordKind = "upload"
	RecordTrash   RecordKind = "trash"
)

// String is the word that the person knows it by.
func (k RecordKind) String() string {
	if k == RecordTrash {
		return "entry in the trash"
	}
	return string(k)
}

// Owners says to whom records belong; that of a record never changes.
type Owners interface {
	Owner(ctx context.Context, kind RecordKind, id string) (Scope, error)
}

// OwnedStore is a store that says whose its records are.
type OwnedStore interface {
	Store
	Owners
}

type scopeKey struct{}

// WithScope returns a context whose requests reach no further than the scope.
func WithScope(ctx context.Context, s Scope) context.Context {
	return context.WithValue(ctx, scopeKey{}, s)
}

// ScopeOf returns the scope of a context; false for the service's own work, which
// reaches everything.
func ScopeOf(ctx context.Context) (Scope, bool) {
	s, ok := ctx.Value(scopeKey{}).(Scope)
	return s, ok
}

// CheckWord answers CodeInvalid for what cannot be the name of an account or workspace.
func CheckWord(field, name string) error {
	if clean, err := CleanName(name); err != nil || clean != name || utf8.RuneCountInString(name) > 100 {
		return Invalid(field, fmt.Sprintf("%q cannot be a name here.", name), "Use at most 100 characters, without spaces at the ends.")
	}
	return nil
}
