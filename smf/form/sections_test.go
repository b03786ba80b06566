package form_test

import (
	"fmt"
	"testing"

	"loopdraft/smf/form"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"

	"github.com/google/go-cmp/cmp"
)

// The plan of a trance track in a handbook (Snoman, The Dance Music Manual, 2004, pp. 49-51), as far as
// it says what plays: 212 bars. The onsets and levels are ours.
func TestKindsOfAHandbookPlan(t *testing.T) {
	plan := []struct {
		bars               int
		beat, bass         bool
		drums              float64
		loudness, endsWith float64
		denser             float64 // at its end
		plays              string
		want               song.Kind // none where the handbook's words may be read in two ways
	}{
		{16, true, false, 8, .4, .4, 1, "drums only", song.KindIntro},
		{16, true, false, 12, .5, .55, 1, "drums fill in", song.KindIntro},
		{16, true, true, 16, .7, .7, 1, "bass", song.KindGroove},
		{16, true, true, 16, .82, .82, 1, "motif", song.KindGroove},
		{8, true, true, 4, .6, .65, 1, "all percussion but the kick out", song.NoKind},
		{32, true, true, 16, .85, .85, 1, "second body", song.KindGroove},
		{4, false, false, 0, .3, .3, 1, "motif alone", song.KindBreak},
		{8, false, false, 4, .35, .6, 8, "snare roll over 8 bars", song.KindBuild},
		{32, true, true, 20, 1, 1, 1, "everything", song.KindDrop},
		{32, true, true, 22, .98, .98, 1, "snare embellishments", song.KindDrop},
		{16, true, true, 18, .75, .7, 1, "a motif dropped, one filtered out", song.NoKind},
		{16, true, false, 14, .5, .4, 1, "percussion only", song.KindOutro},
	}
	var stretches []form.Stretch
	for _, row := range plan {
		bars := make([]form.Signs, row.bars)
		for b := range bars {
			at := float64(b) / float64(row.bars-1)
			bars[b] = form.Signs{Beat: row.beat, Bass: row.bass, Drums: row.drums * (1 + at*(row.denser-1)), Loudness: row.loudness + at*(row.endsWith-row.loudness)}
		}
		stretches = append(stretches, form.StretchOf(bars))
	}
	for i, got := range form.KindsOf(stretches) {
		if want := plan[i].want; want != song.NoKind && got.Kind != want {
			t.Errorf("%s: got %s (%v), want %s", plan[i].plays, got.Kind, got.Signs, want)
		}
		if got.Sure <= 0 || got.Sure > 1 {
			t.Errorf("%s: got sure %g, want more than 0 to 1", plan[i].plays, got.Sure)
		}
	}
}

func TestKinds(t *testing.T) {
	in := form.Stretch{Bars: 16, Beat: 1, Bass: 1, Drums: 16, Denser: 1, Loudness: 1}
	out := form.Stretch{Bars: 16, Drums: 2, Denser: 1, Loudness: .4}
	beats := form.Stretch{Bars: 16, Beat: 1, Drums: 16, Denser: 1, Loudness: .6}
	rising := form.Stretch{Bars: 8, Drums: 8, Denser: 4, Loudness: .6, Rise: .3}
	long := rising
	long.Bars = 16
	quiet := form.Stretch{Bars: 16, Denser: 1, Loudness: .5}
	full := form.Stretch{Bars: 16, Denser: 1, Loudness: 1}
	for _, row := range []struct {
		name string
		in   []form.Stretch
		want []song.Kind
	}{
		{"one section is a groove", []form.Stretch{in}, []song.Kind{song.KindGroove}},
		{"a song without a sound", []form.Stretch{{Bars: 8, Denser: 1}, {Bars: 8, Denser: 1}}, []song.Kind{song.KindGroove, song.KindGroove}},
		{"beats at both ends", []form.Stretch{beats, in, beats}, []song.Kind{song.KindIntro, song.KindGroove, song.KindOutro}},
		{"kick and bass go and come back", []form.Stretch{beats, in, out, in, beats}, []song.Kind{song.KindIntro, song.KindGroove, song.KindBreak, song.KindDrop, song.KindOutro}},
		{"eight bars that rise are a build", []form.Stretch{beats, in, rising, in}, []song.Kind{song.KindIntro, song.KindGroove, song.KindBuild, song.KindDrop}},
		{"sixteen are a break", []form.Stretch{beats, in, long, in}, []song.Kind{song.KindIntro, song.KindGroove, song.KindBreak, song.KindDrop}},
		{"after a break they are a build", []form.Stretch{beats, in, out, long, in}, []song.Kind{song.KindIntro, song.KindGroove, song.KindBreak, song.KindBuild, song.KindDrop}},
		{"without drums and bass the level decides", []form.Stretch{quiet, full, quiet, full, quiet}, []song.Kind{song.KindIntro, song.KindDrop, song.KindBreak, song.KindDrop, song.KindOutro}},
	} {
		t.Run(row.name, func(t *testing.T) {
			var got []song.Kind
			for _, g := range form.KindsOf(row.in) {
				got = append(got, g.Kind)
			}
			if diff := cmp.Diff(row.want, got); diff != "" {
				t.Errorf("(-want +got)\n%s", diff)
			}
		})
	}
}

// Beat, bass and drums of a section are heard of the parts that play in it, by their jobs: a bass that rests tells an
// introduction and an ending though the kick never leaves. What only triggers others is no drum.
func TestWhatIsHeardOfASection(t *testing.T) {
	s := drawn(t,
		"kick "+times(24, downbeats),
		"trigger "+times(24, downbeats),
		"bass "+times(8, rest)+times(8, upbeats)+times(8, rest),
		"pad:60 "+times(8, rest)+times(8, "x---------------")+times(8, rest))
	s, _, err := listen.Hear(s, listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	st := structureOf(t, s, 8)
	st.Sections = []song.Section{{Name: "A", Bar: 1, Bars: 8}, {Name: "B", Bar: 9, Bars: 8}, {Name: "C", Bar: 17, Bars: 8}}
	var got []string
	for _, sec := range form.Sections(s, st) {
		got = append(got, fmt.Sprintf("%s: %s, beat %g, bass %g, drums %g", sec.Name, sec.Kind, sec.Stretch.Beat, sec.Stretch.Bass, sec.Stretch.Drums))
	}
	want := []string{"A: intro, beat 1, bass 0, drums 4", "B: groove, beat 1, bass 1, drums 4", "C: outro, beat 1, bass 0, drums 4"}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

func TestSectionsAreNamedOrHeard(t *testing.T) {
	s := drawn(t,
		"kick "+times(8, downbeats)+times(8, rest)+times(8, downbeats),
		"bass "+times(8, upbeats)+times(8, rest)+times(8, upbeats),
		"pad:60 "+times(24, "x---------------"))
	s, _, err := listen.Hear(s, listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	st := structureOf(t, s, 8)
	names := func(st form.Structure) (out []string) {
		next := 1
		for _, sec := range form.Sections(s, st) {
			if sec.Bar != next {
				t.Errorf("%s starts in bar %d, want %d", sec.Name, sec.Bar, next)
			}
			next += sec.Bars
			out = append(out, fmt.Sprintf("%s: %s, %t", sec.Name, sec.Kind, sec.Found))
		}
		return out
	}
	if diff := cmp.Diff([]string{"groove: groove, true", "break: break, true", "drop: drop, true"}, names(st)); diff != "" {
		t.Errorf("by ear (-want +got)\n%s", diff)
	}
	st.Sections = []song.Section{{Name: "A", Bar: 1, Bars: 8}, {Name: "Main Break", Bar: 9, Bars: 8}, {Name: "Chorus", Bar: 17, Bars: 8}}
	if diff := cmp.Diff([]string{"A: groove, false", "Main Break: break, false", "Chorus: drop, false"}, names(st)); diff != "" {
		t.Errorf("by name (-want +got)\n%s", diff)
	}
	// A name is right whatever is heard, and is read as markers are, in any case and with spaces.
	st.Sections = []song.Section{{Name: "Long  Outro", Bar: 1, Bars: 8}, {Name: "Second Drop", Bar: 9, Bars: 8}, {Name: "INTRO", Bar: 17, Bars: 8}}
	if diff := cmp.Diff([]string{"Long  Outro: outro, false", "Second Drop: drop, false", "INTRO: intro, false"}, names(st)); diff != "" {
		t.Errorf("against what is heard (-want +got)\n%s", diff)
	}
}
