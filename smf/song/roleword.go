package song

// RoleWord returns the role a word stands for: a role's own word, or one of the abbreviations and
// plurals under which tracks are usually labelled. The word is whole, in lower case, its parts
// joined by hyphens ("open-hat"). The aliases are common practice, no source.
func RoleWord(word string) (Role, bool) {
	switch word {
	case "kick", "kicks", "bd", "kik", "kck", "bass-drum", "bassdrum", "kick-drum", "kickdrum":
		return Kick, true
	case "snare", "snares", "sd", "sn", "snr", "snare-drum", "snaredrum":
		return Snare, true
	case "clap", "claps", "cp", "clp", "hand-clap", "handclap":
		return Clap, true
	case "rim", "rims", "rs", "rim-shot", "rimshot", "side-stick", "sidestick", "cross-stick":
		return Rim, true
	case "hat", "hats", "hh", "ch", "chh", "hi-hat", "hihat", "hi-hats", "hihats", "closed-hat",
		"closed-hats", "closed-hi-hat", "closed-hihat":
		return Hat, true
	case "open-hat", "open-hats", "openhat", "oh", "ohh", "open-hi-hat", "open-hihat":
		return OpenHat, true
	case "shaker", "shakers", "shk", "shkr", "cabasa", "maracas":
		return Shaker, true
	case "ride", "rides", "rd", "ride-cymbal":
		return Ride, true
	case "crash", "crashes", "cr", "cy", "cym", "cymbal", "cymbals", "crash-cymbal", "splash", "china":
		return Crash, true
	case "tom", "toms", "lt", "mt", "ht", "low-tom", "mid-tom", "high-tom", "floor-tom":
		return Tom, true
	case "perc", "percs", "percussion", "conga", "congas", "bongo", "bongos", "cowbell", "tambourine",
		"timbale", "timbales", "clave", "claves", "woodblock":
		return PercR, true
	case "bass", "basses", "bassline", "bass-line", "reese":
		return BassR, true
	case "sub", "subs", "sub-bass", "subbass":
		return Sub, true
	case "lead", "leads", "ld", "melody", "top-line", "topline":
		return Lead, true
	case "stab", "stabs":
		return Stab, true
	case "chords", "chord", "keys", "piano", "e-piano", "organ":
		return Chords, true
	case "arp", "arps", "arpeggio", "arpeggios":
		return Arp, true
	case "pad", "pads":
		return Pad, true
	case "strings", "string", "violins":
		return Strings, true
	case "fx", "sfx", "effect", "effects", "riser", "risers", "uplifter", "downlifter", "sweep", "sweeps",
		"impact", "impacts", "noise":
		return FX, true
	case "vocal", "vocals", "vox", "voc", "voice", "voices":
		return Vocal, true
	case "drone", "drones":
		return Drone, true
	case "trigger", "triggers", "trig", "sidechain", "side-chain", "ghost-kick":
		return Trigger, true
	case "unknown":
		return Unknown, true
	}
	return Unknown, false
}
