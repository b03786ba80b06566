package recipes

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/review"
	"loopdraft/moves/where"

	"gopkg.in/yaml.v3"
)

// off is the word for a rule that is not looked by.
const off = "off"

// RuleSpec is an entry of "review:".
type RuleSpec struct {
	Rule  string       // name of a rule in the catalogue of package review
	Check review.Check // with its options; nil: it is off
}

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

// newCheck returns a rule as it is; one that goes by phrases goes by the recipe's, if it can.
func (r *Recipe) newCheck(rule review.Rule) review.Check {
	c := rule.New()
	if err := rule.Set(c, "phrase", []string{strconv.Itoa(r.phrase())}, false); err != nil {
		return rule.New()
	}
	return c
}

// Checks returns the rules by which drafts of the recipe are reviewed, in the order of their catalogue.
func (r *Recipe) Checks() []review.Check {
	out := []review.Check{}
	for _, rule := range review.Catalogue() {
		i := slices.IndexFunc(r.Review, func(s RuleSpec) bool { return s.Rule == rule.Name })
		switch {
		case i < 0:
			out = append(out, r.newCheck(rule))
		case r.Review[i].Check != nil:
			out = append(out, r.Review[i].Check)
		}
	}
	return out
}

// ToReview returns the draft as a review looks at it: with what it was made of where it was laid out from
// a loop; a file that was taken as it is by itself.
func (r *Result) ToReview() review.Input {
	in := review.Input{Song: r.Song}
	if d := r.draft; d.laid {
		in.Full, in.Lined, in.LoopBars = d.env.Full, d.env.Lined, r.LoopBars
	}
	return in
}

// Answer writes answers of a review as a recipe, each under what it answers. The recipe has no length and
// no sections, so that drafting the reviewed file by it takes the file as it is and changes nothing else.
// It keeps phrase and rules of the recipe by which was reviewed.
func (r *Recipe) Answer(answered []review.Finding) []byte {
	w := &writer{}
	w.WriteString("# Draft the file that was reviewed by this recipe: it is taken as it is, and answered.\n")
	w.key("phrase", where.Extent{Bars: r.phrase()}.Texts()[0])
	w.WriteString("\nmoves:\n")
	if len(answered) == 0 {
		w.WriteString("  []\n")
	}
	for _, f := range answered {
		where := "bar " + strconv.Itoa(f.First)
		if f.Last > f.First {
			where = fmt.Sprintf("bars %d-%d", f.First, f.Last)
		}
		w.WriteString("  # " + f.Rule + ", " + where + "\n")
		for _, step := range f.Answer {
			if m, ok := moves.MoveOf(step); ok {
				w.WriteString("  - " + stepText(m.Name, m.Given(step)) + "\n")
			}
		}
	}
	w.review(r)
	return []byte(w.String())
}

func (w *writer) review(r *Recipe) {
	if len(r.Review) == 0 {
		return
	}
	w.WriteString("\nreview:\n")
	for _, s := range r.Review {
		text := off
		if s.Check != nil {
			var m flowMap
			for _, o := range option.Of(s.Check) {
				if o.Default == "" { // a number that is zero; a length has no other text
					o.Default = "0"
				}
				m.add(o.Name, scalar(o.Default))
			}
			text = m.String()
		}
		w.WriteString("  " + s.Rule + ": " + text + "\n")
	}
}
