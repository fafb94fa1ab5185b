// Package web carries the page: plain ES modules, styles and the few outside
// modules that they use, all as they lie in the repository. Only the comments of
// the page's own files stay behind, which are a third of what would be sent.
package web

import (
	"bytes"
	"embed"
	"io/fs"
	"regexp"
	"strings"
)

//go:embed index.html app vendor
var files embed.FS

// FS returns the page's files: index.html at the root, the page's own modules
// and styles under app, the outside modules under vendor.
func FS() fs.FS { return page{files} }

// page gives out the embedded files, the page's own without their comments.
type page struct{ embed.FS }

// ReadFile returns a file as it is sent. Lines keep their numbers.
func (p page) ReadFile(name string) ([]byte, error) {
	data, err := p.FS.ReadFile(name)
	if err != nil || !strings.HasPrefix(name, "app/") {
		return data, err
	}
	switch {
	case strings.HasSuffix(name, ".js"):
		return lineComment.ReplaceAll(withoutBlocks(data, docComment), nil), nil
	case strings.HasSuffix(name, ".css"):
		return withoutBlocks(data, cssComment), nil
	}
	return data, nil
}

// The page's modules write comments in two ways only: whole lines, and blocks that
// begin with two stars, which no string or pattern of theirs contains.
var (
	lineComment = regexp.MustCompile(`(?m)^[ \t]*//.*$`)
	docComment  = regexp.MustCompile(`(?s)/\*\*.*?\*/ ?`)
	cssComment  = regexp.MustCompile(`(?s)/\*.*?\*/`)
)

// withoutBlocks leaves the line ends of comments, so that an error in the browser
// names the line of the repository.
func withoutBlocks(data []byte, comment *regexp.Regexp) []byte {
	return comment.ReplaceAllFunc(data, func(c []byte) []byte { return bytes.Repeat([]byte("\n"), bytes.Count(c, []byte("\n"))) })
}
