package listen

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf/song"
)

// Apart says which of several files are loops of their own and which complete each other. It returns the loops,
// each as the files it is made of, in order, and a line for each file that was taken for a loop of its own.
//
// A file is a loop of its own if it and an earlier loop have two parts or more each, and half of those of either or more
// bear the track name of a part of the other. Names say nothing where most parts of either have a default name, or one that all their tracks
// share: then it is one if three or more of its roles are also an earlier loop's. Any other file completes the loop
// before it, which is told where both have two parts or more and a role is in both. Files that cannot be heard are left for [Join] to refuse.
func Apart(inputs []Input) (loops [][]int, told []string) {
	if len(inputs) == 1 {
		return [][]int{{0}}, nil
	}
	var heard []roster // of each loop
	for i, in := range inputs {
		r := rosterOf(in)
		if i == 0 {
			loops, heard = append(loops, []int{0}), append(heard, r)
			continue
		}
		own := false
		for k := range heard {
			if why := r.repeats(heard[k], inputs[loops[k][0]].Name); why != "" {
				told = append(told, in.Name+" is a loop of its own: "+why)
				own = true
				break
			}
		}
		if own {
			loops, heard = append(loops, []int{i}), append(heard, r)
			continue
		}
		last := len(loops) - 1
		if both := r.sharedRoles(heard[last]); len(both) > 0 && r.parts > 1 && heard[last].parts > 1 {
			told = append(told, fmt.Sprintf("%s plays together with %s, though both have a %s; b=%[1]s makes it a loop of its own",
				in.Name, inputs[loops[last][0]].Name, strings.Join(both, " and a ")))
		}
		loops[last] = append(loops[last], i)
		heard[last].add(r)
	}
	return loops, told
}

// roster is who plays in a loop.
type roster struct {
	parts int
	names []string // of the parts that have one which says something, in lower case
	roles []song.Role
}

// rosterOf hears the parts of a file; of one that cannot be heard there are none.
func rosterOf(in Input) roster {
	s, err := song.From(in.File)
	if err != nil {
		return roster{}
	}
	heard, _, err := Hear(s, Options{})
	if err != nil {
		return roster{}
	}
	var out roster
	names := ownNames(heard)
	for _, p := range heard.Parts {
		if p.Role == song.RoleTrigger {
			continue
		}
		out.parts++
		if names[p.Track] != "" {
			out.names = append(out.names, names[p.Track])
		}
		if p.Role != song.RoleUnknown && !slices.Contains(out.roles, p.Role) {
			out.roles = append(out.roles, p.Role)
		}
	}
	return out
}

// ownNames returns, by track, the names in lower case that say which track it is: no default name, and none that
// all tracks with notes share; "" for the others.
func ownNames(s song.Song) []string {
	out := make([]string, len(s.Tracks))
	shared := true
	for _, p := range s.Parts {
		name := strings.ToLower(s.Tracks[p.Track].Name)
		shared = shared && name == strings.ToLower(s.Tracks[s.Parts[0].Track].Name)
		if name != "" && !nameSays(name).generic {
			out[p.Track] = name
		}
	}
	if shared {
		return make([]string, len(s.Tracks))
	}
	return out
}

func (r *roster) add(other roster) {
	r.parts += other.parts
	r.names = append(r.names, other.names...)
	for _, role := range other.roles {
		if !slices.Contains(r.roles, role) {
			r.roles = append(r.roles, role)
		}
	}
}

// named tells whether names say who plays: those of half of the parts or more do.
func (r roster) named() bool { return 2*len(r.names) >= r.parts }

// repeats says in words why this is not what completes another loop, which is called by a file, but a loop of its own;
// "" where it is not.
func (r roster) repeats(other roster, file string) string {
	if r.parts < 2 {
		return ""
	}
	if r.tellsFrom(other) {
		switch mine, its := r.namesIn(other), other.namesIn(r); {
		case 2*mine >= r.parts:
			return fmt.Sprintf("the names of %d of its %d parts are those of %s", mine, r.parts, file)
		case 2*its >= other.parts && other.parts > 1:
			return fmt.Sprintf("the names of %d of the %d parts of %s are in it", its, other.parts, file)
		}
		return ""
	}
	same := r.sharedRoles(other)
	if len(same) < 3 {
		return ""
	}
	return fmt.Sprintf("its roles %s are those of %s", strings.Join(same, ", "), file)
}

// tellsFrom tells whether names say which parts two rosters share.
func (r roster) tellsFrom(other roster) bool { return r.named() && other.named() }

// sharedRoles returns the roles that two rosters share.
func (r roster) sharedRoles(other roster) []string {
	var same []string
	for _, role := range r.roles {
		if slices.Contains(other.roles, role) {
			same = append(same, string(role))
		}
	}
	return same
}

// namesIn counts the parts whose names are in another roster.
func (r roster) namesIn(other roster) int {
	n := 0
	for _, name := range r.names {
		if slices.Contains(other.names, name) {
			n++
		}
	}
	return n
}
