package intake_test

import (
	"errors"
	"testing"

	"secondcut/geometry/export/dxf"
	"secondcut/geometry/intake"
	"secondcut/geometry/interchange/svg"
)

func TestFormByContent(t *testing.T) {
	for text, want := range map[string]error{
		"": intake.ErrForm, "%PDF-1.4": intake.ErrForm,
		"\xef\xbb\xbf<?xml version=\"1.0\"?><svg/>": svg.ErrNoUnit,
		"  0\nSECTION\n": dxf.ErrNotDXF, "999\nmade by hand\n0\nEOF\n": dxf.ErrNoPiece,
	} {
		_, err := intake.Read([]byte(text), intake.Options{})
		if !errors.Is(err, want) || intake.Remedy(err) == "" {
			t.Errorf("%q: %v, want %v", text, err, want)
		}
	}
	p, err := intake.Read([]byte(`<svg viewBox="0 0 1 1"><path d="M0 0H1V2H0Z"/></svg>`), intake.Options{TallMM: 500})
	if err != nil || p.Pieces[0].Cut.Area() != 500*250 {
		t.Errorf("%+v, %v", p, err)
	}
}
