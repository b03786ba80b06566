package recipes

import (
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
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
		{song.RoleKick, []song.Role{song.RoleTom}},
		{song.RoleSnare, []song.Role{song.RoleClap, song.RoleRim, song.RoleTom}},
		{song.RoleClap, []song.Role{song.RoleSnare, song.RoleRim}},
		{song.RoleRim, []song.Role{song.RoleClap, song.RoleSnare, song.RolePerc}},
		{song.RoleHat, []song.Role{song.RoleShaker, song.RoleRide, song.RoleOpenHat, song.RolePerc}},
		{song.RoleOpenHat, []song.Role{song.RoleRide, song.RoleShaker, song.RoleHat}},
		{song.RoleShaker, []song.Role{song.RoleHat, song.RoleRide, song.RoleOpenHat, song.RolePerc}},
		{song.RoleRide, []song.Role{song.RoleOpenHat, song.RoleHat, song.RoleShaker}},
		{song.RoleTom, []song.Role{song.RolePerc, song.RoleRim}},
		{song.RolePerc, []song.Role{song.RoleTom, song.RoleRim, song.RoleShaker}},
		{song.RoleBass, []song.Role{song.RoleSub}},
		{song.RoleSub, []song.Role{song.RoleBass}},
		{song.RoleLead, []song.Role{song.RoleStab, song.RoleArp, song.RoleChords, song.RolePad, song.RoleStrings}},
		{song.RoleStab, []song.Role{song.RoleChords, song.RoleLead, song.RoleArp, song.RolePad, song.RoleStrings}},
		{song.RoleChords, []song.Role{song.RoleStab, song.RolePad, song.RoleStrings, song.RoleArp, song.RoleLead}},
		{song.RoleArp, []song.Role{song.RoleLead, song.RoleStab, song.RoleChords, song.RolePad, song.RoleStrings}},
		{song.RolePad, []song.Role{song.RoleStrings, song.RoleChords, song.RoleDrone, song.RoleStab, song.RoleLead, song.RoleArp}},
		{song.RoleStrings, []song.Role{song.RolePad, song.RoleChords, song.RoleStab, song.RoleLead, song.RoleArp}},
		{song.RoleVocal, []song.Role{song.RoleLead, song.RoleStab}},
		{song.RoleDrone, []song.Role{song.RolePad, song.RoleStrings}},
	}
}

// NearestSubstitutes is the word of a recipe for the table as it is.
const NearestSubstitutes = "nearest"

// SubstituteRoles returns the roles that sound: those that may be lacking or take another's place.
func SubstituteRoles() []string {
	return slices.DeleteFunc(texts(song.Roles()), func(role string) bool {
		return role == string(song.RoleTrigger) || role == string(song.RoleUnknown)
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
			a.remark(remark.Remark{Kind: remark.StandsFor, Found: string(role), Parts: by[role]})
		case busy[role] != "":
			a.remark(remark.Remark{Kind: remark.PlaceOfItsOwn, Found: string(role), Parts: []string{busy[role]}})
		default:
			a.remark(remark.Remark{Kind: remark.NothingNear, Found: string(role)})
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
		for _, value := range option.Fields(spec.Step) {
			switch v := value.(type) {
			case *where.Parts:
				out = append(out, v.Texts()...)
			case *moves.Sound:
				if v.Part() {
					out = append(out, string(*v))
				}
			}
		}
	}
	return out
}
