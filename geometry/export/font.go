package export

import (
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/go-fonts/liberation/liberationsansbold"
	"github.com/go-fonts/liberation/liberationsansregular"
	"golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"
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

// lacking stands for a character that the fonts lack: an empty box, as people
// know it from screens.
const lacking = '\u25a1'

// printable returns the text with line breaks and tabs turned into spaces and
// characters that the fonts lack into empty boxes. Combining accents are
// joined with their letter where there is such a letter, else dropped when the
// fonts lack them; signs that only steer how others are shown are dropped.
func printable(content string) string {
	if isASCII(content) {
		return content
	}
	f := face(false)
	var buf sfnt.Buffer
	var b strings.Builder
	for _, r := range norm.NFC.String(content) {
		switch {
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		case unicode.IsControl(r):
		case inFont(f, &buf, r):
			b.WriteRune(r)
		case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf):
		default:
			b.WriteRune(lacking)
		}
	}
	return b.String()
}

// visual returns a text in the order in which its letters stand from left to right,
// as is needed where nobody else orders them: words in Hebrew run to the left.
func visual(content string) string {
	leftward := func(r rune) bool {
		p, _ := bidi.LookupRune(r)
		return p.Class() == bidi.R || p.Class() == bidi.AL
	}
	if !strings.ContainsFunc(content, leftward) {
		return content
	}
	var p bidi.Paragraph
	if _, err := p.SetString(content); err != nil {
		return content
	}
	order, err := p.Order()
	if err != nil {
		return content
	}
	var b strings.Builder
	for i := range order.NumRuns() {
		run := order.Run(i)
		if run.Direction() == bidi.RightToLeft {
			b.WriteString(bidi.ReverseString(run.String()))
		} else {
			b.WriteString(run.String())
		}
	}
	return b.String()
}

// isASCII reports whether a text is of letters that need no thought.
func isASCII(content string) bool {
	for i := range len(content) {
		if content[i] < ' ' || content[i] > '~' {
			return false
		}
	}
	return true
}

// inFont reports whether the font has a character. Those beyond the basic plane
// are none that the PDF library can write.
func inFont(f *sfnt.Font, buf *sfnt.Buffer, r rune) bool {
	g, err := f.GlyphIndex(buf, r)
	return err == nil && g != 0 && r <= 0xFFFF
}

// Lacking returns the characters of a text, each once, that the built-in fonts
// lack and that are drawn as empty boxes.
func Lacking(content string) string {
	f := face(false)
	var buf sfnt.Buffer
	var out []rune
	for _, r := range norm.NFC.String(content) {
		plain := unicode.IsSpace(r) || unicode.IsControl(r) || unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf)
		if !plain && !inFont(f, &buf, r) && !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return string(out)
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
