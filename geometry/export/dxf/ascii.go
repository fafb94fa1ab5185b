package dxf

import (
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// maxText is the longest text of DXF release 12.
const maxText = 255

// spelled are letters that have no accent to take off, as they are commonly written
// without them.
var spelled = strings.NewReplacer(
	"ß", "ss", "æ", "ae", "Æ", "AE", "ø", "o", "Ø", "O", "œ", "oe", "Œ", "OE", "ł", "l", "Ł", "L", "đ", "d", "Đ", "D", "þ", "th", "Þ", "Th",
	"×", "x", "–", "-", "—", "-", "‑", "-", "’", "'", "‘", "'", "“", `"`, "”", `"`, "°", " deg", "½", "1/2", "¼", "1/4", "¾", "3/4", "\u00a0", " ",
)

// ascii returns a text in 7 bits, on one line: letters without their accents, and a
// question mark for what has no such form.
func ascii(s string) string {
	var b strings.Builder
	for _, r := range norm.NFKD.String(spelled.Replace(s)) {
		switch {
		case unicode.Is(unicode.Mn, r):
		case r < ' ' || r == 0x7f:
			b.WriteByte(' ')
		case r > 0x7e:
			b.WriteByte('?')
		default:
			b.WriteRune(r)
		}
	}
	out := strings.Join(strings.Fields(b.String()), " ")
	return out[:min(len(out), maxText)]
}

// blockName returns a name of at most 31 capital letters, digits, hyphens and
// underscores, as release 12 wants it, that none of those in use has; it is added to them.
func blockName(name string, used map[string]bool) string {
	id := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' {
			return unicode.ToUpper(r)
		}
		return '_'
	}, ascii(name))
	if id = strings.Trim(id, "_"); id == "" {
		id = "PIECE"
	}
	id = id[:min(len(id), 26)]
	free := id
	for n := 2; used[free]; n++ {
		free = id + "_" + itoa(n)
	}
	used[free] = true
	return free
}
