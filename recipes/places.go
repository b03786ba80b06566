package recipes

import (
	"slices"

	"loopdraft/moves"
	"loopdraft/moves/lay"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// MovesIn tells where the moves of a recipe stand in a song that was made by it: the parts and ranges that
// each step names, as far as they are there. Nothing is carried out, so that what a step left alone is told too.
// Composite moves decide by the song they stood before and are left out: a recipe that was written out has
// their steps. A place, such as that of a hit, is a sixteenth note long. Ahead of them stands which loop plays where, if the
// sections name several.
func MovesIn(r *Recipe, s song.Song) []song.Change {
	if s.Time() == nil {
		return nil
	}
	var out []song.Change
	env := moves.Env{Bars: r.Loop}
	if r.bars() == s.Bars() {
		for _, sec := range r.Sections {
			env.Blocks = append(env.Blocks, lay.Block{Bars: sec.Bars, RunOn: sec.RunOn})
		}
	}
	out = append(out, loopsIn(r, s)...)
	context := env.SpanContext(s)
	for i, spec := range r.Moves {
		if _, composite := spec.Step.(moves.Composer); composite || !takesOptions(spec.Step) {
			continue
		}
		c := song.Change{Step: i, Move: spec.Step.Name()}
		parts, named := partsOf(spec.Step)
		c.Parts = partsIn(s, parts)
		for name, value := range option.Fields(spec.Step) {
			switch v := value.(type) {
			case *where.Spans:
				if name == "except" { // it cuts out of over, which stands before it
					c.Ranges = withoutSpans(c.Ranges, context, *v)
				} else {
					c.Ranges = append(c.Ranges, spansIn(context, *v)...)
				}
			case *where.Places:
				c.Ranges = append(c.Ranges, placesIn(context, *v)...)
			}
		}
		if len(c.Ranges) > 0 && (len(c.Parts) > 0 || !named) {
			out = append(out, c)
		}
	}
	return out
}

// loopsIn tells where each of several loops plays in a song, by the sections of the recipe that it was made by. Of a section
// that is laid over another loop only a recipe that was written out says which parts play on from that; of others both
// loops are told.
func loopsIn(r *Recipe, s song.Song) []song.Change {
	names := make([]string, 0, len(r.Loops))
	for _, l := range r.Loops {
		names = append(names, l.Name)
	}
	for _, sec := range r.Sections {
		for _, name := range []string{sec.Loop, sec.Over} {
			if name != "" && !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
	}
	if len(names) < 2 || r.bars() != s.Bars() {
		return nil
	}
	out := newLoopTrace(names, s)
	add := func(name string, part int, over song.Range) {
		switch {
		case name != "":
			out.add(slices.Index(names, name), part, over)
		case r.Loops != nil: // without a word it is the first, which a recipe without "loops" does not know
			out.add(0, part, over)
		}
	}
	bar := 1
	for _, sec := range r.Sections {
		start := s.Time().BarStart(bar)
		plays, _, err := sec.lineUp().Resolve(where.SectionContext{Song: s, Bar: bar, Bars: sec.Bars, Written: sec.playBars(), Phrase: r.phrase(), Loops: names})
		if bar += sec.Bars; err != nil { // what it names is not there
			continue
		}
		told := slices.ContainsFunc(plays, func(part []where.Play) bool {
			return slices.ContainsFunc(part, func(play where.Play) bool { return sec.Over != "" && play.Loop == sec.Over })
		})
		for p := range plays {
			for _, play := range plays[p] {
				over := song.Range{Start: start + play.Start, End: start + play.End}
				if len(s.In(s.Parts[p], over)) == 0 {
					continue
				}
				if play.Loop != "" {
					add(play.Loop, p, over)
					continue
				}
				add(sec.Loop, p, over)
				if sec.Over != "" && !told { // the song does not say which of the two
					add(sec.Over, p, over)
				}
			}
		}
	}
	return out.changes()
}

func partsIn(s song.Song, parts where.Parts) []string {
	var out []string
	for _, one := range parts.OneByOne() { // what is there counts
		found, err := one.Resolve(s)
		if err != nil {
			continue
		}
		for _, p := range found {
			out = append(out, s.Parts[p].Name)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func spansIn(c where.SpanContext, spans where.Spans) []song.Range {
	if spans.IsZero() {
		return []song.Range{{End: c.Song.End}}
	}
	var out []song.Range
	for _, one := range spans.OneByOne() {
		ranges, _, _ := one.Resolve(c)
		out = append(out, ranges...)
	}
	return out
}

// withoutSpans cuts spans out of ranges.
func withoutSpans(ranges []song.Range, c where.SpanContext, except where.Spans) []song.Range {
	if except.IsZero() {
		return ranges
	}
	var out []song.Range
	for _, piece := range song.Without(ranges, song.Union(spansIn(c, except))) {
		out = append(out, piece.Range)
	}
	return out
}

func placesIn(c where.SpanContext, places where.Places) []song.Range {
	var out []song.Range
	for _, one := range places.OneByOne() {
		at, _, _ := one.Resolve(c)
		for _, t := range at {
			if end := min(t+max(c.Song.Time().PPQ()/4, 1), c.Song.End); end > t {
				out = append(out, song.Range{Start: t, End: end})
			}
		}
	}
	return out
}
