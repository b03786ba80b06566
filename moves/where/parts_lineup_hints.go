package where

import (
	"slices"
	"strings"
)

func lineRewrites() []rewrite {
	return []rewrite{lowerCase, splitNumbers, oneByOne, lineSynonyms, pointRewrite, ifThere, allOf, loopRewrite, linePortions,
		turns, withoutUnits, barSpan, whoFirst, toThenFrom, orIfAny}
}

// oneByOne reads one after another and one by one as in turn, before one is read as 1.
func oneByOne(ws []string) []string {
	for _, said := range []string{"one after another", "one after the other", "one by one", "one at a time", "in turns", "in order"} {
		long := strings.Fields(said)
		for i := range ws {
			if len(ws)-i >= len(long) && slices.Equal(ws[i:i+len(long)], long) {
				return slices.Replace(ws, i, i+len(long), "in", "turn")
			}
		}
	}
	return nil
}

// lineSynonyms are the synonyms of spans, but "in" is a word of line-ups.
func lineSynonyms(ws []string) []string {
	var out []string
	for _, w := range ws {
		switch {
		case w == "in" || synonym(w) == "of" || w == "for":
			if w != "of" {
				w = "in"
			}
			out = append(out, w)
		case w == "at" || w == "on" || w == "since":
			out = append(out, "from")
		case synonym(w) != "":
			out = append(out, synonym(w))
		}
	}
	return out
}

// pointRewrite reads bar 8 beat 3, and beat 3 of bar 8, as 8.3.
func pointRewrite(ws []string) []string {
	for i := range ws {
		at := func(n int) string {
			if i+n < len(ws) {
				return ws[i+n]
			}
			return ""
		}
		bar, beat, n := "", "", 0
		if at(0) == "beat" && isNumber(at(1)) {
			n = 2
			if at(n) == "of" || at(n) == "in" || at(n) == "from" {
				n++
			}
			if at(n) == "bar" && isNumber(at(n+1)) {
				bar, beat, n = at(n+1), at(1), n+2
			}
		} else if at(0) == "bar" && isNumber(at(1)) {
			n = 2
			if at(n) == "," || at(n) == "and" || at(n) == "from" {
				n++
			}
			if at(n) == "beat" && isNumber(at(n+1)) {
				bar, beat, n = at(1), at(n+1), n+2
			}
		}
		if bar == "" {
			continue
		}
		ws = slices.Replace(ws, i, i+n, bar+"."+beat)
		if i > 0 && ws[i-1] != "from" && ws[i-1] != "to" {
			ws = slices.Insert(ws, i, "from")
		}
		return ws
	}
	return nil
}

// loopRewrite reads lead of loop b and lead from b as lead of b.
func loopRewrite(ws []string) []string {
	for i := 1; i+1 < len(ws); i++ {
		if ws[i] != "of" && ws[i] != "from" {
			continue
		}
		switch name := ws[i+1]; {
		case name == "loop" && i+2 < len(ws) && isNameWord(ws[i+2]):
			ws[i] = "of"
			return slices.Delete(ws, i+1, i+2)
		case ws[i] == "from" && isNameWord(name) && !isPortionSize(name) && !isPortion(ws[i+1:]):
			ws[i] = "of"
			return ws
		}
	}
	return nil
}

// linePortions reads clap second half, and clap from the second half of the break, as clap in second half.
func linePortions(ws []string) []string {
	ws = portions(ws)
	for i := 1; i < len(ws); i++ {
		if ws[i] == "half" && ws[i-1] == "in" {
			ws = slices.Insert(ws, i, "first")
		} else if ws[i] == "half" && ws[i-1] == "from" {
			ws = slices.Insert(ws, i, "second")
		}
		if !isPortion(ws[i:]) {
			continue
		}
		switch ws[i-1] {
		case "in":
		case "from", "of":
			ws[i-1] = "in"
		default:
			ws = slices.Insert(ws, i, "in")
			i++
		}
		if n := i + 2; n < len(ws) && (ws[n] == "of" || ws[n] == "in") { // the section that it stands in
			return ws[:n]
		}
		return ws
	}
	return nil
}

// turns reads extra leave in turn as extra out in turn.
func turns(ws []string) []string {
	for i := 1; i+2 < len(ws); i++ {
		if ws[i+1] == "in" && ws[i+2] == "turn" {
			switch ws[i] {
			case "leave", "leaves", "leaving", "off":
				ws[i] = "out"
			case "enter", "enters", "entering", "come", "comes", "play", "plays", "in":
				ws = slices.Delete(ws, i, i+1)
			}
			return ws
		}
	}
	return nil
}

// withoutUnits reads from bar 9 as from 9.
func withoutUnits(ws []string) []string { return without(ws, "bar", "bars") }

// barSpan reads hat 9-24 and hat from 9-24 as hat from 9 to 24.
func barSpan(ws []string) []string {
	for i := 1; i+2 < len(ws); i++ {
		if !isPoint(ws[i]) || ws[i+1] != "-" || !isPoint(ws[i+2]) {
			continue
		}
		ws[i+1] = "to"
		if ws[i-1] != "from" {
			ws = slices.Insert(ws, i, "from")
		}
		return ws
	}
	return nil
}

func isPoint(w string) bool { return isNumber(w) || classify(w, 1).kind == posWord }

// whoFirst puts the words behind a name in their order: perc from 9 if any is perc if any from 9, and
// extra from 9 in turn is extra in turn from 9.
func whoFirst(ws []string) []string {
	var rest, of, ifAny, turn, when []string
	for i := 0; i < len(ws); {
		into, n := &rest, 1
		at := func(words ...string) bool { return len(ws)-i >= len(words) && slices.Equal(ws[i:i+len(words)], words) }
		switch {
		case i == 0:
		case at("if", "any"):
			into, n = &ifAny, 2
		case at("in", "turn"):
			into, n = &turn, 2
		case at("out", "in", "turn"):
			into, n = &turn, 3
		case ws[i] == "of" && i+1 < len(ws):
			into, n = &of, 2
		case ws[i] == "in" && isPortion(ws[i+1:]):
			into, n = &when, 3
		case (ws[i] == "from" || ws[i] == "to") && i+1 < len(ws):
			into, n = &when, 2
		}
		*into = append(*into, ws[i:i+n]...)
		i += n
	}
	return slices.Concat(rest, of, ifAny, turn, when)
}

// toThenFrom reads hat to 24 from 9 as hat from 9 to 24.
func toThenFrom(ws []string) []string {
	to, from := slices.Index(ws, "to"), slices.Index(ws, "from")
	if to < 0 || from < to {
		return nil
	}
	return slices.Concat(ws[:to], ws[from:], ws[to:from])
}

// orIfAny makes a list of snare or clap, since everything in a line-up plays.
func orIfAny(ws []string) []string {
	if !slices.Contains(ws, "or") {
		return nil
	}
	bars := slices.IndexFunc(ws, func(w string) bool { return w == "if" || w == "in" || w == "from" || w == "to" })
	if bars < 0 {
		bars = len(ws)
	}
	rest := ws[bars:]
	if len(rest) > 1 && rest[0] == "if" {
		rest = rest[2:]
	}
	var out []string
	for _, w := range append(slices.Clone(ws[:bars]), "or") {
		if w == "or" {
			out = append(append(append(out, "if", "any"), rest...), "or")
			continue
		}
		out = append(out, w)
	}
	return out[:len(out)-1]
}
