package rest

import (
	"context"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"secondcut/api"
	"secondcut/api/people"
)

// caller is who makes a request and what he may do. Where there are no accounts,
// everybody who is let in works on the one workspace as its owner.
type caller struct {
	scope api.Scope
	// role is empty with a link.
	role api.Role
	name string
	// operator runs the service: metrics are shown to him.
	operator bool
	// takesOut says that he may take out and bring in archives.
	takesOut bool
}

type callerKey struct{}

func (w *caller) into(ctx context.Context) context.Context {
	return context.WithValue(api.WithScope(ctx, w.scope), callerKey{}, w)
}

// callerOf returns who asks, nil for somebody unknown.
func callerOf(ctx context.Context) *caller {
	w, _ := ctx.Value(callerKey{}).(*caller)
	return w
}

// hasAccounts reports whether people sign in. It stays so until the next start: the
// last account's end must not open everything to this machine's peers.
func (s *service) hasAccounts(ctx context.Context) (bool, error) {
	if s.People == nil || s.people.Load() {
		return s.People != nil, nil
	}
	has, err := s.People.HasAccounts(ctx)
	if has {
		s.people.Store(true)
	}
	return has, err
}

// whoAsks returns the caller of a request, nil when it is nobody that is known.
func (s *service) whoAsks(r *http.Request) (*caller, error) {
	accounts, err := s.hasAccounts(r.Context())
	if err != nil {
		return nil, err
	}
	find := s.visitor
	if accounts {
		find = s.member
	}
	if who, err := find(r); who != nil || err != nil {
		return who, err
	}
	return s.guest(r)
}

// visitor is this machine, a device that was paired, or whoever has the service's token.
func (s *service) visitor(r *http.Request) (*caller, error) {
	own := s.local(r) || s.hasToken(r)
	if !own {
		if in, err := s.signedIn(r); !in || err != nil {
			return nil, err
		}
	}
	return &caller{scope: api.Scope{Workspace: api.DefaultWorkspace}, role: api.RoleOwner, operator: own, takesOut: own}, nil
}

// member is somebody with an account, or whoever has the service's token.
func (s *service) member(r *http.Request) (*caller, error) {
	if s.hasToken(r) {
		return &caller{scope: api.Scope{Workspace: api.DefaultWorkspace}, role: api.RoleOwner, operator: true, takesOut: true}, nil
	}
	secret, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	if cookie, err := r.Cookie(sessionCookie); !ok && err == nil {
		secret, ok = cookie.Value, true
	}
	if !ok {
		return nil, nil
	}
	a, err := s.People.Granted(r.Context(), people.Digest(secret))
	if api.CodeOf(err) == api.CodeNotFound && err != nil {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return &caller{scope: api.Scope{Workspace: a.Workspace}, role: a.Role, name: a.Name, takesOut: a.Role.May(api.RoleOwner)}, nil
}

// guest is somebody with a link to a garment.
func (s *service) guest(r *http.Request) (*caller, error) {
	cookie, err := r.Cookie(linkCookie)
	if err != nil || s.People == nil {
		return nil, nil
	}
	l, err := s.People.Linked(r.Context(), people.Digest(cookie.Value))
	if err != nil {
		if api.CodeOf(err) == api.CodeNotFound {
			return nil, nil
		}
		return nil, err
	}
	return &caller{scope: api.Scope{Workspace: l.Workspace, Garment: l.GarmentID}}, nil
}

// still reports whether who made a request is let in as he was: streams stay open for
// hours.
func (s *service) still(r *http.Request) bool {
	was := callerOf(r.Context())
	now, err := s.whoAsks(r)
	return err == nil && was != nil && now != nil && was.scope == now.scope
}

// asViewer are operations that change nothing though they are no GET, forOwner those
// that an editor may not do. All other changes are for editors.
var (
	asViewer = map[string]bool{
		"add-export": true, "draft-edit": true, "check-lay": true, "sign-out": true,
		"reconcile-garment": true, "compare-twins": true,
	}
	forOwner = map[string]bool{"delete-trash": true, "empty-trash": true, "export-all": true, "import-all": true}
)

// byLink are the operations that a link reaches: what shows one garment and prints it. A
// new operation is closed to links until it is named here.
var byLink = map[string]bool{
	"get-garment": true, "garment-events": true, "garment-picture": true, "get-piece": true, "draft-piece": true,
	"draft-garment": true, "check-garment": true, "export-garment": true, "export-piece": true, "add-export": true,
	"get-job": true, "job-events": true, "get-job-file": true, "get-garment-file": true, "get-swatch": true,
	"list-presets": true, "garment-schema": true, "card-sheet": true, "get-session": true, "sign-out": true,
	"get-making": true, "export-making": true, "get-lan": true,
}

// withoutAccount are the operations by which one signs in.
var withoutAccount = map[string]bool{"get-session": true, "sign-in": true, "sign-out": true}

// mayDo reports whether a caller may do an operation at all.
func mayDo(who *caller, o huma.Operation) bool {
	switch {
	case withoutAccount[o.OperationID]:
		return true
	case who == nil:
		return false
	case who.scope.Garment != "":
		return byLink[o.OperationID]
	case forOwner[o.OperationID]:
		return who.role.May(api.RoleOwner)
	case o.Method == http.MethodGet || asViewer[o.OperationID]:
		return who.role.May(api.RoleViewer)
	}
	return who.role.May(api.RoleEditor)
}

// allow lets those through who may do an operation.
func (s *service) allow(o huma.Operation) func(huma.Context, func(huma.Context)) {
	return func(h huma.Context, next func(huma.Context)) {
		who := callerOf(h.Context())
		if mayDo(who, o) {
			next(h)
			return
		}
		e := &api.Error{Code: api.CodeForbidden, Message: "You may look at this, but not change it.", Remedy: "Ask an owner of the workspace to do it, or to let you."}
		if who != nil && who.scope.Garment != "" {
			e.Message, e.Remedy = "The link that you have does not reach this.", "Ask whoever gave it to you."
		}
		s.refuse(humagin.Unwrap(h), e)
	}
}

// setCookie sets a cookie that no script can read.
func (s *service) setCookie(c *gin.Context, name, value string, seconds int, same http.SameSite) {
	http.SetCookie(c.Writer, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: seconds,
		HttpOnly: true, SameSite: same, Secure: c.Request.TLS != nil || s.Public != nil && s.Public.Scheme == "https",
	})
}
