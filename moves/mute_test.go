package moves_test

import (
	"strings"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/movetest"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// run carries out a step on a song with sections; it returns the song that comes of it and all it came to.
func run(t testing.TB, step moves.Step, in song.Song, sections ...song.Section) (song.Song, moves.Outcome) {
	t.Helper()
	in = in.WithSections(sections)
	env := &moves.Env{Strict: true, Seed: 1}
	came, err := moves.Run(env, step, in)
	if err != nil {
		t.Fatal(err)
	}
	return came.Song, came
}

func mute(part, over string) *moves.Mute {
	return &moves.Mute{Target: moves.Target{Part: where.PartsOf(part), Over: where.SpansOf(over)}}
}

// struckAt allows that a note is struck again at a tick.
func struckAt(tick song.Tick) func(song.Part, song.Tick) bool {
	return func(_ song.Part, at song.Tick) bool { return at == tick }
}

func TestMute(t *testing.T) {
	tails := func(m *moves.Mute, tails string) *moves.Mute { m.Tails = tails; return m }
	movetest.Run(t,
		movetest.Row{Name: "the notes of the span go", Step: mute("kick", "bar 2"),
			Before: "kick x...x...|x...x...|x...x...",
			After:  "kick x...x...|........|x...x..."},
		movetest.Row{Name: "other parts play on", Step: mute("kick", "bar 1"),
			Before: "kick x...x...|x...x...\nhat  ..x...x.|..x...x.",
			After:  "kick ........|x...x...\nhat  ..x...x.|..x...x."},
		movetest.Row{Name: "a pitched note that rings into the span ends where it begins", Step: mute("bass", "bar 2"),
			Before: "bass ......x-|--..x...",
			After:  "bass ......x-|........"},
		movetest.Row{Name: "a drum rings on", Step: mute("ride", "bar 2"),
			Before: "ride ......x-|--..x...",
			After:  "ride ......x-|--......"},
		movetest.Row{Name: "fx ring on", Step: mute("fx", "bar 2"),
			Before: "fx ......x-|--..x...",
			After:  "fx ......x-|--......"},
		movetest.Row{Name: "unless told to be cut", Step: tails(mute("ride", "bar 2"), "cut"),
			Before: "ride ......x-|--..x...",
			After:  "ride ......x-|........"},
		movetest.Row{Name: "a bass told to ring does", Step: tails(mute("bass", "bar 2"), "ring"),
			Before: "bass ......x-|--..x...",
			After:  "bass ......x-|--......"},
		movetest.Row{Name: "a pad held over the end of the span is struck again", Step: mute("pad", "bar 2"),
			Before: "pad x-------|--------|----....",
			After:  "pad x-------|........|x---....",
			May:    struckAt(384)},
		movetest.Row{Name: "so are chords that began in the span", Step: mute("chords", "bar 1"),
			Before: "chords ....x---|----....",
			After:  "chords ........|x---....",
			May:    struckAt(192)},
		movetest.Row{Name: "a bass waits for its next onset", Step: mute("bass", "bar 2"),
			Before: "bass x-------|--------|----x...",
			After:  "bass x-------|........|....x..."},
		movetest.Row{Name: "drums that ring through a span are not cut, and that nothing starts there is said", Step: mute("ride", "bar 2"),
			Before:  "ride x-------|--------|----x...",
			After:   "ride x-------|--------|----x...",
			Nothing: remark.NothingPlays, Warned: []string{"nothing plays there"}},
		movetest.Row{Name: "touching spans are one silence", Step: mute("pad", "every 1 bar of bars 2-3"),
			Before: "pad x-------|--------|--------|----....",
			After:  "pad x-------|........|........|x---....",
			May:    struckAt(576)},
		movetest.Row{Name: "several spans", Step: mute("pad", "every other 1 bar"),
			Before: "pad x-------|--------|--------|----....",
			After:  "pad x-------|........|x-------|........",
			May:    struckAt(384)},
	)
}

func TestMutingSilencesTheChannel(t *testing.T) {
	events := []smf.Event{
		on(0, 60, 100), cc(q, 64, 127), bend(2*q, 80), smf.Channel(2*q, 0xD0, 50, 0), off(3*q, 60),
		on(bar, 60, 100), smf.Channel(bar+q, 0xA0, 60, 7), off(bar+2*q, 60), bend(bar+3*q, 90),
		on(2*bar, 60, 100), cc(2*bar+q, 64, 0), off(2*bar+q, 60),
	}
	in := loop(t, 3*bar, events)
	in.Parts[0].Name, in.Parts[0].Role, in.Parts[0].Job = "bass", song.RoleBass, song.JobBass
	out, _ := run(t, mute("bass", "bar 2"), in)
	want := "1:cc64=127 2:bend=80 2:pressure=50 " +
		"4:cc64=0 4:bend=64 4:pressure=0 " + // at rest for the span
		"8:cc64=127 8:bend=90 8:pressure=50 9:cc64=0" // what the loop has there
	if got := show(out, 0); !sameWords(got, want) {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}

func TestMutingOneOfTwoOnAChannelLeavesItsControllers(t *testing.T) {
	events := []smf.Event{on(0, 36, 100), bend(q, 80), off(2*q, 36), on(bar, 38, 100), off(bar+q, 38)}
	in := loop(t, 2*bar, events)
	kit := in.Parts[0]
	kick, snare := kit, kit
	kick.Name, kick.Role, kick.Job, kick.Keys, kick.Notes = "kick", song.RoleKick, song.JobBeat, song.KeySet(36), kit.Notes[:1]
	snare.Name, snare.Role, snare.Job, snare.Keys, snare.Notes = "snare", song.RoleSnare, song.JobBackbeat, song.KeySet(38), kit.Notes[1:]
	in.Parts = []song.Part{kick, snare}
	out, _ := run(t, mute("kick", "all"), in)
	if got, want := show(out, 0), "1:bend=80"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	out, _ = run(t, mute("all", "all"), in)
	if got, want := show(out, 0), ""; got != want {
		t.Errorf("with both silent: got %s, want nothing", got)
	}
}

func TestMutingNothingIsWarned(t *testing.T) {
	in := mustGrid(t, "kick x...x...|........")
	_, came := run(t, mute("kick", "bar 2"), in)
	if warned := movetest.Warned(came); len(warned) != 1 || !strings.Contains(warned[0], "no note of kick") || came.Nothing.Kind != remark.NothingPlays {
		t.Errorf("got %q, want one warning, and that there was nothing to do", warned)
	}
}

func TestEarlyNotesAreSilencedWithTheirBar(t *testing.T) {
	in := loop(t, 2*bar, append(note(0, q, 60), note(bar-3, bar+q, 62)...))
	in.Parts[0].Name, in.Parts[0].Role, in.Parts[0].Job = "bass", song.RoleBass, song.JobBass
	out, _ := run(t, mute("bass", "bar 2"), in)
	if n := len(out.Parts[0].Notes); n != 1 {
		t.Errorf("%d notes are left, want 1", n)
	}
	out, _ = run(t, mute("bass", "bar 1"), in)
	if n := out.Parts[0].Notes; len(n) != 1 || n[0].Key != 62 {
		t.Errorf("%v is left, want the early note", n)
	}
}

func TestAPedalThatIsLetGoOnTheFirstTickOfASilenceIsLetGo(t *testing.T) {
	events := []smf.Event{on(0, 60, 100), cc(2*q, 64, 127), off(3*q, 60), cc(bar, 64, 0), on(bar, 60, 100), cc(bar+3*q, 64, 127), off(2*bar, 60), cc(2*bar+q, 64, 0)}
	in := loop(t, 3*bar, events)
	in.Parts[0].Name, in.Parts[0].Role, in.Parts[0].Job = "pad", song.RolePad, song.JobBed
	out, _ := run(t, mute("pad", "bar 2"), in)
	if got, want := show(out, 0), "2:cc64=127 4:cc64=0 8:cc64=127 9:cc64=0"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// Which bar of the loop a bar of the song plays follows from how the loop was laid out.
func TestBarsOfTheLoop(t *testing.T) {
	in := mustGrid(t, "kick x...|x...|x...|x...|x...|x...").WithSections([]song.Section{{Name: "intro", Bar: 1, Bars: 3}, {Name: "drop", Bar: 4, Bars: 2}})
	for _, tt := range []struct {
		rule  string
		env   moves.Env
		over  string
		after string
	}{
		{"sections count a loop of two bars back from their ends, what follows runs on", moves.Env{Bars: 2}, "loop bar 1",
			"kick x...|....|x...|....|x...|...."},
		{"a section that runs on", moves.Env{Bars: 2, Blocks: []lay.Block{{Bars: 3}, {Bars: 2, RunOn: true}}}, "loop bar 2",
			"kick ....|x...|....|x...|....|x..."},
		{"a loop as long as the song", moves.Env{}, "loop bars 5-6",
			"kick x...|x...|x...|x...|....|...."},
	} {
		env := tt.env
		env.Strict = true
		out, err := moves.Run(&env, mute("kick", tt.over), in)
		if err != nil {
			t.Errorf("%s: %v", tt.rule, err)
			continue
		}
		if got := song.Grid(out.Song); strings.TrimSpace(got) != tt.after {
			t.Errorf("%s: got %s, want %s", tt.rule, got, tt.after)
		}
	}
	_, err := moves.Run(&moves.Env{Bars: 2, Strict: true}, mute("kick", "loop bar 3"), in)
	if err == nil || !strings.Contains(err.Error(), "bars within 1-2 (the loop)") {
		t.Errorf("past the loop: got %v", err)
	}
}
