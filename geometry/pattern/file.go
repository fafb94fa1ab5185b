package pattern

import (
	"bytes"
	"cmp"
	_ "embed" // the schema is a file, so that others can read it too
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"regexp"
	"strings"
)

// Errors of reading.
var (
	// ErrNotGarment says that what was read is no garment file at all.
	ErrNotGarment = errors.New("this is not a garment file")
	// ErrVersion says that the file is of a version that this program cannot
	// read.
	ErrVersion = errors.New("this garment file is of a version that this program cannot read")
)

// maxFileBytes bounds a garment file: 64 MB.
const maxFileBytes = 64 << 20

//go:embed garment.schema.json
var schema []byte

// Schema returns the JSON Schema (draft 2020-12) of the garment file.
func Schema() []byte { return bytes.Clone(schema) }

// Read reads a garment file of at most 64 MB. It fails with ErrNotGarment,
// ErrVersion or ErrInvalid, or when r fails. A field that this version does not
// know is an error: writing the file again would lose it.
func Read(r io.Reader) (Garment, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxFileBytes+1))
	if err != nil {
		return Garment{}, err
	}
	if len(data) > maxFileBytes {
		return Garment{}, fmt.Errorf("%w: it is larger than %d MB", ErrNotGarment, maxFileBytes>>20)
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff")) // some editors put a mark before UTF-8
	var head struct {
		Format string `json:"format"`
	}
	if err := json.Unmarshal(data, &head); err != nil {
		return Garment{}, fmt.Errorf("%w: %s", ErrNotGarment, plainly(data, err))
	}
	if !strings.HasPrefix(head.Format, "secondcut-garment/") {
		return Garment{}, fmt.Errorf("%w: its format is %q", ErrNotGarment, head.Format)
	}
	if head.Format != Format {
		return Garment{}, fmt.Errorf("%w: it is %s, and this program reads %s; a newer program may read it", ErrVersion, head.Format, Format)
	}
	var g Garment
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&g); err != nil {
		return Garment{}, misfit(data, err)
	}
	return g, g.Validate()
}

// misfit names the value of a garment file that is of the wrong kind, or that has a
// name which there is not.
func misfit(data []byte, err error) error {
	var kind *json.UnmarshalTypeError
	if errors.As(err, &kind) {
		field := placeOf(data, func(_ string, end int64) bool { return end >= kind.Offset })
		if which, ok := strings.CutPrefix(kind.Value, "number "); ok && kind.Type.Kind() == reflect.Float64 {
			return wrong(field, "is %s, which is beyond all numbers (line %d)", which, lineOf(data, kind.Offset))
		}
		return wrong(field, "is %s, where %s belongs (line %d)", article(kind.Value), belongs(kind.Type), lineOf(data, kind.Offset))
	}
	var at int64
	if field := placeOf(data, func(path string, end int64) bool { at = end; return !known(path) }); field != "" {
		return wrong(field, "is not known (line %d): is it spelt rightly, and in its place? A newer program may know it", lineOf(data, at))
	}
	return fmt.Errorf("%w: %s", ErrInvalid, strings.TrimPrefix(err.Error(), "json: "))
}

// plainly says what is wrong with text that is not JSON, and in which line.
func plainly(data []byte, err error) string {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		line := fmt.Sprintf("line %d cannot be read (%v)", lineOf(data, syntax.Offset), syntax)
		if field := placeOf(data, func(string, int64) bool { return false }); field != "" {
			return field + " in " + line
		}
		return line
	}
	return strings.TrimPrefix(err.Error(), "json: ")
}

// lineOf returns the number of the line, from 1, that holds a byte.
func lineOf(data []byte, offset int64) int {
	return 1 + bytes.Count(data[:min(max(offset, 0), int64(len(data)))], []byte("\n"))
}

// belongs says what JSON value a Go type is read from.
func belongs(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Slice, reflect.Array:
		return "a list"
	case reflect.String:
		return "a text"
	case reflect.Bool:
		return "true or false"
	case reflect.Float64:
		return "a number"
	case reflect.Int:
		return "a whole number"
	}
	return "an object"
}

// article puts the kind of a JSON value into words.
func article(value string) string {
	switch kind, which, _ := strings.Cut(value, " "); kind {
	case "object":
		return "an object"
	case "array":
		return "a list"
	case "string":
		return "a text"
	case "bool":
		return "true or false"
	case "number":
		return cmp.Or(which, "a number") // one that is too large, or no whole one
	}
	return value
}

// Write writes a garment file, indented, the same bytes for the same garment. It
// fails with ErrInvalid, or when w fails; then nothing, or not all, is written.
func Write(w io.Writer, g Garment) error {
	if err := g.Validate(); err != nil {
		return err
	}
	data, err := json.MarshalIndent(g, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(onOneLine(data), '\n'))
	return err
}

// onOneLine joins each point, which indenting spreads over four lines. A text
// holds no raw line break, so that none is touched.
func onOneLine(data []byte) []byte {
	return regexp.MustCompile(`\[\n\s+([-\d.e+]+),\n\s+([-\d.e+]+)\n\s+\]`).ReplaceAll(data, []byte("[$1, $2]"))
}

// DraftFormat names the version of the drafted garment that WriteDraft writes.
const DraftFormat = "secondcut-draft/1"

// WriteDraft writes drafted pieces as JSON, indented, the same bytes for the same
// pieces: {"format", "name", "pieces"}, each piece as [Drafted].
func WriteDraft(w io.Writer, name string, pieces []Drafted) error {
	data, err := json.MarshalIndent(struct {
		Format string    `json:"format"`
		Name   string    `json:"name"`
		Pieces []Drafted `json:"pieces"`
	}{DraftFormat, name, pieces}, "", " ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(onOneLine(data), '\n'))
	return err
}
