// Package intake takes in patterns that other programs wrote: DXF and SVG.
package intake

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"secondcut/geometry/export/dxf"
	"secondcut/geometry/interchange"
	"secondcut/geometry/interchange/svg"
)

// ErrForm says that a file is neither DXF nor SVG.
var ErrForm = errors.New("this is neither a DXF nor an SVG file")

// Options of reading.
type Options struct {
	// TallMM is how tall the largest piece of an SVG is, in mm; 0 = as the file says.
	TallMM float64
}

// Takes reports whether a file of this name is taken in.
func Takes(name string) bool {
	ext := strings.ToLower(filepath.Ext(name))
	return ext == ".dxf" || ext == ".svg"
}

// Read reads a pattern, in the form that its content shows. It fails with ErrForm and the
// errors of packages dxf and svg.
func Read(data []byte, opt Options) (interchange.Pattern, error) {
	head := bytes.TrimSpace(data[:min(len(data), 4096)])
	head = bytes.TrimSpace(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")))
	switch {
	case bytes.HasPrefix(head, []byte("<")):
		return svg.Read(bytes.NewReader(data), svg.Options{TallMM: opt.TallMM})
	case bytes.HasPrefix(head, []byte("0")) || bytes.HasPrefix(head, []byte("999")):
		return dxf.Read(bytes.NewReader(data))
	}
	return interchange.Pattern{}, fmt.Errorf("intake: %w", ErrForm)
}

// Remedy returns what to do about an error of Read, in the person's words.
func Remedy(err error) string {
	switch {
	case errors.Is(err, svg.ErrNoUnit):
		return "Say how tall its largest piece is, from its lowest to its highest point."
	case errors.Is(err, svg.ErrNoPiece), errors.Is(err, dxf.ErrNoPiece):
		return "Close the outlines in the program that drew them, and name the layer of the lines to cut CUT-LINE."
	case errors.Is(err, svg.ErrTooLarge), errors.Is(err, dxf.ErrTooLarge):
		return "Save the pieces alone, without pictures, or in several files."
	}
	return "Save the pattern as DXF in text form (ASTM or plain), or as SVG with its size in mm."
}
