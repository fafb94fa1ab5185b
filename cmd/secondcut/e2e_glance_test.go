package main

import (
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/api"
)

// TestPhotoAdvice sends a blurred and a sharp photo: of the one the page says so at once,
// of the other nothing.
func TestPhotoAdvice(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.startGarment(url, "Blurred smock")
	p.addPhoto(demoPhoto)
	p.until("the word traced", `document.body.innerText.includes("Traced")`)
	p.addPhoto(blurredPhoto(t, demoPhoto))
	p.until("what is wrong and what to do", `[...document.querySelectorAll(".photos .note.info")].some((n) => n.innerText.includes("looks blurred") && n.innerText.includes("wipe the lens"))`)
	p.until("both photos to be there", `document.querySelectorAll(".photos img.thumb").length === 2`)
	if n := eval[int](p, `document.querySelectorAll(".photos .note.info").length`); n != 1 {
		t.Errorf("%d pieces of advice for one blurred photo and one sharp", n)
	}
	if wide := eval[float64](p, "document.documentElement.scrollWidth"); wide > 390 {
		t.Errorf("the page is %.0f px wide on a phone of 390", wide)
	}
}

// blurredPhoto writes a photo in grey, with each pixel the mean of 15 by 15: a standard
// deviation of 4.3 px.
func blurredPhoto(t *testing.T, file string) string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	photo, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	const reach = 7
	b := photo.Bounds()
	w, h := b.Dx(), b.Dy()
	sums := make([]int, (w+1)*(h+1))
	for y := range h {
		row := 0
		for x := range w {
			row += int(color.GrayModel.Convert(photo.At(b.Min.X+x, b.Min.Y+y)).(color.Gray).Y)
			sums[(y+1)*(w+1)+x+1] = sums[y*(w+1)+x+1] + row
		}
	}
	out := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			x0, x1, y0, y1 := max(x-reach, 0), min(x+reach+1, w), max(y-reach, 0), min(y+reach+1, h)
			sum := sums[y1*(w+1)+x1] - sums[y0*(w+1)+x1] - sums[y1*(w+1)+x0] + sums[y0*(w+1)+x0]
			out.Pix[y*out.Stride+x] = uint8(sum / ((x1 - x0) * (y1 - y0)))
		}
	}
	name := filepath.Join(t.TempDir(), "blurred.jpg")
	to, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	defer to.Close()
	if err := jpeg.Encode(to, out, nil); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestNamePieces names one of two pieces where they are chosen; what else there is of it
// stays, and the other keeps its name.
func TestNamePieces(t *testing.T) {
	t.Parallel()
	url := startService(t)
	p := newTab(t, startBrowser(t), 390, 844, true)
	p.startGarment(url, "Named smock")
	p.addPhoto("../../testdata/photos/d6_two_pieces.jpg")
	p.until("both pieces", `document.querySelectorAll("a.piece-link").length === 2`)
	garment := strings.TrimPrefix(eval[string](p, "location.hash"), "#/garment/")
	before := piecesOf(t, url, garment)
	eval[bool](p, `(() => { const box = document.querySelectorAll(".piece input.name")[1]; box.focus(); box.select(); return true; })()`)
	p.keys("C", "u", "f", "f", "Enter")
	p.until("the name in the list", `[...document.querySelectorAll("a.piece-link")].some((a) => a.textContent.includes("Cuff"))`)
	after := piecesOf(t, url, garment)
	renamed := 0
	for i, was := range before {
		now := after[i]
		if now.Name == "Cuff" {
			renamed++
		} else if now.Name != was.Name {
			t.Errorf("piece %q is called %q", was.Name, now.Name)
		}
		if d := gap(now.Knots.Flatten(0.01), was.Knots.Flatten(0.01)); d > 0 {
			t.Errorf("naming moved the outline of %q by %.4f mm", was.Name, d)
		}
	}
	if renamed != 1 {
		t.Errorf("%d pieces were renamed", renamed)
	}
}

// piecesOf returns the pieces of a garment in its order.
func piecesOf(t *testing.T, url, garment string) []api.Piece {
	t.Helper()
	var g api.Garment
	ask(t, url+"/api/v1/garments/"+garment, &g)
	out := make([]api.Piece, len(g.Pieces))
	for i, s := range g.Pieces {
		ask(t, url+"/api/v1/pieces/"+s.ID, &out[i])
	}
	return out
}
