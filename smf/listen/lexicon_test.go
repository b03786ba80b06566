package listen_test

import (
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// heardAlone hears a track alone, of a name, maybe of a program, that strikes one key of channel 1 four times.
func heardAlone(t *testing.T, name string, program ...uint8) listen.Heard {
	t.Helper()
	f := &smf.File{Format: 1, Division: ppq, Tracks: []smf.Track{{}}}
	if name != "" {
		f.Tracks[0].AppendMeta(0, 0x03, []byte(name))
	}
	for _, p := range program {
		if err := f.Tracks[0].AppendMessage(0, []byte{0xC0, p}); err != nil {
			t.Fatal(err)
		}
	}
	addSteps(&f.Tracks[0], 1, 100, "x...x...x...x...")
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	_, report, err := listen.Hear(s, listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(report.Parts) != 1 {
		t.Fatalf("%q: got %d parts, want 1", name, len(report.Parts))
	}
	return report.Parts[0]
}

// said is the role that a part's evidence of one kind, by its first words, speaks for, and how much it weighs.
func said(h listen.Heard, by string) (song.Role, int) {
	for _, e := range h.Evidence {
		if strings.HasPrefix(e.Text, by) {
			return e.Says, e.Weight
		}
	}
	return song.RoleUnknown, 0
}

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
		if got, _ := said(heardAlone(t, row.name), "track name "); got != row.want {
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
		if got, _ := said(heardAlone(t, row.name), "track name "); got != row.want {
			t.Errorf("%q says %s, want %s", row.name, got, row.want)
		}
	}
}

func TestNamesOfInstrumentsSayLessThanNamesOfRoles(t *testing.T) {
	_, ofRole := said(heardAlone(t, "Bass"), "track name ")
	for _, row := range []struct {
		name string
		want bool
	}{
		{"Piano", true}, {"Electric Guitar", true}, {"Klavier", true}, {"Flöte", true}, {"Rhythm Guitar", true},
		{"Piano Chords", false}, {"Guitar Lead", false}, {"Bass Guitar", false}, {"Bass", false}, {"Reverse Piano", false},
	} {
		if _, got := said(heardAlone(t, row.name), "track name "); got == 0 || got < ofRole != row.want {
			t.Errorf("%q weighs %d, want less than the %d of a role: %v", row.name, got, ofRole, row.want)
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
		{"no letter is left, so that its role is", "909 !?", "kick"},
		{"letters of other scripts stay", "Бас 2", "бас-2"},
		{"among Latin ones too", "Bass Ж", "bass-ж"},
		{"of scripts without lower case", "ベース", "ベース"},
		{"marks on a letter are dropped", "Fla\u0308che", "flache"},
		{"32 letters of any script", strings.Repeat("Щ", 40), strings.Repeat("щ", 32)},
		{"a capital that has no lower case is dropped", "\U0001D400 x", "x"},
		{"32 letters at most", "abcdefghijklmnopqrstuvwxyzabcdefghijklmnop", "abcdefghijklmnopqrstuvwxyzabcdef"},
	} {
		if got := heardAlone(t, row.name).Part; got != row.want {
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
		if got, _ := said(heardAlone(t, "", row.program), "GM program "); got != row.want {
			t.Errorf("program %d says %s, want %s", row.program, got, row.want)
		}
	}
}

// Keys: General MIDI percussion map, RP-003 table 3; 82: RP-024 appendix B.
func TestPercussionMap(t *testing.T) {
	for _, row := range []struct {
		key  uint8
		role song.Role
	}{
		{35, song.RoleKick}, {36, song.RoleKick}, {37, song.RoleRim},
		{38, song.RoleSnare}, {39, song.RoleClap}, {40, song.RoleSnare},
		{42, song.RoleHat}, {44, song.RoleHat}, {46, song.RoleOpenHat},
		{49, song.RoleCrash}, {51, song.RoleRide}, {52, song.RoleCrash},
		{53, song.RoleRide}, {54, song.RoleShaker}, {55, song.RoleCrash},
		{56, song.RolePerc}, {57, song.RoleCrash}, {59, song.RoleRide},
		{41, song.RoleTom}, {50, song.RoleTom}, {69, song.RoleShaker},
		{70, song.RoleShaker}, {75, song.RolePerc}, {82, song.RoleShaker},
	} {
		role, ok := listen.PercussionRole(row.key)
		if !ok || role != row.role {
			t.Errorf("key %d: %s %v, want %s", row.key, role, ok, row.role)
		}
	}
	for key := uint8(0); key < 128; key++ {
		inMap := key >= 27 && key <= 87
		if _, ok := listen.PercussionRole(key); ok != inMap {
			t.Errorf("key %d: in the map %v; want keys 27 to 87", key, ok)
		}
	}
}
