package review

import "fmt"

// Verdict is what a review comes to.
type Verdict struct {
	Done  bool     `json:"done"`  // nothing of the asked level or above is left
	Holds []string `json:"holds"` // what holds, in words, in the order of the rules
	Fails []string `json:"fails"` // what does not
	Text  string   `json:"text"`
}

func verdict(s *subject, findings []Finding, least Level) Verdict {
	fails := map[string]int{}
	left, worst := 0, Note
	for _, f := range findings {
		if f.Level >= least {
			fails[f.Rule]++
			left++
			worst = max(worst, f.Level)
		}
	}
	v := Verdict{Done: left == 0, Holds: []string{}, Fails: []string{}}
	for _, c := range s.checks {
		rule, _ := ruleOf(c)
		switch {
		case fails[rule.Name] > 0:
			v.Fails = append(v.Fails, rule.Brief)
		case s.looksBy(rule):
			v.Holds = append(v.Holds, rule.Brief)
		}
	}
	switch {
	case v.Done:
		v.Text = fmt.Sprintf("It is done: no %s is left. More work would make it different, not better: export it and release it.", least.noun())
	case worst == Fault:
		v.Text = fmt.Sprintf("Something is broken: %s left. Answer the faults first.", count(left, Note.noun())+plural(left, " is", " are"))
	default:
		v.Text = fmt.Sprintf("Not yet: %s left. Answer %s, then stop.", count(left, least.noun())+plural(left, " is", " are"), plural(left, "it", "them"))
	}
	return v
}

// noun names a finding of at least this level.
func (l Level) noun() string { return [...]string{"finding", "warning", "fault"}[l] }
