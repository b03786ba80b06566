package listen

import "loopdraft/smf/song"

// PercussionChannel is channel 10, counted from 0 (General MIDI level 1, RP-003 p. 2).
const PercussionChannel = 9

// PercussionRole returns the role of a key of the General MIDI percussion map: keys 35 to 81 of
// level 1 (RP-003 table 3), 27 to 34 and 82 to 87 of level 2 (RP-024 appendix B); false for keys
// outside it.
func PercussionRole(key uint8) (song.Role, bool) {
	switch key {
	case 35, 36:
		return song.RoleKick, true
	case 38, 40:
		return song.RoleSnare, true
	case 39:
		return song.RoleClap, true
	case 37:
		return song.RoleRim, true
	case 42, 44:
		return song.RoleHat, true
	case 46:
		return song.RoleOpenHat, true
	case 49, 52, 55, 57:
		return song.RoleCrash, true
	case 51, 53, 59:
		return song.RoleRide, true
	case 41, 43, 45, 47, 48, 50:
		return song.RoleTom, true
	case 54, 69, 70, 82:
		return song.RoleShaker, true
	}
	return song.RolePerc, key >= 27 && key <= 87
}

// percussionName returns the name of a key in the General MIDI percussion map, "" outside it
// (sources: see [PercussionRole]).
func percussionName(key uint8) string {
	names := [...]string{ // from key 27 on
		"High Q", "Slap", "Scratch Push", "Scratch Pull", "Sticks", "Square Click", "Metronome Click", "Metronome Bell",
		"Acoustic Bass Drum", "Bass Drum 1", "Side Stick", "Acoustic Snare", "Hand Clap", "Electric Snare",
		"Low Floor Tom", "Closed Hi Hat", "High Floor Tom", "Pedal Hi-Hat", "Low Tom", "Open Hi-Hat", "Low-Mid Tom",
		"Hi Mid Tom", "Crash Cymbal 1", "High Tom", "Ride Cymbal 1", "Chinese Cymbal", "Ride Bell", "Tambourine",
		"Splash Cymbal", "Cowbell", "Crash Cymbal 2", "Vibraslap", "Ride Cymbal 2", "Hi Bongo", "Low Bongo",
		"Mute Hi Conga", "Open Hi Conga", "Low Conga", "High Timbale", "Low Timbale", "High Agogo", "Low Agogo",
		"Cabasa", "Maracas", "Short Whistle", "Long Whistle", "Short Guiro", "Long Guiro", "Claves", "Hi Wood Block",
		"Low Wood Block", "Mute Cuica", "Open Cuica", "Mute Triangle", "Open Triangle", "Shaker", "Jingle Bell",
		"Bell Tree", "Castanets", "Mute Surdo", "Open Surdo",
	}
	if i := int(key) - 27; i >= 0 && i < len(names) {
		return names[i]
	}
	return ""
}

// percussionInstrument returns the one instrument that all the keys belong to, as a part's name;
// "" where they belong to several or the role's own word says it as well.
func percussionInstrument(keys []uint8) string {
	name := ""
	for _, key := range keys {
		n := instrumentOf(key)
		if n == "" || name != "" && n != name {
			return ""
		}
		name = n
	}
	return name
}

func instrumentOf(key uint8) string {
	switch key {
	case 56:
		return "cowbell"
	case 58:
		return "vibraslap"
	case 60, 61:
		return "bongo"
	case 62, 63, 64:
		return "conga"
	case 65, 66:
		return "timbale"
	case 67, 68:
		return "agogo"
	case 71, 72:
		return "whistle"
	case 73, 74:
		return "guiro"
	case 75:
		return "claves"
	case 76, 77:
		return "woodblock"
	case 78, 79:
		return "cuica"
	case 80, 81:
		return "triangle"
	case 83:
		return "jingle-bell"
	case 84:
		return "bell-tree"
	case 85:
		return "castanets"
	case 86, 87:
		return "surdo"
	}
	return ""
}
