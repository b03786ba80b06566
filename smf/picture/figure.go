package picture

import "loopdraft/smf/song"

// px is a length or position in tenths of a pixel, so that a drawing has the same numbers everywhere.
type px int

// pixel is one pixel.
const pixel px = 10

// figure is a drawing as data: what SVG and PNG have in common.
type figure struct {
	title         string
	attrs         []attr
	width, height px
	groups        []group
}

// group is a number of marks that belong together.
type group struct {
	title string // what it shows, in words; "" for nothing to add
	attrs []attr // for programs that read the SVG
	marks []mark
}

// attr is an attribute of an element, without its "data-".
type attr struct{ name, value string }

// mark is a text, a line (of a width) or an area (without one), all in one ink.
type mark struct {
	ink   ink
	width px     // of the line
	dash  px     // length of the line's dashes and of the gaps between them; 0: none
	path  []step // of a line or area
	text  string // fit to print; "" for a line or area
	at    point  // the text's start or end, on its base line
	font  style
	end   bool // the text ends there
}

// point is a place in a figure, from its upper left corner.
type point struct{ x, y px }

// step is a point of a path; draw says that a straight line leads there from the one before.
type step struct {
	point
	draw bool
}

// style is how a text is set.
type style uint8

const (
	plain style = iota
	small
	bold
	headline
)

// size is the height of a font.
func (s style) size() px { return [...]px{13 * pixel, 11 * pixel, 13 * pixel, 19 * pixel}[s] }

// heavy tells whether a style is set in bold letters.
func (s style) heavy() bool { return s == bold || s == headline }

// ink is what something is drawn with: a shade that depends on the background, or a colour of roles.
type ink uint8

const (
	paper ink = iota
	strong
	soft // text that stays behind
	rule // lines between sections
	hair // lines between phrases, base lines
	grey // parts without a colour of their own
	low  // energy, by band
	mid
	high
	inkVermilion
	inkOrange
	inkYellow
	inkPurple
	inkBlue
	inkSkyBlue
	inkGreen
	inks
)

// class is the ink's name in a style sheet.
func (i ink) class() string {
	return [inks]string{"paper", "strong", "soft", "rule", "hair", "grey", "low", "mid", "high",
		"vermilion", "orange", "yellow", "purple", "blue", "sky", "green"}[i]
}

// colour returns the ink on a light or a dark background. Shades are our own, colours those of the
// palette, made darker on white where they need it.
func (i ink) colour(dark bool) colour {
	shade := func(onLight, onDark colour) colour {
		if dark {
			return onDark
		}
		return onLight
	}
	switch i {
	case paper:
		return shade(colour{0xFF, 0xFF, 0xFF}, colour{0x14, 0x17, 0x1A})
	case strong:
		return shade(colour{0x1B, 0x1F, 0x23}, colour{0xE9, 0xEA, 0xEB})
	case soft:
		return shade(colour{0x5D, 0x64, 0x6C}, colour{0xA3, 0xA9, 0xB0})
	case rule:
		return shade(colour{0xA9, 0xAF, 0xB6}, colour{0x5C, 0x63, 0x6A})
	case hair:
		return shade(colour{0xE4, 0xE6, 0xE9}, colour{0x2B, 0x2F, 0x34})
	case grey:
		return shade(colour{0x80, 0x86, 0x8C}, colour{0x99, 0x9F, 0xA5})
	case low:
		return shade(colour{0x55, 0x5C, 0x64}, colour{0x9C, 0xA3, 0xAA})
	case mid:
		return shade(colour{0x8C, 0x93, 0x9B}, colour{0x6B, 0x72, 0x79})
	case high:
		return shade(colour{0xCB, 0xCF, 0xD4}, colour{0x45, 0x4B, 0x51})
	}
	role := [...]colour{vermilion(), orange(), yellow(), purple(), blue(), skyBlue(), green()}[i-inkVermilion]
	return shade(role.onWhite(), role)
}

// roleInk returns the ink of a role.
func roleInk(r song.Role) ink {
	c, ok := roleColour(r)
	for i := inkVermilion; ok && i < inks; i++ {
		if i.colour(true) == c {
			return i
		}
	}
	return grey
}

// stroke adds a line between two points.
func stroke(path []step, from, to point) []step {
	return append(path, step{point: from}, step{to, true})
}
