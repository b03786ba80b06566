package song

import "testing"

func TestRoleWord(t *testing.T) {
	for _, role := range Roles() {
		if got, ok := RoleWord(string(role)); !ok || got != role {
			t.Errorf("the role's own word %q: got %q, %v", role, got, ok)
		}
	}
	for _, row := range []struct {
		rule, word string
		want       Role
		ok         bool
	}{
		{"abbreviation of the kick", "bd", RoleKick, true},
		{"a bass drum is no bass", "bass-drum", RoleKick, true},
		{"hh is the closed hat", "hh", RoleHat, true},
		{"ch is the closed hat", "ch", RoleHat, true},
		{"oh is the open hat", "oh", RoleOpenHat, true},
		{"abbreviation of the snare", "sd", RoleSnare, true},
		{"abbreviation of the clap", "cp", RoleClap, true},
		{"percussion is perc", "percussion", RolePerc, true},
		{"a cymbal by itself is a crash", "cymbal", RoleCrash, true},
		{"a ride cymbal is none", "ride-cymbal", RoleRide, true},
		{"a sub bass is a sub", "sub-bass", RoleSub, true},
		{"plural", "vocals", RoleVocal, true},
		{"a job is no role", "tops", RoleUnknown, false},
		{"whole words only", "hatch", RoleUnknown, false},
		{"lower case only", "BD", RoleUnknown, false},
		{"nothing", "", RoleUnknown, false},
	} {
		if got, ok := RoleWord(row.word); got != row.want || ok != row.ok {
			t.Errorf("%s: RoleWord(%q) = %q, %v, want %q, %v", row.rule, row.word, got, ok, row.want, row.ok)
		}
	}
}
