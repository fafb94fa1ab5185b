package rest

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humagin"
	"github.com/gin-gonic/gin"
	"github.com/skip2/go-qrcode"

	"secondcut/api"
)

// Pairing holds the one-time link that lets a phone in. When it is used, a new
// one takes its place.
type Pairing struct {
	base string
	used func(next string)
	mu   sync.Mutex
	code string
}

// NewPairing returns a Pairing for the service that phones reach under base,
// such as http://192.168.1.20:8080. used, which may be nil, is told the next
// link whenever one was used.
func NewPairing(base string, used func(next string)) *Pairing {
	return &Pairing{base: strings.TrimSuffix(base, "/"), used: used, code: rand.Text()}
}

// URL returns the present link.
func (p *Pairing) URL() string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.base + "/pair/" + p.code
}

// Terminal returns the present link as a QR code drawn with half blocks.
func (p *Pairing) Terminal() (string, error) {
	q, err := qrcode.New(p.URL(), qrcode.Medium)
	if err != nil {
		return "", fmt.Errorf("drawing the code: %w", err)
	}
	return q.ToSmallString(false), nil
}

// use spends the code; false when it is not the present one.
func (p *Pairing) use(code string) bool {
	p.mu.Lock()
	ok := subtle.ConstantTimeCompare([]byte(code), []byte(p.code)) == 1
	if ok {
		p.code = rand.Text()
	}
	p.mu.Unlock()
	if ok && p.used != nil {
		p.used(p.URL())
	}
	return ok
}

// svg draws a QR code with a quiet zone of four modules (ISO/IEC 18004), black
// on white whatever the page's colours are.
func svg(content string) (string, error) {
	q, err := qrcode.New(content, qrcode.Medium)
	if err != nil {
		return "", fmt.Errorf("drawing the code: %w", err)
	}
	rows := q.Bitmap()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" shape-rendering="crispEdges"><path fill="#fff" d="M0 0h%dv%dH0z"/><path fill="#000" d="`,
		len(rows), len(rows), len(rows), len(rows))
	for y, row := range rows {
		for x, dark := range row {
			if dark {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x, y)
			}
		}
	}
	b.WriteString(`"/></svg>`)
	return b.String(), nil
}

const (
	pairPath      = "/pair/:token"
	sessionCookie = "secondcut_session"
	sessionLife   = 90 * 24 * time.Hour
)

// session is the digest by which a device's session is known: another token of the
// service ends the sessions of the one before.
func (s *service) session(secret string) string {
	if s.Token == "" {
		return digest(secret)
	}
	return digest(secret + " " + s.Token)
}

func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

func (s *service) signedIn(r *http.Request) (bool, error) {
	cookie, err := r.Cookie(sessionCookie)
	if err != nil || s.Pairing == nil && s.Token == "" {
		return false, nil
	}
	return s.Store.HasSession(r.Context(), s.session(cookie.Value))
}

// isToken reports whether a secret is the service's token.
func (s *service) isToken(secret string) bool {
	return s.Token != "" && subtle.ConstantTimeCompare([]byte(digest(secret)), []byte(digest(s.Token))) == 1
}

// hasToken reports whether a request carries the token (RFC 6750, section 2.1).
func (s *service) hasToken(r *http.Request) bool {
	secret, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	return ok && s.isToken(secret)
}

// pair lets the device in that brings the present link.
func (s *service) pair(c *gin.Context) {
	accounts, err := s.hasAccounts(c.Request.Context())
	if err != nil {
		s.refuse(c, err)
		return
	}
	if accounts || !s.isToken(c.Param("token")) && (s.Pairing == nil || !s.Pairing.use(c.Param("token"))) {
		if strings.Contains(c.GetHeader("Accept"), "text/html") {
			c.Data(http.StatusGone, "text/html; charset=utf-8", []byte(usedPage))
			return
		}
		s.refuse(c, &api.Error{Code: api.CodeLinkUsed, Message: "This link has been used already, or is not known.", Remedy: "Scan the code on the computer again."})
		return
	}
	secret := rand.Text() + rand.Text()
	if err := s.Store.AddSession(c.Request.Context(), s.session(secret)); err != nil {
		s.refuse(c, err)
		return
	}
	s.setCookie(c, sessionCookie, secret, int(sessionLife.Seconds()), http.SameSiteStrictMode)
	c.Redirect(http.StatusSeeOther, "/")
}

// The two pages that a phone may meet before it is let in; they need no script.
const (
	signInPage = `<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>Secondcut</title>
<h1>This device has not been let in</h1><p>Scan the code that Secondcut shows on the computer.</p></html>`
	usedPage = `<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>Secondcut</title>
<h1>This link has been used already</h1><p>Scan the code on the computer again: it shows a new one.</p></html>`
)

type lanAnswer struct {
	Body struct {
		Enabled bool   `json:"enabled" doc:"Whether phones on the same network can be let in."`
		URL     string `json:"url,omitempty" doc:"The present one-time link."`
		QRSVG   string `json:"qr_svg,omitempty" doc:"The link as a QR code."`
	}
}

func (s *service) lanRoutes(h huma.API) {
	o := op("GET", "/lan", "get-lan", "The link that lets a phone in; shown to this machine itself only", 200)
	// A link would let one phone invite the next: it is for the computer's screen.
	type own struct{}
	o.Middlewares = huma.Middlewares{func(h huma.Context, next func(huma.Context)) {
		next(huma.WithValue(h, own{}, s.local(humagin.Unwrap(h).Request) && !s.people.Load()))
	}}
	route(s, h, o, func(ctx context.Context, _ *struct{}) (*lanAnswer, error) {
		out := &lanAnswer{}
		if isOwn, _ := ctx.Value(own{}).(bool); !isOwn || s.Pairing == nil {
			return out, nil
		}
		out.Body.Enabled, out.Body.URL = true, s.Pairing.URL()
		var err error
		out.Body.QRSVG, err = svg(out.Body.URL)
		return out, err
	})
}
