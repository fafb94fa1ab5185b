package sheet

import (
	"regexp"
	"strings"
	"testing"
)

// No line of a label ends between a number and its unit or fraction, however narrow.
func TestLengthsStayOnOneLine(t *testing.T) {
	torn := regexp.MustCompile(`\d$`)
	notes := []string{"hem: includes 30 mm hem, turned twice (10 mm and 20 mm)", `cuff: leave 1 9/16" (40 mm) open`, "chest 88.5 cm"}
	seen := 0
	for width := 4.0; width < 60; width++ {
		for _, l := range newLabel(Piece{Name: "Front"}, 0, width, notes).lines {
			if torn.MatchString(l.text) {
				t.Errorf("%g em: a line ends with %q", width, l.text)
			}
			seen += strings.Count(l.text, "mm")
		}
	}
	if seen == 0 {
		t.Error("no length was seen")
	}
}
