package main

import (
	"fmt"
	"os"

	"golang.org/x/term"

	"secondcut/api/pipeline"
)

// newProgress returns a progress function that keeps one line on a terminal up
// to date, and a function that clears it. Where f is no terminal both do
// nothing, so that pipes and logs stay clean.
func newProgress(f *os.File) (func(pipeline.Step), func()) {
	if !term.IsTerminal(int(f.Fd())) {
		return nil, func() {}
	}
	show := func(s pipeline.Step) { fmt.Fprintf(f, "\r\x1b[K%d/%d %s ...", s.Index, s.Count, s.Text) }
	return show, func() { fmt.Fprint(f, "\r\x1b[K") }
}
