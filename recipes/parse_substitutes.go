package recipes

import (
	"slices"
	"strconv"

	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// substitutes reads the word nearest, or what is to be other than in the table.
func (s *source) substitutes(r *Recipe, n *yaml.Node) {
	const path = "substitutes"
	r.Substitutes = Substitutes()
	const want = "nearest, or a map of roles and those that take their place such as {shaker: [hat, ride]}"
	if n.Kind == yaml.ScalarNode {
		if text, ok := s.text(n, path, want); ok && text != NearestSubstitutes {
			s.fail(spotOf(n), Error{Path: path, Found: strconv.Quote(text), Want: want, Hint: song.Nearest(text, []string{NearestSubstitutes})})
		}
		return
	}
	pairs, _ := s.pairs(n, path, "role", want)
	for _, p := range pairs {
		role, ok := s.roleWord(p.key, p.at, path)
		texts, at, _, read := s.texts(p.value, path+"."+p.key, "roles such as [hat, ride]")
		if !ok || !read {
			continue
		}
		row := Substitute{Role: role}
		for i, text := range texts {
			if by, ok := s.roleWord(text, at[i], path+"."+p.key); ok {
				row.By = append(row.By, by)
			}
		}
		r.Substitutes = slices.DeleteFunc(r.Substitutes, func(other Substitute) bool { return other.Role == role })
		r.Substitutes = append(r.Substitutes, row)
	}
}

func (s *source) roleWord(text string, at spot, path string) (song.Role, bool) {
	if !slices.Contains(SubstituteRoles(), text) {
		s.unknown(at, path, "role", text, SubstituteRoles())
		return "", false
	}
	return song.Role(text), true
}
