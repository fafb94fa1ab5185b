package pattern_test

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"secondcut/geometry/pattern"
)

// noise is a JPEG that says as much as one can.
func noise(t *testing.T, w, h, quality int) []byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	r := rand.New(rand.NewPCG(1, 2))
	for i := range img.Pix {
		img.Pix[i] = uint8(r.Uint32())
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: quality}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A photo of a cloth goes through a file to the byte, and the schema knows it.
func TestSwatchInAFile(t *testing.T) {
	g := full(t)
	picture := noise(t, 40, 30, 85)
	name := pattern.SwatchName(picture)
	g.Cloths[0].Swatch, g.Swatches = name, pattern.Swatches{name: picture}
	data := written(t, g)
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	if err := compiled(t).Validate(doc); err != nil {
		t.Errorf("a written file breaks the schema: %v", err)
	}
	got, err := pattern.Read(bytes.NewReader(data))
	if err != nil || !bytes.Equal(got.Swatches[name], picture) || got.Cloths[0].Swatch != name {
		t.Errorf("read: %v, %d bytes of %q", err, len(got.Swatches[name]), got.Cloths[0].Swatch)
	}
	if !bytes.Equal(written(t, got), data) {
		t.Error("reading and writing changed the file")
	}
	g.Swatches = nil // a file may travel without its pictures
	if err := g.Validate(); err != nil {
		t.Errorf("without the picture: %v", err)
	}
}

// The largest picture that is made is one that may be kept: noise at the quality that
// photos are kept in, and more.
func TestSwatchBoundsHoldNoise(t *testing.T) {
	for _, quality := range []int{85, 92} {
		if n := len(noise(t, pattern.MaxSwatchPx, pattern.MaxSwatchPx, quality)); n > pattern.MaxSwatchBytes {
			t.Errorf("noise at quality %d takes %d bytes of %d", quality, n, pattern.MaxSwatchBytes)
		}
	}
}

func TestBadSwatchesAreNamed(t *testing.T) {
	var drawn bytes.Buffer
	if err := png.Encode(&drawn, image.NewGray(image.Rect(0, 0, 4, 4))); err != nil {
		t.Fatal(err)
	}
	good := noise(t, 8, 8, 85)
	named := func(p []byte) pattern.Swatches { return pattern.Swatches{pattern.SwatchName(p): p} }
	many := pattern.Swatches{}
	for i := range pattern.MaxSwatches + 1 {
		p := noise(t, 8, 8+i, 85)
		many[pattern.SwatchName(p)] = p
	}
	for what, c := range map[string]struct {
		swatches pattern.Swatches
		name     string
		says     string
	}{
		"another picture": {pattern.Swatches{strings.Repeat("a", 64): good}, "", "not the picture"},
		"a PNG":           {named(drawn.Bytes()), "", "no JPEG"},
		"nothing":         {named(nil), "", "no JPEG"},
		"too wide":        {named(noise(t, pattern.MaxSwatchPx+1, 8, 85)), "", "pixels"},
		"too heavy":       {named(append(bytes.Clone(good), make([]byte, pattern.MaxSwatchBytes)...)), "", "bytes"},
		"too many":        {many, "", "there may be"},
		"a path":          {nil, "../../etc/passwd", "SHA-256"},
		"capitals":        {nil, strings.Repeat("A", 64), "SHA-256"},
		"short":           {nil, strings.Repeat("a", 62), "SHA-256"},
	} {
		g := full(t)
		g.Swatches, g.Cloths[0].Swatch = c.swatches, c.name
		if err := g.Validate(); !errors.Is(err, pattern.ErrInvalid) || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "swatch") {
			t.Errorf("%s: %v; want ErrInvalid with %q", what, err, c.says)
		}
	}
}
