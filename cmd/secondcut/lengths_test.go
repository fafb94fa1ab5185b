package main

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"secondcut/geometry/measure"
)

// TestLengthsAreReadAsOnThePage reads the lengths that the page's tests read.
func TestLengthsAreReadAsOnThePage(t *testing.T) {
	data, err := os.ReadFile("../../web/test/fixtures/lengths.json")
	if err != nil {
		t.Fatal(err)
	}
	var cases []struct {
		Text string       `json:"text"`
		Unit measure.Unit `json:"unit"`
		MM   *float64     `json:"mm"`
	}
	if err := json.Unmarshal(data, &cases); err != nil || len(cases) < 10 {
		t.Fatalf("%d cases: %v", len(cases), err)
	}
	for _, c := range cases {
		mm, err := measure.Parse(c.Text, c.Unit)
		switch {
		case c.MM == nil && err == nil:
			t.Errorf("%q in %s is read as %g mm", c.Text, c.Unit, mm)
		case c.MM != nil && (err != nil || math.Abs(mm-*c.MM) > 1e-9):
			t.Errorf("%q in %s is read as %g mm, not %g: %v", c.Text, c.Unit, mm, *c.MM, err)
		}
	}
}
