package vision_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"testing"

	"secondcut/vision"
)

// Segments that say how pixels look are kept as their standards have them (JFIF: ITU-T
// T.871, 10.1; Adobe: ITU-T T.872, 6.5.3), without what else is put into them. The small
// picture of a JFIF segment may show what was cut off from the large one.
func TestNothingHidesInKeptSegments(t *testing.T) {
	segment := func(code byte, body string) []byte {
		s := binary.BigEndian.AppendUint16([]byte{0xff, code}, uint16(len(body)+2))
		return append(s, body...)
	}
	whole := encoded(t)
	src := bytes.Clone(whole[:2])
	src = append(src, segment(0xe0, "JFIF\x00\x01\x02\x01\x00\x48\x00\x48\x02\x01secret")...)
	src = append(src, segment(0xe0, "JFXX\x00\x10secret")...)
	src = append(src, segment(0xee, "Adobe\x00\x64\x00\x00\x00\x00\x01secret")...)
	src = append(src, segment(0xfe, "secret")...)
	src = append(src, whole[2:]...)
	out, err := vision.StripMetadata(context.Background(), src, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if bytes.Contains(out, []byte("secret")) {
		t.Error("something of what was hidden is still there")
	}
	for _, want := range [][]byte{segment(0xe0, "JFIF\x00\x01\x02\x01\x00\x48\x00\x48\x00\x00"), segment(0xee, "Adobe\x00\x64\x00\x00\x00\x00\x01")} {
		if !bytes.Contains(out, want) {
			t.Errorf("segment % x is missing", want)
		}
	}
	a, err := vision.Decode(context.Background(), src, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := vision.Decode(context.Background(), out, vision.Limits{})
	if err != nil || !bytes.Equal(a.BGR, b.BGR) {
		t.Errorf("the pixels changed, or %v", err)
	}
}

// A bare file is one from which nothing can be taken off; hints are something.
func TestBare(t *testing.T) {
	photo := encoded(t)
	small, err := vision.Preview(t.Context(), withEXIF(photo, 6, 26), vision.Limits{}, 300)
	if err != nil || !vision.Bare(small) {
		t.Errorf("a preview is not bare: %v", err)
	}
	stripped, err := vision.StripMetadata(t.Context(), photo, vision.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	for what, data := range map[string][]byte{
		"EXIF": withEXIF(small, 1, 26), "hints": stripped, "a page behind it": append(append([]byte{}, small...), "<p>"...),
		"half of it": small[:len(small)/2], "nothing": nil, "two bytes": small[:2], "text": []byte("no picture at all"),
	} {
		if vision.Bare(data) {
			t.Errorf("%s passes for bare", what)
		}
	}
}
