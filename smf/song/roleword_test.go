package song_test

import (
	"loopdraft/smf/song"
	"testing"
)

func TestRoleWord(t *testing.T) {
	for _, role := range song.Roles() {
		if got, ok := song.RoleWord(string(role)); !ok || got != role {
			t.Errorf("the role's own word %q: got %q, %v", role, got, ok)
		}
	}
	for _, row := range []struct {
		rule, word string
		want       song.Role
		ok         bool
	}{
		{"abbreviation of the kick", "bd", song.RoleKick, true},
		{"a bass drum is no bass", "bass-drum", song.RoleKick, true},
		{"hh is the closed hat", "hh", song.RoleHat, true},
		{"ch is the closed hat", "ch", song.RoleHat, true},
		{"oh is the open hat", "oh", song.RoleOpenHat, true},
		{"abbreviation of the snare", "sd", song.RoleSnare, true},
		{"abbreviation of the clap", "cp", song.RoleClap, true},
		{"percussion is perc", "percussion", song.RolePerc, true},
		{"a cymbal by itself is a crash", "cymbal", song.RoleCrash, true},
		{"a ride cymbal is none", "ride-cymbal", song.RoleRide, true},
		{"a sub bass is a sub", "sub-bass", song.RoleSub, true},
		{"plural", "vocals", song.RoleVocal, true},
		{"a job is no role", "tops", song.RoleUnknown, false},
		{"whole words only", "hatch", song.RoleUnknown, false},
		{"lower case only", "BD", song.RoleUnknown, false},
		{"nothing", "", song.RoleUnknown, false},
	} {
		if got, ok := song.RoleWord(row.word); got != row.want || ok != row.ok {
			t.Errorf("%s: RoleWord(%q) = %q, %v, want %q, %v", row.rule, row.word, got, ok, row.want, row.ok)
		}
	}
}
