package web_test

import (
	"bytes"
	"io/fs"
	"os"
	"strings"
	"testing"

	"secondcut/web"
)

// Files are sent with as many lines as they have, without comments, and else
// unchanged.
func TestFilesAreSentWithoutComments(t *testing.T) {
	seen := 0
	err := fs.WalkDir(web.FS(), "app", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".js") && !strings.HasSuffix(name, ".css") {
			return err
		}
		seen++
		sent, err := fs.ReadFile(web.FS(), name)
		if err != nil {
			return err
		}
		kept, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		if a, b := bytes.Count(sent, []byte("\n")), bytes.Count(kept, []byte("\n")); a != b {
			t.Errorf("%s is sent with %d lines and has %d", name, a, b)
		}
		if bytes.Contains(sent, []byte("/**")) || bytes.Contains(sent, []byte("@param")) || strings.HasSuffix(name, ".css") && bytes.Contains(sent, []byte("/*")) {
			t.Errorf("%s is sent with a comment", name)
		}
		lines := strings.Split(string(kept), "\n")
		for i, line := range strings.Split(string(sent), "\n") {
			if line = strings.TrimSpace(line); line != "" && !strings.Contains(lines[i], line[max(len(line)-3, 0):]) {
				t.Errorf("%s:%d is sent as %q", name, i+1, line)
			}
		}
		return nil
	})
	if err != nil || seen < 50 {
		t.Errorf("%d files seen: %v", seen, err)
	}
}

func TestOutsideModulesAreSentAsTheyAre(t *testing.T) {
	for _, name := range []string{"index.html", "vendor/preact.js", "app/style/sign.svg"} {
		sent, err := fs.ReadFile(web.FS(), name)
		if err != nil {
			t.Fatal(err)
		}
		if kept, err := os.ReadFile(name); err != nil || !bytes.Equal(sent, kept) {
			t.Errorf("%s is changed: %v", name, err)
		}
	}
}
