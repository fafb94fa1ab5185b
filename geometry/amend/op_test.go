package amend_test

import (
	"errors"
	"strings"
	"testing"

	"secondcut/geometry/amend"
)

// What a change does not understand is refused with the word that is wrong in it.
func TestUnknownWords(t *testing.T) {
	for text, word := range map[string]string{
		`{"kind":"length","edge":"hem","mm":4,"moves":"up"}`:                "up",
		`{"kind":"open","line_mm":[[0,50],[100,50]],"mm":4,"join":"glued"}`: "glued",
		`{"kind":"open","line_mm":[[0,50],[100,50]],"mm":4,"by":3}`:         "by",
		`{"kind":"mirror","mm":4}`:                                          "mm",
		`{"kind":"length","mm":4}`:                                          "edge",
	} {
		if _, err := amend.ReadOp([]byte(text)); !errors.Is(err, amend.ErrOp) || !strings.Contains(err.Error(), word) {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, edge := range []string{`{"kind":"fair","edge":"nope","mm":1}`, `{"kind":"length","edge":"nope","mm":1}`} {
		op, err := amend.ReadOp([]byte(edge))
		if err != nil {
			t.Fatal(err)
		}
		if _, _, err := amend.Apply(front(), op); !errors.Is(err, amend.ErrOp) || !strings.Contains(err.Error(), "nope") {
			t.Errorf("%s: %v", edge, err)
		}
	}
}
