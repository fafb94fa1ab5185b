// Package measure reads and writes lengths the way people do: 1.6 cm, 12 mm,
// 5/8, 1 1/2". Inside the program every length is in millimetres.
package measure

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Unit is a unit of length that a person may type.
type Unit string

// The units. Inch is exactly 25.4 mm.
const (
	Millimetre Unit = "mm"
	Centimetre Unit = "cm"
	Inch       Unit = "in"
)

// ErrLength says that a text is no length; the message says what is wrong and how
// to write it.
var ErrLength = errors.New("this is not a length")

// MaxMM bounds what is read: 50 m.
const MaxMM = 50e3

// mm returns the size of a unit in mm.
func (u Unit) mm() float64 {
	switch u {
	case Centimetre:
		return 10
	case Inch:
		return 25.4
	}
	return 1
}

var (
	form    = regexp.MustCompile(`^([0-9][0-9./, -]*|[.,][0-9][0-9]*) ?([a-z"]*)$`)
	decimal = regexp.MustCompile(`^(\d{1,6}([.,]\d{0,9})?|[.,]\d{1,9})$`)
	broken  = regexp.MustCompile(`^(?:(\d{1,6})(?: |-))?(\d{1,3})/(\d{1,3})$`)
	tidy    = strings.NewReplacer("″", `"`, "”", `"`, "“", `"`, "''", `"`, "⁄", "/",
		"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8")
)

// Parse reads a length that is not negative and returns it in mm. A number
// without a unit is in the unit given; a fraction is in inches, whatever that
// unit is, and its denominator one of 2, 4, 8, 16, 32, 64. A decimal comma is
// read as a point. It fails with ErrLength.
func Parse(text string, unit Unit) (float64, error) {
	s := strings.Join(strings.Fields(strings.ToLower(tidy.Replace(text))), " ")
	if s == "" {
		return 0, wrong(text, "nothing is written")
	}
	if strings.HasPrefix(s, "-") || strings.HasPrefix(s, "−") {
		return 0, wrong(text, "a length is not negative")
	}
	m := form.FindStringSubmatch(s)
	if m == nil {
		return 0, wrong(text, `write it as 1.6 cm, 12 mm, 5/8" or 1 1/2"`)
	}
	number, given := strings.TrimSpace(m[1]), m[2]
	if given != "" {
		u, ok := unitNamed(given)
		if !ok {
			return 0, wrong(text, fmt.Sprintf("the unit %q is not known; use mm, cm or in", given))
		}
		unit = u
	}
	value, err := parseNumber(text, number, given, &unit)
	if err != nil {
		return 0, err
	}
	if mm := value * unit.mm(); mm <= MaxMM {
		return mm, nil
	}
	return 0, wrong(text, "more than 50 m is no length of a pattern")
}

// parseNumber reads a decimal number or a fraction, which sets the unit to inches.
func parseNumber(text, number, given string, unit *Unit) (float64, error) {
	if decimal.MatchString(number) {
		return strconv.ParseFloat(strings.Replace(number, ",", ".", 1), 64)
	}
	f := broken.FindStringSubmatch(number)
	if f == nil {
		return 0, wrong(text, `the number cannot be read; write a fraction as 5/8 or 1 1/2`)
	}
	if given != "" && *unit != Inch {
		return 0, wrong(text, "fractions are for inches; write a decimal number, such as 0.5 cm")
	}
	*unit = Inch
	whole, _ := strconv.Atoi("0" + f[1])
	num, _ := strconv.Atoi(f[2])
	den, _ := strconv.Atoi(f[3])
	switch den {
	case 2, 4, 8, 16, 32, 64:
	default:
		return 0, wrong(text, fmt.Sprintf("a ruler has no %ds; use halves, quarters, 8ths, 16ths, 32nds or 64ths", den))
	}
	if num >= den {
		return 0, wrong(text, fmt.Sprintf("%d/%d is not less than one; write the whole inches first, as in 1 1/8", num, den))
	}
	return float64(whole) + float64(num)/float64(den), nil
}

func unitNamed(s string) (Unit, bool) {
	switch s {
	case "mm":
		return Millimetre, true
	case "cm":
		return Centimetre, true
	case "in", "inch", "inches", `"`:
		return Inch, true
	}
	return "", false
}

func wrong(text, why string) error {
	if r := []rune(text); len(r) > 40 {
		text = string(r[:40]) + "…"
	}
	return fmt.Errorf("%w: %q: %s", ErrLength, text, why)
}

// Format writes a length in mm for a person to read: mm and cm to a tenth of a
// millimetre, inches to the nearest sixteenth, which [Parse] reads again.
func Format(mm float64, unit Unit) string {
	if unit != Inch {
		u := unit.mm()
		return strconv.FormatFloat(math.Round(mm*10)/(10*u), 'f', -1, 64) + " " + string(unit)
	}
	n := int(math.Round(mm / 25.4 * 16))
	whole, num, den := n/16, n%16, 16
	for num > 0 && num%2 == 0 {
		num, den = num/2, den/2
	}
	switch {
	case num == 0:
		return fmt.Sprintf(`%d"`, whole)
	case whole == 0:
		return fmt.Sprintf(`%d/%d"`, num, den)
	}
	return fmt.Sprintf(`%d %d/%d"`, whole, num, den)
}
