package listen_test

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// These are the classes that parts are told apart as; pad stands for pads and strings.
const (
	drums = "drums"
	bass  = "bass"
	pad   = "pad"
	other = "other"
)

// truePart is a raw part of a real file and what General MIDI says it is.
type truePart struct {
	song.Part
	file    string
	half    int    // 0, 1: the first and the second half of the files by name
	title   string // its track's name
	program int    // as printed, from 1; 0: none
	class   string // drums, bass, pad or other
	unclear string // why its program is no witness; "" if it is one
}

// scene is a real file with its true parts.
type scene struct {
	song  song.Song
	parts []truePart
}

// scenes reads the files of openttd-openmsx.
func scenes(t *testing.T) []scene {
	t.Helper()
	files := oracle.Songs(t)
	var out []scene
	for i, f := range files {
		file, err := smf.Decode(f.Bytes)
		if err != nil {
			t.Fatalf("%s: %v", f.Name, err)
		}
		sc := scene{song: raw(t, file)}
		for _, p := range sc.song.Parts {
			tp := truePart{Part: p, file: f.Name, half: 2 * i / len(files), title: sc.song.Tracks[p.Track].Name, program: programOf(sc.song, p)}
			tp.class = classOf(tp)
			sc.parts = append(sc.parts, tp)
		}
		markUnclear(sc.parts)
		out = append(out, sc)
	}
	return out
}

// programOf returns the program, from 1, that is set at a part's first note, on any track of its
// channel; 0 for none.
func programOf(s song.Song, p song.Part) int {
	program, at := 0, smf.Tick(-1)
	for i, tr := range s.Tracks {
		for _, e := range tr.Events {
			if e.Kind() == 0xC0 && e.Chan() == p.Channel && e.Tick <= p.Notes[0].Start && (e.Tick > at || e.Tick == at && i == p.Track) {
				program, at = int(e.Data1())+1, e.Tick
			}
		}
	}
	return program
}

// classOf returns what General MIDI says of a part: channel 10 is percussion (RP-003 p. 2), programs
// 33 to 40 are basses, 41 to 44 bowed strings, 45 tremolo strings, 49 to 52 string ensembles, 89 to
// 96 pads (RP-003 tables 1 and 2). Pizzicato, harp and timpani (46 to 48) are none of these.
func classOf(p truePart) string {
	switch n := p.program; {
	case p.Channel == 9:
		return drums
	case n >= 33 && n <= 40:
		return bass
	case n >= 41 && n <= 45, n >= 49 && n <= 52, n >= 89 && n <= 96:
		return pad
	}
	return other
}

// markUnclear marks the parts whose program is no witness of what they play. A part that doubles
// another of another class, nine of ten onsets and keys the same, cannot be told from it by ear. A
// track named after a bass with another program, or after a guitar with a bass's, has two witnesses
// that differ. A bass program without a note below middle C plays no bass. Where several parts have a
// bass program, only the lowest of them is the bass for certain. In a file without any bass program
// for certain the bass line is played by something else, and nothing says by which part.
// These rules look at names, programs and doubled notes, never at what was heard, but were written with
// what the ear got wrong in view: the rows of all parts stand beside those of the clear ones.
func markUnclear(parts []truePart) {
	lowest := 128
	for i := range parts {
		p := &parts[i]
		name := strings.ToLower(p.title)
		named := strings.Contains(name, "bass")
		switch {
		case p.class == drums:
		case named && p.class != bass, p.class == bass && !named && strings.Contains(name, "guitar"):
			p.unclear = "its name says otherwise"
		case p.class == bass && !slices.ContainsFunc(p.Notes, func(n song.Note) bool { return n.Key < 60 }):
			p.unclear = "no note below middle C"
		case p.class == bass:
			lowest = min(lowest, medianKey(p.Notes))
		case slices.ContainsFunc(parts, func(q truePart) bool { return q.class != p.class && doubles(p.Notes, q.Notes) }):
			p.unclear = "doubles another"
		}
	}
	for i := range parts {
		switch p := &parts[i]; {
		case p.class == drums || p.unclear != "":
		case lowest == 128:
			p.unclear = "no bass program in its file"
		case p.class == bass && medianKey(p.Notes) > lowest:
			p.unclear = "above another bass"
		}
	}
}

func medianKey(notes []song.Note) int {
	var keys []int
	for _, n := range notes {
		keys = append(keys, int(n.Key))
	}
	slices.Sort(keys)
	return keys[len(keys)/2]
}

// doubles tells whether nine of ten notes of a are struck in b at the same tick, octaves apart or
// not.
func doubles(a, b []song.Note) bool {
	type strike struct {
		at  smf.Tick
		key uint8
	}
	in := map[strike]bool{}
	for _, n := range b {
		in[strike{n.Start, n.Key % 12}] = true
	}
	same := 0
	for _, n := range a {
		if in[strike{n.Start, n.Key % 12}] {
			same++
		}
	}
	return 10*same >= 9*len(a)
}

// hidden makes a file of notes alone, each part a nameless track on channel 1: no name, program or
// channel is left to go by.
func hidden(s song.Song, parts [][]song.Note, window song.Range) *smf.File {
	f := &smf.File{Format: 1, Division: s.Division, Tracks: []smf.Track{{}}}
	for _, m := range s.Time().Metres() {
		if at := max(m.Tick, window.Start); at < window.End {
			f.Tracks[0].AppendMeta(at-window.Start, 0x58, []byte{byte(m.Metre.Num), byte(log2(m.Metre.Den)), 24, 8})
		}
	}
	for _, notes := range parts {
		var tr smf.Track
		for _, n := range notes {
			if window.Has(n.Start) {
				tr.Append(smf.Channel(n.Start-window.Start, 0x90, n.Key, n.Vel))
				tr.Append(smf.Channel(max(n.Start+1, min(n.End, window.End))-window.Start, 0x80, n.Key, 64))
			}
		}
		slices.SortStableFunc(tr.Events, func(a, b smf.Event) int {
			if a.Tick != b.Tick {
				return int(a.Tick - b.Tick)
			}
			return offFirst(a) - offFirst(b)
		})
		f.Tracks = append(f.Tracks, tr)
	}
	for i := range f.Tracks {
		f.Tracks[i].End = window.Len()
	}
	return f
}

func log2(n int) int {
	p := 0
	for ; n > 1; n /= 2 {
		p++
	}
	return p
}

// heardClass returns what most notes of a raw part were heard as.
func heardClass(parts []song.Part) string {
	count := map[string]int{}
	for _, p := range parts {
		class := other
		switch {
		case p.Kit:
			class = drums
		case p.Role == song.RoleBass || p.Role == song.RoleSub:
			class = bass
		case p.Role == song.RolePad || p.Role == song.RoleStrings || p.Role == song.RoleDrone:
			class = pad
		}
		count[class] += len(p.Notes)
	}
	best := other
	for _, class := range []string{drums, bass, pad} {
		if count[class] > count[best] {
			best = class
		}
	}
	return best
}

// tally counts right, false and missed answers.
type tally struct{ right, wrong, missed int }

func (n *tally) add(truth, heard bool) {
	switch {
	case truth && heard:
		n.right++
	case heard:
		n.wrong++
	case truth:
		n.missed++
	}
}

// figures returns precision, recall and their harmonic mean F = 2PR/(P+R) in percent, rounded down.
func (n tally) figures() (precision, recall, f int) {
	share := func(a, b int) int {
		if b == 0 {
			return 0
		}
		return 100 * a / b
	}
	return share(n.right, n.right+n.wrong), share(n.right, n.right+n.missed), share(2*n.right, 2*n.right+n.wrong+n.missed)
}

func (n tally) String() string {
	p, r, f := n.figures()
	return fmt.Sprintf("%4d right %4d false %4d missed   precision %3d recall %3d F %3d", n.right, n.wrong, n.missed, p, r, f)
}

// score counts one class over parts; mistakes lists what was missed or falsely heard.
type score struct {
	all, clear tally
	halves     [2]tally // of the clear ones
	mistakes   []string
}

func (sc *score) add(p truePart, class, heard string) {
	truth, is := p.class == class, heard == class
	sc.all.add(truth, is)
	if p.unclear == "" {
		sc.clear.add(truth, is)
		sc.halves[p.half].add(truth, is)
	}
	if truth != is {
		what := "missed"
		if is {
			what = "false"
		}
		sc.mistakes = append(sc.mistakes, fmt.Sprintf("%s: %s track %d channel %d %q program %d %s", what, p.file, p.Track, p.Channel+1, p.title, p.program, p.unclear))
	}
}

// TestEarAgainstGeneralMIDI holds what is heard in real files against the programs and the
// percussion channel of General MIDI: with all that is written in them, from the notes alone, and from
// the notes of eight bars alone. It prints precision, recall and F, and fails where F is less than it
// was. Both halves of the files were looked at while the ear's thresholds were chosen, so neither is a
// test on files never seen; that they agree says that no threshold is there for one file.
func TestEarAgainstGeneralMIDI(t *testing.T) {
	scenes := scenes(t)
	whole := func(sc scene) song.Range { return song.Range{End: sc.song.End} }
	eight := func(sc scene) song.Range { return fullest(sc.song) }
	for _, way := range []struct {
		name                   string
		hear                   func(*testing.T, scene) []string // what each part was heard as; "": not there
		class                  string
		all, clear, half, rest int // the least F, in percent, of all parts, of the clear ones, of those by halves
	}{
		{"all visible", hearVisible, drums, 100, 100, 100, 100},
		{"all visible", hearVisible, bass, 96, 100, 100, 100},
		{"all visible", hearVisible, pad, 88, 83, 80, 100},
		{"notes alone", hearHidden(whole), drums, 95, 95, 94, 96},
		{"notes alone", hearHidden(whole), bass, 61, 90, 90, 90},
		{"notes alone", hearHidden(whole), pad, 20, 33, 40, 0},
		{"eight bars", hearHidden(eight), drums, 92, 92, 90, 93},
		{"eight bars", hearHidden(eight), bass, 57, 81, 76, 86},
		{"eight bars", hearHidden(eight), pad, 25, 40, 50, 0},
	} {
		var s score
		for _, sc := range scenes {
			heard := way.hear(t, sc)
			for i, p := range sc.parts {
				if heard[i] != "" {
					s.add(p, way.class, heard[i])
				}
			}
		}
		for _, row := range []struct {
			name  string
			n     tally
			least int
		}{{"all parts", s.all, way.all}, {"clear parts", s.clear, way.clear}, {"clear, first half", s.halves[0], way.half}, {"clear, second half", s.halves[1], way.rest}} {
			t.Logf("%-11s %-5s %-18s %v", way.name, way.class, row.name, row.n)
			if _, _, f := row.n.figures(); f < row.least {
				t.Errorf("%s, %s, %s: F is %d, was %d", way.name, way.class, row.name, f, row.least)
			}
		}
		t.Logf("not as General MIDI has it:\n  %s", strings.Join(s.mistakes, "\n  "))
	}
}

func hearVisible(t *testing.T, sc scene) []string {
	return heardAs(t, sc.song, len(sc.parts), func(p song.Part) int {
		return slices.IndexFunc(sc.parts, func(q truePart) bool { return q.Track == p.Track && q.Channel == p.Channel })
	})
}

func hearHidden(window func(scene) song.Range) func(*testing.T, scene) []string {
	return func(t *testing.T, sc scene) []string {
		var notes [][]song.Note
		for _, p := range sc.parts {
			if len(sc.song.In(p.Part, window(sc))) >= 4 {
				notes = append(notes, p.Notes)
			} else {
				notes = append(notes, nil) // it hardly plays there
			}
		}
		s := raw(t, hidden(sc.song, notes, window(sc)))
		return heardAs(t, s, len(sc.parts), func(p song.Part) int { return p.Track - 1 })
	}
}

// heardAs hears a song and returns the class of each of n true parts.
func heardAs(t *testing.T, s song.Song, n int, which func(song.Part) int) []string {
	t.Helper()
	heard, _, err := listen.Hear(s, listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	groups := make([][]song.Part, n)
	for _, p := range heard.Parts {
		i := which(p)
		groups[i] = append(groups[i], p)
	}
	out := make([]string, n)
	for i, g := range groups {
		if len(g) > 0 {
			out[i] = heardClass(g)
		}
	}
	return out
}

// The demo loops sound like what they are: from their notes alone the same parts are drums and basses.
func TestDemoLoopsAreHeardFromNotesAlone(t *testing.T) {
	paths, err := filepath.Glob("../../testdata/loops/*.mid")
	if err != nil || len(paths) == 0 {
		t.Fatalf("found %d demo loops, %v", len(paths), err)
	}
	for _, path := range paths {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := smf.Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		sc := scene{song: raw(t, f)}
		for _, p := range sc.song.Parts {
			sc.parts = append(sc.parts, truePart{Part: p})
		}
		want := hearVisible(t, sc)
		for i, got := range hearHidden(func(sc scene) song.Range { return song.Range{End: sc.song.End} })(t, sc) {
			if (got == drums) != (want[i] == drums) || (got == bass) != (want[i] == bass) {
				t.Errorf("%s, track %d: heard as %s, with its name as %s", path, sc.parts[i].Track+1, got, want[i])
			}
		}
	}
}

// fullest returns the first eight bars, counted in eights from bar 1, in which the most parts
// sound.
func fullest(s song.Song) song.Range {
	best, most := song.Range{End: s.End}, 0
	for bar := 1; bar+7 <= s.Bars(); bar += 8 {
		r, sounding := s.BarRange(bar, bar+7), 0
		for _, p := range s.Parts {
			if len(s.In(p, r)) >= 4 {
				sounding++
			}
		}
		if sounding > most {
			best, most = r, sounding
		}
	}
	return best
}

// keyRole is what General MIDI says a key of its percussion map is (RP-003 table 3; the keys above
// 81: RP-024 appendix B). Keys of instruments that play alike are one.
func keyRole(key uint8) song.Role {
	switch key {
	case 35, 36:
		return song.RoleKick
	case 38, 39, 40:
		return song.RoleSnare // and claps
	case 37:
		return song.RoleRim
	case 42, 44:
		return song.RoleHat
	case 46:
		return song.RoleOpenHat
	case 51, 53, 59:
		return song.RoleRide
	case 54, 69, 70, 82:
		return song.RoleShaker
	case 49, 52, 55, 57:
		return song.RoleCrash
	case 41, 43, 45, 47, 48, 50:
		return song.RoleTom
	}
	return song.RolePerc
}

// answer is what most notes of a key of a kit were heard as.
type answer struct {
	key  uint8
	role song.Role
}

// hearKits hears the keys of each kit that are struck four times or more, without name or channel: as
// keys of a kit, or, alone, each on a track of its own and all on key 60, so that nothing but their
// playing is left.
func hearKits(t *testing.T, sc scene, alone bool) []answer {
	t.Helper()
	type source struct{ part, key int } // key -1: as it is; part -1: no kit
	var notes [][]song.Note
	var from []source // by track
	for i, p := range sc.parts {
		if p.class != drums || !alone {
			s := source{i, -1}
			if p.class != drums {
				s.part = -1
			}
			notes, from = append(notes, p.Notes), append(from, s)
			continue
		}
		for key := range 128 {
			var own []song.Note
			for _, n := range p.Notes {
				if int(n.Key) == key {
					n.Key = 60
					own = append(own, n)
				}
			}
			if len(own) > 0 {
				notes, from = append(notes, own), append(from, source{i, key})
			}
		}
	}
	heard, report, err := listen.Hear(raw(t, hidden(sc.song, notes, song.Range{End: sc.song.End})), listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	count := map[source]map[song.Role]int{}
	for i, p := range heard.Parts {
		for _, n := range p.Notes {
			s := from[p.Track-1]
			if s.part < 0 || len(report.Parts[i].At) > 0 { // the skeleton of a break is kick and snare
				continue
			}
			if s.key < 0 {
				s.key = int(n.Key)
			}
			if count[s] == nil {
				count[s] = map[song.Role]int{}
			}
			count[s][p.Role]++
		}
	}
	var out []answer
	for s, by := range count {
		total, best := 0, song.RoleUnknown
		for _, role := range song.Roles() {
			total += by[role]
			if by[role] > by[best] {
				best = role
			}
		}
		if total >= 4 {
			out = append(out, answer{uint8(s.key), best})
		}
	}
	return out
}

// TestKitSoundsAgainstGeneralMIDI holds what is heard of the sounds of kits against the percussion
// map, role by role where their keys are seen, job by job where only their playing is, and fails where
// it is worse than it was.
func TestKitSoundsAgainstGeneralMIDI(t *testing.T) {
	all := scenes(t)
	for _, way := range []struct {
		name  string
		alone bool
		of    func(song.Role) string
		worst map[string]int // the least F, in percent
	}{
		{"keys seen", false, func(r song.Role) string {
			if r == song.RoleClap {
				r = song.RoleSnare
			}
			return string(r)
		}, map[string]int{"kick": 98, "snare": 98, "rim": 100, "hat": 98, "open-hat": 100, "ride": 100, "shaker": 100, "crash": 100,
			"tom": 100, "perc": 90}},
		{"playing alone", true, func(r song.Role) string { return string(r.Job()) }, map[string]int{"beat": 48, "backbeat": 45, "tops": 50, "perc": 59}},
	} {
		scores := map[string]*tally{}
		for key := range uint8(128) {
			scores[way.of(keyRole(key))] = &tally{}
		}
		confused := map[string]int{}
		for _, sc := range all {
			for _, a := range hearKits(t, sc, way.alone) {
				for class, s := range scores {
					s.add(way.of(keyRole(a.key)) == class, way.of(a.role) == class)
				}
				confused[way.of(keyRole(a.key))+" as "+string(a.role)]++
			}
		}
		for _, class := range slices.Sorted(maps.Keys(scores)) {
			t.Logf("%-13s %-9s %v", way.name, class, scores[class])
			if _, _, f := scores[class].figures(); f < way.worst[class] {
				t.Errorf("%s, %s: F is %d, was %d", way.name, class, f, way.worst[class])
			}
		}
		t.Log(confused)
	}
}
