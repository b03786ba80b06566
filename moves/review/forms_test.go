package review_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/review"
)

// These are two published forms as small arrangements of invented loops.
const (
	// The plan of a trance track of 212 bars in Snoman, The Dance Music Manual, 2004, pp. 49-51: drums only; they
	// fill in; bass; motif; all percussion back from the fourth bar after the kick was out; a second body; the
	// motif alone; a roll of eight bars; everything; snares; a motif dropped; percussion only.
	handbookForm  = "intro 32, groove 16, theme 16, turn 8, body 32, break 4, build 8, drop 32, peak 32, groove 16, outro 16"
	handbookMusic = `
		kick      x...x...x...x...  1-64,73-104,117-212
		hat       ..x...x...x...x.  9-63,69-103,117-204
		clap      ....x.......x...  17-63,69-103,117-196
		perc      ...x..x....x....  25-31,33-47,49-63,69-88,117-200
		bass      ..x-..x-..x-..x-  33-63,73-103,117-196
		stab      x--..x--..x-....  49-104,117-180
		lead      x..x..x..x..x...  81-108,117-147,149-195
		snare:38  o...o...o...o...  109-112
		snare:39  x.x.x.x.x.x.x.x.  113-114
		snare:40  xxxxxxxxxxxxxxxx  115-116
		snare:41  ............xxxx  148,156,164,172,180`

	// Sections of 16 bars, something added every 4 or 8, a breakdown in the middle: Computer Music, 2017-03-22. In
	// it bass and bass drum are taken out, and come back after a drum roll and a rest: Solberg, Dancecult 6(1), 2014.
	magazineForm  = "intro 16, groove 16, groove 16, break 16, build 8, drop 16, drop 16, outro 16"
	magazineMusic = `
		kick      x...x...x...x...  1-15,17-31,33-47,73-119
		hat       ..x...x...x...x.  9-48,73-112
		clap      ....x.......x...  17-48,73-104
		perc      ...x..x....x....  25-48,81-104
		bass      ..x-..x-..x-..x-  33-47,73-103
		stab      x--..x--..x-....  41-55,57-72,81-104
		pad       x---------------  57-63,65-71,73-88,97-103
		snare:38  o...o...o...o...  65-68
		snare:39  x.x.x.x.x.x.x.x.  69-70
		snare:40  xxxxxxxxxxxx....  71-72,88`
)

// TestPublishedFormsPass holds the rules for form, mixing and length against published forms, and against the
// same with something of it undone. What changes from phrase to phrase the forms do not say.
func TestPublishedFormsPass(t *testing.T) {
	var checks []review.Check
	for _, r := range review.Catalogue() {
		if r.Group == review.Form || r.Group == review.Mixing || r.Group == review.Length {
			checks = append(checks, r.New())
		}
	}
	for _, tt := range []struct {
		name, form, music string
		warned            string // the rules that warn, with the bars they warn of
	}{
		{"the handbook's plan", handbookForm, handbookMusic, ""},
		{"with kick and bass all through", handbookForm, swap(handbookMusic, "1-64,73-104,117-212", "1-212", "33-63,73-103,117-196", "33-196"),
			"break 105-108 bass, break 105-108"},
		{"without the roll", handbookForm, swap(handbookMusic, "115-116", "1", "113-114", "1", "109-112", "109-116"), "build 109-116"},
		{"with the motif from the start", handbookForm, swap(handbookMusic, "49-104,117-180", "1-104,117-180"), "mix-in 1-16"},
		{"with the motif to the end", handbookForm, swap(handbookMusic, "49-104,117-180", "49-104,117-212"), "mix-out 197-212"},
		{"the magazine's", magazineForm, magazineMusic, ""},
		{"with all of it in the first half", magazineForm, swap(magazineMusic, "73-103", "200", "81-104", "33-48", "73-119", "73-80,105-119"), "peak 41-48, drop 73-88, drop 73-88, drop 81-88, drop 89-104, drop 89-104"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := at(row{music: tt.music, sections: tt.form}.song(t, 0), 1_000_000*60/100) // 100 bpm
			got, err := review.Review(review.Input{Song: s}, review.Options{Checks: checks, Bare: true})
			if err != nil {
				t.Fatal(err)
			}
			var warned []string
			for _, f := range got.Findings {
				if f.Answer != nil {
					t.Errorf("an answer was looked for: %v", f.Answer.Texts())
				}
				if f.Level > review.Note {
					warned = append(warned, strings.TrimSpace(fmt.Sprintf("%s %d-%d %s", f.Rule, f.First, f.Last, strings.Join(f.Parts, ","))))
				}
			}
			if text := strings.Join(warned, ", "); text != tt.warned {
				t.Errorf("got  %s\nwant %s\n%s", text, tt.warned, allOf(got))
			}
		})
	}
}

// swap replaces bars in an arrangement, each of them there.
func swap(music string, pairs ...string) string {
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(music, pairs[i]) {
			panic("no bars " + pairs[i])
		}
	}
	return strings.NewReplacer(pairs...).Replace(music)
}
