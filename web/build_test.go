package web

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
)

// maxPage is what page, script and style may take as they are sent, in bytes.
const maxPage = 150 << 10

func TestPageIsSmall(t *testing.T) {
	files := made(t)
	total := len(files["index.html"])
	for name, data := range files {
		if path.Ext(name) == ".gz" {
			t.Logf("%s: %.1f KiB", name, float64(len(data))/1024)
			total += len(data)
		}
	}
	if total > maxPage {
		t.Errorf("the page takes %d bytes compressed, at most %d are allowed", total, maxPage)
	}
}

// The page names one script and one style of its own, no other host, and holds nothing
// inline, which its content security policy would refuse.
func TestPageNamesWhatItNeeds(t *testing.T) {
	files := made(t)
	page := string(files["index.html"])
	for _, pattern := range []string{`<script[^>]* src="/(built/main-\w{8}\.js)"></script>`, `<link rel="stylesheet" href="/(built/page-\w{8}\.css)">`} {
		m := regexp.MustCompile(pattern).FindAllStringSubmatch(page, -1)
		if len(m) != 1 || files[m[0][1]] == nil {
			t.Errorf("%s: %q", pattern, m)
		}
	}
	if bad := regexp.MustCompile(`https?://|<script[^>]*>[^<]|<style|\son\w+=|\sstyle=`).FindString(page); bad != "" {
		t.Errorf("the page holds %q:\n%s", bad, page)
	}
	for _, m := range regexp.MustCompile(`(?:src|href)="/([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if files[m[1]] == nil {
			t.Errorf("the page names %s, which is not there", m[1])
		}
	}
}

// The maps hold every module and style of the repository as it is, and each built file
// names its map: nothing is left out of the page, and nobody reads the small names.
func TestMapsShowTheSource(t *testing.T) {
	shown := map[string]string{}
	for name, data := range made(t) {
		if path.Ext(name) != ".map" {
			continue
		}
		if built := made(t)[strings.TrimSuffix(name, ".map")]; !bytes.Contains(built, []byte("# sourceMappingURL="+path.Base(name))) {
			t.Errorf("%s is named by no file", name)
		}
		var m struct{ Sources, SourcesContent []string }
		if err := json.Unmarshal(data, &m); err != nil {
			t.Fatal(err)
		}
		for i, s := range m.Sources {
			shown[strings.TrimPrefix(s, "secondcut:")] = m.SourcesContent[i]
		}
	}
	for _, folder := range []string{"app", "vendor"} {
		err := fs.WalkDir(os.DirFS("."), folder, func(name string, d fs.DirEntry, err error) error {
			if ext := path.Ext(name); err != nil || ext != ".js" && ext != ".css" {
				return err
			}
			kept, err := os.ReadFile(name)
			// What does nothing but import, and what is not used, leaves no trace in a map.
			if text, ok := shown[name]; ok && text != string(kept) {
				t.Errorf("%s is shown as something else", name)
			} else if !ok && name != "app/style/page.css" && name != "vendor/htm.js" {
				t.Errorf("%s is in no map: does anything import it?", name)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

func TestCompressedFilesHoldTheSame(t *testing.T) {
	seen := 0
	for name, data := range made(t) {
		plain, ok := strings.CutSuffix(name, ".gz")
		if !ok {
			continue
		}
		seen++
		z, err := gzip.NewReader(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		if text, err := io.ReadAll(z); err != nil || !bytes.Equal(text, made(t)[plain]) {
			t.Errorf("%s holds something else: %v", name, err)
		}
	}
	if seen != 2 {
		t.Errorf("%d compressed files, want script and style", seen)
	}
}

// Names that are kept for good must not depend on anything but the source.
func TestBuildGivesTheSameAgain(t *testing.T) {
	again, err := Build(source)
	if err != nil {
		t.Fatal(err)
	}
	if !maps.EqualFunc(again, made(t), bytes.Equal) {
		t.Error("the same source gives two pages")
	}
}

// An error in the source is named with its place, and nothing is made.
func TestBuildNamesTheFault(t *testing.T) {
	sound := map[string]string{
		"index.html":         `<link href="/app/style/page.css"><script src="/app/main.js">`,
		"app/main.js":        `import { a } from "./a.js"; a();`,
		"app/a.js":           `export const a = () => {};`,
		"app/style/page.css": `@import "./base.css";`,
		"app/style/base.css": `p { margin: 0 }`,
	}
	for _, name := range asTheyAre {
		sound[name] = "as it is"
	}
	for _, c := range []struct{ name, file, text, want string }{
		{"as it should be", "app/a.js", `export const a = () => 1;`, ""},
		{"no script", "app/a.js", "const = 1;", "app/a.js:1: "},
		{"missing module", "app/main.js", `import "./b.js";`, "app/main.js:1: "},
		{"missing name", "app/a.js", `export const b = 1;`, `No matching export`},
		{"no style", "app/style/base.css", "p { margin 0 }", "app/style/base.css:1: "},
		{"unnamed", "index.html", `<script src="/app/main.js">`, "index.html does not name app/style/page.css"},
	} {
		t.Run(c.name, func(t *testing.T) {
			source := fstest.MapFS{}
			for name, text := range sound {
				source[name] = &fstest.MapFile{Data: []byte(text)}
			}
			source[c.file] = &fstest.MapFile{Data: []byte(c.text)}
			files, err := Build(source)
			if c.want == "" && err != nil || c.want != "" && (err == nil || files != nil || !strings.Contains(err.Error(), c.want)) {
				t.Errorf("error %v, %d files, want %q", err, len(files), c.want)
			}
		})
	}
}

func BenchmarkBuild(b *testing.B) {
	for b.Loop() {
		if _, err := Build(source); err != nil {
			b.Fatal(err)
		}
	}
}

func made(t *testing.T) map[string][]byte {
	t.Helper()
	files, err := Files()
	if err != nil {
		t.Fatal(err)
	}
	return files
}
