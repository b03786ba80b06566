package recipes

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf/song"
)

// Substitute is a role and those that may take its place, the nearest first.
type Substitute struct {
	Role song.Role
	By   []song.Role
}

// Substitutes returns, for each role, the roles that take its place in a loop that lacks it, where a
// recipe asks for it: the first that the loop has and the recipe does not name itself. Roles that are not
// listed have none. What is nearest is common practice, no source.
func Substitutes() []Substitute {
	return []Substitute{
		{song.Kick, []song.Role{song.Tom}},
		{song.Snare, []song.Role{song.Clap, song.Rim, song.Tom}},
		{song.Clap, []song.Role{song.Snare, song.Rim}},
		{song.Rim, []song.Role{song.Clap, song.Snare, song.PercR}},
		{song.Hat, []song.Role{song.Shaker, song.Ride, song.OpenHat, song.PercR}},
		{song.OpenHat, []song.Role{song.Ride, song.Shaker, song.Hat}},
		{song.Shaker, []song.Role{song.Hat, song.Ride, song.OpenHat, song.PercR}},
		{song.Ride, []song.Role{song.OpenHat, song.Hat, song.Shaker}},
		{song.Tom, []song.Role{song.PercR, song.Rim}},
		{song.PercR, []song.Role{song.Tom, song.Rim, song.Shaker}},
		{song.BassR, []song.Role{song.Sub}},
		{song.Sub, []song.Role{song.BassR}},
		{song.Lead, []song.Role{song.Stab, song.Arp, song.Chords, song.Pad, song.Strings}},
		{song.Stab, []song.Role{song.Chords, song.Lead, song.Arp, song.Pad, song.Strings}},
		{song.Chords, []song.Role{song.Stab, song.Pad, song.Strings, song.Arp, song.Lead}},
		{song.Arp, []song.Role{song.Lead, song.Stab, song.Chords, song.Pad, song.Strings}},
		{song.Pad, []song.Role{song.Strings, song.Chords, song.Drone, song.Stab, song.Lead, song.Arp}},
		{song.Strings, []song.Role{song.Pad, song.Chords, song.Stab, song.Lead, song.Arp}},
		{song.Vocal, []song.Role{song.Lead, song.Stab}},
		{song.Drone, []song.Role{song.Pad, song.Strings}},
	}
}

// NearestSubstitutes is the word of a recipe for the table as it is.
const NearestSubstitutes = "nearest"

// SubstituteRoles returns the roles that sound: those that may be lacking or take another's place.
func SubstituteRoles() []string {
	return slices.DeleteFunc(texts(song.Roles()), func(role string) bool {
		return role == string(song.Trigger) || role == string(song.Unknown)
	})
}

// standFor lets parts take the place of the roles that the recipe names and the loop lacks, the nearest of all
// first. A part whose own role or job the recipe names, or its name, has its own place, and so has one that took a
// place before.
func (a *order) standFor(in song.Song) song.Song {
	if len(a.r.Substitutes) == 0 {
		return in
	}
	in.Parts = slices.Clone(in.Parts)
	named := a.namedParts()
	has := func(role song.Role) bool {
		return slices.ContainsFunc(in.Parts, func(p song.Part) bool {
			return p.Role == role || string(p.Job) == string(role) // the word means the job
		})
	}
	free := func(p song.Part) bool {
		return !named[string(p.Role)] && !named[string(p.Job)] && !named[p.Name] && len(p.StandsFor) == 0
	}
	var lacking []song.Role
	for _, role := range song.Roles() {
		if named[string(role)] && !has(role) {
			lacking = append(lacking, role)
		}
	}
	by, busy := map[song.Role][]string{}, map[song.Role]string{}
	for rank := range len(song.Roles()) { // the nearest of all first
		for _, role := range lacking {
			near := a.substitutesFor(role)
			if rank >= len(near) || len(by[role]) > 0 {
				continue
			}
			for i := range in.Parts {
				switch p := &in.Parts[i]; {
				case p.Role != near[rank]:
				case free(*p):
					by[role] = append(by[role], p.Name)
				case busy[role] == "":
					busy[role] = p.Name
				}
			}
			for i := range in.Parts {
				if p := &in.Parts[i]; slices.Contains(by[role], p.Name) {
					p.StandsFor = append(p.StandsFor, role)
				}
			}
		}
	}
	for _, role := range lacking {
		switch {
		case len(by[role]) > 0:
			a.tell(fmt.Sprintf("the loop has no %s: %s takes its place", role, strings.Join(by[role], ", ")))
		case busy[role] != "":
			a.tell(fmt.Sprintf("the loop has no %s, and %s has a place of its own", role, busy[role]))
		default:
			a.tell(fmt.Sprintf("the loop has no %s and nothing near it", role))
		}
	}
	return in
}

func (a *order) substitutesFor(role song.Role) []song.Role {
	for _, s := range a.r.Substitutes {
		if s.Role == role {
			return s.By
		}
	}
	return nil
}

// namedParts returns the words that the recipe calls parts by, aliases as the roles they stand for.
func (a *order) namedParts() map[string]bool {
	out := map[string]bool{}
	for _, text := range a.partTexts() {
		for _, word := range strings.Fields(text) {
			out[word] = true
			if role, ok := song.RoleWord(word); ok {
				out[string(role)] = true
			}
		}
	}
	return out
}

// partTexts returns what the recipe says of parts, in line-ups and moves.
func (a *order) partTexts() []string {
	var out []string
	for _, sec := range a.r.Sections {
		out = append(out, sec.Play.Texts()...)
	}
	for _, spec := range a.r.Moves {
		if parts, ok := partsOf(spec.Step); ok {
			out = append(out, parts.Texts()...)
		}
	}
	return out
}
