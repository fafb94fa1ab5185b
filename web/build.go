package web

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	esbuild "github.com/evanw/esbuild/pkg/api"
)

// outside are the modules that are not the page's own; only this table knows where they
// lie.
var outside = map[string]string{
	"preact":               "vendor/preact.js",
	"preact/hooks":         "vendor/preact-hooks.js",
	"htm":                  "vendor/htm.js",
	"@preact/signals":      "vendor/signals.js",
	"@preact/signals-core": "vendor/signals-core.js",
}

// asTheyAre are the files that are sent as they lie in the repository.
var asTheyAre = []string{"app/secondcut.webmanifest", "app/style/sign.svg", "app/style/sign-192.png", "app/style/sign-512.png"}

// Build makes the page of its source: index.html with the two files that it names
// replaced by what is made of each and of all that it imports. See [Files] for what it
// returns; the error names the file and line that is at fault.
func Build(source fs.FS) (map[string][]byte, error) {
	files := map[string][]byte{}
	for _, name := range asTheyAre {
		data, err := fs.ReadFile(source, name)
		if err != nil {
			return nil, err
		}
		files[name] = data
	}
	page, err := fs.ReadFile(source, "index.html")
	if err != nil {
		return nil, err
	}
	for _, entry := range []string{"app/main.js", "app/style/page.css"} {
		made, err := bundle(source, entry)
		if err != nil {
			return nil, err
		}
		for _, f := range made {
			name := strings.TrimPrefix(f.Path, "/")
			files[name] = f.Contents
			if path.Ext(name) == ".map" {
				continue
			}
			if files[name+".gz"], err = compressed(f.Contents); err != nil {
				return nil, err
			}
			if !bytes.Contains(page, []byte(`"/`+entry+`"`)) {
				return nil, fmt.Errorf("index.html does not name %s", entry)
			}
			page = bytes.ReplaceAll(page, []byte(`"/`+entry+`"`), []byte(`"/`+name+`"`))
		}
	}
	files["index.html"] = page
	return files, nil
}

// bundle makes one file of an entry and of all that it imports, and the map of it.
func bundle(source fs.FS, entry string) ([]esbuild.OutputFile, error) {
	made := esbuild.Build(esbuild.BuildOptions{
		EntryPoints: []string{entry}, Bundle: true, Outdir: "/", EntryNames: "built/[name]-[hash]",
		Format: esbuild.FormatESModule, Target: esbuild.ES2022, Charset: esbuild.CharsetUTF8,
		MinifyWhitespace: true, MinifyIdentifiers: true, MinifySyntax: true,
		Sourcemap: esbuild.SourceMapLinked, SourcesContent: esbuild.SourcesContentInclude,
		Plugins: []esbuild.Plugin{reading(source)},
	})
	errs := make([]error, 0, len(made.Errors))
	for _, m := range append(made.Errors, made.Warnings...) {
		at := ""
		if m.Location != nil {
			at = fmt.Sprintf("%s:%d: ", m.Location.File, m.Location.Line)
		}
		errs = append(errs, errors.New(at+m.Text))
	}
	return made.OutputFiles, errors.Join(errs...)
}

// reading lets the bundler read from the given files and from nowhere else.
func reading(source fs.FS) esbuild.Plugin {
	return esbuild.Plugin{Name: "source", Setup: func(b esbuild.PluginBuild) {
		b.OnResolve(esbuild.OnResolveOptions{Filter: ".*"}, func(a esbuild.OnResolveArgs) (esbuild.OnResolveResult, error) {
			name := a.Path
			if file, ok := outside[name]; ok {
				name = file
			} else if strings.HasPrefix(name, ".") {
				name = path.Join(path.Dir(a.Importer), name)
			}
			return esbuild.OnResolveResult{Path: name, Namespace: "secondcut"}, nil
		})
		b.OnLoad(esbuild.OnLoadOptions{Filter: ".*", Namespace: "secondcut"}, func(a esbuild.OnLoadArgs) (esbuild.OnLoadResult, error) {
			data, err := fs.ReadFile(source, a.Path)
			text, loader := string(data), esbuild.LoaderJS
			if path.Ext(a.Path) == ".css" {
				loader = esbuild.LoaderCSS
			}
			return esbuild.OnLoadResult{Contents: &text, Loader: loader}, err
		})
	}}
}

// compressed returns data in gzip, as small as it gets: it is done once and sent often.
func compressed(data []byte) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(data); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}
