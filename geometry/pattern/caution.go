package pattern

import (
	"regexp"
	"strconv"
	"strings"

	"secondcut/geometry"
)

// Codes of cautions. They are shown and never block.
const (
	CodeCautionChild     = "caution-child"
	CodeCautionNightwear = "caution-nightwear"
	CodeCautionCord      = "caution-cord"
	CodeCautionHood      = "caution-hood"
)

var (
	childWord  = words(`month|months|mths?|toddler|baby|babies|infant|newborn|child|children|child's|children's|kid|kids|boys?|girls?`)
	childSize  = regexp.MustCompile(`(?i)(^|[^a-z0-9])([2-6]\s?t|\d{1,2}\s?(-|–|to|/)\s?\d{1,2}\s?(m|mo|y|yrs?|years?)|\d{1,2}\s?(m|mo|y|yrs?|years?))($|[^a-z0-9])`)
	heightSize = regexp.MustCompile(`(?i)(^|[^0-9.,])(\d{2,3})\s*(cm)?($|[^0-9.,a-z])`)
	nightWord  = words(`nightdress|nightgown|nightshirt|nightwear|nightie|pyjamas?|pajamas?|sleepwear|sleepsuit|bathrobe|dressing gown|robe|loungewear`)
	cordWord   = words(`drawstring|drawcord|cord|cords|ties|lace-up|ribbon tie`)
	hoodWord   = words(`hood|hoods|hooded`)
)

func words(list string) *regexp.Regexp { return regexp.MustCompile(`(?i)\b(` + list + `)\b`) }

// Cautions returns what to look up before a garment is made or passed on, as its
// labels suggest: children's sizes (months, 2T, a height of 134 cm), nightwear,
// cords, hoods. What they say is a pointer to the rules that hold where it is worn,
// not those rules: among them 16 CFR 1615 and 1616 and ASTM F1816 (US), the
// Nightwear (Safety) Regulations 1985 (UK), EN 14682 and EN 14878 (Europe).
func Cautions(g Garment) []geometry.Finding {
	text, sizes := allText(g)
	child := childWord.MatchString(text) || childSize.MatchString(sizes) || childHeight(sizes)
	night, hood := nightWord.MatchString(text), hoodWord.MatchString(text)
	cord := cordWord.MatchString(text) || hasCord(g)
	var out []geometry.Finding
	add := func(code, message, remedy string) {
		out = append(out, geometry.Finding{Code: code, Severity: geometry.SeverityInfo, Message: message, Remedy: remedy})
	}
	if child {
		add(CodeCautionChild, "This looks like a child's garment. Buttons, eyelets and cord ends can come off and be swallowed, and loose parts can catch.",
			"Sew small parts on firmly and pull at them; keep cords away from hood and neck. Local safety rules decide, above all if it is given away or sold.")
	}
	if night {
		add(CodeCautionNightwear, "Nightwear is worn near open fires and heaters; many countries have rules on which cloth and which fit are allowed, for children above all. They are not checked here.",
			"Ask the consumer safety office of the country before making it for somebody else or selling it.")
	}
	if cord && (child || hood) {
		add(CodeCautionCord, "Cords and ties can catch on slides, doors and vehicles and strangle a child.",
			"Use no cord at hood or neck of young children's clothes; elsewhere keep ends short, without knots or toggles, and stitch the cord down at the centre back. Local rules give the lengths.")
	} else if cord {
		add(CodeCautionCord, "If a child may wear this, its cords can catch and strangle.",
			"For children, leave cords out at hood and neck and keep others short and stitched down, as local rules say.")
	}
	if hood && child {
		add(CodeCautionHood, "A hood on a child's garment can catch and hold it by the neck.",
			"Make it so that it comes off under a pull, and without cords; local rules decide.")
	}
	return out
}

// allText gathers the words of a garment, and those of its size labels alone.
func allText(g Garment) (text, sizes string) {
	size := []string{g.SizeWorn, g.SizeMeasured}
	all := []string{g.Name, g.Notes}
	for _, p := range g.Pieces {
		all = append(all, p.Name)
		for _, e := range p.Edges {
			all = append(all, e.Name)
		}
		if p.Label != nil {
			size = append(size, p.Label.SizeWorn, p.Label.SizeMeasured)
			all = append(all, p.Label.Notes)
		}
	}
	sizes = strings.Join(size, "\n")
	return strings.Join(all, "\n") + "\n" + sizes, sizes
}

// childHeight reports whether a size is a child's height as sizes name it: 50 to
// 164 cm in steps of 6 (EN 13402, from memory). A number among others counts only
// when the line speaks of height.
func childHeight(sizes string) bool {
	for _, line := range strings.Split(sizes, "\n") {
		alone := len(strings.Fields(strings.TrimSuffix(strings.TrimSpace(line), "cm"))) == 1
		height := strings.Contains(strings.ToLower(line), "height")
		for _, m := range heightSize.FindAllStringSubmatch(line, -1) {
			cm, _ := strconv.Atoi(m[2])
			if (alone || height) && cm >= 50 && cm <= 164 && (cm-50)%6 == 0 {
				return true
			}
		}
	}
	return false
}

func hasCord(g Garment) bool {
	for _, p := range g.Pieces {
		for _, e := range p.Edges {
			if e.finish().Holds == HoldsCord {
				return true
			}
		}
	}
	return false
}
