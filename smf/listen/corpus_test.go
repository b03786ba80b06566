package listen_test

import (
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// realFile is a file somebody else made, and the song it is of: several loops may be of one.
type realFile struct {
	oracle.File
	song string
}

// cutLoops returns the loops of the corpus.
func cutLoops(t *testing.T) []realFile {
	t.Helper()
	var out []realFile
	for _, l := range oracle.CutLoops(t) {
		out = append(out, realFile{l.File, l.Song})
	}
	return out
}

// wholeSongs returns the songs that came with the marked ones, and these.
func wholeSongs(t *testing.T) []realFile {
	t.Helper()
	var out []realFile
	for _, s := range oracle.MarkedSongs(t) {
		out = append(out, realFile{s.File, s.Name})
	}
	for _, f := range oracle.OtherSongs(t) {
		out = append(out, realFile{f, f.Name})
	}
	return out
}

// veil hides names in a file, and where told so programs too, and moves channel 10 to a free one.
func veil(f *smf.File, programs bool) *smf.File {
	var used [16]bool
	for _, tr := range f.Tracks {
		for _, e := range tr.Events {
			if e.IsChannel() {
				used[e.Chan()] = true
			}
		}
	}
	free := max(0, slices.Index(used[:], false)) // a track of its own makes a part of its own on any channel
	out := &smf.File{Format: f.Format, Division: f.Division}
	for _, tr := range f.Tracks {
		hidden := tr
		hidden.Events = nil
		for _, e := range tr.Events {
			kind, meta := e.MetaType()
			switch {
			case meta && (kind == 0x03 || kind == 0x04), programs && e.Kind() == 0xC0:
				continue
			case programs && e.IsChannel() && e.Chan() == 9:
				e = smf.Channel(e.Tick, e.Kind()|byte(free), e.Data1(), e.Data2())
			}
			hidden.Events = append(hidden.Events, e)
		}
		out.Tracks = append(out.Tracks, hidden)
	}
	return out
}

func decoded(t *testing.T, f oracle.File) *smf.File {
	t.Helper()
	file, err := smf.Decode(f.Bytes)
	if err != nil {
		t.Fatalf("%s: %v", f.Name, err)
	}
	return file
}

// saysTune tells whether a track's name says that it is what one would hum.
var saysTune = regexp.MustCompile(`(?i)lead|melod|solo|vocal|theme|tune`)

// shares counts how often something was right, song by song.
type shares map[string]*struct{ right, of int }

func (s shares) add(song string, right bool) {
	if s[song] == nil {
		s[song] = &struct{ right, of int }{}
	}
	s[song].of++
	if right {
		s[song].right++
	}
}

// mean returns the mean over songs of each song's share, in percent, rounded down.
func (s shares) mean() int {
	sum := 0
	for _, n := range s {
		sum += 10000 * n.right / n.of
	}
	return sum / max(len(s), 1) / 100
}

func (s shares) String() string {
	var b strings.Builder
	right, of := 0, 0
	for _, song := range slices.Sorted(maps.Keys(s)) {
		fmt.Fprintf(&b, "\n  %-24s %2d of %2d", song, s[song].right, s[song].of)
		right, of = right+s[song].right, of+s[song].of
	}
	return fmt.Sprintf("%d %% (mean over %d songs), %d of %d%s", s.mean(), len(s), right, of, b.String())
}

// TestTheTuneOfRealLoops holds the hook against the names of tracks. Of every file whose names say which track is the
// lead, melody, solo, vocal, theme or tune, the hook is to be such a track, while its name is hidden; where two
// tracks double each other both are the hook. Of loops four in five are to be right, songs counted once; whole
// songs, in which the tune may rest most of the time, and loops whose programs are hidden too, are not to get worse.
func TestTheTuneOfRealLoops(t *testing.T) {
	for _, row := range []struct {
		what     string
		files    []realFile
		programs bool // hidden too
		least    int  // in percent
	}{
		{"loops, names hidden", cutLoops(t), false, 80},
		{"loops, names and programs hidden", cutLoops(t), true, 80},
		{"whole songs, names hidden", wholeSongs(t), false, 45},
	} {
		found := shares{}
		for _, f := range row.files {
			file := decoded(t, f.File)
			named := raw(t, file)
			says := func(track int) bool { return saysTune.MatchString(named.Tracks[track].Name) }
			if !slices.ContainsFunc(named.Parts, func(p song.Part) bool { return says(p.Track) }) {
				continue
			}
			heard, _, err := listen.Hear(raw(t, veil(file, row.programs)), listen.Options{})
			if err != nil {
				t.Fatal(err)
			}
			right := slices.ContainsFunc(heard.Parts, func(p song.Part) bool { return p.Job == song.JobHook && says(p.Track) })
			found.add(f.song, right)
			if !right {
				t.Logf("%s: %s: the hook is another", row.what, f.Name)
			}
		}
		t.Logf("%s: %v", row.what, found)
		if got := found.mean(); got < row.least {
			t.Errorf("%s: the named tune is the hook in %d %%, want %d %%", row.what, got, row.least)
		}
	}
}

// TestPartsOfRealLoops holds what is heard in real loops, with names and programs hidden and channel 10 moved to a
// free one, against those programs and that channel (see classOf). Clear parts are those whose program is a
// witness (see markUnclear): in many loops no part has a bass's program, or two play the bass's line in unison, and
// nothing that is heard says which of them the file calls bass. Lead and chords are shown: synth leads (RP-003
// table 2, programs 81 to 88) and tracks named as a tune, and keyboards and guitars (1 to 8, 17 to 32) that are not.
func TestPartsOfRealLoops(t *testing.T) {
	classes := []string{drums, bass, "lead", "chords"}
	all, clear, once := map[string]*tally{}, map[string]*tally{}, map[string]map[string]*tally{}
	for _, c := range classes {
		all[c], clear[c], once[c] = &tally{}, &tally{}, map[string]*tally{}
	}
	why := map[string]int{}
	for _, f := range cutLoops(t) {
		file := decoded(t, f.File)
		s := raw(t, file)
		var truth []truePart
		for _, p := range s.Parts {
			tp := truePart{Part: p, title: s.Tracks[p.Track].Name, program: programOf(s, p)}
			tp.class = classOf(tp)
			truth = append(truth, tp)
		}
		markUnclear(truth)
		veiled := raw(t, veil(file, true))
		heard, _, err := listen.Hear(veiled, listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, tp := range truth {
			p := veiled.Parts[i] // in the order of tracks, as those of the file
			if p.Track != tp.Track || len(p.Notes) != len(tp.Notes) {
				t.Fatalf("%s: part %d is another one when its channel is", f.Name, i)
			}
			var group []song.Part
			for _, q := range heard.Parts {
				if q.Track == p.Track && q.Channel == p.Channel {
					group = append(group, q)
				}
			}
			for _, c := range classes {
				is, want := heardClass(group) == c, tp.class == c
				switch c {
				case "lead":
					is = group[0].Role == song.RoleLead || group[0].Role == song.RoleVocal
					want = tp.class != drums && (saysTune.MatchString(tp.title) || tp.program >= 81 && tp.program <= 88)
				case "chords":
					is = group[0].Role == song.RoleChords || group[0].Role == song.RoleStab
					want = tp.class != drums && !saysTune.MatchString(tp.title) && (tp.program >= 1 && tp.program <= 8 || tp.program >= 17 && tp.program <= 32)
				}
				all[c].add(want, is)
				if once[c][f.song] == nil {
					once[c][f.song] = &tally{}
				}
				if tp.unclear == "" {
					clear[c].add(want, is)
					once[c][f.song].add(want, is)
				}
				if c == bass && want != is {
					why[cmp.Or(tp.unclear, "clear")]++
				}
			}
		}
	}
	for _, c := range classes {
		t.Logf("%-6s all parts   %v", c, all[c])
		t.Logf("%-6s clear parts %v", c, clear[c])
	}
	t.Logf("bass, mistakes by what the file says: %v", why)
	for _, row := range []struct {
		what  string
		n     *tally
		least int
	}{{"drums", all[drums], 90}, {"bass, clear parts", clear[bass], 90}} {
		if _, _, f := row.n.figures(); f < row.least {
			t.Errorf("%s: F is %d, want %d", row.what, f, row.least)
		}
	}
}
