package listen

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"loopdraft/smf/song"
)

// longestName is how many bytes of a track's name are read.
const longestName = 256

// saying is what a track's name says.
type saying struct {
	role    song.Role // unknown: it names no instrument
	kit     bool      // it speaks of a whole kit
	ofBreak bool      // it speaks of a break, cut in slices or not
	pitched bool      // it speaks of an instrument with pitches, whichever
	generic bool      // it says nothing at all ("Track 3", "MIDI 01", "")
	// It names an instrument and not what that plays: a piano may play anything.
	instrument bool
	tune       bool // it says that this is what one hums
}

// nameSays reads a track's name: whole words in any case, the last one that names an instrument
// decides ("Bass Stab" is a stab), numbers say nothing. A word for the tune outranks one for an instrument
// ("Lead Guitar" is a lead). Words of the trade are common practice, no source.
func nameSays(name string) saying {
	tokens, joined := nameTokens(name[:min(len(name), longestName)])
	out := saying{role: song.RoleUnknown, generic: true}
	strong := false
	drums := 0
	var firstDrum song.Role
	open, reversed, trigger, tune := false, false, false, false
	for i := 0; i < len(tokens); {
		role, used := roleAt(tokens[i:])
		if used == 0 {
			switch word := tokens[i].text; {
			case tokens[i].channel || genericWord(word):
			case word == "open" || foreignOpen(word):
				open, out.generic = true, false
			case word == "reverse" || word == "reversed" || word == "rev":
				reversed, out.generic = true, false
			case breakWord(word):
				out.kit, out.ofBreak, out.generic = true, true, false
			case pitchedWord(word):
				out.pitched, out.generic = true, false
			case kitWord(word):
				out.kit, out.generic = true, false
			default:
				out.generic = false
			}
			i++
			continue
		}
		out.generic = false
		tune = tune || slices.ContainsFunc(tokens[i:i+used], func(t token) bool { return tuneWord(t.text) })
		if weak := used == 1 && weakWord(tokens[i].text); !weak || !strong {
			out.role, out.instrument = role, used == 1 && instrumentWord(tokens[i].text)
			strong = strong || !weak
		}
		trigger = trigger || role == song.RoleTrigger
		if role.Drum() && (drums == 0 || role != firstDrum) {
			if drums == 0 {
				firstDrum = role
			}
			drums++
		}
		i += used
	}
	switch {
	case trigger:
		out.role, out.kit, out.instrument = song.RoleTrigger, false, false
	case reversed:
		out.role, out.kit, out.instrument = song.RoleFX, false, false
	case open && out.role == song.RoleHat:
		out.role = song.RoleOpenHat
	case !joined && !out.role.Drum() && out.role != song.RoleUnknown && out.role != song.RoleFX:
		out.kit = false // a "Rhythm Guitar" is no kit
	}
	if tune && (out.instrument || out.role == song.RoleStrings) {
		out.role, out.instrument = song.RoleLead, false
	}
	out.tune = tune && (out.role == song.RoleLead || out.role == song.RoleVocal)
	if joined && drums > 1 { // "Kick & Snare" is two sounds, not a snare
		out.role, out.kit = song.RoleUnknown, true
	}
	return out
}

// roleAt returns the role that the first words name, and how many words that takes: "open hi hat"
// is longer than "hat". 0: none.
func roleAt(tokens []token) (song.Role, int) {
	for n := min(3, len(tokens)); n > 0; n-- {
		if n == 1 && tokens[0].channel {
			break
		}
		words := make([]string, n)
		for i := range words {
			words[i] = tokens[i].text
		}
		if role, ok := trackWord(strings.Join(words, "-")); ok {
			return role, n
		}
	}
	return song.RoleUnknown, 0
}

// trackWord returns the role of a word, or of several joined by hyphens: the role words of recipes
// and what else tracks are called.
func trackWord(word string) (song.Role, bool) {
	switch word {
	case "kd", "sub-kick":
		return song.RoleKick, true
	case "xstick", "x-stick":
		return song.RoleRim, true
	case "hho", "hat-open", "hats-open", "hihat-open", "hi-hat-open":
		return song.RoleOpenHat, true
	case "hhc", "hat-closed", "hats-closed", "hihat-closed", "hi-hat-closed", "tops", "top-loop":
		return song.RoleHat, true
	case "snap", "snaps", "finger-snap", "finger-snaps":
		return song.RoleClap, true
	case "tamb", "shake", "shakes":
		return song.RoleShaker, true
	case "djembe", "tabla", "agogo", "guiro", "cuica", "triangle", "block", "woodblocks", "cb", "prc", "bell-tree":
		return song.RolePerc, true
	case "bs", "bss", "wobble":
		return song.RoleBass, true
	case "mel", "melo", "theme", "tune", "hook", "solo", "riff", "pluck", "plucks", "plk", "flute", "sax", "trumpet", "bell", "bells",
		"saxophone", "clarinet", "oboe", "harmonica", "whistle", "marimba", "vibraphone", "xylophone", "kalimba", "glockenspiel",
		"synth-lead", "lead-synth":
		return song.RoleLead, true
	case "stb", "brass", "horns", "trombone", "orchestra-hit", "orch-hit":
		return song.RoleStab, true
	case "chd", "chrd", "pno", "ep", "org", "guitar", "guitars", "gtr", "clav", "harmony",
		"rhodes", "wurlitzer", "harpsichord", "accordion", "keyboard", "keyboards":
		return song.RoleChords, true
	case "bass-guitar":
		return song.RoleBass, true
	case "seq", "sequence", "arpeggiator", "harp":
		return song.RoleArp, true
	case "pd", "atmo", "atmos", "atmosphere", "ambience", "ambient", "texture", "wash", "choir", "bed":
		return song.RolePad, true
	case "str", "strs", "violin", "viola", "cello", "orchestra", "orch", "vln", "vla", "vlc":
		return song.RoleStrings, true
	case "efx", "rise", "uplift", "downer", "whoosh", "boom", "reverse-crash", "reverse-cymbal", "drop-fx":
		return song.RoleFX, true
	case "vx", "vocal-lead", "acapella", "acappella", "adlib", "adlibs", "chant", "chants":
		return song.RoleVocal, true
	case "sc", "duck", "ducker", "ducking", "pump", "pump-key", "sc-kick", "kick-sc":
		return song.RoleTrigger, true
	case "unknown":
		return song.RoleUnknown, false
	}
	if role, ok := song.RoleWord(word); ok {
		return role, true
	}
	return foreignWord(word)
}

// instrumentWord tells whether the word names what is played rather than what it plays: a piano plays
// chords more often than anything else, but also basses and leads.
func instrumentWord(w string) bool {
	switch w {
	case "piano", "keys", "keyboard", "keyboards", "organ", "pno", "ep", "org", "guitar", "guitars", "gtr", "clav", "rhodes", "wurlitzer",
		"harpsichord", "accordion", "flute", "sax", "saxophone", "trumpet", "clarinet", "oboe", "harmonica", "whistle",
		"bell", "bells", "marimba", "vibraphone", "xylophone", "kalimba", "glockenspiel", "harp", "brass", "horns",
		"trombone", "violin", "violins", "viola", "cello", "vln", "vla", "vlc", "choir",
		"floete", "trompete", "glocke", "glocken", "trompette", "cloche", "cloches", "flauta", "trompeta", "campana",
		"campanas", "flauto", "tromba", "blaeser", "cuivres", "metales", "ottoni", "metais", "ブラス", "klavier",
		"orgel", "gitarre", "guitare", "orgue", "guitarra", "organo", "teclado", "teclados", "chitarra", "pianoforte",
		"violao", "gitaar", "gitarr", "gitara", "organy", "kitara", "kytara", "гитара", "пианино", "орган", "ピアノ",
		"ギター", "オルガン", "chor", "choeur", "choeurs", "coro", "coros", "koor", "geige", "geigen", "violon",
		"violons", "violini":
		return true
	}
	return false
}

// weakWord tells whether the word says what a track plays rather than what plays it: "Bass Riff" is
// a bass.
func weakWord(w string) bool {
	switch w {
	case "riff", "seq", "sequence", "theme", "tune", "hook", "solo", "melody", "mel", "melo", "bed", "harmony", "texture",
		"tops", "pluck", "plucks", "plk":
		return true
	}
	return false
}

// tuneWord tells whether the word says that a track plays what one hums.
func tuneWord(w string) bool {
	switch w {
	case "lead", "leads", "ld", "melody", "mel", "melo", "solo", "theme", "tune", "topline", "top",
		"vocal", "vocals", "vox", "vx", "voc", "melodie", "melodia", "мелодия", "メロディ", "メロディー":
		return true
	}
	return false
}

func kitWord(w string) bool {
	switch w {
	case "drum", "drums", "kit", "drumkit", "beat", "beats", "drumloop", "rhythm", "groove":
		return true
	}
	return breakWord(w) || foreignKit(w)
}

func breakWord(w string) bool {
	switch w {
	case "break", "breaks", "breakbeat", "breakbeats", "amen", "slice", "slices", "sliced":
		return true
	}
	return false
}

// pitchedWord tells whether the word is of sounds with a pitch that play any role.
func pitchedWord(w string) bool {
	switch w {
	case "synth", "syn", "poly", "mono", "saw", "square", "fm", "analog", "acid", "tone":
		return true
	}
	return false
}

// genericWord tells whether exporters write the word where nobody gave a name.
func genericWord(w string) bool {
	switch w {
	case "track", "trk", "midi", "channel", "chan", "inst", "instr", "instrument", "untitled", "unnamed",
		"new", "clip", "pattern", "part", "loop", "audio", "region", "item", "out", "port", "staff", "and", "the":
		return true
	}
	return foreignGeneric(w)
}

// token is a word of a name in lower case; channel: it is the "ch" of "Ch 10".
type token struct {
	text    string
	channel bool
}

// nameTokens cuts a name into words at everything that is no letter, where letters meet digits,
// and where a lower-case letter meets a capital ("OpenHat"); joined tells whether "&", "+", "/",
// "," or "and" stands in it.
func nameTokens(name string) (tokens []token, joined bool) {
	start := -1
	end := func(i int) {
		if start >= 0 {
			word := plainWord(name[start:i])
			joined = joined || word == "and"
			tokens = append(tokens, token{word, word == "ch" && channelNumber(name[i:])})
		}
		start = -1
	}
	for i := 0; i < len(name); i++ {
		c := name[i]
		switch {
		case isLetter(c):
			if start >= 0 && c >= 'A' && c <= 'Z' && name[i-1] >= 'a' && name[i-1] <= 'z' {
				end(i)
			}
			if start < 0 {
				start = i
			}
		default:
			end(i)
			joined = joined || c == '&' || c == '+' || c == '/' || c == ','
		}
	}
	end(len(name))
	return tokens, joined
}

// plainWord returns a word in lower case, Latin letters without their accents. Bytes that are no UTF-8
// are read as ISO 8859-1, as older sequencers wrote it.
func plainWord(word string) string {
	var b strings.Builder
	for i, r := range word {
		if r == utf8.RuneError && !strings.HasPrefix(word[i:], "\uFFFD") {
			r = rune(word[i])
		}
		if plain := plainLetters(r); plain != "" {
			b.WriteString(plain)
		} else {
			b.WriteRune(unicode.ToLower(r))
		}
	}
	return b.String()
}

// channelNumber tells whether the text starts with a channel's number, 1 to 16.
func channelNumber(s string) bool {
	s = strings.TrimLeft(s, " .-_#")
	n, i := 0, 0
	for ; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
		n = min(n*10+int(s[i]-'0'), 1000)
	}
	return i > 0 && n >= 1 && n <= 16
}

// isLetter tells whether a byte is part of a word: a letter of ASCII, or of any other alphabet.
func isLetter(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= 0x80
}
