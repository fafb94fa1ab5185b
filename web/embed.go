// Package web carries the page: plain ES modules, styles and the few outside
// modules that they use, all as they lie in the repository.
package web

import (
	"embed"
	"io/fs"
)

//go:embed index.html app vendor
var files embed.FS

// FS returns the page's files: index.html at the root, the page's own modules
// and styles under app, the outside modules under vendor.
func FS() fs.FS { return files }
