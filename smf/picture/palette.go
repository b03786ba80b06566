package picture

import "loopdraft/smf/song"

// colour is a colour of eight bits each of red, green and blue.
type colour struct{ R, G, B uint8 }

// The colours of Okabe and Ito, "Color Universal Design" (2008), chosen to stay apart for people
// with every common kind of colour vision. The values agree across many public copies of the list;
// the original page was not seen.
func orange() colour    { return colour{0xE6, 0x9F, 0x00} }
func skyBlue() colour   { return colour{0x56, 0xB4, 0xE9} }
func green() colour     { return colour{0x00, 0x9E, 0x73} } // bluish green
func yellow() colour    { return colour{0xF0, 0xE4, 0x42} }
func blue() colour      { return colour{0x00, 0x72, 0xB2} }
func vermilion() colour { return colour{0xD5, 0x5E, 0x00} }
func purple() colour    { return colour{0xCC, 0x79, 0xA7} } // reddish purple

// onWhite returns a colour of the palette as it is drawn on white: light ones have red, green and blue made smaller
// by one share of their light, so that the hue stays and the contrast to white is 3 to 1 (WCAG 2.2, 1.4.11).
func (c colour) onWhite() colour {
	switch c {
	case orange():
		return colour{0xC3, 0x86, 0x00}
	case skyBlue():
		return colour{0x49, 0x9A, 0xC8}
	case yellow():
		return colour{0x9D, 0x95, 0x28}
	}
	return c
}

// roleColour returns the colour of a role, and false for roles drawn in the colour of the text. Kin
// share one: the row's name tells them apart.
func roleColour(r song.Role) (colour, bool) {
	switch r {
	case song.RoleKick:
		return vermilion(), true
	case song.RoleSnare, song.RoleClap, song.RoleRim:
		return orange(), true
	case song.RoleHat, song.RoleOpenHat, song.RoleShaker, song.RoleRide:
		return yellow(), true
	case song.RolePerc, song.RoleTom, song.RoleCrash:
		return purple(), true
	case song.RoleBass, song.RoleSub:
		return blue(), true
	case song.RoleLead, song.RoleStab, song.RoleArp:
		return skyBlue(), true
	case song.RoleChords, song.RolePad, song.RoleStrings, song.RoleDrone:
		return green(), true
	}
	return colour{}, false
}

// index256 returns the nearest entry of the 6x6x6 cube of a terminal of 256 colours, 16..231 (its
// levels 0, 95, 135, 175, 215, 255: xterm, from memory).
func (c colour) index256() int {
	return 16 + 36*cube(c.R) + 6*cube(c.G) + cube(c.B)
}

// cube returns the nearest of the cube's levels, the lower of two as near.
func cube(v uint8) int {
	best := 0
	levels := [6]int{0, 95, 135, 175, 215, 255}
	for i, at := range levels {
		if abs(int(v)-at) < abs(int(v)-levels[best]) {
			best = i
		}
	}
	return best
}

func abs(n int) int { return max(n, -n) }
