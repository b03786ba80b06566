package review_test

import (
	"fmt"
	"strings"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// differences writes a comparison: a line a section, then what differs in it.
func differences(c review.Comparison) string {
	at := func(s *review.SectionOfOne) string {
		if s == nil {
			return "-"
		}
		return fmt.Sprintf("%d+%d", s.Bar, s.Bars)
	}
	var out []string
	if len(c.Added)+len(c.Gone) > 0 {
		out = append(out, fmt.Sprintf("added %v gone %v", c.Added, c.Gone))
	}
	for _, s := range c.Sections {
		text := fmt.Sprintf("%s %s %s", s.Name, at(s.First), at(s.Second))
		if len(s.In) > 0 {
			text += fmt.Sprintf(" in %v", s.In)
		}
		if len(s.Out) > 0 {
			text += fmt.Sprintf(" out %v", s.Out)
		}
		for _, p := range s.Changed {
			text += fmt.Sprintf(" %s %v", p.Part, p.Bars)
		}
		out = append(out, text)
	}
	return strings.Join(out, "\n")
}

func TestCompare(t *testing.T) {
	const beat = "kick x...x...x...x...\nbass x---x---x---x---  5-12"
	first := row{music: beat, sections: "intro 4, drop 8, outro 4"}
	for _, tt := range []struct {
		name   string
		second row
		want   string
	}{
		{"nothing differs", first, "intro 1+4 1+4\ndrop 5+8 5+8\noutro 13+4 13+4"},
		{"a part plays another note in a bar", row{music: beat + "\nkick:40 ................", sections: first.sections, setup: change(0, func(notes []song.Note) []song.Note {
			notes[21].Vel-- // bar 6
			return notes
		})}, "intro 1+4 1+4\ndrop 5+8 5+8 kick [6]\noutro 13+4 13+4"},
		{"a part comes in where it was not, and leaves where it was", row{music: "kick x...x...x...x...\nbass x---x---x---x---  13-16", sections: first.sections},
			"intro 1+4 1+4\ndrop 5+8 5+8 out [bass]\noutro 13+4 13+4 in [bass]"},
		{"a part is new, another gone", row{music: "kick x...x...x...x...\nlead x---x---x---x---  5-12", sections: first.sections},
			"added [lead] gone [bass]\nintro 1+4 1+4\ndrop 5+8 5+8 in [lead] out [bass]\noutro 13+4 13+4"},
		{"a longer section is compared from its start, and those after it stay in their places", row{music: "kick x...x...x...x...\nbass x---x---x---x---  9-16", sections: "intro 8, drop 8, outro 4"},
			"intro 1+4 1+8\ndrop 5+8 9+8\noutro 13+4 17+4"},
		{"a section is put between", row{music: "kick x...x...x...x... 1-4,9-20\nbass x---x---x---x---  9-16", sections: "intro 4, break 4, drop 8, outro 4"},
			"intro 1+4 1+4\nbreak - 5+4\ndrop 5+8 9+8\noutro 13+4 17+4"},
		{"a section is gone", row{music: "kick x...x...x...x...\nbass x---x---x---x---  5-12", sections: "intro 4, drop 8"},
			"intro 1+4 1+4\ndrop 5+8 5+8\noutro 13+4 -"},
		{"another name of the same kind is the same section", row{music: beat, sections: "opening 4, chorus 8, outro 4"},
			"intro 1+4 1+4\ndrop 5+8 5+8\noutro 13+4 13+4"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := review.Compare(first.song(t, 0), tt.second.song(t, 0))
			if err != nil {
				t.Fatal(err)
			}
			if text := differences(got); text != tt.want {
				t.Errorf("got\n%s\nwant\n%s", text, tt.want)
			}
			if got.Same != (tt.name == "nothing differs" || strings.HasPrefix(tt.name, "another name")) {
				t.Errorf("same: %v", got.Same)
			}
		})
	}
}

// TestCompareOtherResolution: what a sequencer wrote with more ticks a quarter note is the same music.
func TestCompareOtherResolution(t *testing.T) {
	fine := func(times, late smf.Tick) song.Song {
		f := &smf.File{Format: 1, Division: smf.Division(96 * times)}
		var events []smf.Event
		for beat := range smf.Tick(32) {
			events = append(events, smf.Channel(96*times*beat+late, 0x99, 36, 100), smf.Channel(96*times*beat+24*times, 0x99, 36, 0))
		}
		f.Tracks = []smf.Track{smf.TrackFromStore(events, 96*times*32, nil)}
		s, err := song.From(f)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	for _, row := range []struct {
		rule  string
		times smf.Tick
		late  smf.Tick
		same  bool
	}{
		{"five times as fine", 5, 0, true},
		{"and off by a tick that came of rounding", 5, 2, true},
		{"and late by a 1/64 note is another place", 5, 30, false},
		{"of one resolution a tick is another place", 1, 1, false},
	} {
		got, err := review.Compare(fine(1, 0), fine(row.times, row.late))
		if err != nil {
			t.Fatal(err)
		}
		if got.Same != row.same {
			t.Errorf("%s: same %v\n%s", row.rule, got.Same, differences(got))
		}
	}
}

func TestCompareRefuses(t *testing.T) {
	s := row{music: "kick x...x...x...x...", sections: "x 8"}.song(t, 0)
	if _, err := review.Compare(s, song.Song{}); err == nil {
		t.Error("a song without bars is compared")
	}
	many := make([]song.Section, 1001)
	for i := range many {
		many[i] = song.Section{Name: "x", Bar: 1}
	}
	if _, err := review.Compare(s, s.WithSections(many)); err == nil || !strings.HasPrefix(err.Error(), "found 1001 sections, want at most 1000") {
		t.Errorf("got %v", err)
	}
}
