package song

// RoleWord returns the role a word stands for: a role's own word, or one of the abbreviations and
// plurals under which tracks are usually labelled. The word is whole, in lower case, its parts
// joined by hyphens ("open-hat"). The aliases are common practice, no source.
func RoleWord(word string) (Role, bool) {
	switch word {
	case "kick", "kicks", "bd", "kik", "kck", "bass-drum", "bassdrum", "kick-drum", "kickdrum":
		return RoleKick, true
	case "snare", "snares", "sd", "sn", "snr", "snare-drum", "snaredrum":
		return RoleSnare, true
	case "clap", "claps", "cp", "clp", "hand-clap", "handclap":
		return RoleClap, true
	case "rim", "rims", "rs", "rim-shot", "rimshot", "side-stick", "sidestick", "cross-stick":
		return RoleRim, true
	case "hat", "hats", "hh", "ch", "chh", "hi-hat", "hihat", "hi-hats", "hihats", "closed-hat",
		"closed-hats", "closed-hi-hat", "closed-hihat":
		return RoleHat, true
	case "open-hat", "open-hats", "openhat", "oh", "ohh", "open-hi-hat", "open-hihat":
		return RoleOpenHat, true
	case "shaker", "shakers", "shk", "shkr", "cabasa", "maracas":
		return RoleShaker, true
	case "ride", "rides", "rd", "ride-cymbal":
		return RoleRide, true
	case "crash", "crashes", "cr", "cy", "cym", "cymbal", "cymbals", "crash-cymbal", "splash", "china":
		return RoleCrash, true
	case "tom", "toms", "lt", "mt", "ht", "low-tom", "mid-tom", "high-tom", "floor-tom":
		return RoleTom, true
	case "perc", "percs", "percussion", "conga", "congas", "bongo", "bongos", "cowbell", "tambourine",
		"timbale", "timbales", "clave", "claves", "woodblock":
		return RolePerc, true
	case "bass", "basses", "bassline", "bass-line", "reese":
		return RoleBass, true
	case "sub", "subs", "sub-bass", "subbass":
		return RoleSub, true
	case "lead", "leads", "ld", "melody", "top-line", "topline":
		return RoleLead, true
	case "stab", "stabs":
		return RoleStab, true
	case "chords", "chord", "keys", "piano", "e-piano", "organ":
		return RoleChords, true
	case "arp", "arps", "arpeggio", "arpeggios":
		return RoleArp, true
	case "pad", "pads":
		return RolePad, true
	case "strings", "string", "violins":
		return RoleStrings, true
	case "fx", "sfx", "effect", "effects", "riser", "risers", "uplifter", "downlifter", "sweep", "sweeps",
		"impact", "impacts", "noise":
		return RoleFX, true
	case "vocal", "vocals", "vox", "voc", "voice", "voices":
		return RoleVocal, true
	case "drone", "drones":
		return RoleDrone, true
	case "trigger", "triggers", "trig", "sidechain", "side-chain", "ghost-kick":
		return RoleTrigger, true
	case "unknown":
		return RoleUnknown, true
	}
	return RoleUnknown, false
}
