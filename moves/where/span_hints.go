package where

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// What people write when they nearly know the language is rewritten, rule after rule, until it is a
// valid sentence; that sentence is the hint. A hint is therefore always valid, and a rewrite may be
// as free as it likes: where it leads nowhere, nothing is suggested.

// rewrite returns the words changed, or nil where it does not apply. It may write to its argument.
type rewrite func(words []string) []string

// reader reads a sentence and returns its text as the language writes it.
type reader func([]word) (string, *option.Mistake)

// suggest returns the mistake e of a sentence with the nearest valid text. Where one word is merely
// misspelt, it is that word that was found.
func suggest(words []word, e *option.Mistake, read reader, rewrites []rewrite) *option.Mistake {
	if slip := misspelt(words, read); slip != nil {
		return slip
	}
	texts := make([]string, 0, len(words))
	for _, w := range words[:len(words)-1] {
		texts = append(texts, w.text)
	}
	fixed, last := rewritten(texts, read, rewrites)
	if fixed == "" {
		fixed = withOf(last, read)
	}
	if fixed == "" {
		fixed = asList(last, read, rewrites)
	}
	e.Hint = fixed
	return e
}

// misspelt finds the one word that, spelt as a word of the language, makes the sentence valid.
func misspelt(words []word, read reader) *option.Mistake {
	for i, w := range words {
		if w.kind != plainWord || isReserved(w.text) {
			continue
		}
		for _, meant := range append(reservedWords(), awaitedWords()...) {
			if song.Nearest(w.text, []string{meant}) == "" {
				continue
			}
			try := slices.Clone(words)
			try[i].text = meant
			if _, e := read(try); e != nil {
				continue
			}
			// A word that fits nowhere takes its place, so that the parser says what is wanted there.
			try[i].kind = oddWord
			_, e := read(try)
			if e == nil {
				continue
			}
			e.Col, e.Found, e.Hint = w.col, w.text, meant
			return e
		}
	}
	return nil
}

// rewritten applies the rewrites one after the other until the sentence is valid. It returns the
// valid text, or "" and what the rewrites came to.
func rewritten(texts []string, read reader, rewrites []rewrite) (string, []string) {
	for _, rw := range rewrites {
		next := rw(slices.Clone(texts))
		if next == nil || slices.Equal(next, texts) {
			continue
		}
		texts = next
		if got := readTexts(texts, read); got != "" {
			return got, texts
		}
	}
	return "", texts
}

func readTexts(texts []string, read reader) string {
	got, e := read(splitWords(strings.Join(texts, " ")))
	if e != nil {
		return ""
	}
	return got
}

// withOf puts the "of" in that "last 4 bars drop" lacks. A span that starts with a name has none, and
// two names in a row are no part of a loop.
func withOf(texts []string, read reader) string {
	if len(texts) > 0 && isNameWord(texts[0]) && texts[0] != "second" && texts[0] != "loop" {
		return ""
	}
	for i := 1; i < len(texts) && len(texts) < 32; i++ {
		if got := readTexts(slices.Insert(slices.Clone(texts), i, "of"), read); got != "" {
			return got
		}
	}
	return ""
}

// asList makes a list of "drop 1 and drop 2", if each of its items is valid or can be made so.
func asList(texts []string, read reader, rewrites []rewrite) string {
	var items []string
	var item []string
	for i, t := range append(slices.Clone(texts), "and") {
		if !isJoint(t) {
			item = append(item, t)
			continue
		}
		if len(item) == 0 {
			if i < len(texts) && isJoint(texts[i]) {
				continue // a comma and an "and"
			}
			return ""
		}
		if len(item) == 1 && isNumber(item[0]) && len(items) > 0 {
			name, _, _ := strings.Cut(items[0], " ")
			item = []string{name, item[0]} // drop 1 and 2
		}
		got := readTexts(item, read)
		if got == "" {
			got, _ = rewritten(item, read, rewrites)
		}
		if got == "" {
			return ""
		}
		items, item = append(items, got), nil
	}
	if len(items) < 2 {
		return ""
	}
	return bracketed(items)
}

func isJoint(t string) bool { return t == "and" || t == "or" || t == "," || t == ";" }

func isNumber(t string) bool {
	n, ok := number(t)
	return ok && n > 0 && t != ""
}

func isUnit(t string) bool { return t == "bar" || t == "bars" || t == "beat" || t == "beats" }

func isNameWord(t string) bool { return song.IsName(t) && !isReserved(t) }

func spanRewrites() []rewrite {
	return slices.Concat([]rewrite{ofTheLoop}, commonRewrites(), []rewrite{leadingOf, outerBeside, portions, portionOf, between, everyNth, allSections, ordinalName, barsToBars, loneBars,
		bareNumber, everyNameN, spanEdges, missingLength, firstLength, loneBeat, lonePos, sectionFirst, everyOther})
}

func placeRewrites() []rewrite {
	return slices.Concat([]rewrite{ofTheLoop}, commonRewrites(), []rewrite{leadingOf, outerBeside, portions, portionOf, between, everyNth, allSections, ordinalName, barsToBars, loneBars,
		bareNumber, everyNameN, placeEdges, missingLength, firstLength, loneBeat, sectionFirst, everyOther})
}

func lengthRewrites() []rewrite {
	return slices.Concat(commonRewrites(), []rewrite{loneQuarter,
		func(ws []string) []string { return without(ws, "every") },
		func(ws []string) []string {
			if len(ws) == 1 && isNumber(ws[0]) {
				return append(ws, "bars")
			}
			return nil
		},
	})
}

func commonRewrites() []rewrite {
	return []rewrite{lowerCase, splitNumbers, spokenNotes, synonyms, noteNames, fractions, hyphenated}
}

func lowerCase(ws []string) []string {
	for i, w := range ws {
		ws[i] = strings.ToLower(w)
	}
	return ws
}

// splitNumbers reads 16bars, 9..16 and 1/16th as several words.
func splitNumbers(ws []string) []string {
	var out []string
	for _, w := range ws {
		n := strings.IndexFunc(w, func(r rune) bool { return !isDigit(r) })
		if n <= 0 {
			out = append(out, w)
			continue
		}
		rest := w[n:]
		dotted := strings.TrimLeft(rest, ".")
		switch {
		case isUnit(rest):
			out = append(out, w[:n], rest)
		case len(rest)-len(dotted) > 1 && isNumber(dotted):
			out = append(out, w[:n], "-", dotted)
		case strings.HasSuffix(rest, "th") && strings.HasPrefix(rest, "/"):
			out = append(out, strings.TrimSuffix(w, "th"))
		default:
			out = append(out, w)
		}
	}
	return out
}

func synonyms(ws []string) []string {
	var out []string
	for _, w := range ws {
		if w = synonym(w); w != "" {
			out = append(out, w)
		}
	}
	return out
}

// synonym returns the language's word for another, "" for one it does without.
func synonym(w string) string {
	switch w {
	case "the", "a", "an", "#", "note", "notes", "number":
		return ""
	case "each":
		return "every"
	case "except", "without", "excluding":
		return "but"
	case "in", "within", "inside", "during":
		return "of"
	case "until", "till", "through", "thru":
		return "to"
	case "–", "—":
		return "-"
	case "measure":
		return "bar"
	case "measures":
		return "bars"
	case "beginning":
		return "start"
	case "everything", "everywhere":
		return "all"
	case "&", "+":
		return "and"
	}
	for i, s := range []string{"one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
		"eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen"} {
		if w == s {
			return strconv.Itoa(i + 1)
		}
	}
	return w
}

// spokenNotes reads half note and quarter note; without "note" they are shares.
func spokenNotes(ws []string) []string {
	for i := 0; i+1 < len(ws); i++ {
		if ws[i+1] != "note" && ws[i+1] != "notes" {
			continue
		}
		switch ws[i] {
		case "whole":
			ws[i] = "1/1"
		case "half":
			ws[i] = "1/2"
		case "quarter":
			ws[i] = "1/4"
		}
	}
	return ws
}

// loneQuarter reads quarter, which is a note where no share of a span can be meant.
func loneQuarter(ws []string) []string {
	if len(ws) == 1 && ws[0] == "quarter" {
		ws[0] = "1/4"
	}
	return ws
}

// noteNames reads the spoken note values but for half and quarter, which are shares.
func noteNames(ws []string) []string {
	for i, w := range ws {
		if i > 0 && (ws[i-1] == "every" || ws[i-1] == "other") && i+1 < len(ws) && isUnit(ws[i+1]) {
			continue // every 16th bar
		}
		switch {
		case w == "eighth", w == "8th", w == "eighths":
			ws[i] = "1/8"
		case w == "sixteenth", w == "16th", w == "sixteenths":
			ws[i] = "1/16"
		case w == "32nd":
			ws[i] = "1/32"
		}
	}
	return ws
}

// fractions reads half a bar and 1.5 bars. The hint takes a bar for four quarters, as in 4/4.
func fractions(ws []string) []string {
	var out []string
	for i := 0; i < len(ws); i++ {
		if i+1 == len(ws) || !isUnit(ws[i+1]) {
			out = append(out, ws[i])
			continue
		}
		bars := strings.HasPrefix(ws[i+1], "bar")
		whole, half := strings.CutSuffix(ws[i], ".5")
		n, ok := number(whole)
		switch w := ws[i]; {
		case (w == "half" || w == "1/2") && bars:
			out = append(out, "2", "beats")
		case (w == "quarter" || w == "1/4") && bars:
			out = append(out, "1", "beat")
		case w == "half" || w == "1/2":
			out = append(out, "1/8")
		case w == "quarter" || w == "1/4":
			out = append(out, "1/16")
		case half && ok && bars:
			out = append(out, strconv.Itoa(4*n+2), "beats")
		case half && ok:
			out = append(out, fmt.Sprintf("%d/8", 2*n+1))
		default:
			out = append(out, ws[i])
			continue
		}
		i++
	}
	return out
}

// hyphenated reads 8-bar as 8 bar.
func hyphenated(ws []string) []string {
	for i := 0; i+2 < len(ws); i++ {
		if isNumber(ws[i]) && ws[i+1] == "-" && isUnit(ws[i+2]) {
			return slices.Delete(ws, i+1, i+2)
		}
	}
	return nil
}

func without(ws []string, unwanted ...string) []string {
	return slices.DeleteFunc(ws, func(w string) bool { return slices.Contains(unwanted, w) })
}

// ofTheLoop reads bar 8 of the loop as loop bar 8.
func ofTheLoop(ws []string) []string {
	n := len(ws) - 3
	if n >= 2 && isUnit(ws[0]) && ws[0][:3] == "bar" && ws[n] == "of" && ws[n+1] == "the" && ws[n+2] == "loop" {
		return append([]string{"loop"}, ws[:n]...)
	}
	return nil
}

// leadingOf reads in drop, of which "in" is "of" by now, as drop.
func leadingOf(ws []string) []string {
	if len(ws) > 1 && ws[0] == "of" {
		return ws[1:]
	}
	return nil
}

// outerBeside reads last 2 beats before every drop as 2 beats before every drop.
func outerBeside(ws []string) []string {
	for i, w := range ws {
		if w != "first" && w != "last" {
			continue
		}
		n := lengthAt(ws[i+1:])
		if at := i + 1 + n; n > 0 && at < len(ws) && (ws[at] == "before" || ws[at] == "after") {
			return slices.Delete(ws, i, i+1)
		}
	}
	return nil
}

// lengthAt returns how many words the length takes that stands first; 0 if none does.
func lengthAt(ws []string) int {
	n := 0
	switch {
	case len(ws) > 0 && classify(ws[0], 1).kind == noteWord:
		return 1
	case len(ws) > 0 && isNumber(ws[0]):
		n = 1
	}
	if n < len(ws) && isUnit(ws[n]) {
		return n + 1
	}
	return 0
}

// isPortion tells whether a portion stands first.
func isPortion(ws []string) bool {
	if len(ws) < 2 || !isPortionSize(ws[1]) {
		return false
	}
	return ws[0] == "first" || ws[0] == "last" || ws[0] == "second" && ws[1] == "half"
}

// portions reads the ways to say which half, third or quarter: 2nd half, final third, half of drop.
func portions(ws []string) []string {
	for i := 0; i < len(ws); i++ {
		size := strings.TrimSuffix(ws[i], "s")
		if ws[i] == "halves" {
			size = "half"
		}
		if !isPortionSize(size) || i+1 < len(ws) && isUnit(ws[i+1]) || isPortion(ws[i:]) {
			continue
		}
		parts := 2 + slices.Index(portionSizes(), size)
		n, ok := 0, false
		if i > 0 {
			n, ok = ordinal(ws[i-1])
		}
		switch {
		case i > 0 && (ws[i-1] == "last" || ws[i-1] == "final" || ws[i-1] == "latter"):
			ws[i-1], ws[i] = "last", size
		case ok && n == 1:
			ws[i-1], ws[i] = "first", size
		case ok && n == 2 && parts == 2:
			ws[i-1], ws[i] = "second", size
		case ok && n == parts:
			ws[i-1], ws[i] = "last", size
		case ok && parts == 4 && n == 2:
			ws = slices.Replace(ws, i-1, i+1, "second", "half", "of", "first", "half")
			i += 3
		case ok && parts == 4 && n == 3:
			ws = slices.Replace(ws, i-1, i+1, "first", "half", "of", "second", "half")
			i += 3
		case i+1 < len(ws) && ws[i+1] == "of" && (i == 0 || !isNameWord(ws[i-1])):
			ws = slices.Insert(ws, i, "first")
			i++
		}
	}
	return ws
}

// portionOf puts the "of" behind a portion that lacks it, as in first half drop, and reads drop 2 second
// half as second half of drop 2. What stands alone is of all.
func portionOf(ws []string) []string {
	for i := range ws {
		switch {
		case !isPortion(ws[i:]):
		case i+2 == len(ws) && (i == 1 || i == 2 && isNumber(ws[1])) && isNameWord(ws[0]):
			return slices.Concat(ws[i:], []string{"of"}, ws[:i])
		case i+2 == len(ws):
			return append(ws, "of", "all")
		case ws[i+2] == "to" || ws[i+2] == "before" || ws[i+2] == "after" || isJoint(ws[i+2]):
			return slices.Insert(ws, i+2, "of", "all")
		case ws[i+2] != "of":
			return slices.Insert(ws, i+2, "of")
		}
	}
	return nil
}

func between(ws []string) []string {
	if i := slices.Index(ws, "and"); i > 0 && ws[0] == "between" {
		ws[0], ws[i] = "from", "to"
		return ws
	}
	return nil
}

// ordinal reads first to eighth, and 1st, 2nd and so on.
func ordinal(w string) (int, bool) {
	for i, s := range []string{"first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"} {
		if w == s {
			return i + 1, true
		}
	}
	for _, end := range []string{"st", "nd", "rd", "th"} {
		if digits, ok := strings.CutSuffix(w, end); ok && isNumber(digits) {
			n, _ := number(digits)
			return n, true
		}
	}
	return 0, false
}

// everyNth reads every 4th bar as bar 4 of every 4 bars, and every second as every other.
func everyNth(ws []string) []string {
	for i := 0; i+2 < len(ws); i++ {
		n, ok := ordinal(ws[i+1])
		switch {
		case ws[i] != "every" || !ok:
			continue
		case n == 2:
			ws[i+1] = "other"
			return ws
		case !isUnit(ws[i+2]):
			continue
		}
		unit, count := strings.TrimSuffix(ws[i+2], "s"), strconv.Itoa(n)
		return slices.Replace(ws, i, i+3, unit, count, "of", "every", count, unit+"s")
	}
	return nil
}

// allSections reads all but drop and all drops.
func allSections(ws []string) []string {
	for i := 0; i+1 < len(ws); i++ {
		switch {
		case ws[i] != "all":
		case ws[i+1] == "but" || synonym(ws[i+1]) == "but":
			return slices.Replace(ws, i, i+2, "every", "section", "but")
		case isNameWord(ws[i+1]):
			ws[i], ws[i+1] = "every", strings.TrimSuffix(ws[i+1], "s")
			return ws
		}
	}
	return nil
}

// ordinalName reads second drop as drop 2. Which number the last drop has depends on the song; the
// hint takes it for the second, the shape club tracks mostly have (common practice, no source).
func ordinalName(ws []string) []string {
	for i := 0; i+1 < len(ws); i++ {
		n, ok := ordinal(ws[i])
		if ws[i] == "last" {
			n, ok = 2, true
		}
		if ok && isNameWord(ws[i+1]) && !isPortionSize(ws[i+1]) {
			ws[i], ws[i+1] = ws[i+1], strconv.Itoa(n)
			return ws
		}
	}
	return nil
}

// barsToBars reads bars 9 to 16, bar 9-16, from bar 9 to 16, 9-16.
func barsToBars(ws []string) []string {
	for i := range ws {
		at := i
		skip := func(words ...string) bool {
			if at < len(ws) && slices.Contains(words, ws[at]) {
				at++
				return true
			}
			return false
		}
		take := func() (int, bool) {
			if at == len(ws) {
				return 0, false
			}
			n, ok := number(ws[at])
			at++
			return n, ok
		}
		from := skip("from")
		bars := skip("bar", "bars")
		first, ok := take()
		if !ok || !from && !bars && i > 0 || !skip("to", "-") {
			continue
		}
		skip("bar", "bars")
		last, ok := take()
		if !ok || last < first || at < len(ws) && isUnit(ws[at]) {
			continue
		}
		return slices.Replace(ws, i, at, "bars", strconv.Itoa(first), "-", strconv.Itoa(last))
	}
	return nil
}

// loneBars reads bars 9 as bar 9.
func loneBars(ws []string) []string {
	for i := 0; i+1 < len(ws); i++ {
		if ws[i] == "bars" && isNumber(ws[i+1]) && (i+2 == len(ws) || ws[i+2] != "-") {
			ws[i] = "bar"
			return ws
		}
	}
	return nil
}

// bareNumber reads a number where a place is due as that bar.
func bareNumber(ws []string) []string {
	for i, w := range ws {
		due := i == 0 || slices.Contains([]string{"from", "to", "before", "after"}, ws[i-1])
		alone := i+1 == len(ws) || ws[i+1] == "to" || ws[i+1] == "of" || isJoint(ws[i+1])
		if isNumber(w) && due && alone {
			return slices.Insert(ws, i, "bar")
		}
	}
	return nil
}

// everyNameN reads every drop 2 as drop 2.
func everyNameN(ws []string) []string {
	for i := 0; i+2 < len(ws); i++ {
		if ws[i] == "every" && isNameWord(ws[i+1]) && isNumber(ws[i+2]) {
			return slices.Delete(ws, i, i+1)
		}
	}
	return nil
}

// spanEdges makes a span of a place that has no length.
func spanEdges(ws []string) []string {
	if len(ws) > 0 && (ws[0] == "start" || ws[0] == "end") && (len(ws) == 1 || ws[1] == "of") {
		outer := "first"
		if ws[0] == "end" {
			outer = "last"
		}
		return slices.Replace(ws, 0, 1, outer, "1", "bar")
	}
	return placeEdges(ws)
}

// placeEdges reads start by itself as bar 1.
func placeEdges(ws []string) []string {
	for i, w := range ws {
		if w == "start" && (i+1 == len(ws) || ws[i+1] != "of") {
			return slices.Replace(ws, i, i+1, "bar", "1")
		}
	}
	return nil
}

// missingLength gives before drop a bar.
func missingLength(ws []string) []string {
	if len(ws) > 1 && (ws[0] == "before" || ws[0] == "after") {
		return slices.Insert(ws, 0, "1", "bar")
	}
	return nil
}

// firstLength reads 2 bars of drop, and 2 bars, as the first.
func firstLength(ws []string) []string {
	n := 0
	switch {
	case len(ws) > 1 && isNumber(ws[0]) && isUnit(ws[1]):
		n = 2
	case len(ws) > 0 && classify(ws[0], 1).kind == noteWord:
		n = 1
	}
	if n > 0 && (len(ws) == n || ws[n] == "of") {
		return slices.Insert(ws, 0, "first")
	}
	return nil
}

// loneBeat reads beat 3 as beat 3 of every bar.
func loneBeat(ws []string) []string {
	if len(ws) > 1 && ws[0] == "beat" && isNumber(ws[1]) && !slices.Contains(ws, "of") {
		return append(ws, "of", "every", "bar")
	}
	return nil
}

// lonePos reads 17.3 as what is left of its bar.
func lonePos(ws []string) []string {
	if len(ws) != 1 {
		return nil
	}
	if w := classify(ws[0], 1); w.kind == posWord {
		return append(ws, "-", fmt.Sprintf("%d.1", w.a+1))
	}
	return nil
}

// sectionFirst reads drop 2 bars 9-16 as bars 9-16 of drop 2.
func sectionFirst(ws []string) []string {
	if len(ws) < 3 || !isNameWord(ws[0]) {
		return nil
	}
	n := 1
	if isNumber(ws[1]) {
		n = 2
	}
	if !isUnit(ws[n]) || n+1 == len(ws) {
		return nil
	}
	return slices.Concat(ws[n:], []string{"of"}, ws[:n])
}

// everyOther reads every other drop as the second: whether there is a fourth depends on the song.
func everyOther(ws []string) []string {
	if len(ws) == 3 && ws[0] == "every" && ws[1] == "other" && isNameWord(ws[2]) {
		return []string{ws[2], "2"}
	}
	return nil
}

// bracketed writes one text as it is, several as a list.
func bracketed(texts []string) string {
	if len(texts) == 1 {
		return texts[0]
	}
	return "[" + strings.Join(texts, ", ") + "]"
}
