package card_test

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export/exporttest"
	"secondcut/geometry/sheet"
	"secondcut/vision/card"
	"secondcut/vision/internal/cv"
)

// printed is a rendered card sheet.
type printed struct{ exporttest.Page }

func printSheet(t *testing.T, paper sheet.Paper, n, dpi int) printed {
	t.Helper()
	var b bytes.Buffer
	if err := card.WriteSheet(&b, paper, n); err != nil {
		t.Fatal(err)
	}
	return printed{exporttest.Render(t, exporttest.File(t, b.Bytes()), 1, 1, dpi, paper.Height)[0]}
}

// saddle measures a saddle near (x, y): where the vertical edges above and below
// it and the horizontal edges left and right of it stand. Each edge is found by
// the area of ink along a line across it, which an anti-aliased rendering gives
// without bias.
func (p printed) saddle(x, y float64) (float64, float64) {
	cx, cy := int(math.Round(x)), int(math.Round(y))
	arm := int(4 * p.PxPerMM) // within the 6 mm of a square
	var sx, sy, n float64
	for d := arm / 4; d < arm; d++ {
		var up, down, left, right float64
		for k := -arm; k <= arm; k++ {
			up += p.Dark(cx+k, cy-d)
			down += p.Dark(cx+k, cy+d)
			left += p.Dark(cx-d, cy+k)
			right += p.Dark(cx+d, cy+k)
		}
		// Above: black to the right of the edge; below: to its left. Likewise
		// right: black above; left: black below.
		last := float64(arm) + 0.5
		sx += (last - up) + (down - last)
		sy += (right - last) + (last - left)
		n += 2
	}
	return float64(cx) + sx/n, float64(cy) + sy/n
}

// Every tag of a printed sheet decodes to its number in its place, and every
// saddle stands within 0.05 mm of where design and detection expect it.
func TestPrintedSheet(t *testing.T) {
	worst := 0.0
	for _, c := range []struct {
		paper sheet.Paper
		n     int
	}{{sheet.A4, 1}, {sheet.A4, 49}, {sheet.A4, card.Sheets}, {sheet.Letter, 1}, {sheet.Letter, card.Sheets}} {
		t.Run(fmt.Sprintf("%s-%d", c.paper.Name, c.n), func(t *testing.T) {
			p := printSheet(t, c.paper, c.n, 300)
			centres, err := card.Centres(c.paper)
			if err != nil {
				t.Fatal(err)
			}
			tags, err := cv.DetectTags(p.Gray, p.Width, p.Height)
			if err != nil {
				t.Fatal(err)
			}
			found := map[int]geometry.Point{}
			for _, tag := range tags {
				x := (tag.Corners[0][0] + tag.Corners[1][0] + tag.Corners[2][0] + tag.Corners[3][0]) / 4
				y := (tag.Corners[0][1] + tag.Corners[1][1] + tag.Corners[2][1] + tag.Corners[3][1]) / 4
				found[tag.ID] = geometry.Point{X: x, Y: y}
			}
			if len(tags) != card.PerSheet {
				t.Errorf("%d tags found, want %d", len(tags), card.PerSheet)
			}
			for i, centre := range centres {
				id := card.PerSheet*(c.n-1) + i
				x, y := p.ToPixel(centre)
				at, ok := found[id]
				if !ok || at.Dist(geometry.Point{X: x, Y: y}) > 3 {
					t.Errorf("tag %d found at %v (%t), want %.0f, %.0f", id, at, ok, x, y)
				}
				for k := range 4 {
					s := card.SaddlePoint(k)
					x, y := p.ToPixel(centre.Add(geometry.Vec(s)))
					gotX, gotY := p.saddle(x, y)
					off := math.Hypot(gotX-x, gotY-y) / p.PxPerMM
					worst = math.Max(worst, off)
					if !(off <= 0.05) {
						t.Errorf("card %d: saddle %d stands %.3f mm from its place", id, k, off)
					}
				}
			}
		})
	}
	t.Logf("worst saddle: %.4f mm from its place", worst)
}

// Where modules of a tag meet, no hairline of paper shows: half the border's
// width inside the tag, all is black.
func TestNoHairlines(t *testing.T) {
	p := printSheet(t, sheet.A4, 1, 300)
	centres, err := card.Centres(sheet.A4)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range centres {
		const half = card.TagMM/2 - card.ModuleMM/2
		for s := -half; s <= half; s += 0.04 {
			for _, q := range []geometry.Point{{X: s, Y: half}, {X: s, Y: -half}, {X: half, Y: s}, {X: -half, Y: s}} {
				x, y := p.ToPixel(c.Add(geometry.Vec(q)))
				if v := p.Dark(int(math.Round(x)), int(math.Round(y))); v < 0.99 {
					t.Fatalf("card %d: darkness %.2f in the black border at %v", i, v, q)
				}
			}
		}
	}
}

// ticks returns where dark lines cross a row (or, upright, a column) of the
// picture, as pixel positions of their centres of ink.
func (p printed) ticks(at int, upright bool) []float64 {
	length := p.Width
	dark := func(i int) float64 { return p.Dark(i, at) }
	if upright {
		length = p.Height
		dark = func(i int) float64 { return p.Dark(at, i) }
	}
	var out []float64
	var ink, moment float64
	for i := range length {
		if d := dark(i); d > 0.02 {
			ink += d
			moment += d * float64(i)
		} else if ink > 0 {
			out = append(out, moment/ink)
			ink, moment = 0, 0
		}
	}
	return out
}

// The rulers are 150 and 200 mm long with a tick at every millimetre, measured
// in the rendering across the ticks near the ruler's line. The renderer moves a
// thin line to whole pixels, so that each end may be off by half a pixel: 0.042
// mm for both at 600 dpi.
func TestRulers(t *testing.T) {
	for _, paper := range []sheet.Paper{sheet.A4, sheet.Letter} {
		p := printSheet(t, paper, 1, 600)
		centres, err := card.Centres(paper)
		if err != nil {
			t.Fatal(err)
		}
		corner := centres[4].Add(geometry.Vec{X: -card.SideMM / 2, Y: -card.SideMM / 2})
		for _, r := range []struct {
			name    string
			through geometry.Point
			upright bool
			length  float64
		}{
			{"across", corner.Add(geometry.Vec{X: card.SideMM, Y: -1.6 - 0.9}), false, 150},
			{"up", corner.Add(geometry.Vec{X: 2*card.SideMM + 4 + 0.9, Y: card.SideMM}), true, 200},
		} {
			x, y := p.ToPixel(r.through)
			at := int(math.Round(y))
			if r.upright {
				at = int(math.Round(x))
			}
			ticks := p.ticks(at, r.upright)
			if want := int(r.length) + 1; len(ticks) != want {
				t.Errorf("%s, ruler %s: %d ticks, want %d", paper.Name, r.name, len(ticks), want)
				continue
			}
			got := (ticks[len(ticks)-1] - ticks[0]) / p.PxPerMM
			if math.Abs(got-r.length) > 0.045 {
				t.Errorf("%s, ruler %s: %.3f mm between the end ticks, want %g", paper.Name, r.name, got, r.length)
			}
			t.Logf("%s, ruler %s: %.4f mm", paper.Name, r.name, got)
		}
	}
}

// The centres are those that the design fixes, in mm from the lower left corner;
// on Letter (8.5 x 11 in) the block is centred and 10 mm from the top edge.
func TestCentres(t *testing.T) {
	a4, err := card.Centres(sheet.A4)
	if err != nil {
		t.Fatal(err)
	}
	want := [6]geometry.Point{{X: 65, Y: 237}, {X: 145, Y: 237}, {X: 65, Y: 157}, {X: 145, Y: 157}, {X: 65, Y: 77}, {X: 145, Y: 77}}
	for i := range want {
		if a4[i].Dist(want[i]) > 1e-9 {
			t.Errorf("A4: card %d at %v, want %v", i, a4[i], want[i])
		}
	}
	letter, err := card.Centres(sheet.Letter)
	if err != nil {
		t.Fatal(err)
	}
	if d := letter[0].Dist(geometry.Point{X: 107.95 - 40, Y: 279.4 - 50}); d > 1e-9 {
		t.Errorf("Letter: the first card is %g mm off its place", d)
	}
}

func TestSheetRefuses(t *testing.T) {
	for _, n := range []int{-1, 0, 98, 1 << 30} {
		if err := card.WriteSheet(&bytes.Buffer{}, sheet.A4, n); !errors.Is(err, card.ErrSheet) {
			t.Errorf("sheet %d: error %v, want ErrSheet", n, err)
		}
	}
	if err := card.WriteSheet(&bytes.Buffer{}, sheet.A3, 1); !errors.Is(err, card.ErrPaper) {
		t.Errorf("A3: error %v, want ErrPaper", err)
	}
}

func TestSheetIsDeterministic(t *testing.T) {
	var a, b bytes.Buffer
	if err := errors.Join(card.WriteSheet(&a, sheet.Letter, 5), card.WriteSheet(&b, sheet.Letter, 5)); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the same sheet gave other bytes")
	}
}
