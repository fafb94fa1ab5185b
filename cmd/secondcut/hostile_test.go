package main

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"secondcut/api"
	"secondcut/api/store"
)

// hostile is a file made to do harm, or its name.
type hostile struct {
	what, name string
	data       []byte
}

// TestHostileFiles sends the service files that are cut off, lie about their size,
// are two things at once or far too much, under names that lead elsewhere. Each is
// answered, in bounded time; nothing is written outside of the data folder, and the
// service goes on.
func TestHostileFiles(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes a while")
	}
	files := hostileFiles(t)
	if len(files) < 200 {
		t.Fatalf("%d files, want 200", len(files))
	}
	home := t.TempDir()
	data := filepath.Join(home, "data")
	p := startProgram(t, data)
	var g api.Garment
	accepted := 0
	var slowest time.Duration
	for i, f := range files {
		if i%200 == 0 { // a garment has room for 300 photos
			mustRequest(t, "POST", p.base+"/garments", []byte(`{"name":"Bad"}`), nil, &g)
		}
		begun := time.Now()
		status, answer, err := request(t.Context(), "POST", p.base+"/garments/"+g.ID+"/photos?name="+url.QueryEscape(f.name), f.data, map[string]string{"Content-Type": "image/jpeg"}, nil)
		slowest = max(slowest, time.Since(begun))
		if err != nil || status >= 500 || status < 400 && status != 202 {
			t.Errorf("%s: status %d, %v: %.200s", f.what, status, err, answer)
		}
		if status == 202 {
			accepted++
		}
	}
	settleAll(t, p)
	if kib := peakMemory(t, p); kib > 600<<10 {
		t.Errorf("the service took %d MiB", kib>>10)
	}
	mustRequest(t, "GET", strings.TrimSuffix(p.base, "/api/v1")+"/readyz", nil, nil, nil)
	p.stop(t)
	onlyOurs(t, home)
	if found, err := store.Examine(t.Context(), data); err != nil || len(found) > 0 {
		t.Errorf("afterwards: %+v, %v", found, err)
	}
	t.Logf("%d files, of which %d looked like photos at first; the slowest answer took %v", len(files), accepted, slowest)
}

// settleAll waits until no photo of any garment waits, and fails where one is left
// without a word on why it could not be used.
func settleAll(t *testing.T, p *program) {
	t.Helper()
	var list struct{ Items []api.GarmentSummary }
	mustRequest(t, "GET", p.base+"/garments", nil, nil, &list)
	for _, sum := range list.Items {
		for left, end := 1, time.Now().Add(5*time.Minute); left > 0; time.Sleep(100 * time.Millisecond) {
			if left = waiting(t, p, sum.ID); time.Now().After(end) {
				t.Fatalf("%d photos still wait", left)
			}
		}
		var g api.Garment
		mustRequest(t, "GET", p.base+"/garments/"+sum.ID, nil, nil, &g)
		for _, f := range g.Photos {
			if f.Status != api.PhotoTraced && (f.Refusal == nil || f.Refusal.Message == "" || f.Refusal.Remedy == "") {
				t.Errorf("%s is %s without a word", f.FileName, f.Status)
			}
		}
	}
}

// peakMemory is the most resident memory that the service's own process took.
func peakMemory(t *testing.T, p *program) (kib int) {
	t.Helper()
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		return 0 // another system
	}
	_, rest, _ := strings.Cut(string(data), "VmHWM:")
	kib, _ = strconv.Atoi(strings.Fields(rest)[0])
	return kib
}

var ours = regexp.MustCompile(`^data(/(lock|secondcut\.db(-wal|-shm)?|uploads|pictures(/[0-9a-f]{2}(/[0-9a-f]{64})?)?))?$`)

// onlyOurs fails where something else lies in the folder than the service keeps.
func onlyOurs(t *testing.T, home string) {
	t.Helper()
	err := filepath.WalkDir(home, func(file string, _ os.DirEntry, err error) error {
		if rel, _ := filepath.Rel(home, file); rel != "." && !ours.MatchString(filepath.ToSlash(rel)) {
			t.Errorf("there is a file %q", rel)
		}
		return err
	})
	if err != nil {
		t.Error(err)
	}
}

func hostileFiles(t *testing.T) []hostile {
	t.Helper()
	good := goodPictures(t)
	var all []hostile
	all = append(all, cutOff(good)...)
	all = append(all, flipped(good)...)
	all = append(all, wrongLengths(good["jpeg"], good["png"])...)
	all = append(all, bombs(good["jpeg"])...)
	all = append(all, polyglots(good["jpeg"])...)
	all = append(all, hugeMetadata(good["jpeg"])...)
	return append(all, badNames(good["jpeg"])...)
}

// goodPictures are small pictures of each kind that is read.
func goodPictures(t *testing.T) map[string][]byte {
	t.Helper()
	img := image.NewRGBA(image.Rect(0, 0, 320, 240))
	for i := range img.Pix {
		img.Pix[i] = byte(i * 31 >> 3)
	}
	var j, p bytes.Buffer
	if err := jpeg.Encode(&j, img, nil); err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(&p, img); err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{"jpeg": j.Bytes(), "png": p.Bytes()}
	for _, kind := range []string{"webp", "heic"} {
		data, err := os.ReadFile("../../vision/testdata/small." + kind)
		if err != nil {
			t.Fatal(err)
		}
		out[kind] = data
	}
	return out
}

func cutOff(good map[string][]byte) (all []hostile) {
	for kind, data := range good {
		for i := range 12 {
			n := len(data) * i / 12
			all = append(all, hostile{what: fmt.Sprintf("%s cut off at %d of %d", kind, n, len(data)), name: "a." + kind, data: data[:n]})
		}
	}
	return all
}

func flipped(good map[string][]byte) (all []hostile) {
	r := rand.New(rand.NewPCG(7, 7))
	for kind, n := range map[string]int{"jpeg": 40, "png": 15, "webp": 15, "heic": 8} {
		for i := range n {
			data := bytes.Clone(good[kind])
			for range 1 + r.IntN(8) {
				data[4+r.IntN(len(data)-4)] ^= 1 << r.IntN(8)
			}
			all = append(all, hostile{what: fmt.Sprintf("%s with flipped bits, %d", kind, i), name: "b", data: data})
		}
	}
	return all
}

// wrongLengths gives segments and chunks lengths that are not theirs.
func wrongLengths(j, p []byte) (all []hostile) {
	for at := 2; at+4 < len(j) && j[at] == 0xff && j[at+1] != 0xda; at += 2 + int(binary.BigEndian.Uint16(j[at+2:])) {
		for _, n := range []uint16{0, 1, 3, 0x7fff, 0xffff} {
			data := bytes.Clone(j)
			binary.BigEndian.PutUint16(data[at+2:], n)
			all = append(all, hostile{what: fmt.Sprintf("JPEG segment %x of length %d", j[at+1], n), name: "c.jpg", data: data})
		}
	}
	for _, n := range []uint32{0, 1, 0x7fffffff, 0x80000000, 0xffffffff} {
		data := bytes.Clone(p)
		binary.BigEndian.PutUint32(data[33:], n) // the chunk after the header
		all = append(all, hostile{what: fmt.Sprintf("PNG chunk of length %d", n), name: "c.png", data: data})
	}
	return all
}

// bombs are small files that claim, or unpack to, very large pictures.
func bombs(j []byte) (all []hostile) {
	frame := bytes.Index(j, []byte{0xff, 0xc0})
	for _, size := range [][2]uint16{{65535, 65535}, {10000, 10000}, {0, 0}, {1, 65535}, {65535, 1}, {199, 4000}, {0, 300}} {
		data := bytes.Clone(j)
		binary.BigEndian.PutUint16(data[frame+5:], size[0])
		binary.BigEndian.PutUint16(data[frame+7:], size[1])
		all = append(all, hostile{what: fmt.Sprintf("JPEG of %d x %d", size[1], size[0]), name: "d.jpg", data: data})
		all = append(all, hostile{what: fmt.Sprintf("PNG of %d x %d", size[1], size[0]), name: "d.png", data: emptyPNG(uint32(size[1]), uint32(size[0]))})
	}
	scan := bytes.Index(j, []byte{0xff, 0xda})
	head := j[scan : scan+2+int(binary.BigEndian.Uint16(j[scan+2:]))]
	many := bytes.Clone(j[:len(j)-2])
	many[frame+1] = 0xc2 // progressive
	for range 20_000 {
		many = append(many, head...)
	}
	all = append(all, hostile{what: "JPEG of 20000 scans", name: "d.jpg", data: append(many, 0xff, 0xd9)})
	flat := image.NewGray(image.Rect(0, 0, 9000, 9000)) // 81 megapixels in some 80 kB
	flat.Set(1, 1, color.White)
	var b bytes.Buffer
	if err := png.Encode(&b, flat); err != nil {
		panic(err)
	}
	return append(all, hostile{what: "PNG of 81 megapixels of nothing", name: "d.png", data: b.Bytes()})
}

// emptyPNG is a PNG with a header and no pixel.
func emptyPNG(w, h uint32) []byte {
	chunk := func(kind string, body []byte) []byte {
		b := binary.BigEndian.AppendUint32(nil, uint32(len(body)))
		b = append(append(b, kind...), body...)
		return binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(b[4:]))
	}
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	out := append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, 8, 2, 0, 0, 0))...)
	return append(append(out, chunk("IDAT", []byte{0x78, 0x9c, 3, 0, 0, 0, 0, 1})...), chunk("IEND", nil)...)
}

// polyglots are something else as well, or only say that they are pictures.
func polyglots(j []byte) (all []hostile) {
	tails := map[string]string{
		"zip": "PK\x03\x04\x14\x00../../evil.sh", "html": "<script>alert(1)</script>", "php": "<?php system($_GET[0]); ?>",
		"pdf": "%PDF-1.7\n1 0 obj<</JS(app.alert(1))>>", "tar": "evil" + strings.Repeat("\x00", 508), "shell": "\n#!/bin/sh\nrm -rf ~\n", "jpeg": string(j),
	}
	for what, tail := range tails {
		all = append(
			all,
			hostile{what: "JPEG with " + what + " behind it", name: "e.jpg", data: append(bytes.Clone(j), tail...)},
			hostile{what: what + " with a JPEG behind it", name: "e.jpg", data: append([]byte(tail), j...)},
			hostile{what: "JPEG with " + what + " in a comment", name: "e.jpg", data: withSegment(j, 0xfe, []byte(tail)[:min(len(tail), 60000)])},
		)
	}
	for what, text := range map[string]string{
		"nothing": "", "one byte": "\xff", "SVG": `<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>`, "GIF": "GIF89a\x01\x00\x01\x00/*", "BMP": "BM\x00\x00",
		"TIFF": "II*\x00\xff\xff\xff\xff", "PostScript": "%!PS\n(%pipe%id) (w) file", "ELF": "\x7fELF\x02\x01\x01", "RIFF": "RIFF\xff\xff\xff\xffWEBPVP8X", "ftyp": "\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic",
		"JPEG XL": "\xff\x0a\x00", "AVIF": "\x00\x00\x00\x1cftypavif\x00\x00\x00\x00avifmif1", "XML bomb": `<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>`, "zeros": strings.Repeat("\x00", 100_000),
	} {
		all = append(all, hostile{what: what, name: "e.jpg", data: []byte(text)})
	}
	return all
}

// withSegment puts a segment behind the beginning of a JPEG.
func withSegment(j []byte, code byte, body []byte) []byte {
	seg := binary.BigEndian.AppendUint16([]byte{0xff, code}, uint16(len(body)+2))
	return append(append(append(bytes.Clone(j[:2]), seg...), body...), j[2:]...)
}

// hugeMetadata are megabytes of it, and such that leads in circles.
func hugeMetadata(j []byte) (all []hostile) {
	big := bytes.Clone(j)
	for range 400 {
		big = withSegment(big, 0xe1, append([]byte("Exif\x00\x00"), bytes.Repeat([]byte("x"), 65000)...))
	}
	all = append(all, hostile{what: "26 MB of EXIF", name: "f.jpg", data: big})
	for what, tiff := range map[string]string{
		"EXIF that leads to itself":     "II*\x00\x08\x00\x00\x00\x01\x00\x69\x87\x04\x00\x01\x00\x00\x00\x08\x00\x00\x00\x08\x00\x00\x00",
		"EXIF that leads beyond":        "MM\x00*\xff\xff\xff\xff",
		"EXIF of 65535 fields":          "II*\x00\x08\x00\x00\x00\xff\xff",
		"EXIF with a field of 4 GB":     "II*\x00\x08\x00\x00\x00\x01\x00\x0f\x01\x02\x00\xff\xff\xff\xff\x00\x00\x00\x00\x00\x00\x00\x00",
		"EXIF of orientation 99":        "II*\x00\x08\x00\x00\x00\x01\x00\x12\x01\x03\x00\x01\x00\x00\x00\x63\x00\x00\x00\x00\x00\x00\x00",
		"EXIF with a focal length of 0": "II*\x00\x08\x00\x00\x00\x01\x00\x0a\x92\x05\x00\x01\x00\x00\x00\x1a\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00",
	} {
		all = append(all, hostile{what: what, name: "f.jpg", data: withSegment(j, 0xe1, []byte("Exif\x00\x00"+tiff))})
	}
	for i := range 3 {
		all = append(all, hostile{what: fmt.Sprintf("colour profile %d of none", i), name: "f.jpg", data: withSegment(j, 0xe2, fmt.Appendf(nil, "ICC_PROFILE\x00%c%cxx", i, 0))})
	}
	return all
}

// badNames are good pictures under names that lead elsewhere.
func badNames(j []byte) (all []hostile) {
	for _, name := range []string{
		"../../../../etc/passwd", `..\..\..\boot.ini`, "/etc/cron.d/evil", "a\x00b.jpg", strings.Repeat("n", 499), "-rf", "~/.ssh/authorized_keys", ".", "..", "/", "con.jpg",
		"a\r\nSet-Cookie: x=y.jpg", "\u202egpj.exe", "<img src=x onerror=alert(1)>.jpg", "'; DROP TABLE photos; --", "%2e%2e%2fevil", "${HOME}", "$(id)", "`id`", "\xff\xfe.jpg", "file:///etc/passwd", `"quoted".jpg`,
	} {
		all = append(all, hostile{what: fmt.Sprintf("the name %.40q", name), name: name, data: j})
	}
	return all
}
