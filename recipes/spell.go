package recipes

import (
	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// spelledOut returns a step with everything in it said: the parts by name, the span and the seed. in is
// the song that it was carried out on, came what it came to.
func spelledOut(step moves.Step, came moves.Outcome, seed uint64, in song.Song) moves.Step {
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
			*v = spansThere(*v, in)
		case *where.Places:
			*v = placesThere(*v, in)
		case *option.Seed:
			if v.IsZero() {
				*v = option.SeedOf(seed)
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

// spansThere keeps spans as they are written unless they say more than there is, which only a recipe for
// any loop may: then they are the bars and beats they came to.
func spansThere(spans where.Spans, in song.Song) where.Spans {
	if _, _, err := spans.Resolve(where.SpanContext{Song: in, Strict: true}); err == nil || spans.IsZero() {
		return spans
	}
	ranges, _, _ := spans.Resolve(where.SpanContext{Song: in})
	var texts []string
	for _, r := range ranges {
		text, whole := where.RangeText(in, r)
		if !whole {
			return spans
		}
		texts = append(texts, text)
	}
	if len(texts) == 0 {
		return spans
	}
	return where.SpansOf(texts...)
}

// placesThere does the same to places.
func placesThere(places where.Places, in song.Song) where.Places {
	if _, _, err := places.Resolve(where.SpanContext{Song: in, Strict: true}); err == nil || places.IsZero() {
		return places
	}
	at, _, _ := places.Resolve(where.SpanContext{Song: in})
	var texts []string
	for _, t := range at {
		text, whole := where.PlaceText(in, t)
		if !whole {
			return places
		}
		texts = append(texts, text)
	}
	if len(texts) == 0 {
		return places
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
