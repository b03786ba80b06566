package recipes

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

const (
	leastMarked = 2   // bars from one marker to the next that are a loop
	mostMarked  = 200 // of them in a file: more are no loops that somebody marked
)

// marked returns the stretches of a file from marker to marker as its loops.
func (a *order) marked(inputs []Input) ([]givenLoop, error) {
	switch {
	case len(a.r.Loops) > 0:
		return nil, errors.New("found loops by markers and a recipe that names its loops, want one of them")
	case len(inputs) != 1:
		return nil, fmt.Errorf("found loops by markers and %d files, want one file", len(inputs))
	case inputs[0].Loop != "":
		return nil, fmt.Errorf("found loops by markers and a loop named %s, want one of them", inputs[0].Loop)
	}
	file := namesOf(inputs)[0]
	j, err := a.joinFiles(inputs)
	if err != nil {
		return nil, err
	}
	stretches, err := listen.Marked(j.file, a.loopOptions(givenLoop{}, j))
	if err != nil {
		return nil, err
	}
	loops := 0
	for _, s := range stretches {
		if noLoop(s) == "" {
			loops++
		}
	}
	switch {
	case len(stretches) == 0:
		return nil, fmt.Errorf("%s: found no marker on a bar line, want markers that say where loops begin", file)
	case loops == 0:
		return nil, fmt.Errorf("%s: found no marker with %d bars or more to the next, want one", file, leastMarked)
	case loops > mostMarked:
		return nil, fmt.Errorf("%s: found %d loops between markers, want %d at most", file, loops, mostMarked)
	}
	var out []givenLoop
	const most = 8 // of those that are told of
	short := 0
	for i, s := range stretches {
		if why := noLoop(s); why != "" {
			if short++; short <= most {
				a.tell(why)
			}
			continue
		}
		g := givenLoop{name: freeName(s.Name, out), files: inputs, first: s.Bar, last: s.Bar + s.Bars - 1}
		if slices.IndexFunc(stretches, func(other song.Section) bool { return other.Name == s.Name }) == i {
			g.marker = s.Name
		}
		out = append(out, g)
	}
	if short > most {
		a.tell(fmt.Sprintf("%d more stretches between markers: no loops", short-most))
	}
	return out, nil
}

// noLoop says why a stretch between markers is no loop; "" if it is one.
func noLoop(s song.Section) string {
	bars := fmt.Sprintf("bars %d-%d", s.Bar, s.Bar+s.Bars-1)
	if s.Bars == 1 {
		bars = fmt.Sprintf("bar %d", s.Bar)
	}
	switch {
	case s.Name == "":
		return bars + " in front of the first marker: no loop"
	case s.Bars < leastMarked:
		return fmt.Sprintf("%s from the marker %s on: too short for a loop", bars, shown(s.Name))
	}
	return ""
}

// freeName makes a marker's text the name of a loop, as [IsLoopName] wants it, that no other loop has.
func freeName(marker string, loops []givenLoop) string {
	words := strings.FieldsFunc(strings.ToLower(marker), func(r rune) bool { return !IsLoopName(string(r)) })
	base := strings.Join(words, "-")
	if base == "" {
		return freeLetter(loops)
	}
	for n, name := 2, base; ; n++ {
		if !slices.ContainsFunc(loops, func(g givenLoop) bool { return g.name == name }) {
			return name
		}
		name = base + "-" + strconv.Itoa(n)
	}
}

// findMarker finds the bars of a loop that begins at a marker: of several of one text the first.
func (a *order) findMarker(g *givenLoop, j joined) error {
	if g.marker == "" || g.first > 0 {
		return nil
	}
	stretches, err := listen.Marked(j.file, a.loopOptions(*g, j))
	if err != nil {
		return a.loopMistake(g.name, g.at, err)
	}
	find := func(same func(a, b string) bool) int {
		return slices.IndexFunc(stretches, func(s song.Section) bool { return s.Name != "" && same(s.Name, g.marker) })
	}
	i := find(func(a, b string) bool { return a == b })
	if i < 0 {
		i = find(strings.EqualFold)
	}
	if i >= 0 {
		g.first, g.last = stretches[i].Bar, stretches[i].Bar+stretches[i].Bars-1
		return nil
	}
	const most = 20 // of the markers that a message lists
	var names, listed []string
	for _, s := range stretches {
		if s.Name != "" && !slices.Contains(names, s.Name) {
			names = append(names, s.Name)
		}
	}
	for _, name := range names[:min(most, len(names))] {
		listed = append(listed, shown(name))
	}
	file := strings.Join(j.names(), " and ")
	e := Error{Path: "loops." + g.name + ".marker", Found: shown(g.marker), Want: "one of the markers of " + file + ": " + strings.Join(listed, ", "), Hint: song.Nearest(g.marker, names)}
	switch {
	case len(names) == 0:
		e.Want = "a file with markers on bar lines, " + file + " has none"
	case len(names) > most:
		e.Want += fmt.Sprintf(" and %d more", len(names)-most)
	}
	a.fail(g.at, e)
	return a.err()
}

// findMistake puts what keeps a loop from being found in its place, bars past the end of a file among it; mistakes of
// "parts:" have theirs.
func (a *order) findMistake(g givenLoop, j joined, err error) error {
	var parts listen.OverrideErrors
	if err == nil || g.at == (spot{}) || errors.As(err, &parts) {
		return err
	}
	var bars *listen.BarsError
	if !errors.As(err, &bars) {
		return a.loopMistake(g.name, g.at, err)
	}
	file := strings.Join(j.names(), " and ")
	e := Error{Path: "loops." + g.name, Found: fmt.Sprintf("bars %d-%d", bars.First, bars.Last), Want: fmt.Sprintf("bars within the %d of %s", bars.Bars, file)}
	if bars.Bars == 0 {
		e.Found, e.Want = fmt.Sprintf("no note in bars %d-%d of %s", bars.First, bars.Last, file), "a loop"
	}
	a.fail(g.at, e)
	return a.err()
}
