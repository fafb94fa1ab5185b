package rest

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"secondcut/api"
)

type requestKey struct{}

// requestID returns the id that the log gives to the request of ctx.
func requestID(ctx context.Context) string {
	id, _ := ctx.Value(requestKey{}).(string)
	return id
}

// identify gives the request an id, by which a problem is found in the log.
func (s *service) identify(c *gin.Context) {
	id := uuid.NewString()
	c.Header("X-Request-Id", id)
	c.Request = c.Request.WithContext(context.WithValue(c.Request.Context(), requestKey{}, id))
}

// observe logs one line a request: the route, not the address, name or content.
func (s *service) observe(c *gin.Context) {
	start := time.Now()
	c.Next()
	route := c.FullPath()
	if route == "" {
		route = "file"
	}
	method := knownMethod(c.Request.Method)
	s.metrics.observe(method, route, c.Writer.Status(), time.Since(start))
	s.log.InfoContext(c.Request.Context(), "request", "request", requestID(c.Request.Context()), "method", method,
		"route", route, "status", c.Writer.Status(), "ms", time.Since(start).Milliseconds())
}

// knownMethod is the method of a request. What is no method of the interface is one
// word to the log and the metrics: the client chooses it.
func knownMethod(method string) string {
	switch method {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete:
		return method
	}
	return "other"
}

// recover answers a panic with a problem.
func (s *service) recover(c *gin.Context) {
	defer func() {
		if v := recover(); v != nil && v != http.ErrAbortHandler {
			s.refuse(c, fmt.Errorf("panic: %v\n%s", v, debug.Stack()))
		}
	}()
	c.Next()
}

// answerTimeout is how long a slow client may take to receive an answer, after
// it has taken its time to send the request.
const answerTimeout = uploadTimeout + 5*time.Minute

// secure sets the headers that every answer carries. What is not the page may
// load and run nothing.
func (s *service) secure(c *gin.Context) {
	_ = http.NewResponseController(c.Writer).SetWriteDeadline(time.Now().Add(answerTimeout))
	for name, value := range map[string]string{
		"Content-Security-Policy":      "default-src 'none'; frame-ancestors 'none'",
		"X-Content-Type-Options":       "nosniff",
		"Referrer-Policy":              "no-referrer",
		"Cross-Origin-Opener-Policy":   "same-origin",
		"Cross-Origin-Resource-Policy": "same-origin",
		"Cache-Control":                "no-store",
	} {
		c.Header(name, value)
	}
}

// guardHost refuses requests under a foreign name: a page elsewhere whose name
// was made to point here (DNS rebinding) would otherwise count as our own.
func (s *service) guardHost(c *gin.Context) {
	if s.ourHost(c.Request.Host) {
		return
	}
	s.refuse(c, &api.Error{
		Code:    api.CodeWrongHost,
		Message: "Secondcut does not answer under this name.",
		Remedy:  "Use the address that it printed when it was started, such as http://127.0.0.1:8080.",
	})
}

func (s *service) ourHost(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.Trim(host, "[]")
	if strings.EqualFold(host, "localhost") {
		return true
	}
	if s.Public != nil && strings.EqualFold(host, s.Public.Hostname()) {
		return true
	}
	addr, err := netip.ParseAddr(host)
	if err != nil {
		return false
	}
	if addr.Unmap().IsLoopback() {
		return true
	}
	for _, ours := range s.Hosts {
		if addr.Unmap() == ours.Unmap() {
			return true
		}
	}
	return false
}

// guardOrigin refuses changes that a page elsewhere asks for.
func (s *service) guardOrigin(c *gin.Context) {
	if s.cross.Check(c.Request) == nil {
		return
	}
	s.refuse(c, &api.Error{
		Code:    api.CodeForbidden,
		Message: "The request comes from another page.",
		Remedy:  "Use Secondcut's own page.",
	})
}

// local reports whether the request comes from this machine, or from one that
// may be taken for it.
func (s *service) local(r *http.Request) bool {
	if s.TrustPeers {
		return true
	}
	peer, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && peer.Addr().Unmap().IsLoopback()
}

// guardPeer lets in who is known, and notes who it is and how far he reaches.
func (s *service) guardPeer(c *gin.Context) {
	who, err := s.whoAsks(c.Request)
	if err != nil {
		s.refuse(c, err)
		return
	}
	if who != nil {
		c.Request = c.Request.WithContext(who.into(c.Request.Context()))
		return
	}
	accounts, err := s.hasAccounts(c.Request.Context())
	if err != nil {
		s.refuse(c, err)
		return
	}
	if forAll(c, accounts) {
		return
	}
	if strings.Contains(c.GetHeader("Accept"), "text/html") && !accounts {
		c.Data(http.StatusUnauthorized, "text/html; charset=utf-8", []byte(signInPage))
		c.Abort()
		return
	}
	remedy := "Scan the code that Secondcut shows on the computer."
	if accounts {
		remedy = "Sign in with your account."
	}
	s.refuse(c, &api.Error{Code: api.CodeSignIn, Message: "This device has not been let in.", Remedy: remedy})
}

// forAll reports whether a request is for what anybody may ask for: the ways in, and,
// where people sign in on the page, the page itself, which holds nothing of theirs.
func forAll(c *gin.Context, accounts bool) bool {
	switch c.FullPath() {
	case pairPath, sharePath:
		return true
	case Base + sessionPath, "/healthz", "/readyz":
		return accounts
	case "":
		return accounts && !strings.HasPrefix(c.Request.URL.Path, "/api/")
	}
	return false
}

// guardOwn answers whoever runs the service alone.
func (s *service) guardOwn(c *gin.Context) {
	if who := callerOf(c.Request.Context()); who != nil && who.operator && !s.TrustPeers || s.hasToken(c.Request) {
		return
	}
	s.refuse(c, &api.Error{
		Code:    api.CodeForbidden,
		Message: "This is shown to the machine itself only.",
		Remedy:  "Ask for it there, under 127.0.0.1.",
	})
}

// guardLength refuses a body at once that says it is too large.
func (s *service) guardLength(c *gin.Context) {
	limit := s.Limits.FileBytes()
	if c.FullPath() == Base+archivePath {
		limit = s.Room.archive()
	}
	if c.Request.ContentLength > limit {
		c.Header("Connection", "close")
		s.refuse(c, &api.Error{
			Code:    api.CodeTooManyBytes,
			Message: fmt.Sprintf("What was sent is larger than %d MB.", limit>>20),
			Remedy:  "Take the photo with the phone's normal setting, or save it as JPEG.",
		})
	}
}
