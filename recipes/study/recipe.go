package study

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
)

// Recipe returns the study as a recipe: sections, line-ups by role and moves, with what was heard in
// comments. Whatever a loop lacks is left out or played by what is nearest. from says where it was heard,
// "" for nowhere.
func (st *Study) Recipe(from string) []byte {
	var b strings.Builder
	heard := "Studied"
	if from != "" {
		heard += " from " + comment(from)
	}
	fmt.Fprintf(&b, "# %s: %s, %s at %s bpm, %s.\n", heard, Bars(st.Bars), Clock(st.Seconds), Number(st.BPM), st.Metre)
	b.WriteString("# Parts of a loop that are not named play where others of their job do.\n")
	for _, line := range st.Told {
		b.WriteString("# " + comment(line) + "\n")
	}
	fmt.Fprintf(&b, "length: %s\nphrase: %s\nsubstitutes: nearest\n\nsections:\n", Bars(st.sectionBars()), Bars(st.Phrase))
	for i, sec := range st.Sections {
		b.WriteString("  # " + comment(sec.summary()) + "\n")
		if like := st.like(i); like != "" {
			fmt.Fprintf(&b, "  - {name: %s, like: %s}\n", sec.Name, like)
			continue
		}
		energy := ""
		if sec.Energy != "" {
			energy = ", energy: " + sec.Energy
		}
		fmt.Fprintf(&b, "  - {name: %s, bars: %d, play: [%s]%s}\n", sec.Name, sec.Bars, strings.Join(sec.LineUp, ", "), energy)
	}
	moves := false
	for i, sec := range st.Sections {
		if len(sec.Moves) == 0 {
			continue
		}
		if !moves {
			b.WriteString("\nmoves:\n")
			moves = true
		}
		next := ""
		if i+1 < len(st.Sections) {
			next = ", then " + st.Sections[i+1].Ref
		}
		b.WriteString("  # " + comment(sec.Ref+next+": "+strings.Join(sec.Heard(), ", ")) + "\n")
		for _, m := range sec.Moves {
			b.WriteString("  - " + m.String() + "\n")
		}
	}
	return []byte(b.String())
}

// like returns the earlier section of the same name that a section is wholly like; "" for none.
func (st *Study) like(i int) string {
	sec := st.Sections[i]
	for _, was := range st.Sections[:i] {
		if was.Name == sec.Name && was.Bars == sec.Bars && was.Energy == sec.Energy && slices.Equal(was.LineUp, sec.LineUp) {
			return was.Ref
		}
	}
	return ""
}

// summary says in a line where a section is and what says what it is for.
func (sec Section) summary() string {
	energy := fmt.Sprintf("energy %.0f %%", 100*sec.OfFull)
	switch {
	case sec.Rises():
		energy += ", rising"
	case sec.Falls():
		energy += ", falling"
	}
	sure := fmt.Sprintf("%s, %.0f %% sure", sec.Kind, 100*sec.Sure)
	if len(sec.Signs) > 0 {
		sure += " (" + strings.Join(sec.Signs, ", ") + ")"
	}
	if sec.Marker != "" && sec.Marker != sec.Name {
		energy += fmt.Sprintf("; its marker says %q", sec.Marker)
	}
	return fmt.Sprintf("from bar %d, %s, %.0f %% of the track; %s; %s", sec.Bar, Clock(sec.Start), 100*sec.Share, sure, energy)
}

// Heard lists what was heard in a section and on the way to the next, without repetitions.
func (sec Section) Heard() []string {
	var out []string
	for _, m := range sec.Moves {
		if !slices.Contains(out, m.Heard) {
			out = append(out, m.Heard)
		}
	}
	return out
}

// Rises tells whether the energy of a section rises by a tenth of the loudest bar's.
func (sec Section) Rises() bool { return sec.Rise >= .1 }

// Falls tells whether it falls by as much.
func (sec Section) Falls() bool { return sec.Rise <= -.1 }

// Bars writes a number of bars.
func Bars(n int) string {
	if n == 1 {
		return "1 bar"
	}
	return fmt.Sprintf("%d bars", n)
}

// Clock writes seconds as minutes:seconds, fractions of a second left out.
func Clock(seconds float64) string {
	s := int(math.Floor(seconds + 1e-6))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// Number writes a number with two decimals at most.
func Number(v float64) string {
	return strings.TrimRight(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
}

// longest is how many characters of a text from a file stand in a comment.
const longest = 300

// comment makes of a text one line that may stand in a comment.
func comment(text string) string {
	out, n := strings.Builder{}, 0
	for _, r := range strings.ToValidUTF8(text, "?") {
		if n++; n > longest {
			out.WriteRune('~')
			break
		}
		if !unicode.IsPrint(r) {
			r = '?'
		}
		out.WriteRune(r)
	}
	return out.String()
}
