package review

// MixOut finds ends that are hard to mix out of.
type MixOut struct{ End }

func mixOutRule() Rule {
	return Rule{
		Name: "mix-out", Group: Mixing, Level: Warn,
		Brief:  "the end can be mixed out of",
		Doc:    "A DJ lays the beginning of another track over the end: for some bars there should be beats, with a kick, and nothing pitched, which would clash in key.",
		Source: mixSource,
		New:    func() Check { return &MixOut{defaultEnd()} },
	}
}

func (r *MixOut) find(s *subject) []Finding {
	n := min(r.Bars, s.bars)
	return r.End.findAt(s, s.bars-n+1, s.bars, -1, "last", "mix out of")
}
