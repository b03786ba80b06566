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

// saysBass tells whether a track's name says that it plays the bass; a bassoon and a bass drum do not.
var (
	saysBass  = regexp.MustCompile(`(?i)bass($|[^o])`)
	saysOther = regexp.MustCompile(`(?i)bass ?drum`)
)

// basses tells which parts play the bass by what the file says: those with a bass's program (RP-003 table 2, 33 to
// 40) or name that play below middle C.
func basses(parts []truePart) []bool {
	out := make([]bool, len(parts))
	for i, p := range parts {
		says := p.class == bass || saysBass.MatchString(p.title) && !saysOther.MatchString(p.title)
		out[i] = says && p.class != drums && slices.ContainsFunc(p.Notes, func(n song.Note) bool { return n.Key < 60 })
	}
	return out
}

// addBasses counts basses of a file, given what each part was heard as, "" for one that does not play, and returns
// the mistakes. A file in which no part that plays is the bass by program or name says nothing of who is, so that it
// does not count. Of two parts that double each other, in unison or octaves, nothing that is heard says which of them
// the file calls bass: one that doubles the bass is right either way, and so is a bass of which a double was heard.
func (n *tally) addBasses(parts []truePart, heard []string) (mistakes []string) {
	is := basses(parts)
	if !slices.Contains(is, true) {
		return nil
	}
	for i, p := range parts {
		if heard[i] == "" || len(p.Notes) == 0 {
			continue
		}
		as := heard[i] == bass
		double := false
		for j, q := range parts {
			double = double || i != j && len(q.Notes) > 0 && (is[j] && as || is[i] && heard[j] == bass) && doubles(p.Notes, q.Notes)
		}
		if as != is[i] && double {
			if !is[i] {
				continue
			}
			as = true
		}
		n.add(is[i], as)
		if as != is[i] {
			mistakes = append(mistakes, fmt.Sprintf("track %d %q, program %d, median key %d: heard as %s", p.Track, p.title, p.program, medianKey(p.Notes), heard[i]))
		}
	}
	return mistakes
}

// partsOf returns the raw parts of a song and what General MIDI says they are.
func partsOf(s song.Song) []truePart {
	var out []truePart
	for _, p := range s.Parts {
		tp := truePart{Part: p, title: s.Tracks[p.Track].Name, program: programOf(s, p)}
		tp.class = classOf(tp)
		out = append(out, tp)
	}
	return out
}

// TestPartsOfRealLoops holds what is heard in real loops, with names and programs hidden and channel 10 moved to a
// free one, against those programs, names and that channel (see classOf, addBasses). Lead and chords are shown: synth
// leads (RP-003 table 2, programs 81 to 88) and tracks named as a tune, and keyboards and guitars (1 to 8, 17 to 32)
// that are not. The halves are those of every other song by name.
func TestPartsOfRealLoops(t *testing.T) {
	classes := []string{drums, "lead", "chords"}
	all, basslines := map[string]*tally{}, [2]tally{}
	for _, c := range classes {
		all[c] = &tally{}
	}
	loops := cutLoops(t)
	var songs []string
	for _, f := range loops {
		if !slices.Contains(songs, f.song) {
			songs = append(songs, f.song)
		}
	}
	slices.Sort(songs)
	for _, f := range loops {
		file := decoded(t, f.File)
		truth := partsOf(raw(t, file))
		veiled := raw(t, veil(file, true))
		heard, _, err := listen.Hear(veiled, listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var as []string
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
			as = append(as, heardClass(group))
			for _, c := range classes {
				is, want := as[i] == c, tp.class == c
				switch c {
				case "lead":
					is = group[0].Role == song.RoleLead || group[0].Role == song.RoleVocal
					want = tp.class != drums && (saysTune.MatchString(tp.title) || tp.program >= 81 && tp.program <= 88)
				case "chords":
					is = group[0].Role == song.RoleChords || group[0].Role == song.RoleStab
					want = tp.class != drums && !saysTune.MatchString(tp.title) && (tp.program >= 1 && tp.program <= 8 || tp.program >= 17 && tp.program <= 32)
				}
				all[c].add(want, is)
			}
		}
		for _, m := range basslines[slices.Index(songs, f.song)%2].addBasses(truth, as) {
			t.Logf("bass: %s: %s", f.Name, m)
		}
	}
	for _, c := range classes {
		t.Logf("%-6s %v", c, all[c])
	}
	both := basslines[0].plus(basslines[1])
	t.Logf("bass   %v, by halves of the songs:\n%v\n%v", both, basslines[0], basslines[1])
	for _, row := range []struct {
		what  string
		n     tally
		least int
	}{{"drums", *all[drums], 90}, {"bass", both, 90}} {
		if _, _, f := row.n.figures(); f < row.least {
			t.Errorf("%s: F is %d, want %d", row.what, f, row.least)
		}
	}
}

func (n tally) plus(m tally) tally {
	return tally{n.right + m.right, n.wrong + m.wrong, n.missed + m.missed}
}

// TestBassesInWindowsOfRealSongs holds the bass, as [TestPartsOfRealLoops] does, in eight bars a quarter, a half and
// three quarters through each song, heard from notes alone; most of them are not in the loops. Its floor is what is
// reached.
func TestBassesInWindowsOfRealSongs(t *testing.T) {
	var halves [2]tally
	files := oracle.Songs(t)
	for _, f := range wholeSongs(t) {
		files = append(files, f.File)
	}
	slices.SortFunc(files, func(a, b oracle.File) int { return cmp.Compare(a.Name, b.Name) })
	for i, f := range files {
		s := raw(t, decoded(t, f))
		for quarter := 1; quarter <= 3; quarter++ {
			first := s.Bars()*quarter/4/8*8 + 1
			if first+7 > s.Bars() {
				continue
			}
			window := s.BarRange(first, first+7)
			parts := partsOf(s)
			var notes [][]song.Note
			for i, p := range s.Parts {
				parts[i].Notes = s.In(p, window)
				if len(parts[i].Notes) < 4 {
					parts[i].Notes = nil // it hardly plays there
					notes = append(notes, nil)
				} else {
					notes = append(notes, p.Notes)
				}
			}
			heard := heardAs(t, raw(t, hidden(s, notes, window)), len(parts), func(p song.Part) int { return p.Track - 1 })
			for _, m := range halves[i%2].addBasses(parts, heard) {
				t.Logf("%s, bar %d: %s", f.Name, first, m)
			}
		}
	}
	both := halves[0].plus(halves[1])
	t.Logf("bass   %v, by halves of the songs:\n%v\n%v", both, halves[0], halves[1])
	if _, _, f := both.figures(); f < 89 {
		t.Errorf("F is %d, was 89", f)
	}
}
