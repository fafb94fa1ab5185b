package vision_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"testing"

	"secondcut/vision"
)

// quartered is 400 x 300 pixels: red, green above; blue, white below.
func quartered() *vision.Photo {
	p := &vision.Photo{Width: 400, Height: 300, BGR: make([]byte, 400*300*3)}
	bgr := [4][3]byte{{0, 0, 255}, {0, 255, 0}, {255, 0, 0}, {255, 255, 255}}
	for i := range 400 * 300 {
		q := 0
		if i%400 >= 200 {
			q = 1
		}
		if i/400 >= 150 {
			q += 2
		}
		copy(p.BGR[3*i:], bgr[q][:])
	}
	return p
}

func encoded(t testing.TB) []byte {
	t.Helper()
	b, err := vision.EncodeJPEG(quartered(), 95)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// withEXIF puts an APP1 segment with orientation, focal length and a GPS block
// into a JPEG.
func withEXIF(jpg []byte, orientation, focal35 uint16) []byte {
	var b bytes.Buffer
	b.WriteString("Exif\x00\x00MM\x00*\x00\x00\x00\x08")
	put := func(v ...any) {
		for _, x := range v {
			_ = binary.Write(&b, binary.BigEndian, x)
		}
	}
	put(uint16(3), uint16(0x0112), uint16(3), uint32(1), orientation, uint16(0))
	put(uint16(0x8769), uint16(4), uint32(1), uint32(50), uint16(0x8825), uint16(4), uint32(1), uint32(68), uint32(0))
	put(uint16(1), uint16(0xa405), uint16(3), uint32(1), focal35, uint16(0), uint32(0))
	put(uint16(1), uint16(1), uint16(2), uint32(2), []byte("N\x00\x00\x00"), uint32(0))
	out := append([]byte{0xff, 0xd8, 0xff, 0xe1}, byte((b.Len()+2)>>8), byte(b.Len()+2))
	return append(append(out, b.Bytes()...), jpg[2:]...)
}

func colourAt(p *vision.Photo, fx, fy float64) [3]int {
	i := 3 * (int(fy*float64(p.Height))*p.Width + int(fx*float64(p.Width)))
	return [3]int{int(p.BGR[i]), int(p.BGR[i+1]), int(p.BGR[i+2])}
}

func near(a, b [3]int) bool {
	for i := range a {
		if d := a[i] - b[i]; d > 12 || d < -12 {
			return false
		}
	}
	return true
}

// The table of EXIF 2.32, section 4.6.4: which stored corner stands at the upper
// left when the picture is upright.
func TestDecodeTurnsUpright(t *testing.T) {
	red, green, blue, white := [3]int{0, 0, 255}, [3]int{0, 255, 0}, [3]int{255, 0, 0}, [3]int{255, 255, 255}
	upperLeft := map[uint16][2][3]int{ // upper left, upper right
		1: {red, green}, 2: {green, red}, 3: {white, blue}, 4: {blue, white},
		5: {red, blue}, 6: {blue, red}, 7: {white, green}, 8: {green, white},
	}
	for o, want := range upperLeft {
		p, err := vision.Decode(context.Background(), withEXIF(encoded(t), o, 26), vision.Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if (p.Width == 300) != (o >= 5) {
			t.Errorf("orientation %d: %d x %d pixels", o, p.Width, p.Height)
		}
		if a, b := colourAt(p, .25, .25), colourAt(p, .75, .25); !near(a, want[0]) || !near(b, want[1]) {
			t.Errorf("orientation %d: top row %v %v, want %v", o, a, b, want)
		}
		if f := 26 * 500 / 43.2666; math.Abs(p.FocalPx-f) > 0.01 {
			t.Errorf("focal length %.2f px, want %.2f", p.FocalPx, f)
		}
	}
}

func TestDecodeKinds(t *testing.T) {
	var pngFile bytes.Buffer
	img := image.NewNRGBA(image.Rect(0, 0, 300, 300))
	img.Set(150, 150, color.NRGBA{10, 20, 30, 255})
	if err := png.Encode(&pngFile, img); err != nil {
		t.Fatal(err)
	}
	cases := map[string][]byte{
		"jpeg": encoded(t), "png": pngFile.Bytes(),
		"heic": file(t, "testdata/small.heic"), "webp": file(t, "testdata/small.webp"), "cmyk": file(t, "testdata/cmyk.jpg"),
	}
	for name, data := range cases {
		p, err := vision.Decode(context.Background(), data, vision.Limits{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(p.BGR) != p.Width*p.Height*3 || p.Width < 300 {
			t.Errorf("%s: %d x %d pixels in %d bytes", name, p.Width, p.Height, len(p.BGR))
		}
	}
	p, _ := vision.Decode(context.Background(), pngFile.Bytes(), vision.Limits{})
	if c := colourAt(p, .5, .5); c != [3]int{30, 20, 10} {
		t.Errorf("png pixel %v, want blue 30, green 20, red 10", c)
	}
	if c := colourAt(p, .1, .1); c != [3]int{255, 255, 255} {
		t.Errorf("transparent pixel %v, want white", c)
	}
	// The fixtures show brown paper at the upper left: red above green above blue.
	for _, name := range []string{"heic", "webp", "cmyk"} {
		p, err := vision.Decode(context.Background(), cases[name], vision.Limits{})
		if err != nil {
			continue
		}
		if c := colourAt(p, .05, .05); c[2] <= c[1] || c[1] <= c[0] || c[2] < 60 {
			t.Errorf("%s: paper is %v (blue, green, red)", name, c)
		}
	}
}

func file(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// hugePNG claims 20000 x 15000 pixels in a file of some 60 bytes.
func hugePNG() []byte {
	b := []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x4e\x20\x00\x00\x3a\x98\x08\x02\x00\x00\x00")
	return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[12:]))
}

func hugeJPEG(t testing.TB) []byte {
	b := bytes.Clone(encoded(t))
	i := bytes.Index(b, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(b[i+5:], 15000)
	binary.BigEndian.PutUint16(b[i+7:], 20000)
	return b
}

func TestDecodeRefuses(t *testing.T) {
	whole := encoded(t)
	cases := map[string]struct {
		data []byte
		want vision.Code
	}{
		"empty":             {nil, vision.CodeNotImage},
		"text":              {[]byte("Dear diary, today I cut the sleeve."), vision.CodeNotImage},
		"half a jpeg":       {whole[:len(whole)/2], vision.CodeTruncated},
		"only a jpeg start": {whole[:20], vision.CodeTruncated},
		"300 MP jpeg":       {hugeJPEG(t), vision.CodeTooLarge},
		"300 MP png":        {hugePNG(), vision.CodeTooLarge},
		"200 MB":            {make([]byte, 200<<20), vision.CodeTooLarge},
		"gif":               {[]byte("GIF89a\x10\x00\x10\x00"), vision.CodeUnsupported},
		"broken heic":       {[]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"), vision.CodeTruncated},
	}
	for name, c := range cases {
		_, err := vision.Decode(context.Background(), c.data, vision.Limits{})
		var r *vision.Refusal
		if !errors.As(err, &r) || r.Code != c.want || r.Message == "" || r.Remedy == "" {
			t.Errorf("%s: got %v, want code %s with message and remedy", name, err, c.want)
		}
	}
}

func TestStripMetadata(t *testing.T) {
	src := withEXIF(encoded(t), 6, 26)
	src = append(src, "a hidden film after the picture"...)
	out, err := vision.StripMetadata(context.Background(), src, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	head := out[:bytes.Index(out, []byte{0xff, 0xda})]
	if bytes.Contains(head, []byte{0x88, 0x25}) || bytes.Contains(out, []byte("hidden film")) {
		t.Error("the place block or the bytes after the picture are still there")
	}
	a, _ := vision.Decode(context.Background(), src, vision.Limits{})
	b, err := vision.Decode(context.Background(), out, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.BGR, b.BGR) || a.FocalPx != b.FocalPx {
		t.Error("pixels or focal length changed")
	}
	again, err := vision.StripMetadata(context.Background(), out, vision.Limits{})
	if err != nil || !bytes.Equal(out, again) {
		t.Error("stripping twice differs from stripping once")
	}
	for _, name := range []string{"testdata/small.heic", "testdata/small.webp"} {
		out, err := vision.StripMetadata(context.Background(), file(t, name), vision.Limits{})
		if err != nil || !bytes.HasPrefix(out, []byte{0xff, 0xd8}) {
			t.Errorf("%s: no JPEG came out: %v", name, err)
		}
	}
}

// Whatever the bytes, the answer is a photo or a refusal with a remedy, and what
// was stripped decodes to the same pixels.
func FuzzDecode(f *testing.F) {
	whole := encoded(f)
	f.Add(whole)
	f.Add(withEXIF(whole, 6, 26))
	f.Add(whole[:len(whole)/3])
	f.Add(hugePNG())
	f.Add([]byte("RIFF\x10\x00\x00\x00WEBPVP8 "))
	f.Add([]byte("\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic"))
	lim := vision.Limits{MaxPixels: 400_000, MaxBytes: 1 << 20}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := vision.Decode(context.Background(), data, lim)
		if err != nil {
			var r *vision.Refusal
			if !errors.As(err, &r) || r.Remedy == "" {
				t.Fatalf("no refusal: %v", err)
			}
			return
		}
		if len(p.BGR) != p.Width*p.Height*3 || p.Width*p.Height > lim.MaxPixels {
			t.Fatalf("%d x %d pixels in %d bytes", p.Width, p.Height, len(p.BGR))
		}
		out, err := vision.StripMetadata(context.Background(), data, lim)
		if err != nil {
			return // damage that the decoder forgives
		}
		if bytes.HasPrefix(data, []byte{0xff, 0xd8}) {
			if q, err := vision.Decode(context.Background(), out, lim); err != nil || !bytes.Equal(p.BGR, q.BGR) {
				t.Fatalf("stripping changed the picture: %v", err)
			}
		}
	})
}

func BenchmarkDecode12MP(b *testing.B) {
	p := &vision.Photo{Width: 4000, Height: 3000, BGR: make([]byte, 36_000_000)}
	for i := range p.BGR {
		p.BGR[i] = byte(i*7919>>7) & 63
	}
	data, err := vision.EncodeJPEG(p, 80)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := vision.Decode(context.Background(), data, vision.Limits{}); err != nil {
			b.Fatal(err)
		}
	}
}
