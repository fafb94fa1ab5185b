package rest

import (
	"bytes"
	"net/http"
	"path"
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
	".map":         "application/json",
	".png":         "image/png",
	".svg":         "image/svg+xml",
	".webmanifest": "application/manifest+json",
	".woff2":       "font/woff2",
	".txt":         "text/plain; charset=utf-8",
}

// serveFile answers with a file of the page.
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
	files, err := s.Files()
	if err != nil {
		s.refuse(c, err)
		return
	}
	data, ok := files[name]
	if !ok {
		s.refuse(c, api.NotFound("page"))
		return
	}
	if path.Ext(name) == ".html" {
		c.Header("Content-Security-Policy", pagePolicy)
	}
	if small, ok := files[name+".gz"]; ok {
		c.Header("Vary", "Accept-Encoding")
		if c.GetHeader("Range") == "" && acceptsGzip(c.GetHeader("Accept-Encoding")) {
			c.Header("Content-Encoding", "gzip")
			data = small
		}
	}
	if strings.HasPrefix(name, "built/") {
		sendKept(c, kind, "public, max-age=31536000, immutable", contentTag(data), data)
		return
	}
	sendFile(c, kind, contentTag(data), data)
}

// sendFile answers with a file, or that the asker's copy is still good.
func sendFile(c *gin.Context, kind, tag string, data []byte) {
	sendKept(c, kind, "no-cache", tag, data)
}

// sendKept is sendFile, saying for how long the asker need not ask again.
func sendKept(c *gin.Context, kind, keep, tag string, data []byte) {
	c.Header("Content-Type", kind)
	c.Header("Cache-Control", keep)
	c.Header("ETag", tag)
	c.Status(http.StatusOK)
	http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(data))
}

// pagePolicy is the page's content security policy: its own files only, and nothing
// inline.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; " +
	"connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
