package review_test

import (
	"strings"
	"testing"

	"loopdraft/moves/review"
)

// A section that is only heard as what it is promises less than one that a marker names: what is a warning of the one is
// a note of the other.
func TestWhatIsOnlyHeardIsANote(t *testing.T) {
	const form = `
		kick  x...x...x...x...  1-32,57-72
		hat   ..x...x...x...x.  9-32,57-72
		clap  ....x.......x...  17-32,57-72
		bass  ..x-..x-..x-..x-  17-31,57-72
		stab  x--..x--..x-....  57-72
		pad   x---------------  33-56
		snare:37 o...o...o...o...  49-52
		snare:38 x.x.x.x.x.x.x.x.  53-54
		snare:39 XXXXXXXXXXXXXXXX  55-56`
	for _, tt := range []struct{ name, music, sections, rule, want string }{
		{"a song that stops in a drop", form, "intro 16, groove 16, break 24, drop 16", "drop", "65-72 end 0/8 bars"},
		{"a break that is as full as what is around it", form + `
		chords X--X--X--X--X-X-  33-56
		lead:72 X--X--X--X--X-X-  33-56`, "intro 16, groove 16, break 24, drop 16", "break", "33-56 -4.3/3 dB"},
		{"a section of an odd number of bars", `
			kick  x...x...x...x...
			pad   x---------------  1-17
			bass  ..x-..x-..x-..x-  18-41
			clap  ....x.......x...  18-41
			hat   ..x...x...x...x.  18-41`, "intro 17, groove 24", "section-length", "1-17 17/20 bars"},
	} {
		for _, marked := range []bool{true, false} {
			s := row{music: tt.music, sections: tt.sections}.song(t, 0)
			if !marked {
				s = s.WithSections(nil)
			}
			got, err := review.Review(review.Input{Song: s}, review.Options{Bare: true})
			if err != nil {
				t.Fatal(err)
			}
			level := map[bool]string{true: "warn ", false: "note "}[marked]
			var lines []string
			for _, f := range ofRule(got, tt.rule) {
				lines = append(lines, tell(f))
			}
			if text := strings.Join(lines, "\n"); text != level+tt.want {
				t.Errorf("%s, marked %v: got %q, want %q\n%v\n%s", tt.name, marked, text, level+tt.want, got.Sections, allOf(got))
			}
		}
	}
}
