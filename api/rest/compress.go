package rest

import (
	"compress/gzip"
	"io"
	"mime"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"

	"github.com/gin-gonic/gin"
)

// compressible are the types that become clearly smaller. Pictures and PDF are
// compressed already; an event must not wait in a buffer for the next.
var compressible = []string{
	"application/json", "application/manifest+json", "application/problem+json", "application/openapi+json",
	"image/svg+xml", "text/css", "text/html", "text/javascript",
}

const (
	// compressFrom is the length in bytes from which an answer is compressed: a
	// shorter one fits a packet anyway.
	compressFrom = 1400
	// gzipMark ends the entity tag of a compressed answer, whose bytes are not
	// those of the plain one (RFC 9110, section 8.8.3.3).
	gzipMark = "-gzip"
)

// compress answers in gzip where the client takes it and it is worth it. Tags
// that come back lose their mark, so that handlers know one tag for one version.
func (s *service) compress(c *gin.Context) {
	marked := unmark(c.Request.Header, "If-None-Match")
	unmark(c.Request.Header, "If-Match")
	if !acceptsGzip(c.GetHeader("Accept-Encoding")) || c.GetHeader("Range") != "" {
		c.Next()
		return
	}
	w := &gzipWriter{ResponseWriter: c.Writer, pool: &s.gzips, marked: marked}
	c.Writer = w
	c.Next()
	if err := w.finish(); err != nil {
		s.log.DebugContext(c.Request.Context(), "an answer broke off", "request", requestID(c.Request.Context()), "error", err)
	}
	c.Writer = w.ResponseWriter
}

// unmark takes the mark off the tags in a header; true when there was one.
func unmark(h http.Header, name string) bool {
	old := h.Get(name)
	plain := strings.ReplaceAll(old, gzipMark+`"`, `"`)
	if plain == old {
		return false
	}
	h.Set(name, plain)
	return true
}

// acceptsGzip reads an Accept-Encoding header (RFC 9110, section 12.5.3).
func acceptsGzip(header string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, params, _ := strings.Cut(part, ";")
		if name = strings.TrimSpace(name); !strings.EqualFold(name, "gzip") && name != "*" {
			continue
		}
		weight, has := strings.CutPrefix(strings.ToLower(strings.TrimSpace(params)), "q=")
		q, err := strconv.ParseFloat(weight, 64)
		return !has || err == nil && q > 0
	}
	return false
}

// gzipWriter holds the beginning of an answer back until it is clear whether the
// answer is worth compressing.
type gzipWriter struct {
	gin.ResponseWriter
	pool   *sync.Pool
	marked bool // the client asked by the tag of a compressed answer
	held   []byte
	plain  bool
	gz     *gzip.Writer
}

// Unwrap gives http.ResponseController the writer below.
func (w *gzipWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// Written reports whether the handler has begun to answer, if only into the
// buffer.
func (w *gzipWriter) Written() bool { return len(w.held) > 0 || w.ResponseWriter.Written() }

// WriteString writes text.
func (w *gzipWriter) WriteString(text string) (int, error) { return w.Write([]byte(text)) }

// Write compresses, passes on, or holds back.
func (w *gzipWriter) Write(data []byte) (int, error) {
	switch {
	case w.gz != nil:
		return w.gz.Write(data)
	case w.plain:
		return w.ResponseWriter.Write(data)
	case !w.fits():
		return len(data), w.release(data)
	}
	w.held = append(w.held, data...)
	if len(w.held) < compressFrom {
		return len(data), nil
	}
	return len(data), w.begin()
}

// fits reports whether the answer, as its header stands, may be compressed.
func (w *gzipWriter) fits() bool {
	h := w.Header()
	kind, _, _ := mime.ParseMediaType(h.Get("Content-Type"))
	if h.Get("Content-Encoding") != "" || !slices.Contains(compressible, kind) {
		return false
	}
	if h.Get("Vary") == "" {
		h.Set("Vary", "Accept-Encoding")
	}
	return true
}

func (w *gzipWriter) begin() error {
	h := w.Header()
	h.Del("Content-Length")
	h.Del("Accept-Ranges")
	h.Set("Content-Encoding", "gzip")
	w.mark()
	w.gz, _ = w.pool.Get().(*gzip.Writer)
	if w.gz == nil {
		// The fastest level: most of the gain, at a fraction of a picture's cost.
		w.gz, _ = gzip.NewWriterLevel(io.Discard, gzip.BestSpeed)
	}
	w.gz.Reset(w.ResponseWriter)
	_, err := w.gz.Write(w.held)
	return err
}

// mark marks the answer's tag.
func (w *gzipWriter) mark() {
	if tag, ok := strings.CutSuffix(w.Header().Get("ETag"), `"`); ok {
		w.Header().Set("ETag", tag+gzipMark+`"`)
	}
}

// release writes what was held back, and data after it, as they are.
func (w *gzipWriter) release(data []byte) error {
	w.plain = true
	if all := append(w.held, data...); len(all) > 0 {
		_, err := w.ResponseWriter.Write(all)
		return err
	}
	return nil
}

// Flush sends what there is.
func (w *gzipWriter) Flush() {
	switch {
	case w.gz != nil:
		_ = w.gz.Flush() // a broken connection shows at the next write
	case !w.plain:
		_ = w.release(nil)
	}
	w.ResponseWriter.Flush()
}

func (w *gzipWriter) finish() error {
	if w.gz != nil {
		err := w.gz.Close()
		w.gz.Reset(io.Discard)
		w.pool.Put(w.gz)
		return err
	}
	if w.marked && w.Status() == http.StatusNotModified {
		w.mark() // it is the compressed answer that has not changed
	}
	if w.plain {
		return nil
	}
	return w.release(nil)
}
