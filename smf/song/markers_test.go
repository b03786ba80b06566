package song_test

import (
	"fmt"
	"slices"
	"testing"

	"loopdraft/smf"
)

func TestMarkedSections(t *testing.T) {
	type marker struct {
		tick smf.Tick
		text string
	}
	const bar = 384 // 4/4 at 96 ticks a quarter
	for _, tt := range []struct {
		rule    string
		markers []marker
		want    []string
	}{
		{"each marker begins a section", []marker{{0, "intro"}, {2 * bar, "drop"}}, []string{"intro 1+2", "drop 3+2"}},
		{"bars before the first have no name", []marker{{bar, "drop"}}, []string{" 1+1", "drop 2+3"}},
		{"a marker off the bar line is none", []marker{{0, "intro"}, {bar + 1, "lyric"}}, []string{"intro 1+4"}},
		{"of several on one line the first counts", []marker{{0, "intro"}, {0, "take 2"}}, []string{"intro 1+4"}},
		{"an empty marker is none", []marker{{0, "intro"}, {bar, " "}}, []string{"intro 1+4"}},
		{"a marker at the end begins nothing", []marker{{0, "intro"}, {4 * bar, "end"}}, []string{"intro 1+4"}},
		{"no marker, no section", nil, nil},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			var track smf.Track
			for _, m := range tt.markers {
				track.AppendMeta(m.tick, 0x06, []byte(m.text))
			}
			track.End = 4 * bar
			s := from(t, &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{track}})
			var got []string
			for _, sec := range s.MarkedSections() {
				got = append(got, fmt.Sprintf("%s %d+%d", sec.Name, sec.Bar, sec.Bars))
			}
			if !slices.Equal(got, tt.want) {
				t.Errorf("found %q, want %q", got, tt.want)
			}
		})
	}
}

func TestMarkedSectionsNeedBars(t *testing.T) {
	track := conductorTrack()
	for _, f := range []*smf.File{
		{Format: 2, Division: 96, Tracks: []smf.Track{track}},
		{Format: 1, Division: 0xE728, Tracks: []smf.Track{track}},
	} {
		if got := from(t, f).MarkedSections(); got != nil {
			t.Errorf("found %v in a file without common bars", got)
		}
	}
}
