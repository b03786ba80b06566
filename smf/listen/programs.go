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
		return song.RoleArp, "pizzicato strings"
	case 46:
		return song.RoleArp, "harp"
	case 47:
		return song.RoleTom, "timpani"
	case 52, 53, 54:
		return song.RolePad, "ensemble, voices"
	case 55:
		return song.RoleStab, "orchestra hit"
	case 113, 115:
		return song.RolePerc, "percussive"
	case 116, 117, 118:
		return song.RoleTom, "percussive"
	case 119:
		return song.RoleFX, "reverse cymbal"
	}
	switch program / 8 {
	case 0:
		if program == 0 {
			return song.RoleUnknown, "piano"
		}
		return song.RoleChords, "piano"
	case 1:
		return song.RoleLead, "chromatic percussion"
	case 2:
		return song.RoleChords, "organ"
	case 3:
		return song.RoleChords, "guitar"
	case 4:
		return song.RoleBass, "bass"
	case 5:
		return song.RoleStrings, "strings"
	case 6:
		return song.RoleStrings, "ensemble"
	case 7:
		return song.RoleStab, "brass"
	case 8:
		return song.RoleLead, "reed"
	case 9:
		return song.RoleLead, "pipe"
	case 10:
		return song.RoleLead, "synth lead"
	case 11:
		return song.RolePad, "synth pad"
	case 12:
		return song.RoleUnknown, "synth effects"
	case 13:
		return song.RoleLead, "ethnic"
	case 14:
		return song.RoleLead, "percussive"
	}
	return song.RoleFX, "sound effects"
}
