package listen_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
)

// Loops at the edge of what is one: every note is in one part, and each part has a job unless it is a
// trigger.
func TestHearOddLoops(t *testing.T) {
	sixty := func() *smf.File {
		var rows []string
		for i := range 60 {
			rows = append(rows, fmt.Sprintf("%q %d %d x...x.......x...", fmt.Sprintf("Quay %c%c", 'A'+i/26, 'A'+i%26), 1+i%16, 30+i))
		}
		return loop(t, strings.Join(rows, "\n"))
	}
	lengths := func(of func(i int) smf.Tick) *smf.File {
		var tr smf.Track
		for i := range 16 {
			at := smf.Tick(i * step)
			note(&tr, 1, 36+i%5, at, at+of(i), 100)
		}
		tr.End = bar
		return &smf.File{Format: 1, Division: ppq, Tracks: []smf.Track{tr}}
	}
	silent := loop(t, `"Bass" 1 36 x...x...x...x...`)
	silent.Tracks[0].Events = append([]smf.Event{smf.Channel(0, 0xB0, 7, 0)}, silent.Tracks[0].Events...)
	metres := loop(t, `"" 1 60 x...x...x...x...|x...x...x...x...`)
	for i, m := range [][]byte{{3, 4, 24, 8}, {1, 6, 24, 8}, {255, 0, 24, 8}} {
		metres.Tracks[0].Events = append([]smf.Event{}, metres.Tracks[0].Events...)
		metres.Tracks[0].AppendMeta(smf.Tick(i*40), 0x58, m)
	}
	for _, row := range []struct {
		rule  string
		file  *smf.File
		parts int
	}{
		{"no pitched part", loop(t, `"Drums" 10 36 x...x...x...x...`), 1},
		{"drums alone, on tracks of their own", loop(t, "\"\" 1 60 x...x...x...x...\n\"\" 2 60 ....x.......x..."), 2},
		{"one beat", loop(t, `"" 1 60 x...`), 1},
		{"one bar, one note", loop(t, `"" 1 36 x---------------`), 1},
		{"sixty tracks", sixty(), 60},
		{"notes of no length", lengths(func(int) smf.Tick { return 0 }), 1},
		{"notes of a tick", lengths(func(int) smf.Tick { return 1 }), 1},
		{"notes to the end of what a file holds", lengths(func(i int) smf.Tick { return 1<<28 - 1 - smf.Tick(i*step) }), 1},
		{"volume 0", silent, 1},
		{"metres of a 1/64 and of 255 whole notes", metres, 1},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s := raw(t, row.file)
			heard, r, err := listen.Hear(s, listen.Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkPartition(t, s, heard)
			checkWritten(t, s, listen.Loop{}, heard, r)
			if len(heard.Parts) != row.parts {
				t.Errorf("heard %d parts, want %d:\n%s", len(heard.Parts), row.parts, show(heard))
			}
			for i, p := range heard.Parts {
				if p.Job == "" {
					t.Errorf("%s has no job", p.Name)
				}
				if c := r.Parts[i].Confidence; c < 0 || c > 100 {
					t.Errorf("%s: confidence %d %%", p.Name, c)
				}
			}
		})
	}
}
