package study_test

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/listen"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

func demoLoops(t testing.TB) []recipes.Input {
	t.Helper()
	paths, err := filepath.Glob("../../testdata/loops/*.mid")
	if err != nil || len(paths) != 6 {
		t.Fatalf("found %d loops, want 6 (%v)", len(paths), err)
	}
	var out []recipes.Input
	for _, path := range paths {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		f, err := smf.Decode(data)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, recipes.Input{Name: filepath.Base(path), File: f})
	}
	return out
}

// heard hears a file as one that somebody else wrote.
func heard(t testing.TB, f *smf.File) song.Song {
	t.Helper()
	data, err := f.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if f, err = smf.Decode(data); err != nil {
		t.Fatal(err)
	}
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	if s, _, err = listen.Hear(s, listen.Options{}); err != nil {
		t.Fatal(err)
	}
	return s
}

// sounding tells by name where the parts of a song sound.
func sounding(t testing.TB, s song.Song) map[string][]bool {
	t.Helper()
	st, err := form.StructureOf(s, 8)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]bool{}
	for i, p := range s.Parts {
		bars := make([]bool, len(st.Bars))
		for b, bar := range st.Bars {
			bars[b] = slices.Contains(bar.Parts, i)
		}
		out[p.Name] = bars
	}
	return out
}

// studied is a draft, how somebody hears it who has the file alone, and what is learned of that.
type studied struct {
	draft   *recipes.Result
	heard   song.Song
	learned *study.Study
}

// studies keeps what several tests study, by loop and recipe. Nobody changes a draft or what was learned of it.
var studies = map[string]studied{}

// studiedDraft drafts a demo loop by a built-in recipe and studies the draft.
func studiedDraft(t *testing.T, loop recipes.Input, recipe string) studied {
	t.Helper()
	name := loop.Name + ", " + recipe
	if s, is := studies[name]; is {
		return s
	}
	r, _ := recipes.Builtin(recipe)
	draft, err := recipes.Draft([]recipes.Input{loop}, r, recipes.Options{})
	if err != nil {
		t.Fatal(err)
	}
	s := heard(t, draft.File)
	learned, err := study.Of(s, 0)
	if err != nil {
		t.Fatal(err)
	}
	studies[name] = studied{draft, s, learned}
	return studies[name]
}

// TestRoundTrip studies drafts, lays what was learned over the loops they came from, and counts in how many
// bars each part sounds as it did.
func TestRoundTrip(t *testing.T) {
	var cells, same int
	for i, loop := range demoLoops(t) {
		for k, info := range recipes.Builtins() {
			if (i+k)%oracle.Size(5, 1, 1) > 0 { // a first run lays a fifth of them
				continue
			}
			draft := studiedDraft(t, loop, info.Name)
			s, learned := draft.heard, draft.learned
			text := learned.Recipe("draft.mid")
			again, err := recipes.Parse("studied.yaml", text)
			if err != nil {
				t.Fatalf("%s, %s: %v\n%s", loop.Name, info.Name, err, text)
			}
			second, err := recipes.Draft([]recipes.Input{loop}, again, recipes.Options{})
			if err != nil {
				t.Errorf("%s, %s: %v\n%s", loop.Name, info.Name, err, text)
				continue
			}
			a, b := sounding(t, s), sounding(t, heard(t, second.File))
			var all, right int
			var wrong []string
			for name, bars := range a {
				off := 0
				for i := range bars {
					all++
					if i < len(b[name]) && b[name][i] == bars[i] || len(b[name]) == 0 && !bars[i] {
						right++
					} else {
						off++
					}
				}
				if off > 0 {
					wrong = append(wrong, name)
				}
			}
			cells, same = cells+all, same+right
			share := float64(right) / float64(all)
			t.Logf("%-20s %-10s %.3f %v", loop.Name, info.Name, share, wrong)
			if share < .95 {
				t.Errorf("%s, %s: got %.3f, want 0.95\n%s", loop.Name, info.Name, share, text)
			}
		}
	}
	t.Logf("parts sound as they did in %.3f of %d cells", float64(same)/float64(cells), cells)
}

// TestMovesDoSomething studies drafts and lays what was learned over the loops they came from: without any one of its
// moves the draft is another.
func TestMovesDoSomething(t *testing.T) {
	t.Parallel()
	asked, all := 0, 0
	var idle []string
	for i, loop := range demoLoops(t) {
		for k, info := range recipes.Builtins() {
			if (i+k)%oracle.Size(5, 1, 1) > 0 {
				continue
			}
			r, _ := recipes.Builtin(info.Name)
			first, err := recipes.Draft([]recipes.Input{loop}, r, recipes.Options{})
			if err != nil {
				t.Fatal(err)
			}
			st, err := study.Of(heard(t, first.File), 0)
			if err != nil {
				t.Fatal(err)
			}
			draft := func() []byte {
				again, err := recipes.Parse("studied.yaml", st.Recipe(""))
				if err != nil {
					t.Fatal(err)
				}
				got, err := recipes.Draft([]recipes.Input{loop}, again, recipes.Options{})
				if err != nil {
					t.Fatal(err)
				}
				data, err := got.File.Encode()
				if err != nil {
					t.Fatal(err)
				}
				return data
			}
			whole := draft()
			for i := range st.Sections {
				moves := st.Sections[i].Moves
				for k, m := range moves {
					if asked++; asked%oracle.Size(4, 1, 1) > 0 { // a first run leaves out every fourth
						continue
					}
					st.Sections[i].Moves = slices.Delete(slices.Clone(moves), k, k+1)
					if all++; bytes.Equal(draft(), whole) {
						idle = append(idle, fmt.Sprintf("%s by %s: %s leaves things as they are", loop.Name, info.Name, m))
					}
				}
				st.Sections[i].Moves = moves
			}
		}
	}
	t.Logf("%d moves, of which %d do nothing", all, len(idle))
	if 100*len(idle) > max(all, 100) { // a part may rest by itself where it was heard to be taken out
		t.Errorf("%s", strings.Join(idle, "\n"))
	}
}

// TestStudiesOverOtherLoops lays what was learned from drafts over every loop, as long and at three quarters of the length:
// nothing is refused, hangs or leaves more silence than a bar.
func TestStudiesOverOtherLoops(t *testing.T) {
	for i, from := range demoLoops(t) {
		info := recipes.Builtins()[i%len(recipes.Builtins())]
		learned := studiedDraft(t, from, info.Name).learned
		again, err := recipes.Parse("studied.yaml", learned.Recipe(from.Name))
		if err != nil {
			t.Fatal(err)
		}
		for k, loop := range demoLoops(t) {
			for j, bars := range []int{0, learned.Bars * 3 / 4 / 8 * 8} {
				if (i+k+j)%oracle.Size(3, 1, 1) > 0 {
					continue
				}
				got, err := recipes.Draft([]recipes.Input{loop}, again, recipes.Options{Bars: bars})
				if err != nil {
					t.Errorf("%s by %s over %s, %d bars: %v", from.Name, info.Name, loop.Name, bars, err)
					continue
				}
				if n := form.SilentPairs(got.Song, 1, got.Song.Bars()); n > 0 {
					t.Errorf("%s by %s over %s, %d bars: %d bars are silent as the one before", from.Name, info.Name, loop.Name, bars, n)
				}
				if v := got.Song.Check(); len(v) > 0 {
					t.Errorf("%s by %s over %s, %d bars: %v", from.Name, info.Name, loop.Name, bars, v[0])
				}
			}
		}
	}
}

// FuzzStudy: of whatever is a song in bars a recipe can be written, which parses and can be laid over the
// same song, and is the same each time.
func FuzzStudy(f *testing.F) {
	for _, in := range demoLoops(f) {
		data, err := in.File.Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, "loop.mid")
	}
	f.Add([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk\x00\x00\x00\x0c\x00\x90\x3c\x64\x60\x80\x3c\x40\x00\xff\x2f\x00"), "a: b\n- \x1b[31m\xff")
	f.Fuzz(func(t *testing.T, data []byte, name string) {
		file, err := smf.Decode(data)
		if err != nil {
			return
		}
		s, err := song.From(file)
		if err != nil || s.Time() == nil || s.Bars() > 500 {
			return
		}
		if s, _, err = listen.Hear(s, listen.Options{}); err != nil {
			t.Fatal(err)
		}
		st, err := study.Of(s, 0)
		if err != nil {
			return
		}
		text := st.Recipe(name)
		again, err := study.Of(s, 0)
		if err != nil || !bytes.Equal(again.Recipe(name), text) {
			t.Fatalf("the second study differs (%v)", err)
		}
		r, err := recipes.Parse("studied.yaml", text)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		energy, err := form.EnergyOf(s)
		if err != nil {
			t.Fatal(err)
		}
		begin := max(0, slices.IndexFunc(energy.Bars, func(bar form.Powers) bool { return !bar.Sum().Silent() }))
		whole := begin + (len(energy.Bars)-begin)/form.FullPhrase*form.FullPhrase
		for _, sec := range st.Sections {
			if sec.Sure < 0 || sec.Sure > 1 || sec.OfFull < 0 || !(sec.Share >= 0) {
				t.Fatalf("%+v", sec)
			}
			// One bar of eight has at most their whole power; what is left after the last whole phrase may have any.
			if sec.Bar+sec.Bars-1 <= whole && sec.DB > 9.1 {
				t.Fatalf("%+v", sec)
			}
		}
		var mistakes *recipes.Errors
		if _, err := recipes.Draft([]recipes.Input{{Name: "loop.mid", File: file}}, r, recipes.Options{}); errors.As(err, &mistakes) {
			t.Fatalf("%v\n%s", err, text)
		}
	})
}

// isOut tells whether a move mutes the kick, or the bass.
func isOut(s song.Song, m study.Move, kind string) bool {
	parts, err := where.ParseParts(m.Options[0].Value)
	if err != nil {
		return false
	}
	got, _ := parts.Resolve(s)
	return slices.ContainsFunc(got, func(i int) bool {
		job := s.Parts[i].Job
		return kind == "kick out" && job == song.JobBeat || kind == "bass out" && job == song.JobBass
	})
}

// TestPreparationsOfDrafts compares what study finds at the end of each section with what the draft's moves
// did there, by kind, and prints precision and recall. One kind of ride or of swell stands for all in a section.
func TestPreparationsOfDrafts(t *testing.T) {
	least := map[string][2]float64{"roll": {.95, .95}, "swell": {.99, .94}, "fill": {.64, .60}, "kick out": {.98, .88}, "bass out": {.49, .30}, "ride": {.99, .92}} // of bass out there are three, and a bass thinned to half is heard as one
	type tally struct{ right, heard, truth int }
	counts := map[string]*tally{}
	for kind := range least {
		counts[kind] = &tally{}
	}
	every := oracle.Size(5, 1, 1) // a first run takes the drafts of TestRoundTrip
	for i, loop := range demoLoops(t) {
		for k, info := range recipes.Builtins() {
			if (i+k)%every > 0 {
				continue
			}
			studied := studiedDraft(t, loop, info.Name)
			draft, s, learned := studied.draft, studied.heard, studied.learned
			for i, sec := range draft.Song.Sections[:len(draft.Song.Sections)-1] {
				end := draft.Song.Time().BarStart(sec.Bar + sec.Bars)
				truth := map[string]bool{}
				start := draft.Song.Time().BarStart(sec.Bar)
				for _, c := range draft.Changes {
					if c.Move == "ride" && slices.ContainsFunc(c.Ranges, func(r song.Range) bool { return r.Start >= start && r.Start < end }) {
						truth["ride"] = true
					}
					if !slices.ContainsFunc(c.Ranges, func(r song.Range) bool { return r.End == end && r.Start < end }) {
						continue
					}
					switch c.Move {
					case "roll", "swell", "fill":
						truth[c.Move] = true
					case "mute":
						for _, name := range c.Parts {
							p := draft.Song.Parts[draft.Song.Index(name)]
							if out := string(p.Job); (p.Job == song.JobBass || p.Role == song.RoleKick) && len(c.Parts) < 4 {
								truth[map[string]string{"bass": "bass out", "beat": "kick out"}[out]] = true
							}
						}
					}
				}
				found := map[string]bool{}
				for _, m := range learned.Sections[i].Moves {
					for kind := range least {
						found[kind] = found[kind] || m.Name == kind || strings.HasSuffix(m.Heard, " out") && m.Name == "mute" && isOut(s, m, kind)
					}
				}
				for kind, c := range counts {
					if truth[kind] {
						c.truth++
					}
					if found[kind] {
						c.heard++
					}
					if truth[kind] && found[kind] {
						c.right++
					}
				}
			}
		}
	}
	for kind, c := range counts {
		p, r := float64(c.right)/float64(max(c.heard, 1)), float64(c.right)/float64(max(c.truth, 1))
		t.Logf("%-8s of %3d, heard %3d: precision %.2f, recall %.2f", kind, c.truth, c.heard, p, r)
		if every > 1 { // of few drafts the shares say little: what is there three times is heard once
			if c.truth > 2 && c.right == 0 {
				t.Errorf("%s: heard none of %d", kind, c.truth)
			}
			continue
		}
		if p < least[kind][0] || r < least[kind][1] {
			t.Errorf("%s: got precision %.2f, recall %.2f, want %.2f", kind, p, r, least[kind])
		}
	}
}
