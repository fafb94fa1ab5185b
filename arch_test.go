// Package secondcut_test holds the rules that span the whole tree: which
// package may import which, what must be documented, what must not be written.
package secondcut_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const module = "secondcut"

// rule says what the packages below a folder may import besides the standard
// library. The rule with the longest matching folder holds.
type rule struct {
	folder  string
	allowed []string // import path prefixes; "*" allows all
	reason  string
}

var rules = []rule{
	{
		"geometry",
		[]string{"secondcut/geometry", "gonum.org/v1/gonum"},
		"the geometry must run anywhere, without cgo, photos or HTTP",
	},
	{
		"geometry/export",
		[]string{"secondcut/geometry", "gonum.org/v1/gonum", "codeberg.org/go-pdf/fpdf", "github.com/tdewolff/canvas", "github.com/go-fonts/", "golang.org/x/image", "golang.org/x/text"},
		"export writes files, so it may draw; it still knows neither photos nor HTTP",
	},
	{
		"geometry/sheet",
		[]string{"secondcut/geometry", "gonum.org/v1/gonum", "codeberg.org/go-pdf/fpdf", "github.com/tdewolff/canvas", "github.com/go-fonts/", "golang.org/x/image", "golang.org/x/text"},
		"sheet lays drawings on paper; it still knows neither photos nor HTTP",
	},
	{
		"vision",
		[]string{"secondcut/geometry", "secondcut/vision", "gonum.org/v1/gonum", "github.com/bep/imagemeta", "github.com/gen2brain/heic", "golang.org/x/image", "golang.org/x/sync"},
		"vision knows photos and geometry, not the service or the page",
	},
	{
		"api",
		[]string{"secondcut/geometry", "secondcut/vision", "secondcut/api", "*"},
		"the service must not depend on a command or on the page",
	},
	{"web", []string{"github.com/evanw/esbuild"}, "the page is files only: it talks to the service over HTTP"},
	{"cmd", []string{"*"}, "commands wire everything together"},
}

// only lists libraries that one part of the tree alone may import.
var only = []struct {
	library, folder, reason string
}{
	{"github.com/gin-gonic/gin", "api/rest", "HTTP stays in one package"},
	{"github.com/evanw/esbuild", "web", "only the page is bundled"},
	{"github.com/danielgtaylor/huma", "api/rest", "HTTP stays in one package"},
	{"github.com/riverqueue/river", "api/jobs", "the queue's library stays behind the job interface"},
	{"gocloud.dev", "api/store", "where bytes lie is the store's affair"},
	{"C", "vision/internal", "C and C++ stay behind small shims that hand out plain Go values"},
}

// nounsOnly are the packages that hold a vocabulary: all below import them, so
// they must import none of what is below.
var nounsOnly = []string{"geometry", "vision", "api"}

func TestImports(t *testing.T) {
	eachGoFile(t, parser.ImportsOnly, func(file string, f *ast.File) {
		// Tests may look the other way: the leaks of a whole trace are counted in
		// vision, where alone the counter can be read.
		if strings.HasSuffix(file, "_test.go") {
			return
		}
		dir := path.Dir(file)
		for _, spec := range f.Imports {
			imp, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if why := forbidden(dir, imp); why != "" {
				t.Errorf("%s imports %q: %s", file, imp, why)
			}
		}
	})
}

// forbidden returns why a package in dir must not import imp, or "".
func forbidden(dir, imp string) string {
	for _, o := range only {
		if below(imp, o.library) && !below(dir, o.folder) {
			return "only " + o.folder + " may: " + o.reason
		}
	}
	for _, noun := range nounsOnly {
		// A shim below internal knows none of our types, so it is no step.
		if dir == noun && strings.HasPrefix(imp, module+"/"+noun+"/") && !strings.Contains(imp, "/internal/") {
			return noun + " holds the nouns and imports none of its sub-packages"
		}
	}
	if below(imp, module+"/cmd") || (below(imp, module+"/web") && !below(dir, "cmd")) {
		return "nothing may but cmd: arrows go one way"
	}
	if !isOurs(imp) && isStandard(imp) {
		return ""
	}
	r, ok := ruleFor(dir)
	if !ok {
		return "there is no rule for " + dir + ": say in arch_test.go what it may import"
	}
	for _, a := range r.allowed {
		if below(imp, strings.TrimSuffix(a, "/")) || strings.HasSuffix(a, "/") && strings.HasPrefix(imp, a) || a == "*" && (!isOurs(imp) || r.folder == "cmd") {
			return ""
		}
	}
	return r.reason
}

func ruleFor(dir string) (best rule, ok bool) {
	for _, r := range rules {
		if below(dir, r.folder) && len(r.folder) >= len(best.folder) {
			best, ok = r, true
		}
	}
	return best, ok
}

// The rules themselves must be able to fail.
func TestForbidden(t *testing.T) {
	for _, c := range []struct {
		dir, imp string
		bad      bool
	}{
		{"geometry/fit", "secondcut/geometry", false},
		{"geometry/fit", "gonum.org/v1/gonum/mat", false},
		{"geometry/fit", "secondcut/vision", true},
		{"geometry/fit", "codeberg.org/go-pdf/fpdf", true},
		{"geometry/export", "codeberg.org/go-pdf/fpdf", false},
		{"geometry", "secondcut/geometry/fit", true},
		{"vision/calib", "secondcut/api", true},
		{"vision/calib", "github.com/gin-gonic/gin", true},
		{"vision/calib", "C", true},
		{"vision/internal/cv", "C", false},
		{"api/store", "secondcut/web", true},
		{"api/store", "modernc.org/sqlite", false},
		{"api/store", "github.com/gin-gonic/gin", true},
		{"api/rest", "github.com/gin-gonic/gin", false},
		{"api", "secondcut/api/store", true},
		{"web", "secondcut/api", true},
		{"web", "embed", false},
		{"cmd/secondcut", "secondcut/web", false},
		{"elsewhere", "github.com/google/uuid", true},
	} {
		if why := forbidden(c.dir, c.imp); (why != "") != c.bad {
			t.Errorf("%s importing %s: %q, want forbidden %v", c.dir, c.imp, why, c.bad)
		}
	}
}

// The published packages explain every name: units, frames, errors, sources.
func TestExportedNamesAreDocumented(t *testing.T) {
	eachGoFile(t, parser.ParseComments|parser.SkipObjectResolution, func(file string, f *ast.File) {
		if strings.HasSuffix(file, "_test.go") || !below(file, "geometry") && !below(file, "vision") {
			return
		}
		for _, d := range f.Decls {
			for _, name := range undocumented(d) {
				t.Errorf("%s: %s has no doc comment", file, name)
			}
		}
	})
}

// undocumented returns the exported names that a declaration introduces without
// a comment on itself or on its group.
func undocumented(d ast.Decl) (names []string) {
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Name.IsExported() && d.Doc == nil && exportedReceiver(d) {
			names = append(names, d.Name.Name)
		}
	case *ast.GenDecl:
		for _, s := range d.Specs {
			switch s := s.(type) {
			case *ast.TypeSpec:
				if s.Name.IsExported() && s.Doc == nil && d.Doc == nil {
					names = append(names, s.Name.Name)
				}
			case *ast.ValueSpec:
				for _, n := range s.Names {
					if n.IsExported() && s.Doc == nil && s.Comment == nil && d.Doc == nil {
						names = append(names, n.Name)
					}
				}
			}
		}
	}
	return names
}

func exportedReceiver(d *ast.FuncDecl) bool {
	if d.Recv == nil || len(d.Recv.List) == 0 {
		return true
	}
	t := d.Recv.List[0].Type
	if star, ok := t.(*ast.StarExpr); ok {
		t = star.X
	}
	id, ok := t.(*ast.Ident)
	return !ok || id.IsExported()
}

// unwanted are words that no file may hold; each is split here so that this
// file does not hold it either. except names the files where it is right.
var unwanted = []struct {
	word, reason string
	except       []string
}{
	{"TO" + "DO", "finish it or leave it out", nil},
	{"FIX" + "ME", "fix it", nil},
	{"not imple" + "mented", "what is offered must work", nil},
	{"../sha" + "red", "the project needs no folder outside itself", nil},
	{"/wo" + "rk/", "a path of one machine", nil},
	{"/ro" + "ot/", "a path of one machine", nil},
	{"/t" + "mp/", "tests use t.TempDir, programs os.TempDir", nil},
	{" mark" + "er", "in the cutting room that is a lay plan; say scale card, tag or lay plan", nil},
	{"design" + ".md", "explain it here: DEVELOPERS.md is the guide", nil},
	{"style" + ".md", "explain it here: DEVELOPERS.md is the guide", nil},
}

func TestUnwantedWords(t *testing.T) {
	eachFile(t, func(file string) {
		switch path.Ext(file) {
		case ".go", ".js", ".ts", ".css", ".html", ".json", ".md", ".cpp", ".h", ".sh", ".yml", ".conf", ".sql", ".txt", ".txtar", "":
		default:
			return
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(text), "\n") {
			for _, u := range unwanted {
				if strings.Contains(line, u.word) && !slices.Contains(u.except, file) {
					t.Errorf("%s:%d holds %q: %s", file, i+1, u.word, u.reason)
				}
			}
		}
	})
}

func eachGoFile(t *testing.T, mode parser.Mode, visit func(file string, f *ast.File)) {
	t.Helper()
	seen := 0
	fset := token.NewFileSet()
	eachFile(t, func(file string) {
		if path.Ext(file) != ".go" {
			return
		}
		f, err := parser.ParseFile(fset, file, nil, mode)
		if err != nil {
			t.Errorf("%s: %v", file, err)
			return
		}
		seen++
		visit(file, f)
	})
	if seen == 0 {
		t.Error("no Go files found: this test checked nothing")
	}
}

// eachFile visits the project's own text, with slashes, from the root: not what
// is installed, built or taken over from others.
func eachFile(t *testing.T, visit func(file string)) {
	t.Helper()
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() && p != "." {
			switch {
			case name == "node_modules", name == "vendor", name == "bin", name == "data", p == filepath.Join("testdata", "compose"),
				strings.HasPrefix(name, ".") && name != ".ci":
				return filepath.SkipDir
			}
			return nil
		}
		if !d.IsDir() && name != "LICENSE" {
			visit(filepath.ToSlash(p))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// below reports whether name is prefix or lies in it.
func below(name, prefix string) bool {
	return name == prefix || strings.HasPrefix(name, prefix+"/")
}

func isOurs(imp string) bool { return below(imp, module) }

// isStandard: the standard library's paths have no dot in their first element.
func isStandard(imp string) bool {
	first, _, _ := strings.Cut(imp, "/")
	return !strings.Contains(first, ".")
}

// Links from the guides to files of the tree lead somewhere.
func TestLinks(t *testing.T) {
	link := regexp.MustCompile(`\]\(([^)#:]+)\)`)
	checked := 0
	for _, file := range []string{"README.md", "DEVELOPERS.md", "testdata/README.md"} {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range link.FindAllStringSubmatch(string(text), -1) {
			checked++
			if _, err := os.Stat(filepath.Join(filepath.Dir(file), m[1])); err != nil {
				t.Errorf("%s links to %s, which is not there", file, m[1])
			}
		}
	}
	if checked == 0 {
		t.Error("no links found: this test checked nothing")
	}
}
