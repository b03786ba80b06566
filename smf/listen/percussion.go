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
	switch key {
	case 27:
		return "High Q"
	case 28:
		return "Slap"
	case 29:
		return "Scratch Push"
	case 30:
		return "Scratch Pull"
	case 31:
		return "Sticks"
	case 32:
		return "Square Click"
	case 33:
		return "Metronome Click"
	case 34:
		return "Metronome Bell"
	case 35:
		return "Acoustic Bass Drum"
	case 36:
		return "Bass Drum 1"
	case 37:
		return "Side Stick"
	case 38:
		return "Acoustic Snare"
	case 39:
		return "Hand Clap"
	case 40:
		return "Electric Snare"
	case 41:
		return "Low Floor Tom"
	case 42:
		return "Closed Hi Hat"
	case 43:
		return "High Floor Tom"
	case 44:
		return "Pedal Hi-Hat"
	case 45:
		return "Low Tom"
	case 46:
		return "Open Hi-Hat"
	case 47:
		return "Low-Mid Tom"
	case 48:
		return "Hi Mid Tom"
	case 49:
		return "Crash Cymbal 1"
	case 50:
		return "High Tom"
	case 51:
		return "Ride Cymbal 1"
	case 52:
		return "Chinese Cymbal"
	case 53:
		return "Ride Bell"
	case 54:
		return "Tambourine"
	case 55:
		return "Splash Cymbal"
	case 56:
		return "Cowbell"
	case 57:
		return "Crash Cymbal 2"
	case 58:
		return "Vibraslap"
	case 59:
		return "Ride Cymbal 2"
	case 60:
		return "Hi Bongo"
	case 61:
		return "Low Bongo"
	case 62:
		return "Mute Hi Conga"
	case 63:
		return "Open Hi Conga"
	case 64:
		return "Low Conga"
	case 65:
		return "High Timbale"
	case 66:
		return "Low Timbale"
	case 67:
		return "High Agogo"
	case 68:
		return "Low Agogo"
	case 69:
		return "Cabasa"
	case 70:
		return "Maracas"
	case 71:
		return "Short Whistle"
	case 72:
		return "Long Whistle"
	case 73:
		return "Short Guiro"
	case 74:
		return "Long Guiro"
	case 75:
		return "Claves"
	case 76:
		return "Hi Wood Block"
	case 77:
		return "Low Wood Block"
	case 78:
		return "Mute Cuica"
	case 79:
		return "Open Cuica"
	case 80:
		return "Mute Triangle"
	case 81:
		return "Open Triangle"
	case 82:
		return "Shaker"
	case 83:
		return "Jingle Bell"
	case 84:
		return "Bell Tree"
	case 85:
		return "Castanets"
	case 86:
		return "Mute Surdo"
	case 87:
		return "Open Surdo"
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
