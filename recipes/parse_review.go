package recipes

import (
	"strings"

	"loopdraft/moves/review"

	"gopkg.in/yaml.v3"
)

// review reads the rules of thumb.
func (s *source) review(r *Recipe, n *yaml.Node) {
	pairs, _ := s.pairs(n, "review", "rule", "a map of rules, each with its options or off")
	for _, p := range pairs {
		rule, ok := review.Lookup(p.key)
		if !ok {
			s.unknown(p.at, "review", "rule", p.key, ruleNames())
			continue
		}
		r.Review = append(r.Review, RuleSpec{rule.Name, s.check(r.newCheck(rule), rule, p.value)})
	}
}

func ruleNames() []string {
	var out []string
	for _, r := range review.Catalogue() {
		out = append(out, r.Name)
	}
	return out
}

// check sets the options of a rule; nil for one that is off.
func (s *source) check(c review.Check, rule review.Rule, n *yaml.Node) review.Check {
	if n.Kind == yaml.ScalarNode && n.Value == off && s.plain(n, "", "") {
		return nil
	}
	path, names, want := "review."+rule.Name, []string{}, map[string]string{}
	for _, o := range rule.Options() {
		names = append(names, o.Name)
		want[o.Name] = o.Want
	}
	pairs, _ := s.pairs(n, path, "option", optionsWanted(names))
	for _, p := range pairs {
		if want[p.key] == "" {
			s.unknown(p.at, path, "option", p.key, names)
			continue
		}
		field := path + "." + p.key
		texts, at, isList, ok := s.texts(p.value, field, want[p.key])
		if !ok {
			continue
		}
		if err := rule.Set(c, p.key, texts, isList); err != nil {
			s.optionMistakes(err, field, func(int) spot {
				if len(at) > 0 && !isList {
					return at[0]
				}
				return spotOf(p.value)
			})
		}
	}
	return c
}

func optionsWanted(names []string) string {
	if len(names) == 0 {
		return "{} or off: it has no options"
	}
	return "a map of " + strings.Join(names, ", ") + ", or off"
}
