// Package web carries the page. What lies in app and vendor is the source, plain ES
// modules and styles; it is sent as one script and one style, each with a map by which
// the browser's tools show a reader the source as it is in the repository.
package web

import (
	"embed"
	"io/fs"
	"sync"
)

//go:embed index.html app vendor
var source embed.FS

// Files returns the page's files by their names: index.html and what it needs. A name
// below built holds a hash of the content, so whoever has the file need never ask for it
// again; NAME.gz is NAME compressed. They are made when first asked for, and are always
// the same; the error is one in the source.
var Files = sync.OnceValues(func() (map[string][]byte, error) { return Build(source) })

// Source returns the page's files as they lie in the repository.
func Source() fs.FS { return source }
