package measure_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"secondcut/geometry/measure"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		unit measure.Unit
		want float64
	}{
		{"5/8", measure.Millimetre, 15.875}, // exactly, by the definition of the inch
		{`1 1/2"`, measure.Millimetre, 38.1},
		{"1-1/2 in", measure.Centimetre, 38.1},
		{"1½ inches", measure.Centimetre, 38.1},
		{"⅝″", measure.Centimetre, 15.875},
		{"1.6 cm", measure.Inch, 16},
		{"1,6cm", measure.Inch, 16},
		{"12 mm", measure.Inch, 12},
		{"12", measure.Millimetre, 12},
		{"1.5", measure.Centimetre, 15},
		{".5", measure.Inch, 12.7},
		{" 2  in ", measure.Millimetre, 50.8},
		{"0", measure.Millimetre, 0},
	} {
		got, err := measure.Parse(c.text, c.unit)
		if err != nil || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("Parse(%q, %s) = %g, %v; want %g", c.text, c.unit, got, err, c.want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for text, word := range map[string]string{
		"": "nothing", "  ": "nothing", "wide": "write it as", "-3 mm": "negative", "5/8/2": "fraction", "5/": "fraction",
		"/8": "write it as", "5//8": "fraction", "1 5/9": "9s", "9/8": "less than one", "1 8/8": "less than one", "5/0": "0s",
		"1/2 cm": "decimal", "3 furlongs": "furlongs", "1 2": "fraction", "1.2.3": "fraction", "1.5 1/2": "fraction",
		"1e3": "write it as", "NaN": "write it as", "inf": "write it as", "60000 mm": "50 m", "1 1 1/2": "fraction", `5/8""`: "unit",
	} {
		_, err := measure.Parse(text, measure.Millimetre)
		if !errors.Is(err, measure.ErrLength) || !strings.Contains(err.Error(), word) {
			t.Errorf("Parse(%q): error %v; want one with %q", text, err, word)
		}
	}
}

// What is written reads back to within what writing rounds away.
func TestFormatReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := rapid.Float64Range(0, 3000).Draw(t, "mm")
		for unit, within := range map[measure.Unit]float64{measure.Millimetre: 0.0501, measure.Centimetre: 0.0501, measure.Inch: 25.4/32 + 1e-9} {
			text := measure.Format(mm, unit)
			got, err := measure.Parse(text, measure.Millimetre)
			if err != nil || math.Abs(got-mm) > within {
				t.Fatalf("%g mm is written %q and read as %g, %v", mm, text, got, err)
			}
		}
	})
}

// Every sixteenth of an inch is written and read exactly.
func TestSixteenths(t *testing.T) {
	for n := range 16 * 40 {
		mm := float64(n) * 25.4 / 16
		got, err := measure.Parse(measure.Format(mm, measure.Inch), measure.Millimetre)
		if err != nil || math.Abs(got-mm) > 1e-9 {
			t.Fatalf("%d/16 in is read back as %g mm, %v; want %g", n, got, err, mm)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"5/8", `1 1/2"`, "1,6 cm", "½", "1-", "\xff", "12mm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		mm, err := measure.Parse(s, measure.Centimetre)
		if err != nil {
			if !errors.Is(err, measure.ErrLength) {
				t.Errorf("%q: %v is not ErrLength", s, err)
			}
			return
		}
		if !(mm >= 0 && mm <= measure.MaxMM) {
			t.Errorf("%q is read as %g mm", s, mm)
		}
	})
}
