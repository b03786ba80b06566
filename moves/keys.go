package moves

import (
	"fmt"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// isKick tells whether a part's key is a kick: Acoustic Bass Drum, Bass Drum 1 (RP-003, table 3).
func isKick(p song.Part, key uint8) bool {
	return p.Role == song.RoleKick && !(p.Kit && backbeatKey(key)) || p.Kit && (key == 35 || key == 36)
}

// raisedKey returns the key of a note raised by semitones; the error names the note.
func raisedKey(in song.Song, p song.Part, n song.Note, by int) (uint8, error) {
	key := int(n.Key) + by
	if key < 0 || key > 127 {
		at := in.Time().Locate(n.Start)
		return 0, &option.Mistake{
			Found: fmt.Sprintf("%s, which takes key %d of %s at bar %d, beat %d to %d", strconv.Itoa(by), n.Key, p.Name, at.Bar, at.Beat, key),
			Want:  "keys that stay within 0 to 127",
		}
	}
	return uint8(key), nil
}

// Keys under lowestPitch may be key switches: 24 is the lowest C of most instruments' range. Common
// practice, no source.
const lowestPitch = 24

// keySwitches tells which notes of a part choose how the instrument plays instead of sounding.
func keySwitches(env *Env, in song.Song, p song.Part) func(song.Note) bool {
	lowest := min(env.lowestOf(p), lowestPitchIn(p.Notes))
	tl := in.Time()
	return func(n song.Note) bool {
		return n.Key < lowestPitch && lowest < 128 && lowest-int(n.Key) > 12 && n.End-n.Start >= tl.BarTicks(tl.BarOf(n.Start))
	}
}

// lowestPitchIn returns the lowest key of notes that is no key switch; 128 for none.
func lowestPitchIn(notes []song.Note) int {
	lowest := 128
	for _, n := range notes {
		if n.Key >= lowestPitch {
			lowest = min(lowest, int(n.Key))
		}
	}
	return lowest
}

// backbeatKey tells whether a key is a snare or clap: side stick, acoustic snare, hand clap, electric
// snare (General MIDI System Level 1, RP-003, table 3).
func backbeatKey(key uint8) bool { return key >= 37 && key <= 40 }
