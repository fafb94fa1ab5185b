package rest

import (
	"context"
	"net/http"
	"net/netip"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"

	"secondcut/api"
	"secondcut/api/people"
)

const (
	sessionPath = "/session"
	// signInTries is how often a device may try to sign in at once; then once a second.
	signInTries = 10
	// hashers is how many passwords are compared at a time: each takes 64 MiB.
	hashers = 2
)

type sessionAnswer struct {
	Body struct {
		Accounts  bool     `json:"accounts" doc:"Whether people sign in."`
		SignedIn  bool     `json:"signed_in" doc:"Whether the asker may see anything."`
		Name      string   `json:"name,omitempty" doc:"Of the account."`
		Workspace string   `json:"workspace,omitempty"`
		Role      api.Role `json:"role,omitempty" enum:"owner,editor,viewer" doc:"Absent with a link."`
		GarmentID string   `json:"garment_id,omitempty" doc:"The one garment that a link shows."`
	}
}

type signInInput struct {
	Body struct {
		Name   string `json:"name" maxLength:"200" doc:"Of the account; may be empty with a token."`
		Secret string `json:"secret" maxLength:"400" doc:"Password or token."`
	}
}

type ginKey struct{}

func (s *service) sessionRoutes(h huma.API) {
	route(s, h, op("GET", sessionPath, "get-session", "Who asks, and what he may do", 200), s.getSession)
	in := op("POST", sessionPath, "sign-in", "Sign in; the answer sets a cookie", 200, 400, 404, 422)
	in.Middlewares = huma.Middlewares{withGin}
	route(s, h, in, s.signIn)
	out := op("DELETE", sessionPath, "sign-out", "Sign out, or put away a link", 204)
	out.Middlewares = huma.Middlewares{withGin}
	route(s, h, out, s.signOut)
}

// withGin hands the request to a handler that sets cookies.
func withGin(h huma.Context, next func(huma.Context)) {
	next(huma.WithValue(h, ginKey{}, humagin.Unwrap(h)))
}

func ginOf(ctx context.Context) *gin.Context {
	c, _ := ctx.Value(ginKey{}).(*gin.Context)
	return c
}

func (s *service) getSession(ctx context.Context, _ *struct{}) (*sessionAnswer, error) {
	accounts, err := s.hasAccounts(ctx)
	if err != nil {
		return nil, err
	}
	return sessionOf(accounts, callerOf(ctx)), nil
}

func sessionOf(accounts bool, who *caller) *sessionAnswer {
	out := &sessionAnswer{}
	out.Body.Accounts = accounts
	if who != nil {
		out.Body.SignedIn, out.Body.Name, out.Body.Role = true, who.name, who.role
		out.Body.Workspace, out.Body.GarmentID = who.scope.Workspace, who.scope.Garment
	}
	if out.Body.GarmentID != "" {
		out.Body.Workspace = "" // a link says nothing of the house
	}
	return out
}

// signIn lets an account in with its password or one of its tokens.
func (s *service) signIn(ctx context.Context, in *signInInput) (*sessionAnswer, error) {
	accounts, err := s.hasAccounts(ctx)
	if err != nil {
		return nil, err
	}
	c := ginOf(ctx)
	if !accounts {
		return nil, &api.Error{Code: api.CodeNotFound, Message: "There are no accounts here.", Remedy: "Nobody needs to sign in."}
	}
	if !s.tries.allow(s.peer(c.Request)) {
		return nil, &api.Error{Code: api.CodeTooFast, RetryAfter: time.Second, Message: "There were too many tries.", Remedy: "Wait a moment and try again."}
	}
	a, err := s.accountFor(ctx, strings.TrimSpace(in.Body.Name), in.Body.Secret)
	if err != nil {
		return nil, err
	}
	return s.letIn(c, a)
}

// letIn begins a session of an account.
func (s *service) letIn(c *gin.Context, a *api.Account) (*sessionAnswer, error) {
	secret := people.NewSecret()
	if err := s.People.Grant(c.Request.Context(), a.ID, people.Digest(secret), time.Now().Add(api.AccessLife)); err != nil {
		return nil, err
	}
	// Lax: who follows a link to the service from elsewhere is signed in all the same.
	s.setCookie(c, sessionCookie, secret, int(api.AccessLife.Seconds()), http.SameSiteLaxMode)
	s.setCookie(c, linkCookie, "", -1, http.SameSiteLaxMode)
	return sessionOf(true, &caller{scope: api.Scope{Workspace: a.Workspace}, role: a.Role, name: a.Name}), nil
}

// accountFor returns the account that a name and a secret belong to. It says the same,
// after the same time, of a name that is not known and of a wrong secret.
func (s *service) accountFor(ctx context.Context, name, secret string) (*api.Account, error) {
	a, err := s.People.Granted(ctx, people.Digest(secret))
	if err == nil && (name == "" || a.Name == name) {
		return a, nil
	}
	if err != nil && api.CodeOf(err) != api.CodeNotFound {
		return nil, err
	}
	select {
	case s.hashing <- struct{}{}:
		defer func() { <-s.hashing }()
	case <-ctx.Done():
		return nil, ctx.Err()
	}
	a, err = s.People.Account(ctx, name)
	if err != nil && api.CodeOf(err) != api.CodeNotFound {
		return nil, err
	}
	password := ""
	if err == nil {
		password = a.Password
	}
	if people.IsPassword(secret, password) {
		return a, nil
	}
	return nil, &api.Error{Code: api.CodeSignIn, Message: "This name and password do not belong together.", Remedy: "Try again; whoever runs the service can give you a new token."}
}

func (s *service) signOut(ctx context.Context, _ *struct{}) (*none, error) {
	c := ginOf(ctx)
	if cookie, err := c.Request.Cookie(sessionCookie); err == nil && s.People != nil {
		if err := s.People.Revoke(ctx, people.Digest(cookie.Value)); err != nil {
			return nil, err
		}
	}
	s.setCookie(c, sessionCookie, "", -1, http.SameSiteLaxMode)
	s.setCookie(c, linkCookie, "", -1, http.SameSiteLaxMode)
	return &none{}, nil
}

// peer is the device that a request comes from: behind the proxy, what that says.
func (s *service) peer(r *http.Request) netip.Addr {
	at, err := netip.ParseAddrPort(r.RemoteAddr)
	if err != nil {
		return netip.Addr{}
	}
	peer := at.Addr().Unmap().WithZone("")
	if s.Public == nil || !peer.IsLoopback() && !peer.IsPrivate() {
		return peer
	}
	all := strings.Split(r.Header.Get("X-Forwarded-For"), ",")
	if said, err := netip.ParseAddr(strings.TrimSpace(all[len(all)-1])); err == nil {
		return said.Unmap().WithZone("")
	}
	return peer
}
