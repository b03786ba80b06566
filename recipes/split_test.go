package recipes_test

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// struckNote is what of a note stays as it is when a draft is split.
type struckNote struct {
	start    smf.Tick
	channel  uint8
	key, vel uint8
}

func compareStruck(a, b struckNote) int {
	return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.channel, b.channel), cmp.Compare(a.key, b.key), cmp.Compare(a.vel, b.vel))
}

// struckIn returns the notes of a file, by onset, that lie off ticks into a draft.
func struckIn(t *testing.T, f *smf.File, off smf.Tick) []struckNote {
	t.Helper()
	back, err := smf.Decode(bytesOf(t, f))
	if err != nil {
		t.Fatal(err)
	}
	var out []struckNote
	for _, track := range back.Tracks {
		for _, e := range track.Events {
			if e.IsOn() {
				out = append(out, struckNote{e.Tick + off, e.Chan(), e.Data1(), e.Data2()})
			}
		}
	}
	slices.SortFunc(out, compareStruck)
	return out
}

// counted puts the notes that start less than a 1/64 note before a section to its start.
func counted(s song.Song, sections []song.Section, notes []struckNote) []struckNote {
	out := slices.Clone(notes)
	for i, n := range out {
		for _, sec := range sections {
			line := s.SectionRange(sec).Start
			if n.start < line && s.Counted(n.start) == line {
				out[i].start = line
			}
		}
	}
	slices.SortFunc(out, compareStruck)
	return out
}

// inForceAt returns what a file says is in force on a channel at ticks in rising order: tempo, metre, program, bend,
// pressure and every controller but those of parameters.
func inForceAt(f *smf.File, channel uint8, at []smf.Tick) []string {
	type timed struct {
		tick smf.Tick
		key  string
		val  string
	}
	var all []timed
	for i := range f.Tracks {
		for _, e := range f.Tracks[i].Events {
			key, val := "", fmt.Sprint(e.Data1(), e.Data2())
			switch kind, meta := e.MetaType(); {
			case meta && (kind == smf.MetaTempo || kind == smf.MetaMetre):
				key, val = fmt.Sprintf("meta %x", kind), fmt.Sprintf("% x", f.Tracks[i].Long(e))
			case meta || !e.IsChannel() || e.Chan() != channel || e.IsOn() || e.IsOff() || e.Kind() == 0xA0:
				continue
			case e.Kind() == 0xB0:
				if c := e.Data1(); c == 6 || c == 38 || c >= 96 && c <= 101 {
					continue
				}
				key = fmt.Sprint("controller ", e.Data1())
			default:
				key = fmt.Sprintf("%x", e.Kind())
			}
			all = append(all, timed{e.Tick, key, val})
		}
	}
	slices.SortStableFunc(all, func(a, b timed) int { return cmp.Compare(a.tick, b.tick) })
	state := map[string]string{}
	var out []string
	for _, tick := range at {
		for len(all) > 0 && all[0].tick <= tick {
			if all[0].key == "controller 121" { // all controllers are reset (RP-015)
				for _, k := range []string{"controller 1", "controller 11", "controller 64", "controller 65", "controller 66", "controller 67", "d0", "e0"} {
					delete(state, k)
				}
			} else {
				state[all[0].key] = all[0].val
			}
			all = all[1:]
		}
		text := ""
		for _, k := range slices.Sorted(maps.Keys(state)) {
			text += k + " " + state[k] + "; "
		}
		out = append(out, text)
	}
	return out
}

// checkSplit holds the files of a draft to what splitting promises.
func checkSplit(t *testing.T, name string, s song.Song) {
	t.Helper()
	whole := struckIn(t, s.File(), 0)
	same := func(how string, got, want []struckNote) {
		t.Helper()
		slices.SortFunc(got, compareStruck)
		if !slices.Equal(got, want) {
			t.Errorf("%s, %s: other notes than the draft's: %d, want %d", name, how, len(got), len(want))
		}
	}
	spread, err := s.Spread()
	if err != nil {
		t.Fatal(err)
	}
	same("spread", struckIn(t, spread.File(), 0), whole)
	for i, n := 0, 0; i < len(spread.Tracks); i, n = i+1, 0 {
		for _, p := range spread.Parts {
			if p.Track == i && len(p.Notes) > 0 {
				n++
			}
		}
		if n > 1 {
			t.Errorf("%s, spread: %d parts on track %d, want one", name, n, i+1)
		}
	}
	sections := s.Sections
	if len(sections) == 0 {
		sections = s.MarkedSections()
	}
	for _, by := range song.Cuttings() {
		files, err := s.Split(by)
		if err == song.ErrNoSections {
			continue
		}
		if err != nil {
			t.Fatalf("%s, by %s: %v", name, by, err)
		}
		var all []struckNote
		seen := map[string]bool{}
		for _, f := range files {
			r := song.Range{End: s.End}
			if by == song.BySection {
				r = s.BarRange(f.Bar, f.Bar+f.Bars-1)
			}
			notes := struckIn(t, f.File, r.Start)
			all = append(all, notes...)
			switch {
			case len(notes) == 0 || len(notes) != f.Notes:
				t.Errorf("%s, %s: %d notes, said %d, want some", name, f.Name, len(notes), f.Notes)
			case seen[f.Name]:
				t.Errorf("%s, %s: two files of this name", name, f.Name)
			case f.File.Tracks[0].End != r.Len():
				t.Errorf("%s, %s: ends at tick %d, want %d", name, f.Name, f.File.Tracks[0].End, r.Len())
			}
			seen[f.Name] = true
			var at, from []smf.Tick
			for _, n := range notes {
				at, from = append(at, n.start), append(from, n.start-r.Start)
			}
			channel := notes[0].channel
			if by == song.ByTrack {
				continue // of several channels
			}
			got, want := inForceAt(f.File, channel, from), inForceAt(s.File(), channel, at)
			for i := range got {
				if got[i] != want[i] {
					t.Errorf("%s, %s: at tick %d is in force\n%s\nwant\n%s", name, f.Name, from[i], got[i], want[i])
					break
				}
			}
		}
		if by == song.BySection {
			same("section after section", all, counted(s, sections, whole))
		} else {
			same("by "+string(by), all, whole)
		}
	}
}

// TestSplitDraftsHaveTheirNotes splits the golden drafts: in a long run all, else one in three, in a first run one in 13.
func TestSplitDraftsHaveTheirNotes(t *testing.T) {
	t.Parallel()
	goldenDrafts(t, oracle.Size(61, 3, 1), nil, func(line string, got *recipes.Result) {
		_, name, _ := strings.Cut(line, "  ")
		checkSplit(t, name, got.Song)
	})
}

// TestSplitDraftsOfRealLoopsHaveTheirNotes splits drafts of loops out of real songs, which have what people play and
// set up: programs, controllers and bends, several channels on a track, onsets beside the grid.
func TestSplitDraftsOfRealLoopsHaveTheirNotes(t *testing.T) {
	t.Parallel()
	loops := oracle.CutLoops(t)
	r := club(t)
	every := oracle.Size(131, 5, 1)
	for i, l := range loops {
		if i%every != 0 {
			continue
		}
		f, err := smf.Decode(l.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		got, err := recipes.Draft([]recipes.Input{{Name: l.Name, File: f}}, r, recipes.Options{})
		if err != nil {
			t.Fatalf("%s: %v", l.Name, err)
		}
		checkSplit(t, l.Name, got.Song)
	}
}

// soundsAlike is by how many dB the level of a bar may differ between the draft and a section's files, as FluidSynth plays them.
const soundsAlike = 1.5

// TestSplitSectionsSoundAsInTheDraft plays the files of a section together and compares them with the draft, bar by bar
// from the section's second bar on: in its first one, what rings on from before is not there. Bars into which a note was held that is cut, or
// that are under -50 dB, are left out.
func TestSplitSectionsSoundAsInTheDraft(t *testing.T) {
	oracle.Need(t, "fluidsynth")
	t.Parallel()
	dir := t.TempDir()
	inputs := slices.DeleteFunc(demoLoops(t), func(in recipes.Input) bool { return strings.Contains(in.Name, "/") }) // loops of one part
	every := oracle.Size(27, 27, 9)
	for i, l := range oracle.CutLoops(t) {
		f, err := smf.Decode(l.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		if i%every == 0 {
			inputs = append(inputs, recipes.Input{Name: l.Name, File: f})
		}
	}
	compared, worst := 0, 0.0
	for _, in := range inputs {
		r, _ := recipes.Builtin("short")
		got, err := recipes.Draft([]recipes.Input{in}, r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		s := got.Song
		files, err := s.Split(song.BySection)
		if err != nil {
			t.Fatal(err)
		}
		base := strings.ReplaceAll(in.Name, "/", "-")
		write := func(name string, f *smf.File) oracle.Rendering {
			path := filepath.Join(dir, base+name+".mid")
			if err := os.WriteFile(path, bytesOf(t, f), 0o644); err != nil {
				t.Fatal(err)
			}
			tl, _, err := f.Timeline()
			if err != nil {
				t.Fatal(err)
			}
			end := smf.Tick(0)
			for _, track := range f.Tracks {
				end = max(end, track.End)
			}
			return oracle.Rendering{Path: path, Time: tl, End: end}
		}
		spread, err := s.Spread()
		if err != nil {
			t.Fatal(err)
		}
		renders := []oracle.Rendering{write("", s.File()), write("-spread", spread.File())}
		var starts []int
		held := map[int]bool{}
		for _, sec := range s.Sections {
			together := &smf.File{Format: 1, Division: s.Division}
			for _, f := range files {
				if f.Bar == sec.Bar {
					together.Tracks = append(together.Tracks, f.File.Tracks...)
				}
			}
			line := s.SectionRange(sec)
			for _, p := range s.Parts {
				for _, n := range p.Notes {
					if s.Counted(n.Start) < line.Start && n.End > line.Start {
						for bar := sec.Bar; bar <= s.Time().BarOf(n.End)+1; bar++ {
							held[bar] = true
						}
					}
				}
			}
			if len(together.Tracks) > 0 {
				renders, starts = append(renders, write(fmt.Sprint("-", sec.Bar), together)), append(starts, sec.Bar)
			}
		}
		levels := oracle.Levels(t, renders...)
		compare := func(what string, bar int, got float64) {
			want := levels[0][bar-1]
			if want < -50 {
				return
			}
			compared++
			worst = max(worst, math.Abs(got-want))
			if math.Abs(got-want) > soundsAlike {
				t.Errorf("%s, %s: bar %d is at %.1f dB, in the draft at %.1f", in.Name, what, bar, got, want)
			}
		}
		for bar := 1; bar <= len(levels[0]); bar++ {
			compare("spread", bar, levels[1][bar-1])
		}
		for i, start := range starts {
			for k, got := range levels[i+2] {
				if k > 0 && !held[start+k] {
					compare("split", start+k, got)
				}
			}
		}
	}
	t.Logf("%d bars of %d drafts, worst %.2f dB", compared, len(inputs), worst)
	if compared < 2000 {
		t.Errorf("%d bars compared, want 2000 or more", compared)
	}
}
