package rest

import (
	"bytes"
	_ "embed" // the page's template and style
	"fmt"
	"html/template"
	"maps"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/gin-gonic/gin"
)

// docsPolicy lets the page of the interface load its style and nothing else.
const docsPolicy = "default-src 'none'; style-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'"

//go:embed docs.css
var docsStyle []byte

//go:embed docs.html
var docsText string

var docsPage = template.Must(template.New("docs").Parse(docsText))

// docsRoutes serves the OpenAPI document as a page to read. It is made once, when
// all operations are known, and needs no script.
func (s *service) docsRoutes(e *gin.Engine) {
	var page bytes.Buffer
	if err := docsPage.Execute(&page, readable(s.openAPI)); err != nil {
		panic(err) // template and document are part of the program
	}
	for path, file := range map[string]struct {
		kind string
		data []byte
	}{
		"/docs":     {fileTypes[".html"], page.Bytes()},
		"/docs.css": {fileTypes[".css"], docsStyle},
	} {
		tag := contentTag(file.data)
		e.GET(Base+path, func(c *gin.Context) {
			c.Header("Content-Security-Policy", docsPolicy)
			sendFile(c, file.kind, tag, file.data)
		})
	}
}

// The page's view of the document.
type (
	docsView struct {
		Title, Description string
		Groups             []docsGroup
		Schemas            []docsSchema
	}
	docsGroup struct {
		Name       string
		Operations []docsOperation
	}
	docsOperation struct {
		ID, Method, Path, Summary, Description string
		Parameters                             []docsField
		Bodies, Answers                        []docsBody
	}
	// docsBody is what is sent or answered: its media types, what is in it, and when.
	docsBody struct {
		Status, Kinds, Description string
		Type                       docsType
	}
	docsField struct {
		Name, In, Description, Bounds string
		Required                      bool
		Type                          docsType
	}
	docsSchema struct {
		Name, Description string
		Type              docsType
		Fields            []docsField
	}
	// docsType is a type in words, the last of which may be the Name of a schema.
	docsType struct{ Words, Name string }
)

// readable puts the document into the order that it is read in: by what the
// paths begin with, and there as the paths sort.
func readable(doc *huma.OpenAPI) docsView {
	view := docsView{Title: doc.Info.Title, Description: doc.Info.Description}
	for _, path := range slices.Sorted(maps.Keys(doc.Paths)) {
		name := strings.Split(strings.Trim(path, "/"), "/")[0]
		if n := len(view.Groups); n == 0 || view.Groups[n-1].Name != name {
			view.Groups = append(view.Groups, docsGroup{Name: name})
		}
		g := &view.Groups[len(view.Groups)-1]
		item := doc.Paths[path]
		for _, o := range []*huma.Operation{item.Get, item.Post, item.Put, item.Patch, item.Delete} {
			if o != nil {
				g.Operations = append(g.Operations, readableOperation(o, path))
			}
		}
	}
	schemas := doc.Components.Schemas.Map()
	for _, name := range slices.Sorted(maps.Keys(schemas)) {
		s := schemas[name]
		view.Schemas = append(view.Schemas, docsSchema{name, s.Description, typeOf(s), fieldsOf(s)})
	}
	return view
}

func readableOperation(o *huma.Operation, path string) docsOperation {
	out := docsOperation{ID: o.OperationID, Method: o.Method, Path: Base + path, Summary: o.Summary, Description: o.Description}
	for _, p := range o.Parameters {
		out.Parameters = append(out.Parameters, docsField{p.Name, p.In, p.Description, boundsOf(p.Schema), p.Required, typeOf(p.Schema)})
	}
	if o.RequestBody != nil {
		out.Bodies = bodies("", o.RequestBody.Description, o.RequestBody.Content)
	}
	for _, status := range slices.Sorted(maps.Keys(o.Responses)) {
		out.Answers = append(out.Answers, bodies(status, o.Responses[status].Description, o.Responses[status].Content)...)
	}
	return out
}

// bodies lists contents by what is in them.
func bodies(status, description string, contents map[string]*huma.MediaType) []docsBody {
	if len(contents) == 0 {
		return []docsBody{{Status: status, Description: description}}
	}
	var out []docsBody
	for _, kind := range slices.Sorted(maps.Keys(contents)) {
		is := typeOf(contents[kind].Schema)
		if n := len(out); n > 0 && out[n-1].Type == is {
			out[n-1].Kinds += ", " + kind
			continue
		}
		out = append(out, docsBody{status, kind, description, is})
	}
	return out
}

func fieldsOf(s *huma.Schema) []docsField {
	var out []docsField
	for _, name := range slices.Sorted(maps.Keys(s.Properties)) {
		p := s.Properties[name]
		out = append(out, docsField{Name: name, Description: p.Description, Bounds: boundsOf(p), Required: slices.Contains(s.Required, name), Type: typeOf(p)})
	}
	return out
}

func typeOf(s *huma.Schema) docsType {
	switch {
	case s == nil:
		return docsType{}
	case s.Ref != "":
		return docsType{Name: s.Ref[strings.LastIndex(s.Ref, "/")+1:]}
	case s.Type == huma.TypeArray && s.Items != nil:
		of := typeOf(s.Items)
		return docsType{strings.TrimSpace("list of " + of.Words), of.Name}
	case s.Format != "":
		return docsType{Words: s.Type + " (" + s.Format + ")"}
	case s.Type == "":
		return docsType{Words: "anything"}
	}
	return docsType{Words: s.Type}
}

// boundsOf says what a value must keep to.
func boundsOf(s *huma.Schema) string {
	if s == nil {
		return ""
	}
	var said []string
	if len(s.Enum) > 0 {
		said = append(said, fmt.Sprintf("one of %q", s.Enum))
	}
	if s.Default != nil {
		said = append(said, fmt.Sprintf("default %v", s.Default))
	}
	for _, n := range []struct {
		words string
		value *int
	}{{"at least %d items", s.MinItems}, {"at most %d items", s.MaxItems}, {"at least %d characters", s.MinLength}, {"at most %d characters", s.MaxLength}} {
		if n.value != nil {
			said = append(said, fmt.Sprintf(n.words, *n.value))
		}
	}
	for _, n := range []struct {
		words string
		value *float64
	}{{"at least %v", s.Minimum}, {"more than %v", s.ExclusiveMinimum}, {"at most %v", s.Maximum}, {"less than %v", s.ExclusiveMaximum}} {
		if n.value != nil {
			said = append(said, fmt.Sprintf(n.words, *n.value))
		}
	}
	return strings.Join(said, ", ")
}
