package recipes

import (
	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// spelledOut returns a step with everything in it said: the parts by name, the span and the seed. env and in
// are what it found, came what it came to.
func spelledOut(step moves.Step, came moves.Outcome, env moves.Env, in song.Song) moves.Step {
	strict, loose := env.SpanContext(in), env.SpanContext(in)
	strict.Strict, loose.Strict = true, false
	out := option.Copy(step)
	for name, value := range option.Fields(out) {
		switch v := value.(type) {
		case *where.Parts:
			parts := came.Parts
			if name != "part" {
				parts, _ = v.Resolve(in)
			}
			if len(parts) > 0 {
				*v = where.PartsOf(partTexts(in, parts)...)
			}
		case *moves.Sound:
			for _, c := range came.Changes { // it strikes one part
				if i := in.Index(c.Parts[0]); v.Part() && i >= 0 {
					*v = moves.SoundOf(where.PartText(in, i))
				}
			}
		case *where.Spans:
			if name == "over" && v.IsZero() {
				*v = where.SpansOf("all")
			}
			if ranges, _, _ := v.Resolve(loose); name == "except" && len(ranges) == 0 {
				*v = where.Spans{} // it cuts nothing out, and may name what is not there
			}
			*v = there(*v, strict, loose, where.RangeText, where.SpansOf)
		case *where.Places:
			*v = there(*v, strict, loose, where.PlaceText, where.PlacesOf)
		case *option.Seed:
			if v.IsZero() {
				*v = option.SeedOf(env.Seed)
			}
		}
	}
	return out
}

func partTexts(in song.Song, parts []int) []string {
	var out []string
	for _, p := range parts {
		out = append(out, where.PartText(in, p))
	}
	return out
}

// sentences are spans or places, each of which comes to some R: ranges or ticks.
type sentences[T, R any] interface {
	IsZero() bool
	OneByOne() []T
	Texts() []string
	Resolve(where.SpanContext) ([]R, []remark.Remark, error)
}

// there keeps each sentence as it is written unless it says more than there is, which only a recipe for any loop may.
// Such a sentence is replaced by what it came to, to the tick: text writes that, and of reads the texts.
func there[T sentences[T, R], R any](all T, strict, loose where.SpanContext, text func(song.Song, R) string, of func(...string) T) T {
	if _, _, err := all.Resolve(strict); err == nil || all.IsZero() {
		return all
	}
	var texts []string
	for _, one := range all.OneByOne() {
		if _, _, err := one.Resolve(strict); err == nil {
			texts = append(texts, one.Texts()...)
			continue
		}
		found, _, _ := one.Resolve(loose)
		for _, r := range found {
			texts = append(texts, text(loose.Song, r))
		}
	}
	return of(texts...)
}

// partsOf returns the parts that a step names; false for a move that names none.
func partsOf(step moves.Step) (where.Parts, bool) {
	for name, value := range option.Fields(step) {
		if parts, ok := value.(*where.Parts); ok && name == "part" {
			return *parts, true
		}
	}
	return where.Parts{}, false
}
