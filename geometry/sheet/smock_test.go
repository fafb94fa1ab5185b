package sheet_test

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/pattern"
	"secondcut/geometry/sheet"
)

// smock returns the pieces of the demo garment, drafted.
func smock(t testing.TB) []sheet.Piece {
	t.Helper()
	g := smockFile(t)
	drafts, err := pattern.DraftAll(g, pattern.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return sheet.Drafts(g, drafts)
}

// smockFile reads the demo garment.
func smockFile(t testing.TB) pattern.Garment {
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

// The pages of the demo garment, as text: the paper, for each layer how many lines
// of what length stand on the page, and all words. Lengths are rounded to a
// centimetre, so that the last digits of a machine's arithmetic play no part.
func TestGoldenSmock(t *testing.T) {
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter, sheet.A1, sheet.One} {
		d, err := sheet.Draw(title, smock(t), sheet.Options{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		golden(t, "smock-"+paper.Name+".txt", dump(d))
	}
}

func dump(d export.Drawing) []byte {
	var b bytes.Buffer
	for i, page := range d.Pages {
		fmt.Fprintf(&b, "page %d, %.1f x %.1f mm\n", i+1, page.Width, page.Height)
		count, length := map[export.Layer]int{}, map[export.Layer]float64{}
		var words []string
		var add func(items []export.Item)
		add = func(items []export.Item) {
			for _, it := range items {
				switch it := it.(type) {
				case export.Window:
					add(it.Items)
				case export.Text:
					words = append(words, fmt.Sprintf("%s: %s", it.Layer, it.Content))
				case export.Shape:
					for _, c := range it.Contours {
						count[it.Layer]++
						for _, s := range c.Segments() {
							length[it.Layer] += s.Length()
						}
					}
				}
			}
		}
		add(page.Items)
		for _, l := range slices.Sorted(maps.Keys(count)) {
			fmt.Fprintf(&b, "  %s: %d lines, %.0f cm\n", l, count[l], length[l]/10)
		}
		for _, w := range words {
			fmt.Fprintf(&b, "    %s\n", w)
		}
	}
	return b.Bytes()
}

// Everything that the draft draws is a layer of its own that viewers can switch:
// the names in the file's own table of optional content (ISO 32000-1, 8.11).
func TestSmockLayers(t *testing.T) {
	data := pdf(t, sheet.Options{}, smock(t)...)
	var got []string
	for _, m := range regexp.MustCompile(`/Type /OCG /Name \((.*?[^\\])\)`).FindAllSubmatch(data, -1) {
		name := strings.ReplaceAll(string(m[1]), "\x00", "")
		got = append(got, strings.TrimPrefix(name, "\xfe\xff"))
	}
	slices.Sort(got)
	want := []string{"Cut line", "Fold lines", "Grain line", "Marks", "Sheet joins", "Squares and bars", "Stitch line", "Text"}
	if !slices.Equal(got, want) {
		t.Errorf("layers %q, want %q", got, want)
	}
	if listed := regexp.MustCompile(`/OCGs \[([^\]]*)\]`).FindSubmatch(data); listed == nil || bytes.Count(listed[1], []byte(" 0 R")) != len(want) {
		t.Errorf("the catalog lists the layers as %q", listed)
	}
}

// Cut line and broken stitch line stand true to 0.05 mm at 600 dpi, on a tile of
// the demo garment and on both papers.
func TestSmockIsTrue(t *testing.T) {
	pieces := smock(t)
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter} {
		placed, sheets, _, err := sheet.Lay(title, pieces, sheet.Options{Paper: paper})
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(sheets, func(s sheet.Sheet) bool { return s.Name == "B1" })
		page := exporttest.Render(t, exporttest.File(t, pdf(t, sheet.Options{Paper: paper, Tiles: []string{"B1"}}, pieces...)), 1, 1, 600, sheets[at].Height)[0]
		for _, line := range []struct {
			name  string
			ink   float64 // mm of black across it
			paths func(sheet.Piece) []geometry.Path
		}{
			{"cut line", 0.5, func(p sheet.Piece) []geometry.Path { return []geometry.Path{p.Outline} }},
			{"stitch line", 0.35, func(p sheet.Piece) []geometry.Path { return []geometry.Path{p.Stitch} }},
		} {
			worst, seen, gaps := 0.0, 0, 0
			for _, p := range placed {
				for _, path := range line.paths(p) {
					w, s, g := follow(page, path, sheets[at].Move, sheets[at].Window, line.ink)
					worst, seen, gaps = math.Max(worst, w), seen+s, gaps+g
				}
			}
			if !(worst <= 0.05) || seen < 60 {
				t.Errorf("%s: %s %.3f mm off, seen in %d places", paper.Label, line.name, worst, seen)
			}
			// A third of a broken line of 3 and 1.5 mm is gaps.
			if share := float64(gaps) / float64(seen+gaps); line.name == "stitch line" && (share < 0.2 || share > 0.5) {
				t.Errorf("%s: %.0f %% of the stitch line is gaps", paper.Label, 100*share)
			}
			t.Logf("%s: %s at most %.4f mm off in %d places, %d gaps", paper.Label, line.name, worst, seen, gaps)
		}
	}
}

// follow measures a path every 2 mm or so where nothing else is near: by how much
// the line is off at worst, where it was seen and where there was a gap.
func follow(p exporttest.Page, path geometry.Path, move geometry.Vec, window [2]geometry.Point, width float64) (worst float64, seen, gaps int) {
	for _, s := range path.Segments() {
		n := int(s.Length()/2) + 1
		for i := range n {
			u := (float64(i) + 0.5) / float64(n)
			at := s.At(u).Add(move)
			if at.X < window[0].X+9 || at.Y < window[0].Y+9 || at.X > window[1].X-9 || at.Y > window[1].Y-9 {
				continue
			}
			ink, reach := 0.0, 1.2
			across := s.Deriv(u).Perp().Unit()
			for v := -reach; v <= reach; v += 0.02 {
				ink += p.At(at.Add(across.Scale(v))) * 0.02
			}
			switch off, ok := p.Line(at, across, reach); {
			case ink > width*1.1:
			case ink < 0.02 || !ok:
				gaps++
			case ink > width*0.6: // in the middle of a stroke, for its hue is paler than black
				seen++
				worst = math.Max(worst, math.Abs(off))
			}
		}
	}
	return worst, seen, gaps
}

// All tiles of the demo garment, put together by their diamonds, are its pieces to
// 0.1 mm.
func TestSmockTilesJoin(t *testing.T) {
	if testing.Short() {
		t.Skip("renders two dozen pages")
	}
	worst, seen := joined(t, smock(t), sheet.Options{}, 300)
	if !(worst <= 0.1) || seen < 300 {
		t.Errorf("the joined outlines are %.3f mm off, seen in %d places", worst, seen)
	}
	t.Logf("joined outlines at most %.4f mm off in %d places", worst, seen)
}

// Packed together the pieces need fewer sheets than one by one, and never more.
func TestSmockSavesPaper(t *testing.T) {
	pieces := smock(t)
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter, sheet.A3, sheet.Tabloid, sheet.A2} {
		opt := sheet.Options{Paper: paper}
		_, all, _, err := sheet.Lay(title, pieces, opt)
		if err != nil {
			t.Fatal(err)
		}
		alone := 0
		for _, p := range pieces {
			_, sheets, _, err := sheet.Lay(title, []sheet.Piece{p}, opt)
			if err != nil {
				t.Fatal(err)
			}
			alone += len(sheets)
		}
		// On A3 front and back take four sheets each, the sleeve two, the pocket one,
		// and none leaves room for another.
		if len(all) > alone || len(all) == alone && paper != sheet.A3 {
			t.Errorf("%s: %d sheets, one by one %d", paper.Label, len(all), alone)
		}
		t.Logf("%s: %d sheets, one by one %d", paper.Label, len(all), alone)
	}
}
