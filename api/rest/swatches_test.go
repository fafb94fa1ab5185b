package rest_test

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"

	"secondcut/api"
	"secondcut/api/rest"
	"secondcut/geometry/pattern"
)

// walkSwatches asks for all that a photo of a cloth needs.
func (r *rig) walkSwatches(g string) {
	r.Helper()
	name := r.swatch(g, photoBytes(60, 40))
	r.want(200, "GET", g+"/swatches/"+name, "", nil)
	r.want(404, "GET", g+"/swatches/"+strings.Repeat("0", 64), "", nil)
	r.want(404, "POST", "/api/v1/garments/nobody/swatches", string(photoBytes(60, 40)), header("Content-Type", "image/jpeg"))
	r.want(415, "POST", g+"/swatches", "", header("Content-Type", "image/jpeg"))
	r.want(415, "POST", g+"/swatches", "text", header("Content-Type", "text/plain"))
}

// swatch sends a photo of a cloth and returns its name.
func (r *rig) swatch(g string, data []byte) string {
	r.Helper()
	return mustJSON[struct{ Name string }](r, r.want(201, "POST", g+"/swatches", string(data), header("Content-Type", "image/jpeg"))).Name
}

// tagged is a JPEG with a camera's metadata and a comment.
func tagged(picture []byte) []byte {
	exif := append([]byte("Exif\x00\x00II*\x00\x08\x00\x00\x00\x01\x00\x0f\x01\x02\x00\x0c\x00\x00\x00\x1a\x00\x00\x00\x00\x00\x00\x00"), "Lighthouse 9\x00"...)
	out := []byte{0xff, 0xd8, 0xff, 0xe1, 0, byte(len(exif) + 2)}
	out = append(append(out, exif...), 0xff, 0xfe, 0, 12)
	return append(append(out, "my address"...), picture[2:]...)
}

// A photo of a cloth is made small, loses what else is in it, goes through a garment file
// to the byte, and comes along into a remake.
func TestSwatch(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	sent := tagged(photoBytes(1600, 1200))
	if !bytes.Contains(sent, []byte("Lighthouse")) || !bytes.Contains(sent, []byte("my address")) {
		t.Fatal("the photo holds nothing that it must lose")
	}
	name := r.swatch(url, sent)
	res, kept := r.do("GET", url+"/swatches/"+name, nil, nil)
	c, err := jpeg.DecodeConfig(bytes.NewReader(kept))
	if err != nil || max(c.Width, c.Height) != pattern.MaxSwatchPx || c.Width*3 != c.Height*4 || res.Header.Get("Content-Type") != "image/jpeg" {
		t.Errorf("kept %d x %d as %s: %v", c.Width, c.Height, res.Header.Get("Content-Type"), err)
	}
	if bytes.Contains(kept, []byte("Lighthouse")) || bytes.Contains(kept, []byte("my address")) || bytes.Contains(kept, []byte("Exif")) {
		t.Error("metadata are still in it")
	}
	g.Cloths[0].Swatch = name
	cloths, err := json.Marshal(map[string]any{"cloths": g.Cloths})
	r.must(err)
	g = mustJSON[api.Garment](r, r.want(200, "PATCH", url, string(cloths), header("If-Match", rest.ETag(g.Version))))

	_, file := r.do("GET", url+"/file", nil, nil)
	read, err := pattern.Read(bytes.NewReader(file))
	if err != nil || !bytes.Equal(read.Swatches[name], kept) {
		t.Fatalf("the file: %v, holds %d bytes of %d", err, len(read.Swatches[name]), len(kept))
	}
	again := r.imported(string(file))
	if again.Cloths[0].Swatch != name {
		t.Errorf("taken in again, it goes by %q, not %q", again.Cloths[0].Swatch, name)
	}
	if _, data := r.do("GET", "/api/v1/garments/"+again.ID+"/swatches/"+name, nil, nil); !bytes.Equal(data, kept) {
		t.Error("taken in again, it is another picture")
	}
	made := mustJSON[api.Garment](r, r.want(201, "POST", url+"/remake", `{"name":"Smock in wool"}`, nil))
	r.want(200, "GET", "/api/v1/garments/"+made.ID+"/swatches/"+made.Cloths[0].Swatch, "", nil)

	_, sheet := r.do("GET", url+"/making", nil, nil)
	if !strings.Contains(string(sheet), name) {
		t.Error("the making sheet does not name it")
	}
}

// What comes from a stranger's file is refused, or made harmless.
func TestHostileSwatches(t *testing.T) {
	r := newRig(t)
	text, _ := r.smock()
	g := r.imported(text)
	url := "/api/v1/garments/" + g.ID
	whole := photoBytes(200, 100)
	var huge bytes.Buffer // some bytes that claim 40,000 x 40,000 pixels
	r.must(png.Encode(&huge, image.NewGray(image.Rect(0, 0, 1, 1))))
	copy(huge.Bytes()[16:], []byte{0, 0, 0x9c, 0x40, 0, 0, 0x9c, 0x40})
	binary.BigEndian.PutUint32(huge.Bytes()[29:], crc32.ChecksumIEEE(huge.Bytes()[12:29]))
	for what, c := range map[string]struct {
		data   []byte
		status int
	}{
		"cut off":       {whole[:len(whole)/3], 422},
		"no picture":    {[]byte("<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"), 415},
		"a page":        {[]byte("<!doctype html><script>alert(1)</script>"), 415},
		"huge":          {huge.Bytes(), 422},
		"only its head": {whole[:4], 422},
	} {
		if res, body := r.do("POST", url+"/swatches", bytes.NewReader(c.data), header("Content-Type", "image/jpeg")); res.StatusCode != c.status {
			t.Errorf("%s: status %d: %.200s", what, res.StatusCode, body)
		}
	}
	// A page behind a picture does not stay behind it.
	name := r.swatch(url, append(bytes.Clone(whole), "<script>alert(1)</script>"...))
	if _, kept := r.do("GET", url+"/swatches/"+name, nil, nil); bytes.Contains(kept, []byte("script")) {
		t.Error("what stood behind the picture is still there")
	}

	withPicture := func(name string, picture []byte) string {
		var file map[string]any
		r.must(json.Unmarshal([]byte(text), &file))
		file["cloths"].([]any)[0].(map[string]any)["swatch"] = name
		file["swatches"] = map[string]string{name: base64.StdEncoding.EncodeToString(picture)}
		data, err := json.Marshal(file)
		r.must(err)
		return string(data)
	}
	dirty := tagged(whole)
	got := r.imported(withPicture(pattern.SwatchName(dirty), dirty))
	if got.Cloths[0].Swatch == "" || got.Cloths[0].Swatch == pattern.SwatchName(dirty) {
		t.Errorf("a picture with metadata is kept as %q", got.Cloths[0].Swatch)
	}
	_, kept := r.do("GET", "/api/v1/garments/"+got.ID+"/swatches/"+got.Cloths[0].Swatch, nil, nil)
	if _, err := jpeg.Decode(bytes.NewReader(kept)); err != nil || bytes.Contains(kept, []byte("my address")) {
		t.Errorf("kept of it: %v, %d bytes", err, len(kept))
	}
	cut := whole[:len(whole)*2/3]
	before := len(mustJSON[struct{ Items []api.GarmentSummary }](r, r.want(200, "GET", "/api/v1/garments", "", nil)).Items)
	for what, file := range map[string]string{
		"another picture": withPicture(strings.Repeat("a", 64), whole),
		"cut off":         withPicture(pattern.SwatchName(cut), cut),
		"a path":          withPicture("../../secondcut.db", whole),
		"no picture":      withPicture(pattern.SwatchName([]byte("text")), []byte("text")),
	} {
		r.want(422, "POST", "/api/v1/garments/file", file, nil)
		if n := len(mustJSON[struct{ Items []api.GarmentSummary }](r, r.want(200, "GET", "/api/v1/garments", "", nil)).Items); n != before {
			t.Errorf("%s: it made a garment", what)
		}
	}
	// A name without its picture is let go.
	var file map[string]any
	r.must(json.Unmarshal([]byte(withPicture(strings.Repeat("a", 64), nil)), &file))
	delete(file, "swatches")
	data, err := json.Marshal(file)
	r.must(err)
	if got := r.imported(string(data)); got.Cloths[0].Swatch != "" {
		t.Errorf("a picture that never was goes by %q", got.Cloths[0].Swatch)
	}
}
