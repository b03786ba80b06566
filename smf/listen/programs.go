package listen

import "loopdraft/smf/song"

// programRole returns the role that a General MIDI program suggests, and the name of its family;
// program is the number in the file, 0..127, printed numbers are one higher. Families: General MIDI
// level 1, RP-003 tables 1 and 2. What a family plays in club music is common practice, no source.
// For families that say nothing about a role (piano: exporters send program 0 when they mean
// none) the role is unknown.
func programRole(program uint8) (song.Role, string) {
	switch program {
	case 45:
		return song.Arp, "pizzicato strings"
	case 46:
		return song.Arp, "harp"
	case 47:
		return song.Tom, "timpani"
	case 52, 53, 54:
		return song.Pad, "ensemble, voices"
	case 55:
		return song.Stab, "orchestra hit"
	case 113, 115:
		return song.PercR, "percussive"
	case 116, 117, 118:
		return song.Tom, "percussive"
	case 119:
		return song.FX, "reverse cymbal"
	}
	switch program / 8 {
	case 0:
		if program == 0 {
			return song.Unknown, "piano"
		}
		return song.Chords, "piano"
	case 1:
		return song.Lead, "chromatic percussion"
	case 2:
		return song.Chords, "organ"
	case 3:
		return song.Chords, "guitar"
	case 4:
		return song.BassR, "bass"
	case 5:
		return song.Strings, "strings"
	case 6:
		return song.Strings, "ensemble"
	case 7:
		return song.Stab, "brass"
	case 8:
		return song.Lead, "reed"
	case 9:
		return song.Lead, "pipe"
	case 10:
		return song.Lead, "synth lead"
	case 11:
		return song.Pad, "synth pad"
	case 12:
		return song.Unknown, "synth effects"
	case 13:
		return song.Lead, "ethnic"
	case 14:
		return song.Lead, "percussive"
	}
	return song.FX, "sound effects"
}
