package listen

import (
	"strings"
	"testing"

	"loopdraft/smf/song"
)

// These are names that tracks have in practice: common practice, no source.
func TestTrackNamesSayRoles(t *testing.T) {
	for _, row := range []struct {
		name string
		want song.Role
	}{
		{"Kick", song.RoleKick},
		{"KICK 909", song.RoleKick},
		{"BD 909", song.RoleKick},
		{"909 BD", song.RoleKick},
		{"Bass Drum", song.RoleKick},
		{"Kick Drum (main)", song.RoleKick},
		{"Kick_01", song.RoleKick},
		{"kick1", song.RoleKick},
		{"Noise Snare", song.RoleSnare},
		{"SD", song.RoleSnare},
		{"Snr 2", song.RoleSnare},
		{"Snare Top", song.RoleSnare},
		{"Clap", song.RoleClap},
		{"CP", song.RoleClap},
		{"Hand-Clap", song.RoleClap},
		{"Rimshot", song.RoleRim},
		{"RS", song.RoleRim},
		{"Side Stick", song.RoleRim},
		{"Hi-Hat", song.RoleHat},
		{"HiHat", song.RoleHat},
		{"HH", song.RoleHat},
		{"Closed Hat", song.RoleHat},
		{"CH 909", song.RoleHat},
		{"Hats", song.RoleHat},
		{"Open Hat", song.RoleOpenHat},
		{"OpenHat", song.RoleOpenHat},
		{"OH", song.RoleOpenHat},
		{"Hat Open", song.RoleOpenHat},
		{"Open Hi Hat 2", song.RoleOpenHat},
		{"Open 909 Hat", song.RoleOpenHat},
		{"Shaker Loop", song.RoleShaker},
		{"Ride", song.RoleRide},
		{"Crash", song.RoleCrash},
		{"Cym", song.RoleCrash},
		{"Low Tom", song.RoleTom},
		{"Toms", song.RoleTom},
		{"Percussion", song.RolePerc},
		{"Perc 3", song.RolePerc},
		{"Congas", song.RolePerc},
		{"Bass", song.RoleBass},
		{"Bassline", song.RoleBass},
		{"Reese Bass", song.RoleBass},
		{"Bass Riff", song.RoleBass},
		{"Bass Guitar", song.RoleBass},
		{"Sub", song.RoleSub},
		{"Sub Bass", song.RoleSub},
		{"Lead Synth", song.RoleLead},
		{"Saw Lead 2", song.RoleLead},
		{"Melody", song.RoleLead},
		{"Lead Guitar", song.RoleLead},
		{"Guitar Solo", song.RoleLead},
		{"PianoMelody", song.RoleLead},
		{"Strings Theme", song.RoleLead},
		{"Tune (Organ)", song.RoleLead},
		{"Semi-Lead", song.RoleLead},
		{"Lead Vocal", song.RoleVocal},
		{"Bass Solo", song.RoleBass},
		{"Rhythm Guitar", song.RoleChords},
		{"Pluck", song.RoleLead},
		{"Stab", song.RoleStab},
		{"Bass Stab", song.RoleStab},
		{"Chord Stab", song.RoleStab},
		{"Chords", song.RoleChords},
		{"E-Piano", song.RoleChords},
		{"Organ", song.RoleChords},
		{"Arp", song.RoleArp},
		{"Lead Arp", song.RoleArp},
		{"Seq 1", song.RoleArp},
		{"Warm Pad", song.RolePad},
		{"Choir Pad", song.RolePad},
		{"String Pad", song.RolePad},
		{"Atmos", song.RolePad},
		{"Strings", song.RoleStrings},
		{"FX", song.RoleFX},
		{"Riser", song.RoleFX},
		{"Noise Sweep", song.RoleFX},
		{"Reverse Crash", song.RoleFX},
		{"Rev Cymbal", song.RoleFX},
		{"Vox Chop", song.RoleVocal},
		{"Lead Vocal", song.RoleVocal},
		{"Vocal Lead", song.RoleVocal},
		{"Drone", song.RoleDrone},
		{"Trigger", song.RoleTrigger},
		{"Sidechain", song.RoleTrigger},
		{"Side-Chain Kick", song.RoleTrigger},
		{"SC", song.RoleTrigger},
		{"Kick SC", song.RoleTrigger},
		{"Duck", song.RoleTrigger},
		{"Pump Key", song.RoleTrigger},
		{"Ghost Kick", song.RoleTrigger},
		{"Synth 2", song.RoleUnknown},
		{"Kickstart", song.RoleUnknown},
		{"Overhead", song.RoleUnknown},
		{"Ch 10", song.RoleUnknown},
		{"ch-2", song.RoleUnknown},
		{"Kick & Snare", song.RoleUnknown},
		{"Drums", song.RoleUnknown},
		{"Track 3", song.RoleUnknown},
		{"909", song.RoleUnknown},
		{"", song.RoleUnknown},
		{"\x00\xff\xfe", song.RoleUnknown},
	} {
		if got := nameSays(row.name).role; got != row.want {
			t.Errorf("%q says %s, want %s", row.name, got, row.want)
		}
	}
}

// These are words of other languages, some with accents as UTF-8, as ISO 8859-1, or without: common practice, no
// source.
func TestTrackNamesSayRolesInOtherLanguages(t *testing.T) {
	for _, row := range []struct {
		name string
		want song.Role
	}{
		{"Große Trommel", song.RoleKick},
		{"Gro\xdfe Trommel 1", song.RoleKick},
		{"GROSSE CAISSE", song.RoleKick},
		{"Bombo 2", song.RoleKick},
		{"Cassa", song.RoleKick},
		{"Bumbo", song.RoleKick},
		{"Stopa", song.RoleKick},
		{"Kleine Trommel", song.RoleSnare},
		{"Caisse claire", song.RoleSnare},
		{"Caja", song.RoleSnare},
		{"Rullante 01", song.RoleSnare},
		{"Caixa", song.RoleSnare},
		{"Virvel", song.RoleSnare},
		{"Werbel", song.RoleSnare},
		{"Palmas", song.RoleClap},
		{"Charley", song.RoleHat},
		{"Charley ouvert", song.RoleOpenHat},
		{"Offene HiHat", song.RoleOpenHat},
		{"Becken", song.RoleCrash},
		{"Platillos", song.RoleCrash},
		{"Percusión", song.RolePerc},
		{"Percuss\xe3o", song.RolePerc},
		{"Basse", song.RoleBass},
		{"Bajo", song.RoleBass},
		{"Basso", song.RoleBass},
		{"Baixo 1", song.RoleBass},
		{"Bas", song.RoleBass},
		{"Kontrabass", song.RoleBass},
		{"Mélodie", song.RoleLead},
		{"Melodía", song.RoleLead},
		{"Flöte", song.RoleLead},
		{"Akkorde", song.RoleChords},
		{"Klavier", song.RoleChords},
		{"Accords", song.RoleChords},
		{"Guitarra", song.RoleChords},
		{"Chitarra", song.RoleChords},
		{"Gitaar", song.RoleChords},
		{"Fläche", song.RolePad},
		{"FLÄCHE 2", song.RolePad},
		{"Nappe", song.RolePad},
		{"Tappeto", song.RolePad},
		{"Streicher", song.RoleStrings},
		{"Cordes", song.RoleStrings},
		{"Str\xe5kar", song.RoleStrings},
		{"Smyczki", song.RoleStrings},
		{"Gesang", song.RoleVocal},
		{"Voix", song.RoleVocal},
		{"Вокал", song.RoleVocal},
		{"БАС", song.RoleBass},
		{"ベース", song.RoleBass},
		{"キック 1", song.RoleKick},
		{"Bassett", song.RoleUnknown},
		{"Stopak", song.RoleUnknown},
		{"Basilikum", song.RoleUnknown},
		{"Spår 1", song.RoleUnknown},
		{"Sp\xe5r 1", song.RoleUnknown},
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
		{"letters of other scripts stay", "Бас 2", "бас-2"},
		{"among Latin ones too", "Bass Ж", "bass-ж"},
		{"of scripts without lower case", "ベース", "ベース"},
		{"marks on a letter are dropped", "Fla\u0308che", "flache"},
		{"32 letters of any script", strings.Repeat("Щ", 40), strings.Repeat("щ", 32)},
		{"a capital that has no lower case is dropped", "\U0001D400 x", "x"},
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
		{0, song.RoleUnknown}, {4, song.RoleChords}, {11, song.RoleLead}, {16, song.RoleChords}, {27, song.RoleChords},
		{33, song.RoleBass}, {38, song.RoleBass}, {46, song.RoleArp}, {48, song.RoleStrings}, {52, song.RolePad}, {55, song.RoleStab},
		{61, song.RoleStab}, {65, song.RoleLead}, {73, song.RoleLead}, {81, song.RoleLead}, {89, song.RolePad}, {97, song.RoleUnknown},
		{114, song.RoleLead}, {115, song.RolePerc}, {117, song.RoleTom}, {119, song.RoleFX}, {127, song.RoleFX},
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
		{35, song.RoleKick, "Acoustic Bass Drum"}, {36, song.RoleKick, "Bass Drum 1"}, {37, song.RoleRim, "Side Stick"},
		{38, song.RoleSnare, "Acoustic Snare"}, {39, song.RoleClap, "Hand Clap"}, {40, song.RoleSnare, "Electric Snare"},
		{42, song.RoleHat, "Closed Hi Hat"}, {44, song.RoleHat, "Pedal Hi-Hat"}, {46, song.RoleOpenHat, "Open Hi-Hat"},
		{49, song.RoleCrash, "Crash Cymbal 1"}, {51, song.RoleRide, "Ride Cymbal 1"}, {52, song.RoleCrash, "Chinese Cymbal"},
		{53, song.RoleRide, "Ride Bell"}, {54, song.RoleShaker, "Tambourine"}, {55, song.RoleCrash, "Splash Cymbal"},
		{56, song.RolePerc, "Cowbell"}, {57, song.RoleCrash, "Crash Cymbal 2"}, {59, song.RoleRide, "Ride Cymbal 2"},
		{41, song.RoleTom, "Low Floor Tom"}, {50, song.RoleTom, "High Tom"}, {69, song.RoleShaker, "Cabasa"},
		{70, song.RoleShaker, "Maracas"}, {75, song.RolePerc, "Claves"}, {82, song.RoleShaker, "Shaker"},
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
