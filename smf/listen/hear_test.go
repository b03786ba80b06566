package listen_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

const (
	fours   = "x...x...x...x..."
	twoFour = "....x.......x..."
	eighths = "x.x.x.x.x.x.x.x."
	offs    = "..x...x...x...x."
)

func TestHear(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"a kit on channel 10 is split by sound, keys of one role together",
			`"Drums" 10 36 ` + fours + `
			 "Drums" 10 39 ` + twoFour + `
			 "Drums" 10 42 x.......x.......
			 "Drums" 10 44 ` + offs + `
			 "Drums" 10 46 ..............x.
			 "Drums" 10 49 x...............
			 "Drums" 10 51 x.......x.......
			 "Drums" 10 45 ............x...
			 "Drums" 10 70 ..x.............
			 "Drums" 10 56 ...x............`,
			`kick, kick, beat: x...x...x...x...
			 clap, clap, backbeat: ....x.......x...
			 hat, hat, tops: x.x...x.x.x...x.
			 open-hat, open-hat, tops: ..............x.
			 shaker, shaker, tops: ..x.............
			 ride, ride, tops: x.......x.......
			 crash, crash, perc: x...............
			 tom, tom, perc: ............x...
			 cowbell, perc, perc: ...x............`},
		{"tracks all on channel 1 are separate voices, on any key",
			`"Kick" 1 60 ` + fours + `
			 "Clap" 1 60 ` + twoFour + `
			 "CH" 1 60 ` + eighths + `
			 "OH" 1 60 ` + offs + `
			 "Bass" 1 36 ..x-..x-..x-..x-
			 "Stab" 1 60 ...x......x.....
			 "Pad" 1 60 x---------------`,
			`kick, kick, beat: x...x...x...x...
			 clap, clap, backbeat: ....x.......x...
			 ch, hat, tops: x.x.x.x.x.x.x.x.
			 oh, open-hat, tops: ..x...x...x...x.
			 bass, bass, bass: ..x...x...x...x.
			 stab, stab, hook: ...x......x.....
			 pad, pad, bed: x...............`},
		{"a kit is a kit on another channel if its name says so",
			`"Kit" 3 36 ` + fours + `
			 "Kit" 3 38 ` + twoFour + `
			 "Kit" 3 42 ` + eighths,
			`kick, kick, beat: x...x...x...x...
			 snare, snare, backbeat: ....x.......x...
			 hat, hat, tops: x.x.x.x.x.x.x.x.`},
		{"a kit is a kit on another channel if it plays as one",
			`"Harbour" 3 36 ` + fours + `
			 "Harbour" 3 38 ` + twoFour + `
			 "Harbour" 3 42 ` + eighths,
			`kick, kick, beat: x...x...x...x...
			 snare, snare, backbeat: ....x.......x...
			 hat, hat, tops: x.x.x.x.x.x.x.x.`},
		{"a bass on the keys of a kit plays one note at a time",
			`"" 3 36 x...x...x...x...
			 "" 3 38 ..x.............
			 "" 3 42 ......x.........`,
			`bass, bass, bass: x.x.x.x.x...x...`},
		{"a sound of a kit on channel 10 with a track of its own bears its track's name",
			`"BD 909" 10 36 ` + fours + `
			 "Toms" 10 60 ` + offs,
			`bd-909, kick, beat: x...x...x...x...
			 toms, tom, perc: ..x...x...x...x.`},
		{"a pitched name on channel 10 is no kit",
			`"Bass" 10 36 ..x...x...x...x.
			 "Bass" 10 43 x...............`,
			`bass, bass, bass: x.x...x...x...x.`},
		{"keys outside the map are percussion",
			`"" 10 36 ` + fours + `
			 "" 10 100 ` + offs,
			`kick, kick, beat: x...x...x...x...
			 perc, perc, perc: ..x...x...x...x.`},
		{"a kit on keys of its own stays whole and is the beat",
			`"Drums" 3 60 ` + fours + `
			 "Drums" 3 61 ` + twoFour + `
			 "Drums" 3 72 ` + offs,
			`drums-track, unknown, beat: x.x.x.x.x.x.x.x.`},
		{"parts of one name are numbered",
			`"Hat" 1 42 ` + offs + `
			 "hat" 2 42 ` + eighths + `
			 "Hat!" 3 42 ` + offs,
			`hat 1, hat, tops: ..x...x...x...x.
			 hat 2, hat, tops: x.x.x.x.x.x.x.x.
			 hat 3, hat, tops: ..x...x...x...x.`},
		{"a track that bears a job's or group's name without being it, or a reserved word, is NAME-track",
			`"Hook" 1 72 x...............
			 "Music" 2 72 x.x.x.x.........
			 "Music" 2 74 ........x.......
			 "Every" 3 72 x...............
			 "Every" 3 71 ..x.............`,
			`hook-track, lead, extra: x...............
			 music-track, lead, hook: x.x.x.x.x.......
			 every-track, unknown, extra: x.x.............`},
		{"a track that bears a job's name and is it keeps it",
			`"Hook" 1 72 x.x.x.x.........`,
			`hook, lead, hook: x.x.x.x.........`},
		{"one that shares its job with others bears its place among them",
			`"Crash" 10 49 x...............
			 "Perc" 9 63 ..x..x....x..x..
			 "Perc Loop" 8 64 x.......x.......`,
			`crash, crash, perc: x...............
			 perc 2, perc, perc: ..x..x....x..x..
			 perc-loop, perc, perc: x.......x.......`},
		{"a generic name says nothing: the role is the name",
			`"Track 1" 10 36 ` + fours + `
			 "Track 2" 2 30 ..x-..x-..x-..x-`,
			`kick, kick, beat: x...x...x...x...
			 bass, bass, bass: ..x...x...x...x.`},
		{"a trigger has no job",
			`"Kick" 1 36 ` + fours + `
			 "SC Kick" 10 36 ` + fours,
			`kick, kick, beat: x...x...x...x...
			 sc-kick, trigger, -: x...x...x...x...`},
		{"fx are extra and no hook, a vocal may be it",
			`"Riser" 1 60 x---------------
			 "Vox" 2 72 x.x.x.x.x.x.x.x.
			 "Lead" 3 60 x...............`,
			`riser, fx, extra: x...............
			 vox, vocal, hook: x.x.x.x.x.x.x.x.
			 lead, lead, extra: x...............`},
		{"a break in slices in one part is all beat",
			`"Amen" 2 36 x...............
			 "Amen" 2 37 ..x.............
			 "Amen" 2 38 ....x...........
			 "Amen" 2 39 ......x.........
			 "Amen" 2 40 ........x.......
			 "Amen" 2 41 ..........x.x.x.`,
			`amen, unknown, beat: x.x.x.x.x.x.x.x.`},
		{"keys that climb from slice to slice are a break without a name",
			`"" 10 36 x...............
			 "" 10 37 ..x.............
			 "" 10 38 ....x...........
			 "" 10 39 ......x.........
			 "" 10 40 ........x.......
			 "" 10 41 ..........x.....
			 "" 10 42 ............x...
			 "" 10 43 ..............x.`,
			`break, unknown, beat: x.x.x.x.x.x.x.x.`},
		{"keys that climb but are struck together are no break",
			`"" 10 36 x...x...x...x...
			 "" 10 38 ....x.......x...
			 "" 10 42 x.x.x.x.x.x.x.x.`,
			`kick, kick, beat: x...x...x...x...
			 snare, snare, backbeat: ....x.......x...
			 hat, hat, tops: x.x.x.x.x.x.x.x.`},
		{"a kit struck one key at a time comes again from bar to bar",
			`"" 3 36 x.......x.......|x.......x.......|x.......x.......
			 "" 3 39 ....x.......x...|....x.......x...|....x.......x...
			 "" 3 42 ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`,
			`kick, kick, beat: x.......x.......|x.......x.......|x.......x.......
			 clap, clap, backbeat: ....x.......x...|....x.......x...|....x.......x...
			 hat, hat, tops: ..x...x...x...x.|..x...x...x...x.|..x...x...x...x.`},
		{"a bass on the same keys that goes elsewhere in each bar is a bass",
			`"" 3 36 x.......x.......|..x.............|x...............
			 "" 3 38 ....x...........|x.......x.......|......x.........
			 "" 3 42 ..x.............|......x.........|............x...`,
			`bass, bass, bass: x.x.x...x.......|x.x...x.x.......|x.....x.....x...`},
		{"chords on the keys of a kit that do not clash are no kit",
			`"" 3 36 x.......x.......|x.......x.......
			 "" 3 40 x.......x.......|x.......x.......
			 "" 3 43 x.......x.......|x.......x.......`,
			`stab, stab, hook: x.......x.......|x.......x.......`},
		{"a hat and an open hat in one track are two",
			`"Hats" 4 42 ` + eighths + `
			 "Hats" 4 46 ..............x.`,
			`hat, hat, tops: x.x.x.x.x.x.x.x.
			 open-hat, open-hat, tops: ..............x.`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}

func TestHearByBehaviour(t *testing.T) {
	for _, row := range []struct {
		rule, loop string
		want       song.Role
	}{
		{"one short key on the beats is a kick", `"" 1 60 ` + fours, song.RoleKick},
		{"one short key on two and four is a snare", `"" 1 60 ` + twoFour, song.RoleSnare},
		{"one short key between the beats is an open hat", `"" 1 60 ` + offs, song.RoleOpenHat},
		{"one short key all the time is a hat", `"" 1 60 ` + eighths, song.RoleHat},
		{"one short key here and there is percussion", `"" 1 60 ...x......x..x..`, song.RolePerc},
		{"one low short key between the beats is a bass", `"" 1 36 ` + offs, song.RoleBass},
		{"low, one at a time, is a bass", "\"\" 1 36 x--.x--.........\n\"\" 1 39 ........x--.x--.", song.RoleBass},
		{"chords held are a pad", "\"\" 1 60 x---------------\n\"\" 1 63 x---------------", song.RolePad},
		{"short chords are a stab", "\"\" 1 60 ...x......x.....\n\"\" 1 63 ...x......x.....", song.RoleStab},
		{"chords between are chords", "\"\" 1 60 x---....x---....\n\"\" 1 63 x---....x---....", song.RoleChords},
		{"many notes one at a time are an arp", "\"\" 1 60 x...x...x...x...\n\"\" 1 64 ..x...x...x...x.\n\"\" 1 67 .x...x...x...x..", song.RoleArp},
		{"one key once in a while on the first beat is a crash", `"" 1 60 x...............|................|................|................|x...............|................|................|................`, song.RoleCrash},
		{"one key on one and three is a kick", `"" 1 60 x.......x.......`, song.RoleKick},
		{"one key longer than half a beat is no drum", `"" 1 60 x--.x--.x--.x--.`, song.RoleLead},
		{"the first beat alone is no kick", `"" 1 60 x...............`, song.RolePerc},
		{"one key at even beats and before is a snare", `"" 1 60 ....x......xx...`, song.RoleSnare},
		{"one key that leaves out the even beats is a hat if it fills the others", `"" 1 60 x.x...x.x.x...x.`, song.RoleHat},
		{"octaves are one note", "\"\" 1 36 x--.x--.x--.x--.\n\"\" 1 48 x--.x--.x--.x--.", song.RoleBass},
		{"over three octaves is no bass", "\"\" 1 36 x-......x-......\n\"\" 1 76 ..x.............", song.RoleLead},
		{"two short notes are too few to tell by", "\"\" 1 60 x...............\n\"\" 1 64 ....x...........", song.RoleUnknown},
		{"now one note, now chords, is nothing for certain", "\"\" 1 60 x-x-x-x-........\n\"\" 1 64 x...............", song.RoleUnknown},
		{"few notes one at a time are a lead", "\"\" 1 72 x---....x-------\n\"\" 1 74 ......x.........", song.RoleLead},
		{"one key held for bars is a drone", `"" 1 60 x---------------|----------------`, song.RoleDrone},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, r := hear(t, row.loop)
			if s.Parts[0].Role != row.want {
				t.Errorf("heard %s (%v), want %s", s.Parts[0].Role, r.Parts[0].Evidence, row.want)
			}
			if c := r.Parts[0].Confidence; (c > 0) != (row.want != song.RoleUnknown) || c > 70 {
				t.Errorf("confidence %d %%, want at most 70 for behaviour", c)
			}
		})
	}
}

func TestEvidence(t *testing.T) {
	f := loop(t, `"BD 909" 10 36 `+fours+`
		"Perc" 10 60 `+offs+`
		"Harbour" 2 36 x...............
		"Kit" 3 36 `+fours+`
		"Kit" 3 42 `+eighths+`
		"" 4 36 `+fours+`
		"" 4 39 `+twoFour+`
		"" 4 42 `+eighths)
	f.Tracks[2].Events = slices.Insert(f.Tracks[2].Events, 0, smf.Channel(0, 0xC1, 38, 0))
	_, r, err := listen.Hear(raw(t, f), listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		`bd-909, kick, 99 %: track name "BD 909" says kick; GM key 36, Bass Drum 1`,
		`perc, perc, 99 %: track name "Perc" says perc; GM key 60, Hi Bongo`,
		`harbour, bass, 93 %: GM program 39, bass; low (median key 36); one note at a time; nothing pitched is lower`,
		`kick 1, kick, 80 %: GM key 36, Bass Drum 1`,
		`hat 1, hat, 80 %: GM key 42, Closed Hi Hat`,
		`kick 2, kick, 65 %: GM key 36, Bass Drum 1; plays as a kit: keys of kick, snare and hats, keys together that make no chord, kick, snare and cymbals all there, snare on even beats`,
	} {
		p := r.Parts[i]
		got := p.Part + ", " + string(p.Role) + ", " + strconv.Itoa(p.Confidence) + " %: " + words(p.Evidence)
		if got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
}

func TestBassIsTheLowestOfTheMiddleRegister(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"of two lines the lower is the bass",
			`"" 1 45 x--.x--.........
			 "" 1 47 ........x--.x--.
			 "" 2 48 x--.x--.........
			 "" 2 50 ........x--.x--.`,
			`bass, bass, bass: x...x...x...x...
			 lead, lead, hook: x...x...x...x...`},
		{"both are, below the lowest string of a guitar",
			`"" 1 28 x--.x--.x--.x--.
			 "" 2 40 x--.x--.........
			 "" 2 38 ........x--.x--.`,
			`bass 1, bass, bass: x...x...x...x...
			 bass 2, bass, bass: x...x...x...x...`},
		{"a drum that is lower does not count, nor a kick that is known by its playing alone",
			`"Tom" 1 30 x---x---x---x---
			 "" 2 31 ` + fours + `
			 "" 3 45 x--.x--.........
			 "" 3 47 ........x--.x--.`,
			`tom, tom, perc: x...x...x...x...
			 kick, kick, beat: x...x...x...x...
			 bass, bass, bass: x...x...x...x...`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}

func TestATriggerIsToldFromTheKick(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"one key on every beat, all of one velocity, beside a known kick is a trigger",
			`"Kick" 1 36 x...x...x..x....
			 "" 2 60 ` + fours,
			`kick, kick, beat: x...x...x..x....
			 trigger, trigger, -: x...x...x...x...`},
		{"with an accent it is a kick",
			`"Kick" 1 36 ` + fours + `
			 "" 2 60 X...x...x...x...`,
			`kick 1, kick, beat: x...x...x...x...
			 kick 2, kick, beat: x...x...x...x...`},
		{"with a gap it is a kick",
			`"Kick" 1 36 ` + fours + `
			 "" 2 60 x...x...x.......`,
			`kick 1, kick, beat: x...x...x...x...
			 kick 2, kick, beat: x...x...x.......`},
		{"with a name of its own it is what that says",
			`"Kick" 1 36 ` + fours + `
			 "Kick Top" 2 60 ` + fours,
			`kick, kick, beat: x...x...x...x...
			 kick-top, kick, beat: x...x...x...x...`},
		{"without another kick it is the kick",
			`"" 2 60 ` + fours,
			`kick, kick, beat: x...x...x...x...`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}

func TestPartsOfUnknownRoleHaveTheJobOfTheirRegisterAndDensity(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"low is bass",
			`"Harbour" 1 36 x---....x---....
			 "Harbour" 1 38 ............x---
			 "Harbour" 1 43 x---............
			 "Harbour" 1 76 ....x---........`,
			`harbour, unknown, bass: x...x...x...x...`},
		{"long is the bed, the better tune the hook",
			`"" 1 60 x---------......
			 "" 1 64 ..........x-----
			 "Harbour" 2 60 x-x-x-x-x-......
			 "Harbour" 2 64 x-..............
			 "Harbour" 2 67 ......x-........
			 "Harbour" 2 69 ......x-........
			 "Quay" 3 59 x.x.............
			 "Quay" 3 60 ....x...........`,
			`track-1, unknown, bed: x.........x.....
			 harbour, unknown, hook: x.x.x.x.x.......
			 quay, lead, extra: x.x.x...........`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}

func TestAKitByItsPlayingHasNoOtherProgramThanAPiano(t *testing.T) {
	for _, row := range []struct {
		rule    string
		program byte // from 0
		kit     bool
	}{
		{"exporters send program 0 when they mean none", 0, true},
		{"strings are no kit", 48, false},
	} {
		f := loop(t, `"Harbour" 3 36 `+fours+`
			"Harbour" 3 39 `+twoFour+`
			"Harbour" 3 42 `+eighths)
		f.Tracks[0].Events = slices.Insert(f.Tracks[0].Events, 0, smf.Channel(0, 0xC2, row.program, 0))
		s, _, err := listen.Hear(raw(t, f), listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if kit := len(s.Parts) == 3; kit != row.kit {
			t.Errorf("%s: heard\n%s", row.rule, show(s))
		}
	}
}

func TestNotesPlayedEarlyCountToTheirBar(t *testing.T) {
	var tr smf.Track
	for i := range 6 { // every other kick comes early
		at := smf.Tick(i * bar)
		note(&tr, 1, 36, at-smf.Tick(i%2*9), at+step, 100)
		note(&tr, 1, 39, at+2*beat, at+2*beat+step, 100)
	}
	tr.End = 6 * bar
	s, _, err := listen.Hear(raw(t, &smf.File{Format: 1, Division: ppq, Tracks: []smf.Track{tr}}), listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Parts) != 2 || s.Parts[0].Role != song.RoleKick || s.Parts[1].Role != song.RoleClap {
		t.Errorf("heard\n%swant a kit, the same in each bar", show(s))
	}
}

func TestEvidenceAddsUp(t *testing.T) {
	for _, row := range []struct {
		rule, loop string
		program    byte // from 0
		want       string
	}{
		{"a program outweighs the name of an instrument", `"Piano" 1 36 x--.x--.x--.x--.`, 33,
			`bass, 75 %: track name "Piano" says chords; GM program 34, bass; low (median key 36); one note at a time; nothing pitched is lower`},
		{"behaviour does not outweigh a name", `"Stab" 1 72 x--.x-..x--.x--.`, 0,
			`stab, 85 %: track name "Stab" says stab; one note at a time; the only pitched part beside the bass`},
		{"a program does not outweigh the name of a role", `"Stab" 1 72 x--.x-..x--.x--.`, 89,
			`stab, 76 %: track name "Stab" says stab; GM program 90, synth pad; one note at a time; the only pitched part beside the bass`},
	} {
		f := loop(t, row.loop)
		f.Tracks[0].Events = slices.Insert(f.Tracks[0].Events, 0, smf.Channel(0, 0xC0, row.program, 0))
		_, r, err := listen.Hear(raw(t, f), listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		p := r.Parts[0]
		if got := string(p.Role) + ", " + strconv.Itoa(p.Confidence) + " %: " + words(p.Evidence); got != row.want {
			t.Errorf("%s:\ngot  %s\nwant %s", row.rule, got, row.want)
		}
	}
}

func words(evidence []listen.Evidence) string {
	var out []string
	for _, e := range evidence {
		out = append(out, e.Text)
	}
	return strings.Join(out, "; ")
}

func TestInstrumentNamesOfFormatZero(t *testing.T) {
	var tr smf.Track
	tr.AppendMeta(0, 0x03, []byte("Harbour Lights"))
	tr.AppendMeta(0, 0x20, []byte{0})
	tr.AppendMeta(0, 0x04, []byte("Warm Pad"))
	note(&tr, 1, 60, 0, bar, 100)
	note(&tr, 2, 72, 0, step, 100)
	note(&tr, 10, 36, 0, step, 100)
	s, _, err := listen.Hear(raw(t, &smf.File{Division: ppq, Tracks: []smf.Track{tr}}), listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, show(s), `warm-pad, pad, hook: x...............
		perc, perc, perc: x...............
		kick, kick, beat: x...............`)
}

func TestJobs(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"a single pitched part is the hook, however long its notes",
			`"Pad" 1 60 x---------------`,
			`pad, pad, hook: x...............`},
		{"of two the one with the longest median note is the bed, if that is a beat",
			`"A" 1 60 x---x---x---x---
			 "B" 2 60 x--.x--.x--.x--.`,
			`a, lead, bed: x...x...x...x...
			 b, lead, hook: x...x...x...x...`},
		{"no bed where no median note is a beat long",
			`"Chords" 1 60 x..............
			 "Stab" 2 62 x--.x--.x--.x--`,
			`chords, chords, extra: x..............
			 stab, stab, hook: x...x...x...x..`},
		{"the hook is chosen first, then the bed among the rest",
			`"Lead" 1 60 x---------------
			 "Arp" 2 62 x.x.x.x.........
			 "Keys" 3 48 x-----..........`,
			`lead, lead, hook: x...............
			 arp, arp, extra: x.x.x.x.........
			 keys, chords, bed: x...............`},
		{"the higher is the hook",
			`"Keys" 1 60 x.x.x.x.........
			 "Arp" 2 72 x.x.............`,
			`keys, chords, extra: x.x.x.x.........
			 arp, arp, hook: x.x.............`},
		{"the one of more pitches is, of its upper line",
			`"Stab" 1 60 x.......x.......
			 "Stab" 1 64 x.......x.......
			 "Stab" 1 67 x.......x.......
			 "Keys" 2 57 x...............
			 "Keys" 2 58 ..x.............
			 "Keys" 2 59 ....x...........
			 "Keys" 2 60 ......x.........
			 "Keys" 2 61 ........x.......
			 "Keys" 2 62 ..........x.....
			 "Keys" 2 63 ............x...`,
			`stab, stab, extra: x.......x.......
			 keys, chords, hook: x.x.x.x.x.x.x...`},
		{"the louder is",
			`"Keys" 1 62 o...o...o.......
			 "Stab" 2 60 X...X...X.......`,
			`keys, chords, extra: x...x...x.......
			 stab, stab, hook: x...x...x.......`},
		{"the one that changes from bar to bar is",
			`"Keys" 1 62 x...x...x.......|x...x...x.......
			 "Stab" 2 60 x...x...x.......|..x...x...x.....`,
			`keys, chords, extra: x...x...x.......|x...x...x.......
			 stab, stab, hook: x...x...x.......|..x...x...x.....`},
		{"a name that says so outweighs these",
			`"Keys" 1 72 x...............
			 "Keys" 1 74 ..x.............
			 "Theme" 2 60 x...x...........`,
			`keys, chords, extra: x.x.............
			 theme, lead, hook: x...x...........`},
		{"what doubles the hook in octaves is the hook too",
			`"Lead" 1 60 x.....x.........
			 "Lead" 1 64 ...x............
			 "Keys" 2 72 x.....x.........
			 "Keys" 2 76 ...x............
			 "Arp" 3 62 x.....x.........
			 "Arp" 3 64 ...x............`,
			`lead, lead, hook: x..x..x.........
			 keys, chords, hook: x..x..x.........
			 arp, arp, extra: x..x..x.........`},
		{"what hardly plays is not",
			`"Keys" 1 72 ..x.............|................|................|................
			 "Stab" 2 60 x...............|..x...x.........|.....x..........|x...............
			 "Stab" 2 62 ....x...........|................|................|................`,
			`keys, chords, extra: ..x.............|................|................|................
			 stab, stab, hook: x...x...........|..x...x.........|.....x..........|x...............`},
		{"a vocal is no bed",
			`"Lead" 1 72 x.x.............
			 "Vox" 2 60 x---------------`,
			`lead, lead, hook: x.x.............
			 vox, vocal, extra: x...............`},
		{"of equals it is the one with the shorter notes, then the first",
			`"Stab" 1 60 x--.............
			 "Arp" 2 60 x-......x.......
			 "Keys" 3 60 x-......x.......`,
			`stab, stab, extra: x...............
			 arp, arp, hook: x.......x.......
			 keys, chords, hook: x.......x.......`},
		{"the median of an even number of notes is the mean of the middle two",
			`"Lead" 1 72 x...............
			 "Keys" 2 60 x----x-.........
			 "Arp" 3 62 x--.............`,
			`lead, lead, hook: x...............
			 keys, chords, extra: x....x..........
			 arp, arp, extra: x...............`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), row.want)
		})
	}
}

func TestOnsetsABarAreCountedWithinTheCycle(t *testing.T) {
	f := loop(t, `"Lead" 1 60 x.x.x...........
		"Arp" 2 60 x.x.............|x.x.............`)
	loopFile, l, _, err := listen.FindLoop(f, listen.LoopOptions{})
	if err != nil {
		t.Fatal(err)
	}
	l.Cycles[0] = bar
	s, _, err := listen.Hear(raw(t, loopFile), listen.Options{Loop: l})
	if err != nil {
		t.Fatal(err)
	}
	same(t, show(s), `lead, lead, hook: x.x.x...........|................
		arp, arp, extra: x.x.............|x.x.............`)
}

func TestSkeleton(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"a kick on three quarters of the beats is the beat",
			`"Kit" 10 36 x...x...x.......|x...x...x.......
			 "Kit" 10 38 ....x.......x...|....x.......x...`,
			`kick, kick, beat: x...x...x.......|x...x...x.......
			 snare, snare, backbeat: ....x.......x...|....x.......x...`},
		{"on fewer, kick on 1 and the main snares are the skeleton, the rest is backbeat",
			`"Kit" 10 36 x.x.......xx....|x.x.......x.....
			 "Kit" 10 38 ....X..o.o..X..o|....X..o.o....X.
			 "Kit" 10 42 x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`,
			`skeleton, kick, beat: x...x.......x...|x...x...........
			 break-kick, kick, backbeat: ..x.......xx....|..x.......x.....
			 break-snare, snare, backbeat: .......o.o.....o|.......o.o....X.
			 hat, hat, tops: x.x.x.x.x.x.x.x.|x.x.x.x.x.x.x.x.`},
		{"ghost notes are no main snares",
			`"Kit" 10 36 x.........x.....
			 "Kit" 10 38 ....o...X.......`,
			`skeleton, kick, beat: x.......x.......
			 break-kick, kick, backbeat: ..........x.....
			 break-snare, snare, backbeat: ....x...........`},
		{"only the bars the kick plays in count",
			`"Kit" 10 36 x...x...x...x...|................
			 "Kit" 10 38 ....x.......x...|....x.......x...`,
			`kick, kick, beat: x...x...x...x...|................
			 snare, snare, backbeat: ....x.......x...|....x.......x...`},
		{"on tracks of their own each gives what is its",
			`"Kick" 1 36 x.....x.........
			 "Snare" 1 38 ....X..o....X...`,
			`skeleton 1, kick, beat: x...............
			 break-kick, kick, backbeat: ......x.........
			 skeleton 2, snare, beat: ....x.......x...
			 break-snare, snare, backbeat: .......x........`},
		{"a voice that is skeleton through and through stays as it is",
			`"Kick" 1 36 x...............
			 "Snare" 1 38 ........x.......`,
			`kick, kick, beat: x...............
			 snare, snare, beat: ........x.......`},
		{"where no snare is, the clap is the main one",
			`"Kit" 10 36 x.....x...x.....
			 "Kit" 10 39 ....x.......x.x.`,
			`skeleton, kick, beat: x...x.......x...
			 break-kick, kick, backbeat: ......x...x.....
			 break-clap, clap, backbeat: ..............x.`},
		{"rim and clap beside a snare stay backbeat",
			`"Kit" 10 36 x.....x...x.....
			 "Kit" 10 38 ....x..x....x...
			 "Kit" 10 39 ....x.......x...`,
			`skeleton, kick, beat: x...x.......x...
			 break-kick, kick, backbeat: ......x...x.....
			 break-snare, snare, backbeat: .......x........
			 clap, clap, backbeat: ....x.......x...`},
		{"a kit keeps its snare, however seldom it plays: it is the backbeat",
			`"Kit" 10 36 x.....x...x.....|x.....x...x.....
			 "Kit" 10 38 ................|............x...
			 "Kit" 10 45 ....x.x.x...x.x.|....x.x.x...x.x.`,
			`kick, kick, beat: x.....x...x.....|x.....x...x.....
			 snare, snare, backbeat: ................|............x...
			 tom, tom, perc: ....x.x.x...x.x.|....x.x.x...x.x.`},
		{"where nothing stands at its places, there is no skeleton",
			`"Kit" 10 36 ..x...x.........
			 "Kit" 10 38 .....x.......x..`,
			`kick, kick, beat: ..x...x.........
			 snare, snare, backbeat: .....x.......x..`},
	} {
		t.Run(row.rule, func(t *testing.T) {
			s, _ := hear(t, row.loop)
			same(t, show(s), strings.NewReplacer("X", "x").Replace(withoutGhosts(row.want)))
		})
	}
}

// withoutGhosts draws soft hits in a row of steps as hits.
func withoutGhosts(text string) string {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		if label, row, ok := strings.Cut(l, ": "); ok {
			lines[i] = label + ": " + strings.ReplaceAll(row, "o", "x")
		}
	}
	return strings.Join(lines, "\n")
}

func TestPlayedNotesStandOnTheirBeats(t *testing.T) {
	var tr smf.Track
	tr.AppendMeta(0, 0x03, []byte("Kick"))
	for b := range 8 {
		at := smf.Tick(b * beat)
		if b > 0 {
			at += smf.Tick(11 - 22*(b%2)) // less than a 1/32 note, 12 ticks, early or late
		}
		note(&tr, 1, 36, at, at+step, 100)
	}
	tr.End = 2 * bar
	s, _, err := listen.Hear(raw(t, &smf.File{Format: 1, Division: ppq, Tracks: []smf.Track{tr}}), listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Parts) != 1 || s.Parts[0].Job != song.JobBeat {
		t.Errorf("got\n%swant one kick that is the beat", show(s))
	}
}

func TestHearWithoutCommonBars(t *testing.T) {
	for _, f := range []*smf.File{
		{Format: 2, Division: ppq, Tracks: loop(t, `"Kick" 1 36 x...`).Tracks},
		{Format: 1, Division: 0xE728, Tracks: loop(t, `"Kick" 1 36 x...`).Tracks},
	} {
		s := raw(t, f)
		heard, _, err := listen.Hear(s, listen.Options{})
		if err != nil {
			t.Fatal(err)
		}
		checkPartition(t, s, heard)
		if heard.Parts[0].Role != song.RoleKick {
			t.Errorf("heard %s, want a kick by its name", heard.Parts[0].Role)
		}
	}
}

func TestSilentHalvesAreTold(t *testing.T) {
	for _, row := range []struct{ rule, loop, want string }{
		{"a part silent in the second half is told with the hint",
			`"Bass" 1 36 x...............|x...............|x...............|x...............|................|................|................|................
			 "Lead" 2 60 x...............|................|................|................|................|................|................|x...............`,
			`bass is silent in the second half of the loop; if it is to repeat, write parts: {bass: {cycle: 4 bars}}`},
		{"the hint is the shortest length that holds its notes",
			`"Bass" 1 36 x...............|x...............|................|................
			 "Lead" 2 60 x...............|................|................|x...............`,
			`bass is silent in the second half of the loop; if it is to repeat, write parts: {bass: {cycle: 2 bars}}`},
		{"a chord that rings on is not silent",
			`"Pad" 1 60 x---------------|-----...........
			 "Lead" 2 60 x...............|x...............`, ``},
		{"a sound of a kit is not, as long as the kit plays",
			`"Kit" 10 36 x...x...x...x...|x...x...x...x...
			 "Kit" 10 49 x...............|................`, ``},
		{"a loop of one bar has no halves",
			`"Bass" 1 36 x...............`, ``},
	} {
		t.Run(row.rule, func(t *testing.T) {
			f, l, _, err := listen.FindLoop(loop(t, row.loop), listen.LoopOptions{})
			if err != nil {
				t.Fatal(err)
			}
			_, r, err := listen.Hear(raw(t, f), listen.Options{Loop: l})
			if err != nil {
				t.Fatal(err)
			}
			if got := strings.Join(r.Told, "\n"); got != row.want {
				t.Errorf("got  %q\nwant %q", got, row.want)
			}
		})
	}
}
