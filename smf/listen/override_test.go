package listen_test

import (
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"loopdraft/smf/listen"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

const groove = `"Kit" 10 36 x...x...x...x...|x...x...x...x...
	"Kit" 10 37 ...x............|...x............
	"Kit" 10 38 ....x.......x...|....x.......x..x
	"Kit" 10 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
	"Kit" 10 46 ..............x.|..............x.
	"Bass" 1 36 ..x-..x-..x-..x-|..x-..x-..x-..x-
	"Synth 2" 3 60 ...x......x.....|...x......x.....
	"Synth 3" 4 60 x---------------|x---------------`

func TestOverrides(t *testing.T) {
	for _, row := range []struct {
		rule string
		over []listen.Override
		want []string // lines that stand among the parts
		gone []string // names that are no parts
	}{
		{"a track gets a new name, which says its role",
			[]listen.Override{{Name: "stab", TrackName: "Synth 2"}},
			[]string{"stab, stab, hook: ...x......x.....|...x......x....."}, []string{"synth-2"}},
		{"a track's name is found in any case where no track bears it exactly",
			[]listen.Override{{Name: "stab", TrackName: "synth 2"}},
			[]string{"stab, stab, hook: ...x......x.....|...x......x....."}, []string{"synth-2"}},
		{"a name that is no role keeps the role that was heard",
			[]listen.Override{{Name: "squelch", Track: 2}},
			[]string{"squelch, bass, bass: ..x...x...x...x.|..x...x...x...x."}, []string{"bass"}},
		{"a key goes to a part of its own",
			[]listen.Override{{Name: "cowbell", Track: 1, Keys: []int{37}}},
			[]string{"cowbell, perc, perc: ...x............|...x............"}, []string{"rim"}},
		{"keys of several sounds come together; the part is what most of it is",
			[]listen.Override{{Name: "metals", Keys: []int{42, 46}}},
			[]string{"metals, hat, tops: x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x."}, []string{"hat", "open-hat"}},
		{"a whole kit in one part is the beat, for the kick in it",
			[]listen.Override{{Name: "kit", Track: 1}},
			[]string{"kit, kick, beat: x.xxx.x.x.x.x.x.|x.xxx.x.x.x.x.xx"}, []string{"kick", "hat"}},
		{"keys without a track are those of kits: a bass keeps its own",
			[]listen.Override{{Name: "one", Keys: []int{36}}},
			[]string{"one, kick, beat: x...x...x...x...|x...x...x...x...", "bass, bass, bass: ..x...x...x...x.|..x...x...x...x."}, nil},
		{"keys beside a track are those there, of a kit or not",
			[]listen.Override{{Name: "rumble", Track: 2, Keys: []int{36}}},
			[]string{"rumble, bass, bass: ..x...x...x...x.|..x...x...x...x.", "kick, kick, beat: x...x...x...x...|x...x...x...x..."}, []string{"bass"}},
		{"keys beside a name are those there, of a kit or not",
			[]listen.Override{{Name: "rumble", TrackName: "Bass", Keys: []int{36}}},
			[]string{"rumble, bass, bass: ..x...x...x...x.|..x...x...x...x.", "kick, kick, beat: x...x...x...x...|x...x...x...x..."}, []string{"bass"}},
		{"keys beside a channel are those there, of a kit or not",
			[]listen.Override{{Name: "rumble", Channel: 1, Keys: []int{36}}},
			[]string{"rumble, bass, bass: ..x...x...x...x.|..x...x...x...x.", "kick, kick, beat: x...x...x...x...|x...x...x...x..."}, []string{"bass"}},
		{"a channel counts from 1",
			[]listen.Override{{Name: "wash", Channel: 4}},
			[]string{"wash, lead, bed: x...............|x..............."}, nil},
		{"role and job may be given",
			[]listen.Override{{Name: "squelch", Track: 2, Role: "lead", Job: "hook"}},
			[]string{"squelch, lead, hook: ..x...x...x...x.|..x...x...x...x.", "synth-2, lead, extra: ...x......x.....|...x......x....."}, nil},
		{"a name that is a job gives the job",
			[]listen.Override{{Name: "bed", TrackName: "Synth 2"}},
			[]string{"bed, lead, bed: ...x......x.....|...x......x.....", "synth-3, lead, hook: x...............|x..............."}, nil},
		{"places are those of a pattern as long as their largest bar, repeated",
			[]listen.Override{{Name: "pulse", Track: 1, Keys: []int{36, 38}, At: []string{"1.1", "1.2"}, Role: "kick", Job: "beat"}},
			[]string{"pulse, kick, beat: x...x...........|x...x...........", "kick, kick, backbeat: ........x...x...|........x...x...", "snare, snare, backbeat: ............x...|............x..x"}, nil},
		{"places of two bars",
			[]listen.Override{{Name: "call", TrackName: "Kit", Keys: []int{36}, At: []string{"1.1", "2.3"}}},
			[]string{"call, kick, beat: x...............|........x......."}, nil},
		{"the skeleton as the design writes it: what it leaves of kick and snare is backbeat",
			[]listen.Override{{Name: "skeleton", Track: 1, Keys: []int{36, 38}, At: []string{"1.1", "1.2", "1.4"}}},
			[]string{"skeleton, kick, beat: x...x.......x...|x...x.......x...", "kick, kick, backbeat: ........x.......|........x.......",
				"snare, snare, backbeat: ................|...............x"}, nil},
		{"a role of the skeleton's own stays what the recipe says",
			[]listen.Override{{Name: "skeleton", Track: 1, Keys: []int{36, 38}, At: []string{"1.1", "1.2", "1.4"}, Role: "snare"}},
			[]string{"skeleton, snare, beat: x...x.......x...|x...x.......x..."}, nil},
		{"of two overrides the later one takes the notes",
			[]listen.Override{{Name: "one", Keys: []int{36, 37}}, {Name: "two", Keys: []int{37, 38}}},
			[]string{"one, kick, beat: x...x...x...x...|x...x...x...x...", "two, snare, backbeat: ...xx.......x...|...xx.......x..x"}, nil},
		{"but not from a narrower one",
			[]listen.Override{{Name: "one", Keys: []int{37}}, {Name: "two", Track: 1}},
			[]string{"one, rim, backbeat: ...x............|...x............", "two, kick, beat: x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.xx"}, nil},
		{"without a selector it speaks of the part of its name",
			[]listen.Override{{Name: "synth-2", Role: "stab"}},
			[]string{"synth-2, stab, hook: ...x......x.....|...x......x....."}, nil},
		{"or of every part of a role",
			[]listen.Override{{Name: "open-hat", Role: "shaker"}},
			[]string{"open-hat, shaker, tops: ..............x.|..............x."}, nil},
		{"a number picks one of a job",
			[]listen.Override{{Name: "tops 2", Role: "ride"}},
			[]string{"open-hat, ride, tops: ..............x.|..............x."}, nil},
		{"a name that a recipe gave stays, others are numbered",
			[]listen.Override{{Name: "hat", Keys: []int{46}, Track: 1}},
			[]string{"hat 1, hat, tops: x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.", "hat, hat, tops: ..............x.|..............x."}, nil},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, groove, row.over...)
			got := show(s)
			for _, want := range row.want {
				if !strings.Contains("\n"+got, "\n"+want+"\n") {
					t.Errorf("got\n%swant among them\n%s", got, want)
				}
			}
			for _, name := range row.gone {
				if s.Index(name) >= 0 {
					t.Errorf("got\n%swant no part %s", got, name)
				}
			}
		})
	}
}

// Where the kick does not carry the beat, what the skeleton leaves of kick and snare is backbeat; a role that a recipe
// gives it decides its job again.
func TestARoleGivenToABreakDecidesItsJob(t *testing.T) {
	const jungle = `"Kit" 10 36 x.........x.....|x.........x..x..
	"Kit" 10 38 ....x..x....x...|....x..x....x...
	"Kit" 10 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`
	for _, row := range []struct {
		over []listen.Override
		want string
	}{
		{nil, "break-snare, snare, backbeat"},
		{[]listen.Override{{Name: "break-snare", Role: "shaker"}}, "break-snare, shaker, tops"},
		{[]listen.Override{{Name: "break-snare", Role: "shaker", Job: "perc"}}, "break-snare, shaker, perc"},
	} {
		s, report := hear(t, jungle, row.over...)
		i := s.Index("break-snare")
		if i < 0 {
			t.Fatalf("found no break-snare in\n%s", show(s))
		}
		p := s.Parts[i]
		if got := fmt.Sprintf("%s, %s, %s", p.Name, p.Role, p.Job); got != row.want {
			t.Errorf("%v: got %s, want %s", row.over, got, row.want)
		}
		if row.over != nil && report.Parts[i].Confidence != 100 {
			t.Errorf("%v: the role is sure by %d %%, want 100", row.over, report.Parts[i].Confidence)
		}
	}
}

func TestOverridesDescribeParts(t *testing.T) {
	home := []song.Home{{Controller: 74, Value: 90}}
	s, _ := hear(t, groove, listen.Override{Name: "bass", Home: home, Mapped: []song.Controller{74}, Tails: song.TailsRing, Entry: song.EntryRestrike})
	p := s.Parts[s.Index("bass")]
	if !reflect.DeepEqual(p.Home, home) || len(p.Mapped) != 1 || p.Tails != song.TailsRing || p.Entry != song.EntryRestrike {
		t.Errorf("got %v %v %v %v, want what the recipe says", p.Home, p.Mapped, p.Tails, p.Entry)
	}
}

func TestOverrideErrors(t *testing.T) {
	port := 3
	for _, row := range []struct {
		rule string
		over listen.Override
		want string
	}{
		{"a track there is not", listen.Override{Name: "rim", Track: 9}, `parts.rim.track: found 9, want 1 to 4`},
		{"a name no track bears", listen.Override{Name: "stab", TrackName: "Synt 2"},
			`parts.stab.name: found "Synt 2", want one of Kit, Bass, Synth 2, Synth 3; did you mean "Synth 2"?`},
		{"a channel without notes", listen.Override{Name: "stab", Channel: 7}, `parts.stab.channel: found 7, want one of 1, 3, 4, 10`},
		{"a port nothing is on", listen.Override{Name: "stab", Port: &port}, `parts.stab.port: found 3, want one of 0`},
		{"keys without notes", listen.Override{Name: "rim", Track: 1, Keys: []int{56}}, `parts.rim.keys: found 56, want one of 36, 37, 38, 42, 46`},
		{"keys alone, and no kit has them", listen.Override{Name: "rim", Keys: []int{60}}, `parts.rim.keys: found 60, want one of 36, 37, 38, 42, 46`},
		{"a key that is none", listen.Override{Name: "rim", Keys: []int{128}}, `parts.rim.keys: found 128, want 0 to 127`},
		{"a place that is none", listen.Override{Name: "rim", At: []string{"1"}}, `parts.rim.at: found "1", want bar.beat, such as 1.3`},
		{"a beat the bar has not", listen.Override{Name: "rim", At: []string{"1.5"}}, `parts.rim.at: found "1.5", want a beat from 1 to 4`},
		{"a bar the loop has not", listen.Override{Name: "rim", At: []string{"3.1"}}, `parts.rim.at: found "3.1", want a bar from 1 to 2`},
		{"a place where nothing is", listen.Override{Name: "rim", Keys: []int{46}, At: []string{"1.1"}}, `parts.rim.at: found 1.1, want beats that notes of it stand at`},
		{"a part that is not there", listen.Override{Name: "bas", Role: "sub"},
			`parts.bas: found "bas", want one of kick, snare, rim, hat, open-hat, bass, synth-2, synth-3, or a track, name, channel or key it is made of; did you mean "bass"?`},
		{"a role that is none", listen.Override{Name: "rim", Role: "snair"},
			`parts.rim.role: found "snair", want one of kick, snare, clap, rim, hat, open-hat, shaker, ride, crash, tom, perc, bass, sub, lead, stab, chords, arp, pad, strings, fx, vocal, drone, trigger, unknown; did you mean "snare"?`},
		{"a job that is none", listen.Override{Name: "rim", Job: "top"},
			`parts.rim.job: found "top", want one of beat, backbeat, tops, perc, bass, bed, hook, extra; did you mean "tops"?`},
		{"a home value that is none", listen.Override{Name: "bass", Home: []song.Home{{Controller: 74, Value: 128}}}, `parts.bass.home: found 128, want 0 to 127`},
		{"a name in capitals", listen.Override{Name: "Rim", Track: 1},
			`parts.Rim: found "Rim", want a name of lower-case letters, digits and hyphens, a letter first, with a number after it or without`},
		{"a group's name", listen.Override{Name: "drums", Track: 1}, `parts.drums: found "drums", want a name that is no group of parts`},
		{"a reserved word", listen.Override{Name: "every", Track: 1}, `parts.every: found "every", want a name that is no word of the recipe language`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			_, _, err := listen.Hear(raw(t, loop(t, groove)), listen.Options{Overrides: []listen.Override{{Name: "kick", Role: "kick"}, row.over}})
			if err == nil || err.Error() != row.want {
				t.Fatalf("got  %v\nwant %s", err, row.want)
			}
			var e *listen.OverrideError
			if !errors.As(err, &e) || e.Index != 1 {
				t.Errorf("found in override %+v, want it in the second", e)
			}
		})
	}
}

func TestEveryMistakeIsReported(t *testing.T) {
	_, _, err := listen.Hear(raw(t, loop(t, groove)), listen.Options{Overrides: []listen.Override{
		{Name: "rim", Track: 9, Channel: 17}, {Name: "snare", Track: 1, Keys: []int{38}}, {Name: "oops"},
	}})
	var all listen.OverrideErrors
	if !errors.As(err, &all) || len(all) != 3 || all[0].Field != "track" || all[1].Field != "channel" || all[2].Name != "oops" {
		t.Errorf("got %v, want three mistakes", err)
	}
}

func TestNumbersOfOverridesHaveLimits(t *testing.T) {
	port := func(n int) *int { return &n }
	for _, row := range []struct {
		over  listen.Override
		wrong string
	}{
		{listen.Override{Track: -1}, "track: found -1, want 1 to 4"},
		{listen.Override{Channel: -1}, "channel: found -1, want 1 to 16"},
		{listen.Override{Channel: 17}, "channel: found 17, want 1 to 16"},
		{listen.Override{Port: port(-1)}, "port: found -1, want 0 to 127"},
		{listen.Override{Port: port(128)}, "port: found 128, want 0 to 127"},
	} {
		row.over.Name = "x"
		_, _, err := listen.Hear(raw(t, loop(t, groove)), listen.Options{Overrides: []listen.Override{row.over}})
		if want := "parts.x." + row.wrong; err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
}

func TestOverrideLeftWithoutNotes(t *testing.T) {
	_, _, err := listen.Hear(raw(t, loop(t, groove)), listen.Options{Overrides: []listen.Override{
		{Name: "one", Track: 2, Keys: []int{36}}, {Name: "two", Track: 2},
	}})
	const want = `parts.two: found no note left for it, want notes that no other entry takes as narrowly`
	if err == nil || err.Error() != want {
		t.Errorf("got  %v\nwant %s", err, want)
	}
}

// What Overrides writes makes the same parts of the same file, however they came about.
func TestWrittenOverridesMakeTheSameParts(t *testing.T) {
	const broken = `"Kit" 10 36 x.x.......xx....|x.x.......x.....
		"Kit" 10 38 ....X..o.o..X..o|....X..o.o....X.
		"Kit" 10 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
		"Kick" 1 60 x.....x.........|x.....x.........
		"Amen" 2 36 x...x...x...x...|x...x...x...x...
		"" 3 60 x---------------|x---------------
		"SC" 4 60 x...x...x...x...|x...x...x...x...`
	for _, row := range []struct {
		rule, loop string
		over       []listen.Override
	}{
		{"nothing given", groove, nil},
		{"a broken beat", broken, nil},
		{"places and keys", groove, []listen.Override{
			{Name: "x", Keys: []int{36, 38}, At: []string{"1.1", "1.2"}}, {Name: "y", Keys: []int{36}, At: []string{"1.2", "1.3"}},
			{Name: "z", Keys: []int{42, 46, 37}}, {Name: "w", Keys: []int{46}}}},
		{"places over a broken beat", broken, []listen.Override{{Name: "x", Track: 1, Keys: []int{36}, At: []string{"1.1"}, Role: "perc"}}},
		{"a role and what goes with it", groove, []listen.Override{{Name: "bass", Tails: song.TailsRing, Role: "sub"}, {Name: "hat", Job: "extra"}}},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, r := hear(t, row.loop, row.over...)
			checkWritten(t, raw(t, loop(t, row.loop)), listen.Loop{}, s, r)
		})
	}
}

func checkWritten(t testing.TB, rawSong song.Song, l listen.Loop, s song.Song, r listen.Report) {
	t.Helper()
	again, _, err := listen.Hear(rawSong, listen.Options{Overrides: r.Overrides(s), Loop: l})
	if err != nil {
		t.Fatalf("%v\nfrom\n%+v", err, r.Overrides(s))
	}
	if !reflect.DeepEqual(again.Parts, s.Parts) {
		t.Errorf("got\n%swant\n%s", show(again), show(s))
		for i := range min(len(s.Parts), len(again.Parts)) {
			a, b := again.Parts[i], s.Parts[i]
			if !reflect.DeepEqual(a, b) {
				a.Notes, b.Notes = nil, nil
				t.Errorf("part %d: got %+v\nwant %+v", i, a, b)
			}
		}
	}
}

// The same with overrides picked at random, from a fixed seed: whatever they make, they make it again
// when it is written out.
func TestWrittenOverridesOfAnyOverrides(t *testing.T) {
	const broken = `"Kit" 10 36 x.x.......xx....|x.x.......x.....
		"Kit" 10 38 ....X..o.o..X..o|....X..o.o....X.
		"Kit" 10 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.
		"Bass" 1 36 x.....x.........|x.....x.........
		"" 3 60 x---------------|x---------------`
	names := []string{"one", "two", "kick", "hat 2", "skeleton", "hook", "bass", "stab", "perc"}
	places := [][]string{nil, nil, nil, {"1.1"}, {"1.1", "1.3"}, {"2.1", "1.2"}}
	keys := [][]int{nil, nil, {36}, {36, 38}, {42}, {38, 42}}
	state := uint64(1)
	pick := func(n int) int { // splitmix64
		state += 0x9E3779B97F4A7C15
		z := state
		z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
		z = (z ^ z>>27) * 0x94D049BB133111EB
		return int((z ^ z>>31) >> 33 % uint64(n))
	}
	made := 0
	many := oracle.Size(500, 3000, 3000)
	for range many {
		text := groove
		if pick(2) == 0 {
			text = broken
		}
		var over []listen.Override
		for range 1 + pick(4) {
			over = append(over, listen.Override{Name: names[pick(len(names))], Track: pick(4), Keys: keys[pick(len(keys))], At: places[pick(len(places))]})
		}
		s := raw(t, loop(t, text))
		heard, r, err := listen.Hear(s, listen.Options{Overrides: over})
		if err != nil {
			continue
		}
		made++
		checkPartition(t, s, heard)
		checkWritten(t, s, listen.Loop{}, heard, r)
		if t.Failed() {
			t.Fatalf("with %+v", over)
		}
	}
	if made < many/10 {
		t.Errorf("%d of the overrides were good, want enough to say something", made)
	}
}

func TestMistakesSayWhichItem(t *testing.T) {
	for _, tt := range []struct {
		rule  string
		over  listen.Override
		field string
		item  int
		found string
	}{
		{"a place", listen.Override{Name: "call", Track: 1, At: []string{"1.1", "x"}}, "at", 1, `"x"`},
		{"a key", listen.Override{Name: "call", Track: 1, Keys: []int{36, 200}}, "keys", 1, "200"},
		{"the name of a role for another role", listen.Override{Name: "kick", Track: 1, Role: "hat"}, "role", 0, `"hat" for a part named kick`},
		{"the name of a job for another job", listen.Override{Name: "hook", Track: 1, Job: "bass"}, "job", 0, `"bass" for a part named hook`},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			_, _, err := listen.Hear(raw(t, loop(t, groove)), listen.Options{Overrides: []listen.Override{tt.over}})
			var mistakes listen.OverrideErrors
			if !errors.As(err, &mistakes) || len(mistakes) != 1 {
				t.Fatalf("got %v, want one mistake", err)
			}
			if m := mistakes[0]; m.Field != tt.field || m.Item != tt.item || m.Found != tt.found {
				t.Errorf("got %+v, want %s, item %d, found %s", m, tt.field, tt.item, tt.found)
			}
		})
	}
}
