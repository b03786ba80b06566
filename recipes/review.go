package recipes

import (
	"fmt"
	"slices"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/moves/review"
	"loopdraft/moves/where"
)

// off is the word for a rule that is not looked by.
const off = "off"

// RuleSpec is an entry of "review:".
type RuleSpec struct {
	Rule  string       // name of a rule in the catalogue of package review
	Check review.Check // with its options; nil: it is off
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
	in := review.Input{Song: r.Song, Heard: r.made.heard()}
	if m := r.made; m.laid.layout != nil {
		in.Full, in.Lined, in.LoopBars, in.Passes, in.Energies = m.steps.env.Full, m.steps.env.Lined, r.LoopBars, m.steps.env.Passes(), m.steps.env.Energies
		in.Known = m.steps.known
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
			w.WriteString("  - " + stepText(step, r.catalogue().Of(step).Given(step)) + "\n")
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
