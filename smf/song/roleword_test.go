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
		{"abbreviation of the kick", "bd", Kick, true},
		{"a bass drum is no bass", "bass-drum", Kick, true},
		{"hh is the closed hat", "hh", Hat, true},
		{"ch is the closed hat", "ch", Hat, true},
		{"oh is the open hat", "oh", OpenHat, true},
		{"abbreviation of the snare", "sd", Snare, true},
		{"abbreviation of the clap", "cp", Clap, true},
		{"percussion is perc", "percussion", PercR, true},
		{"a cymbal by itself is a crash", "cymbal", Crash, true},
		{"a ride cymbal is none", "ride-cymbal", Ride, true},
		{"a sub bass is a sub", "sub-bass", Sub, true},
		{"plural", "vocals", Vocal, true},
		{"a job is no role", "tops", Unknown, false},
		{"whole words only", "hatch", Unknown, false},
		{"lower case only", "BD", Unknown, false},
		{"nothing", "", Unknown, false},
	} {
		if got, ok := RoleWord(row.word); got != row.want || ok != row.ok {
			t.Errorf("%s: RoleWord(%q) = %q, %v, want %q, %v", row.rule, row.word, got, ok, row.want, row.ok)
		}
	}
}
