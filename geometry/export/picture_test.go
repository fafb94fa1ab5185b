package export_test

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"secondcut/geometry"
	"secondcut/geometry/export"
)

// half is a JPEG that is dark on the left.
func half(t *testing.T, w, h int) []byte {
	t.Helper()
	img := image.NewGray(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			img.SetGray(x, y, color.Gray{Y: uint8(40 + 160*(2*x/w))})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// A picture lies in the PDF where it was put, with its bytes as they were (poppler reads
// it back).
func TestPictureInPDF(t *testing.T) {
	for _, tool := range []string{"pdftoppm", "pdfimages"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skip(tool + " is not there")
		}
	}
	data := half(t, 200, 100)
	p, err := export.NewPicture("swatch", data, geometry.Point{X: 20, Y: 10}, geometry.Point{X: 60, Y: 50})
	if err != nil || p.Lo != (geometry.Point{X: 20, Y: 20}) || p.Hi != (geometry.Point{X: 60, Y: 40}) {
		t.Fatalf("placed from %v to %v: %v", p.Lo, p.Hi, err)
	}
	window := export.Window{Lo: geometry.Point{X: 0, Y: 0}, Hi: geometry.Point{X: 100, Y: 60}, Move: geometry.Vec{X: 10}, Items: []export.Item{p}}
	var b, again bytes.Buffer
	d := export.Drawing{Title: "picture", Pages: []export.Page{{Width: 100, Height: 60, Items: []export.Item{window, window}}}}
	if err := export.WritePDF(&b, d); err != nil {
		t.Fatal(err)
	}
	if err := export.WritePDF(&again, d); err != nil || !bytes.Equal(b.Bytes(), again.Bytes()) {
		t.Errorf("written twice, it has other bytes: %v", err)
	}
	dir := t.TempDir()
	file := filepath.Join(dir, "p.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	run := func(name string, args ...string) {
		t.Helper()
		if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", name, err, out)
		}
	}
	run("pdfimages", "-j", file, filepath.Join(dir, "out"))
	found, err := filepath.Glob(filepath.Join(dir, "out*.jpg"))
	if err != nil || len(found) == 0 {
		t.Fatalf("pictures in the PDF: %v, %v", found, err)
	}
	if got, err := os.ReadFile(found[0]); err != nil || !bytes.Equal(got, data) {
		t.Errorf("the picture has %d bytes in the PDF, and had %d: %v", len(got), len(data), err)
	}
	run("pdftoppm", "-r", "254", "-png", "-singlefile", file, filepath.Join(dir, "page"))
	f, err := os.Open(filepath.Join(dir, "page.png"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	page, _, err := image.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ x, y, want float64 }{ // mm from the lower left; grey
		{31, 21, 40}, {31, 39, 40}, {48, 30, 40}, {52, 30, 200}, {69, 39, 200}, {29, 30, 255}, {71, 30, 255}, {50, 19, 255}, {50, 41, 255},
	} {
		r, _, _, _ := page.At(int(c.x*10), int((60-c.y)*10)).RGBA()
		if math.Abs(float64(r>>8)-c.want) > 12 {
			t.Errorf("at %g, %g mm it is %d, want %g", c.x, c.y, r>>8, c.want)
		}
	}
}

func TestPicturesThatAreNone(t *testing.T) {
	good := half(t, 20, 10)
	wide := bytes.Clone(good)
	frame := bytes.Index(wide, []byte{0xff, 0xc0}) // the frame header says the size (ITU-T T.81, B.2.2)
	copy(wide[frame+5:], []byte{0xff, 0xff, 0xff, 0xff})
	for what, data := range map[string][]byte{"nothing": nil, "text": []byte("linen"), "its head": good[:20], "65,535 pixels a side": wide} {
		if _, err := export.NewPicture("swatch", data, geometry.Point{}, geometry.Point{X: 1, Y: 1}); !errors.Is(err, export.ErrPicture) {
			t.Errorf("%s: %v", what, err)
		}
	}
	var b strings.Builder
	p := export.Picture{Lo: geometry.Point{X: math.NaN()}, JPEG: good}
	if err := export.WritePDF(&b, export.Drawing{Pages: []export.Page{{Width: 10, Height: 10, Items: []export.Item{p}}}}); !errors.Is(err, geometry.ErrNotFinite) {
		t.Errorf("a picture nowhere: %v", err)
	}
}
