package listen_test

import (
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
)

// perNote has each of the three notes of a chord on a channel of its own, beside a pad.
const perNote = `"Glass" 2 72 x---x---..x---..
	"Glass" 3 75 x---x---..x---..
	"Glass" 4 79 x---x---..x---..
	"Pad" 1 60 x---------------`

// bent adds the same channel events at the start of the first track, on channels 2 to 4.
func bent(f *smf.File, channels int, events ...[3]byte) {
	for ch := range byte(channels) {
		for i, e := range events {
			f.Tracks[0].Events = slices.Insert(f.Tracks[0].Events, i, smf.Channel(0, e[0]|(ch+1), e[1], e[2]))
		}
	}
}

func TestAChannelForEachNoteIsOneInstrument(t *testing.T) {
	const together = `glass 1, chords, hook: x...x.....x.....
		glass 2, chords, hook: x...x.....x.....
		glass 3, chords, hook: x...x.....x.....
		pad, pad, bed: x...............`
	const apart = `lead 1, lead, extra: x...x.....x.....
		lead 2, lead, extra: x...x.....x.....
		lead 3, lead, hook: x...x.....x.....
		pad, pad, bed: x...............`
	bend := [3]byte{0xE0, 0, 70}
	for _, row := range []struct {
		rule string
		with func(*smf.File)
		want string
	}{
		{"three channels with bends are", func(f *smf.File) { bent(f, 3, bend) }, together},
		{"two are not", func(f *smf.File) { bent(f, 2, bend) }, apart},
		{"channels without bends are not", func(*smf.File) {}, apart},
		{"a zone of channels says so without bends", func(f *smf.File) { // RPN 6: MIDI Polyphonic Expression, M1-100-UM
			bent(f, 1, [3]byte{0xB0, 101, 0}, [3]byte{0xB0, 100, 6}, [3]byte{0xB0, 6, 3})
		}, together},
		{"the bend range, RPN 0, does not", func(f *smf.File) {
			bent(f, 3, [3]byte{0xB0, 101, 0}, [3]byte{0xB0, 100, 0}, [3]byte{0xB0, 6, 12})
		}, apart},
		{"three channels with bends beside a kit are not", func(f *smf.File) {
			bent(f, 3, bend)
			note(&f.Tracks[0], 10, 36, 0, step, 100)
		}, strings.Replace(apart, "pad, pad", "kick, kick, beat: x...............\npad, pad", 1)},
		{"channels of several programs are several instruments", func(f *smf.File) {
			bent(f, 3, bend)
			f.Tracks[0].Events = slices.Insert(f.Tracks[0].Events, 0, smf.Channel(0, 0xC1, 0, 0), smf.Channel(0, 0xC2, 12, 0))
		}, apart},
		{"a channel with two notes at once is a part of its own", func(f *smf.File) {
			bent(f, 3, bend)
			note(&f.Tracks[0], 2, 84, step, 4*step, 100)
		}, strings.Replace(apart, "x...x", "xx..x", 1)},
	} {
		t.Run(row.rule, func(t *testing.T) {
			f := loop(t, perNote)
			row.with(f)
			s := raw(t, f)
			heard, r, err := listen.Hear(s, listen.Options{})
			if err != nil {
				t.Fatal(err)
			}
			checkPartition(t, s, heard)
			checkWritten(t, s, listen.Loop{}, heard, r)
			same(t, show(heard), row.want)
			told := strings.Contains(strings.Join(r.Told, "\n"), "track 1 plays one instrument on 3 channels")
			if want := row.want == together; told != want {
				t.Errorf("told %v that it is one instrument, want %v: %q", told, want, r.Told)
			}
		})
	}
}

func TestAnInstrumentIsATuneWithAllItsChannels(t *testing.T) {
	f := loop(t, `"Glass" 2 72 x---............
		"Glass" 3 75 ....x---........
		"Glass" 4 79 ........x---....
		"Keys" 1 74 x-......x-......
		"Pad" 1 60 x---------------`)
	bent(f, 3, [3]byte{0xE0, 0, 70})
	heard, _, err := listen.Hear(raw(t, f), listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, show(heard), `glass 1, lead, hook: x...............
		glass 2, lead, hook: ....x...........
		glass 3, lead, hook: ........x.......
		keys, chords, extra: x.......x.......
		pad, pad, bed: x...............`)
}

func TestARecipeTakesAChannelOutOfItsInstrument(t *testing.T) {
	f := loop(t, perNote)
	bent(f, 3, [3]byte{0xE0, 0, 70})
	heard, _, err := listen.Hear(raw(t, f), listen.Options{Overrides: []listen.Override{{Name: "glass 2", Role: "bass"}}})
	if err != nil {
		t.Fatal(err)
	}
	same(t, show(heard), `glass 1, chords, hook: x...x.....x.....
		glass 2, bass, bass: x...x.....x.....
		glass 3, chords, hook: x...x.....x.....
		pad, pad, bed: x...............`)
}
