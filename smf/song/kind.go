package song

import (
	"fmt"
	"slices"
	"strings"
)

// MarkerName writes what a marker says as the name of a section: lower case, words joined by hyphens.
func MarkerName(text string) string {
	return strings.Join(strings.Fields(strings.ToLower(text)), "-")
}

// SectionNames returns the names of sections, numbered from 1 where several bear one, as spans call them.
func SectionNames(sections []Section) []string {
	of, nth := map[string]int{}, map[string]int{}
	for _, sec := range sections {
		of[sec.Name]++
	}
	var out []string
	for _, sec := range sections {
		name := sec.Name
		if nth[name]++; name != "" && of[name] > 1 {
			name = fmt.Sprintf("%s %d", name, nth[name])
		}
		out = append(out, name)
	}
	return out
}

// KindOf guesses what a section is for from its name: "intro", "drop-b", "drop2" or "main-groove".
// Of several words the last that says something decides; NoKind if none does. The words are common
// practice, no source.
func KindOf(name string) Kind {
	if k := kindWord(name); k != NoKind {
		return k
	}
	kind := NoKind
	for _, w := range strings.Split(name, "-") {
		if k := kindWord(strings.TrimRight(w, "0123456789")); k != NoKind {
			kind = k
		}
	}
	return kind
}

// VerseForm tells whether a name that [KindOf] knows is a word of songs with verses, such as chorus or bridge: what it
// calls is like a drop or a break, but need not stand out in level as they do. The words are common practice, no source.
func VerseForm(name string) bool {
	return slices.ContainsFunc(strings.Split(name, "-"), func(w string) bool {
		switch strings.TrimRight(w, "0123456789") {
		case "chorus", "prechorus", "refrain", "bridge", "interlude", "eight", "verse":
			return true
		}
		return false
	})
}

func kindWord(w string) Kind {
	switch w {
	case "intro", "introduction", "opening", "opener", "mix-in", "lead-in":
		return KindIntro
	case "groove", "verse", "main", "theme", "loop", "body", "section", "development", "drums", "jam":
		return KindGroove
	case "break", "breakdown", "bridge", "interlude", "rest", "quiet", "ambient", "middle-eight", "middle":
		return KindBreak
	case "build", "buildup", "build-up", "riser", "rise", "tension", "pre-drop", "pre-chorus", "prechorus",
		"predrop", "ramp", "lift", "climb":
		return KindBuild
	case "drop", "chorus", "peak", "hook", "climax", "refrain", "full", "payoff":
		return KindDrop
	case "outro", "end", "ending", "coda", "mix-out", "out", "close", "closing", "fade":
		return KindOutro
	}
	return NoKind
}
