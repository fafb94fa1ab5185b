package drawing_test

import (
	"bytes"
	"errors"
	"os"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/drawing"
	"secondcut/geometry/pattern"
	"secondcut/vision"
)

func smock(t *testing.T) pattern.Garment {
	t.Helper()
	f, err := os.Open("../../testdata/garments/lamplighter-smock.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	g, err := pattern.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func source(t *testing.T, g pattern.Garment) []byte {
	t.Helper()
	data, err := drawing.Source(g)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// Of a source the same is drawn as of the garment, time after time.
func TestSourceGivesTheSameFile(t *testing.T) {
	g := smock(t)
	for _, form := range []string{"svg", "pdf", "png"} {
		e := api.Export{Format: form, Paper: "letter", Unit: "in", Unfold: true}
		want, err := drawing.Draw(g.Name, g, e)
		if err != nil || len(want) == 0 {
			t.Fatalf("%s: %d bytes, %v", form, len(want), err)
		}
		for range 2 {
			got, err := drawing.Drawer{}.Draw(t.Context(), source(t, g), e)
			if err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s: another file of %d bytes, %v", form, len(got), err)
			}
		}
	}
}

func TestWhatCannotBeDrawn(t *testing.T) {
	g := smock(t)
	for name, tt := range map[string]struct {
		e    api.Export
		says string
	}{
		"no such sheet":   {api.Export{Format: "pdf", Paper: "a4", Tiles: []string{"Z99"}}, "Z99"},
		"no such paper":   {api.Export{Format: "pdf", Paper: "b5"}, "b5"},
		"no such printer": {api.Export{Format: "pdf", Paper: "a4", Print: api.Print{UpMM: 100}}, "200 mm"},
		"no such form":    {api.Export{Format: "doc", Paper: "a4"}, "doc"},
	} {
		_, err := drawing.Drawer{}.Draw(t.Context(), source(t, g), tt.e)
		if r, ok := errors.AsType[*vision.Refusal](err); !ok || !strings.Contains(r.Message, tt.says) || r.Remedy == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := (drawing.Drawer{}).Draw(t.Context(), []byte("{"), api.Export{Format: "svg", Paper: "a4"}); err == nil {
		t.Error("half a source was drawn")
	}
}
