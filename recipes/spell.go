package recipes

import (
	"loopdraft/moves"
	"loopdraft/moves/option"
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
			if name == "part" && len(came.Parts) > 0 {
				*v = where.PartsOf(partTexts(in, came.Parts)...)
			}
		case *where.Spans:
			if name == "over" && v.IsZero() {
				*v = where.SpansOf("all")
			}
			if ranges, _, _ := v.Resolve(loose); name == "except" && len(ranges) == 0 {
				*v = where.Spans{} // it cuts nothing out, and may name what is not there
			}
			*v = spansThere(*v, strict, loose)
		case *where.Places:
			*v = placesThere(*v, strict, loose)
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

// spansThere keeps each span as it is written unless it says more than there is, which only a recipe for
// any loop may: then it is the ranges that it came to, to the tick.
func spansThere(spans where.Spans, strict, loose where.SpanContext) where.Spans {
	if _, _, err := spans.Resolve(strict); err == nil || spans.IsZero() {
		return spans
	}
	var texts []string
	for _, span := range spans.OneByOne() {
		if _, _, err := span.Resolve(strict); err == nil {
			texts = append(texts, span.Texts()...)
			continue
		}
		ranges, _, _ := span.Resolve(loose)
		for _, r := range ranges {
			texts = append(texts, where.RangeText(loose.Song, r))
		}
	}
	return where.SpansOf(texts...)
}

// placesThere does the same to places.
func placesThere(places where.Places, strict, loose where.SpanContext) where.Places {
	if _, _, err := places.Resolve(strict); err == nil || places.IsZero() {
		return places
	}
	var texts []string
	for _, place := range places.OneByOne() {
		if _, _, err := place.Resolve(strict); err == nil {
			texts = append(texts, place.Texts()...)
			continue
		}
		at, _, _ := place.Resolve(loose)
		for _, t := range at {
			texts = append(texts, where.PlaceText(loose.Song, t))
		}
	}
	return where.PlacesOf(texts...)
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
