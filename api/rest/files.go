package rest

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"secondcut/api"
)

// fileTypes are named here, since the system's table differs from one machine to
// the next and a module of the wrong type does not run.
var fileTypes = map[string]string{
	".css":         "text/css; charset=utf-8",
	".html":        "text/html; charset=utf-8",
	".js":          "text/javascript; charset=utf-8",
	".json":        "application/json",
	".png":         "image/png",
	".svg":         "image/svg+xml",
	".webmanifest": "application/manifest+json",
	".woff2":       "font/woff2",
	".txt":         "text/plain; charset=utf-8",
}

// serveFile answers with a file of the page. A tag made from the content lets
// the browser ask whether its copy is still good.
func (s *service) serveFile(c *gin.Context) {
	name := strings.TrimPrefix(path.Clean(c.Request.URL.Path), "/")
	if name == "" {
		name = "index.html"
	}
	kind := fileTypes[path.Ext(name)]
	get := c.Request.Method == http.MethodGet || c.Request.Method == http.MethodHead
	if s.Files == nil || kind == "" || !get || strings.HasPrefix(c.Request.URL.Path, "/api/") {
		s.refuse(c, api.NotFound("page"))
		return
	}
	data, err := fs.ReadFile(s.Files, name)
	if err != nil {
		s.refuse(c, api.NotFound("page"))
		return
	}
	if path.Ext(name) == ".html" {
		c.Header("Content-Security-Policy", pagePolicy(data))
	}
	sendFile(c, kind, contentTag(data), data)
}

// sendFile answers with a file, or that the asker's copy is still good.
func sendFile(c *gin.Context, kind, tag string, data []byte) {
	c.Header("Content-Type", kind)
	c.Header("Cache-Control", "no-cache")
	c.Header("ETag", tag)
	c.Status(http.StatusOK)
	http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(data))
}

// importMap finds the one inline script of the page, which has to be inline.
var importMap = regexp.MustCompile(`(?s)<script\s+type="importmap"\s*>(.*?)</script>`)

// pagePolicy is the page's content security policy: its own files only, and the
// import map by its hash.
func pagePolicy(html []byte) string {
	scripts := "'self'"
	for _, m := range importMap.FindAllSubmatch(html, -1) {
		sum := sha256.Sum256(m[1])
		scripts += " 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
	}
	return "default-src 'none'; script-src " + scripts + "; style-src 'self'; img-src 'self' blob: data:; " +
		"connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; " +
		"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
}
