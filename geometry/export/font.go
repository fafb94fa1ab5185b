package export

import (
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The parsed fonts never change once read, so that they are read only once.
var (
	regularFont = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(liberationsansregular.TTF) })
	boldFont    = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(liberationsansbold.TTF) })
)

// face returns the parsed font. The bytes are compiled in, so a failure to read
// them is a broken build.
func face(bold bool) *sfnt.Font {
	get := regularFont
	if bold {
		get = boldFont
	}
	f, err := get()
	if err != nil {
		panic("export: the built-in font cannot be read: " + err.Error())
	}
	return f
}

// TextWidth returns the width in mm of one line of text at the given em size in
// mm. Unprintable characters count as what is written in their place.
func TextWidth(content string, size float64, bold bool) float64 {
	f := face(bold)
	em := fixed.Int26_6(f.UnitsPerEm()) << 6
	var buf sfnt.Buffer
	var sum fixed.Int26_6
	for _, r := range printable(content) {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			continue
		}
		if adv, err := f.GlyphAdvance(&buf, g, em, font.HintingNone); err == nil {
			sum += adv
		}
	}
	return float64(sum) / float64(em) * size
}

// printable returns the text with line breaks and tabs turned into spaces and
// characters that the fonts lack into question marks. Combining accents are
// dropped when the fonts lack them.
func printable(content string) string {
	f := face(false)
	var buf sfnt.Buffer
	var b strings.Builder
	for _, r := range content {
		switch g, err := f.GlyphIndex(&buf, r); {
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		case unicode.IsControl(r):
		case err == nil && g != 0 && r <= 0xFFFF:
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r):
		default:
			b.WriteByte('?')
		}
	}
	return b.String()
}

// noBreak is the no-break space.
const noBreak = '\u00a0'

// Wrap breaks text into lines of at most width mm, at spaces but not at
// no-break spaces. A word that is too long for a line stands alone on one.
func Wrap(content string, size, width float64, bold bool) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(content, func(r rune) bool { return unicode.IsSpace(r) && r != noBreak }) {
		next := strings.TrimSpace(line + " " + word)
		if line != "" && TextWidth(next, size, bold) > width {
			lines = append(lines, line)
			next = word
		}
		line = next
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
