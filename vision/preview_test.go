package vision_test

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"secondcut/vision"
)

func TestPreview(t *testing.T) {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 900, 600))); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct{ longest, width, height int }{{300, 300, 200}, {2000, 900, 600}} {
		out, err := vision.Preview(t.Context(), b.Bytes(), vision.Limits{}, tt.longest)
		if err != nil {
			t.Fatal(err)
		}
		info, err := vision.Header(out, vision.Limits{})
		if err != nil || info != (vision.Info{Kind: "jpeg", Width: tt.width, Height: tt.height}) {
			t.Errorf("longest %d: got %+v, %v", tt.longest, info, err)
		}
	}
	if _, err := vision.Preview(t.Context(), []byte("no picture"), vision.Limits{}, 100); err == nil {
		t.Error("a text passed as a picture")
	}
}
