package listen

import (
	"testing"

	"loopdraft/smf/song"
)

// What tracks are called in practice: common practice, no source.
func TestTrackNamesSayRoles(t *testing.T) {
	for _, row := range []struct {
		name string
		want song.Role
	}{
		{"Kick", song.Kick},
		{"KICK 909", song.Kick},
		{"BD 909", song.Kick},
		{"909 BD", song.Kick},
		{"Bass Drum", song.Kick},
		{"Kick Drum (main)", song.Kick},
		{"Kick_01", song.Kick},
		{"kick1", song.Kick},
		{"Noise Snare", song.Snare},
		{"SD", song.Snare},
		{"Snr 2", song.Snare},
		{"Snare Top", song.Snare},
		{"Clap", song.Clap},
		{"CP", song.Clap},
		{"Hand-Clap", song.Clap},
		{"Rimshot", song.Rim},
		{"RS", song.Rim},
		{"Side Stick", song.Rim},
		{"Hi-Hat", song.Hat},
		{"HiHat", song.Hat},
		{"HH", song.Hat},
		{"Closed Hat", song.Hat},
		{"CH 909", song.Hat},
		{"Hats", song.Hat},
		{"Open Hat", song.OpenHat},
		{"OpenHat", song.OpenHat},
		{"OH", song.OpenHat},
		{"Hat Open", song.OpenHat},
		{"Open Hi Hat 2", song.OpenHat},
		{"Open 909 Hat", song.OpenHat},
		{"Shaker Loop", song.Shaker},
		{"Ride", song.Ride},
		{"Crash", song.Crash},
		{"Cym", song.Crash},
		{"Low Tom", song.Tom},
		{"Toms", song.Tom},
		{"Percussion", song.PercR},
		{"Perc 3", song.PercR},
		{"Congas", song.PercR},
		{"Bass", song.BassR},
		{"Bassline", song.BassR},
		{"Reese Bass", song.BassR},
		{"Bass Riff", song.BassR},
		{"Bass Guitar", song.BassR},
		{"Sub", song.Sub},
		{"Sub Bass", song.Sub},
		{"Lead Synth", song.Lead},
		{"Saw Lead 2", song.Lead},
		{"Melody", song.Lead},
		{"Lead Guitar", song.Lead},
		{"Guitar Solo", song.Lead},
		{"PianoMelody", song.Lead},
		{"Strings Theme", song.Lead},
		{"Tune (Organ)", song.Lead},
		{"Semi-Lead", song.Lead},
		{"Lead Vocal", song.Vocal},
		{"Bass Solo", song.BassR},
		{"Rhythm Guitar", song.Chords},
		{"Pluck", song.Lead},
		{"Stab", song.Stab},
		{"Bass Stab", song.Stab},
		{"Chord Stab", song.Stab},
		{"Chords", song.Chords},
		{"E-Piano", song.Chords},
		{"Organ", song.Chords},
		{"Arp", song.Arp},
		{"Lead Arp", song.Arp},
		{"Seq 1", song.Arp},
		{"Warm Pad", song.Pad},
		{"Choir Pad", song.Pad},
		{"String Pad", song.Pad},
		{"Atmos", song.Pad},
		{"Strings", song.Strings},
		{"FX", song.FX},
		{"Riser", song.FX},
		{"Noise Sweep", song.FX},
		{"Reverse Crash", song.FX},
		{"Rev Cymbal", song.FX},
		{"Vox Chop", song.Vocal},
		{"Lead Vocal", song.Vocal},
		{"Vocal Lead", song.Vocal},
		{"Drone", song.Drone},
		{"Trigger", song.Trigger},
		{"Sidechain", song.Trigger},
		{"Side-Chain Kick", song.Trigger},
		{"SC", song.Trigger},
		{"Kick SC", song.Trigger},
		{"Duck", song.Trigger},
		{"Pump Key", song.Trigger},
		{"Ghost Kick", song.Trigger},
		{"Synth 2", song.Unknown},
		{"Kickstart", song.Unknown},
		{"Overhead", song.Unknown},
		{"Ch 10", song.Unknown},
		{"ch-2", song.Unknown},
		{"Kick & Snare", song.Unknown},
		{"Drums", song.Unknown},
		{"Track 3", song.Unknown},
		{"909", song.Unknown},
		{"", song.Unknown},
		{"\x00\xff\xfe", song.Unknown},
	} {
		if got := nameSays(row.name).role; got != row.want {
			t.Errorf("%q says %s, want %s", row.name, got, row.want)
		}
	}
}

// Words of other languages, some with accents as UTF-8, as ISO 8859-1, or without: common practice, no
// source.
func TestTrackNamesSayRolesInOtherLanguages(t *testing.T) {
	for _, row := range []struct {
		name string
		want song.Role
	}{
		{"Große Trommel", song.Kick},
		{"Gro\xdfe Trommel 1", song.Kick},
		{"GROSSE CAISSE", song.Kick},
		{"Bombo 2", song.Kick},
		{"Cassa", song.Kick},
		{"Bumbo", song.Kick},
		{"Stopa", song.Kick},
		{"Kleine Trommel", song.Snare},
		{"Caisse claire", song.Snare},
		{"Caja", song.Snare},
		{"Rullante 01", song.Snare},
		{"Caixa", song.Snare},
		{"Virvel", song.Snare},
		{"Werbel", song.Snare},
		{"Palmas", song.Clap},
		{"Charley", song.Hat},
		{"Charley ouvert", song.OpenHat},
		{"Offene HiHat", song.OpenHat},
		{"Becken", song.Crash},
		{"Platillos", song.Crash},
		{"Percusión", song.PercR},
		{"Percuss\xe3o", song.PercR},
		{"Basse", song.BassR},
		{"Bajo", song.BassR},
		{"Basso", song.BassR},
		{"Baixo 1", song.BassR},
		{"Bas", song.BassR},
		{"Kontrabass", song.BassR},
		{"Mélodie", song.Lead},
		{"Melodía", song.Lead},
		{"Flöte", song.Lead},
		{"Akkorde", song.Chords},
		{"Klavier", song.Chords},
		{"Accords", song.Chords},
		{"Guitarra", song.Chords},
		{"Chitarra", song.Chords},
		{"Gitaar", song.Chords},
		{"Fläche", song.Pad},
		{"FLÄCHE 2", song.Pad},
		{"Nappe", song.Pad},
		{"Tappeto", song.Pad},
		{"Streicher", song.Strings},
		{"Cordes", song.Strings},
		{"Str\xe5kar", song.Strings},
		{"Smyczki", song.Strings},
		{"Gesang", song.Vocal},
		{"Voix", song.Vocal},
		{"Вокал", song.Vocal},
		{"БАС", song.BassR},
		{"ベース", song.BassR},
		{"キック 1", song.Kick},
		{"Bassett", song.Unknown},
		{"Stopak", song.Unknown},
		{"Basilikum", song.Unknown},
		{"Spår 1", song.Unknown},
		{"Sp\xe5r 1", song.Unknown},
	} {
		if got := nameSays(row.name).role; got != row.want {
			t.Errorf("%q says %s, want %s", row.name, got, row.want)
		}
	}
}

func TestNamesOfInstrumentsSayLessThanNamesOfRoles(t *testing.T) {
	for _, row := range []struct {
		name string
		want bool
	}{
		{"Piano", true}, {"Electric Guitar", true}, {"Klavier", true}, {"Flöte", true}, {"Rhythm Guitar", true},
		{"Piano Chords", false}, {"Guitar Lead", false}, {"Bass Guitar", false}, {"Bass", false}, {"Reverse Piano", false},
	} {
		got := nameSays(row.name)
		if got.instrument != row.want || got.kit {
			t.Errorf("%q names an instrument: %v, a kit: %v; want %v, false", row.name, got.instrument, got.kit, row.want)
		}
	}
}

func TestTrackNamesSayKitsOrNothing(t *testing.T) {
	for _, row := range []struct {
		name                  string
		kit, ofBreak, generic bool
	}{
		{"Drums", true, false, false},
		{"Drum Kit", true, false, false},
		{"909 Kit", true, false, false},
		{"Beat", true, false, false},
		{"Kick & Snare", true, false, false},
		{"Kick/Hat", true, false, false},
		{"Amen Break", true, true, false},
		{"sliced", true, true, false},
		{"Schlagzeug", true, false, false},
		{"Batería", true, false, false},
		{"Slagverk", true, false, false},
		{"ドラム", true, false, false},
		{"Rhythm Guitar", false, false, false},
		{"Drums/Bass", true, false, false},
		{"Spur 3", false, false, true},
		{"Sp\xe5r 1", false, false, true},
		{"Staff-1", false, false, true},
		{"Kick Drum", false, false, false},
		{"Hat and Hat", false, false, false},
		{"Track 1", false, false, true},
		{"MIDI Ch 10", false, false, true},
		{"Untitled", false, false, true},
		{"909", false, false, true},
		{"", false, false, true},
		{"Harbour", false, false, false},
	} {
		got := nameSays(row.name)
		if got.kit != row.kit || got.ofBreak != row.ofBreak || got.generic != row.generic {
			t.Errorf("%q: kit %v, break %v, generic %v; want %v, %v, %v", row.name, got.kit, got.ofBreak, got.generic, row.kit, row.ofBreak, row.generic)
		}
	}
}

func TestTrackNamesBecomePartNames(t *testing.T) {
	for _, row := range []struct{ rule, name, want string }{
		{"lower case", "Squelch", "squelch"},
		{"spaces and signs become one hyphen", "Synth  (No. 2)", "synth-no-2"},
		{"digits stay", "BD 909", "bd-909"},
		{"a letter comes first", "303 Line", "line"},
		{"accents are dropped", "Fläche Größe", "flaeche-groesse"},
		{"no letter is left", "909 !?", ""},
		{"other alphabets are dropped", "Бас", ""},
		{"32 letters at most", "abcdefghijklmnopqrstuvwxyzabcdefghijklmnop", "abcdefghijklmnopqrstuvwxyzabcdef"},
	} {
		if got := nameBase(row.name); got != row.want {
			t.Errorf("%s: %q gives %q, want %q", row.rule, row.name, got, row.want)
		}
	}
}

func TestProgramsSayRoles(t *testing.T) {
	for _, row := range []struct {
		program uint8 // as in the file
		want    song.Role
	}{ // families: General MIDI level 1, RP-003 tables 1 and 2; their roles: common practice, no source
		{0, song.Unknown}, {4, song.Chords}, {11, song.Lead}, {16, song.Chords}, {27, song.Chords},
		{33, song.BassR}, {38, song.BassR}, {46, song.Arp}, {48, song.Strings}, {52, song.Pad}, {55, song.Stab},
		{61, song.Stab}, {65, song.Lead}, {73, song.Lead}, {81, song.Lead}, {89, song.Pad}, {97, song.Unknown},
		{114, song.Lead}, {115, song.PercR}, {117, song.Tom}, {119, song.FX}, {127, song.FX},
	} {
		if got, _ := programRole(row.program); got != row.want {
			t.Errorf("program %d says %s, want %s", row.program, got, row.want)
		}
	}
}

// Keys and names: General MIDI percussion map, RP-003 table 3; 82: RP-024 appendix B.
func TestPercussionMap(t *testing.T) {
	for _, row := range []struct {
		key  uint8
		role song.Role
		name string
	}{
		{35, song.Kick, "Acoustic Bass Drum"}, {36, song.Kick, "Bass Drum 1"}, {37, song.Rim, "Side Stick"},
		{38, song.Snare, "Acoustic Snare"}, {39, song.Clap, "Hand Clap"}, {40, song.Snare, "Electric Snare"},
		{42, song.Hat, "Closed Hi Hat"}, {44, song.Hat, "Pedal Hi-Hat"}, {46, song.OpenHat, "Open Hi-Hat"},
		{49, song.Crash, "Crash Cymbal 1"}, {51, song.Ride, "Ride Cymbal 1"}, {52, song.Crash, "Chinese Cymbal"},
		{53, song.Ride, "Ride Bell"}, {54, song.Shaker, "Tambourine"}, {55, song.Crash, "Splash Cymbal"},
		{56, song.PercR, "Cowbell"}, {57, song.Crash, "Crash Cymbal 2"}, {59, song.Ride, "Ride Cymbal 2"},
		{41, song.Tom, "Low Floor Tom"}, {50, song.Tom, "High Tom"}, {69, song.Shaker, "Cabasa"},
		{70, song.Shaker, "Maracas"}, {75, song.PercR, "Claves"}, {82, song.Shaker, "Shaker"},
	} {
		role, ok := PercussionRole(row.key)
		if !ok || role != row.role || percussionName(row.key) != row.name {
			t.Errorf("key %d: %s %v %q, want %s %q", row.key, role, ok, percussionName(row.key), row.role, row.name)
		}
	}
	for key := uint8(0); key < 128; key++ {
		inMap := key >= 27 && key <= 87
		if _, ok := PercussionRole(key); ok != inMap || (percussionName(key) != "") != inMap {
			t.Errorf("key %d: in the map %v, name %q; want keys 27 to 87", key, ok, percussionName(key))
		}
	}
}
