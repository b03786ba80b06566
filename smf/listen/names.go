package listen

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"loopdraft/smf/song"
)

// longestBase is how many letters of a track's name a part's name takes over.
const longestBase = 32

// nameBase turns a track's name into a part's, see [song.IsName]: Latin letters without their accents, those of other
// scripts as they are, in lower case where there is one; "" where nothing is left of it.
func nameBase(title string) string {
	var b strings.Builder
	letters, gap := 0, false
	for _, r := range title {
		if letters >= longestBase {
			break
		}
		if unicode.In(r, unicode.M, unicode.Cf) { // an accent; the letter before it stays, and the accent is left out
			continue
		}
		s := plainLetters(r)
		if s == "" && song.IsName(string(unicode.ToLower(r))) {
			s = string(unicode.ToLower(r))
		}
		if s == "" || letters == 0 && s[0] >= '0' && s[0] <= '9' {
			gap = letters > 0
			continue
		}
		if gap {
			b.WriteByte('-')
			gap = false
			letters++
		}
		b.WriteString(s)
		letters += utf8.RuneCountInString(s)
	}
	return b.String()
}

// plainLetters returns a letter or digit in ASCII and lower case, Latin letters without their
// accents; "" for anything else.
func plainLetters(r rune) string {
	switch {
	case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
		return string(r)
	case r >= 'A' && r <= 'Z':
		return string(r + 'a' - 'A')
	}
	switch r {
	case 'à', 'á', 'â', 'ã', 'å', 'À', 'Á', 'Â', 'Ã', 'Å':
		return "a"
	case 'ä', 'Ä', 'æ', 'Æ':
		return "ae"
	case 'ç', 'Ç', 'č', 'Č', 'ć', 'Ć':
		return "c"
	case 'è', 'é', 'ê', 'ë', 'È', 'É', 'Ê', 'Ë', 'ě', 'Ě', 'ę', 'Ę':
		return "e"
	case 'ì', 'í', 'î', 'ï', 'Ì', 'Í', 'Î', 'Ï':
		return "i"
	case 'ł', 'Ł':
		return "l"
	case 'ñ', 'Ñ', 'ń', 'Ń', 'ň', 'Ň':
		return "n"
	case 'ò', 'ó', 'ô', 'õ', 'Ò', 'Ó', 'Ô', 'Õ', 'ő', 'Ő':
		return "o"
	case 'ö', 'Ö', 'ø', 'Ø', 'œ', 'Œ':
		return "oe"
	case 'š', 'Š', 'ś', 'Ś':
		return "s"
	case 'ß':
		return "ss"
	case 'ù', 'ú', 'û', 'Ù', 'Ú', 'Û', 'ů', 'Ů', 'ű', 'Ű':
		return "u"
	case 'ü', 'Ü':
		return "ue"
	case 'ý', 'ÿ', 'Ý':
		return "y"
	case 'ž', 'Ž', 'ż', 'Ż', 'ź', 'Ź':
		return "z"
	}
	return ""
}

// reservedWord tells whether the word belongs to the grammar of sections and spans.
func reservedWord(w string) bool {
	switch w {
	case "all", "every", "other", "section", "bar", "bars", "beat", "beats", "first", "last", "of", "before",
		"after", "from", "to", "start", "end", "but", "and", "or", "if", "any":
		return true
	}
	return false
}

// misnamed tells whether the voice would bear the name of a role, a job or a group without being it,
// or a reserved word. The one word that is both a job and reserved, "beat", is a job.
func (v *voice) misnamed(base string) bool {
	if slices.Contains(song.Groups(), base) {
		return true
	}
	isJob := slices.Contains(song.Jobs(), song.Job(base))
	role, isRole := song.RoleWord(base)
	if isJob && v.Job == song.Job(base) || isRole && v.Role == role {
		return false
	}
	return isJob || isRole || reservedWord(base)
}

// place returns the place of a voice that would bear the name of a job among those that have it, from 1, in the order in
// which a recipe counts them; 0 if the word means it alone, or is no job.
func (h *hearing) place(v *voice) int {
	if !slices.Contains(song.Jobs(), song.Job(v.base)) {
		return 0
	}
	place, others, after := 1, false, false
	for _, w := range h.voices {
		switch {
		case w == v:
			after = true
		case w.Role != song.RoleTrigger && w.Job == song.Job(v.base):
			others = true
			order := cmp.Or(cmp.Compare(w.Turn, v.Turn), cmp.Compare(song.RankOf(w.Role), song.RankOf(v.Role)))
			if order < 0 || order == 0 && !after {
				place++
			}
		}
	}
	if !others {
		return 0
	}
	return place
}

// names gives every voice its name. A name that a recipe gave one voice stays; other voices of one
// name are numbered in their order, and so is one that would bear the name of a job that it shares.
func (h *hearing) names() {
	voices, given := map[string]int{}, map[string]int{}
	taken := map[string]bool{}
	for _, v := range h.voices {
		v.base = v.wantedName()
		voices[v.base]++
		if v.nameGiven {
			given[v.base]++
		}
	}
	stays := func(v *voice) bool {
		return voices[v.base] == 1 && (v.nameGiven || h.place(v) == 0) || v.nameGiven && given[v.base] == 1
	}
	for _, v := range h.voices {
		if stays(v) {
			v.Name = v.base
			taken[v.Name] = true
		}
	}
	number := map[string]int{}
	for _, v := range h.voices {
		number[v.base]++
		if stays(v) {
			continue
		}
		stem, _, _ := strings.Cut(v.base, " ")
		n := number[v.base]
		if voices[v.base] == 1 {
			n = h.place(v)
		}
		for taken[stem+" "+strconv.Itoa(n)] {
			n++
		}
		v.Name = stem + " " + strconv.Itoa(n)
		taken[v.Name] = true
	}
}

// wantedName returns a voice's name before it is numbered.
func (v *voice) wantedName() string {
	base := v.base
	switch {
	case v.nameGiven:
		return base
	case base == "" && v.Role != song.RoleUnknown:
		base = string(v.Role)
	case base == "":
		base = "track-" + strconv.Itoa(v.Track+1)
	}
	if v.misnamed(base) {
		base += "-track"
	}
	return base
}
