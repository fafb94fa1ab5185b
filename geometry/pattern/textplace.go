package pattern

import (
	"bytes"
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
)

// level is an object or list that a JSON text is in the middle of.
type level struct {
	list bool
	n    int    // entry of the list
	key  string // field of the object
	open bool   // its value is to come
}

// placeOf returns the path, such as pieces[0].edges[2].knot, of the first value of a
// JSON text for which found is true, given its path and the byte after it (after its
// bracket, for an object or list). Where the text cannot be read further, it is the
// path of what cannot be read; "" where all can be and nothing is found.
func placeOf(data []byte, found func(path string, end int64) bool) string {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	var in []level
	for {
		token, err := dec.Token()
		if err != nil {
			if len(in) == 0 {
				return ""
			}
			return pathOf(in)
		}
		if token == json.Delim('}') || token == json.Delim(']') {
			in = in[:len(in)-1]
			in = next(in)
			continue
		}
		if top := len(in) - 1; top >= 0 && !in[top].list && !in[top].open {
			in[top].key, in[top].open = token.(string), true
			continue
		}
		if path := pathOf(in); path != "" && found(path, dec.InputOffset()) {
			return path
		}
		switch token {
		case json.Delim('{'):
			in = append(in, level{})
		case json.Delim('['):
			in = append(in, level{list: true})
		default:
			in = next(in)
		}
	}
}

// next goes on to the next entry or field of the innermost level.
func next(in []level) []level {
	if top := len(in) - 1; top >= 0 {
		in[top].n++
		in[top].open = false
	}
	return in
}

func pathOf(in []level) string {
	var b strings.Builder
	for _, l := range in {
		switch {
		case l.list:
			fmt.Fprintf(&b, "[%d]", l.n)
		case b.Len() > 0:
			b.WriteString("." + l.key)
		default:
			b.WriteString(l.key)
		}
	}
	return b.String()
}

// known reports whether a garment file has a value at a path.
func known(path string) bool {
	t := reflect.TypeFor[Garment]()
	for part := range strings.SplitSeq(path, ".") {
		name, index, _ := strings.Cut(part, "[")
		if reflect.PointerTo(t).Implements(reflect.TypeFor[json.Unmarshaler]()) || t.Kind() != reflect.Struct {
			return true // it reads itself
		}
		field, ok := fieldNamed(t, name)
		if !ok {
			return false
		}
		for t = field.Type; t.Kind() == reflect.Pointer || index != "" && t.Kind() == reflect.Slice; t = t.Elem() {
			if t.Kind() == reflect.Slice {
				_, index, _ = strings.Cut(index, "[")
			}
		}
	}
	return true
}

// fieldNamed returns the field of a struct that is read from a name.
func fieldNamed(t reflect.Type, name string) (reflect.StructField, bool) {
	return t.FieldByNameFunc(func(goName string) bool {
		f, _ := t.FieldByName(goName)
		tag, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		return strings.EqualFold(tag, name)
	})
}
