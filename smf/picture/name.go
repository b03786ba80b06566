package picture

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// readable returns a text as UTF-8. Where some bytes are no UTF-8 and no character beyond ASCII is, it is
// taken as Latin-1 (ISO 8859-1): files leave their encoding open, and older programs wrote that of their
// system.
func readable(name string) string {
	if utf8.ValidString(name) {
		return name
	}
	latin := make([]rune, len(name))
	for i := range len(name) {
		if _, n := utf8.DecodeRuneInString(name[i:]); n > 1 {
			return name
		}
		latin[i] = rune(name[i])
	}
	return string(latin)
}

// clean makes a name fit to print on one line: it is made [readable], terminal escape sequences go as a
// whole, white space becomes a single space, and control, format (such as marks that turn the direction
// of writing) and invalid characters go. With ascii, other characters become a question mark each.
func clean(name string, ascii bool) string {
	name = readable(name)
	var b strings.Builder
	space, marks := false, 0
	for i := 0; i < len(name); {
		if n := escape(name[i:]); n > 0 {
			i += n
			continue
		}
		r, n := utf8.DecodeRuneInString(name[i:])
		i += n
		switch {
		case unicode.IsSpace(r):
			space = b.Len() > 0
			continue
		case r == utf8.RuneError && n == 1, !unicode.IsGraphic(r):
			continue
		case cells(r) == 0:
			// Two marks a letter are enough for any language's names; heaps of them reach into the
			// lines above and below. A mark without a letter before it has nothing to stand on.
			if marks++; ascii || marks > 2 || space || b.Len() == 0 {
				continue
			}
			b.WriteRune(r)
			continue
		case ascii && r > '~':
			r = '?'
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		marks = 0
		b.WriteRune(r)
	}
	return b.String()
}

// escape returns the length of the terminal escape sequence (ECMA-48 5.3-5.6) that s starts with, 0
// if it starts with none: ESC [ or CSI up to its final byte, ESC ] and the like up to their
// terminator, ESC and what follows up to one final byte.
func escape(s string) int {
	switch {
	case strings.HasPrefix(s, "\x1b["):
		return 2 + controlSequence(s[2:])
	case strings.HasPrefix(s, "\u009b"):
		return len("\u009b") + controlSequence(s[len("\u009b"):])
	case len(s) > 1 && s[0] == 0x1b && strings.IndexByte("]P_^X", s[1]) >= 0:
		return 2 + controlString(s[2:])
	case s != "" && s[0] == 0x1b:
		i := 1
		for i < len(s) && s[i] >= 0x20 && s[i] < 0x30 {
			i++
		}
		if i < len(s) && s[i] >= 0x30 && s[i] < 0x7F {
			i++
		}
		return i
	}
	return 0
}

// controlSequence is the length of parameters (30h-3Fh), intermediates (20h-2Fh) and a final byte
// (40h-7Eh).
func controlSequence(s string) int {
	i := 0
	for i < len(s) && s[i] >= 0x20 && s[i] < 0x40 {
		i++
	}
	if i < len(s) && s[i] >= 0x40 && s[i] < 0x7F {
		i++
	}
	return i
}

// controlString is the length up to and with BEL or ESC \; all of s if neither comes.
func controlString(s string) int {
	for i := 0; i < len(s); i++ {
		if s[i] == 0x07 {
			return i + 1
		}
		if strings.HasPrefix(s[i:], "\x1b\\") {
			return i + 2
		}
	}
	return len(s)
}

// cells returns how many columns of a terminal a character takes: 0 for combining marks, 2 for wide
// East Asian characters and pictographs, else 1. The wide ranges are the large blocks of UAX #11
// (from memory), which is enough for names.
func cells(r rune) int {
	switch {
	case r < 0x300:
		return 1
	case unicode.In(r, unicode.Mn, unicode.Me, unicode.Cf), r >= 0x1160 && r <= 0x11FF:
		return 0
	case r >= 0x1100 && r <= 0x115F, // Hangul
		r >= 0x2E80 && r <= 0x303E, r >= 0x3041 && r <= 0x4DBF, r >= 0x4E00 && r <= 0xA4CF, // CJK, kana, Yi
		r >= 0xAC00 && r <= 0xD7A3, r >= 0xF900 && r <= 0xFAFF,
		r >= 0xFE30 && r <= 0xFE6F, r >= 0xFF00 && r <= 0xFF60, r >= 0xFFE0 && r <= 0xFFE6,
		r >= 0x1F300 && r <= 0x1F64F, r >= 0x1F680 && r <= 0x1FAFF, // pictographs
		r >= 0x20000 && r <= 0x3FFFD:
		return 2
	}
	return 1
}

// width returns how many columns a text takes.
func width(s string) int {
	n := 0
	for _, r := range s {
		n += cells(r)
	}
	return n
}

// head returns as much of the start of s as fits in n columns.
func head(s string, n int) string {
	for i, r := range s {
		if n -= cells(r); n < 0 {
			return s[:i]
		}
	}
	return s
}

// cut shortens a text to n columns, at least 1; mark stands where something is missing. The number
// of a numbered name ("synth 12") is kept, since it is what tells such names apart.
func cut(s string, n int, mark string) string {
	if width(s) <= n {
		return s
	}
	tail := ""
	if i := strings.LastIndexByte(s, ' '); i > 0 && digits(s[i+1:]) && len(s)-i+2 <= n {
		tail = s[i:]
	}
	return strings.TrimRight(head(s, n-width(mark)-len(tail)), " ") + mark + tail
}

func digits(s string) bool { return s != "" && strings.Trim(s, "0123456789") == "" }
