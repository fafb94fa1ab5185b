package sheet_test

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"secondcut/geometry/export"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/measure"
	"secondcut/geometry/sheet"
)

// A set holds every page of each garment in order, and its list says on which they are.
func TestSetOfGarments(t *testing.T) {
	g, m := making(t)
	before, err := sheet.DrawMaking(g, m, measure.Millimetre, sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	alone, err := sheet.Draw("Smock", smock(t), sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	parts := []sheet.SetPart{{Title: "Smock", Pieces: smock(t), Before: before.Pages}, {Title: "Second smock", Pieces: smock(t)}}
	d, err := sheet.DrawSet("", parts, sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	first := 1 + len(before.Pages) + len(alone.Pages)
	if want := first + len(alone.Pages); len(d.Pages) != want || d.Title != "Smock" {
		t.Fatalf("%d pages of %q, want %d", len(d.Pages), d.Title, want)
	}
	var b bytes.Buffer
	if err := export.WritePDF(&b, d); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(exporttest.Text(t, exporttest.File(t, b.Bytes()))), " ")
	for _, words := range []string{
		fmt.Sprintf("Smock 6 pieces 2 to %d", first), fmt.Sprintf("Second smock 6 pieces %d to %d", first+1, len(d.Pages)), "making sheet · page 1 of",
	} {
		if !strings.Contains(text, words) {
			t.Errorf("%q is not in the file", words)
		}
	}
	if _, err := sheet.DrawSet("", parts, sheet.Options{Tiles: []string{"B2"}}); !errors.Is(err, sheet.ErrNoTile) {
		t.Errorf("single tiles: %v", err)
	}
	if _, err := sheet.DrawSet("", nil, sheet.Options{}); !errors.Is(err, sheet.ErrNoPiece) {
		t.Errorf("nothing: %v", err)
	}
	if one, err := sheet.DrawSet("Both", parts[1:], sheet.Options{Paper: sheet.One}); err != nil || len(one.Pages) != 2 {
		t.Errorf("on one large page: %d pages, %v", len(one.Pages), err)
	}
}
