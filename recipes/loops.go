package recipes

import (
	"cmp"
	"errors"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"loopdraft/moves/lay"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// givenLoop is one of the loops of a draft, before it is heard.
type givenLoop struct {
	name        string // "" where there is one loop and nobody names it
	files       []Input
	first, last int    // the bars that are it; 0: as found
	marker      string // the marker that says which bars; "": none does
	at          spot   // of the marker or the bars in the recipe
}

// String says what a loop is.
func (g givenLoop) String() string {
	files := strings.Join(namesOf(g.files), " and ")
	if g.first > 0 {
		return fmt.Sprintf("%s is bars %d-%d of %s", g.name, g.first, g.last, files)
	}
	return g.name + " is " + files
}

// isFound lets a loop be what is found in its files.
func (g *givenLoop) isFound() { g.first, g.last, g.marker, g.at = 0, 0, "", spot{} }

// given returns the loops: those that the recipe names, of which the ones that are given take the place of, by name; a
// file without the name of a loop takes the place of the one that is called as it is, wherever the recipe names that,
// and others those of the loops in their order. Without such, the loops are those that are given, by their names or as
// they are found to be apart.
func (a *order) given(inputs []Input) ([]givenLoop, error) {
	if a.o.Marked {
		return a.marked(inputs)
	}
	out := make([]givenLoop, len(a.r.Loops))
	for i, l := range a.r.Loops {
		out[i] = givenLoop{name: l.Name, first: l.First, last: l.Last, marker: l.Marker, at: l.at}
	}
	var rest []Input // without a name
	replaced := map[string]bool{}
	for _, in := range inputs {
		if in.Loop == "" {
			rest = append(rest, in)
			continue
		}
		i := slices.IndexFunc(out, func(l givenLoop) bool { return l.name == in.Loop })
		if i < 0 {
			i = len(out)
			out = append(out, givenLoop{name: in.Loop})
		}
		if !replaced[in.Loop] {
			out[i].isFound()
		}
		replaced[in.Loop] = true
		out[i].files = append(out[i].files, in)
	}
	rest, err := a.byFile(out, rest)
	if err != nil {
		return nil, err
	}
	for k, files := range a.apart(rest) {
		i := slices.IndexFunc(out, func(l givenLoop) bool { return len(l.files) == 0 })
		switch {
		case len(a.r.Loops) > 0 && i < 0:
			return nil, fmt.Errorf("%s: found a loop more than the recipe has, want it named", files[0].Name)
		case i < 0:
			i = len(out)
			out = append(out, givenLoop{name: freeLetter(out)})
		}
		if k == 0 || len(a.r.Loops) > 0 {
			out[i].isFound()
		}
		out[i].files = files
	}
	if len(a.r.Loops) == 0 { // as they are given
		first := func(l givenLoop) int {
			return slices.IndexFunc(inputs, func(in Input) bool { return in == l.files[0] })
		}
		slices.SortStableFunc(out, func(a, b givenLoop) int { return cmp.Compare(first(a), first(b)) })
	}
	for i := range out {
		if len(out[i].files) > 0 {
			continue
		}
		if out[i].files, err = a.filesOf(a.r.Loops[i], nil); err != nil {
			return nil, err
		}
	}
	if len(out) == 1 && len(a.r.Loops) == 0 && len(rest) > 0 {
		out[0].name = ""
	}
	return out, nil
}

// byFile gives loops of the recipe the files that are called as those it names, and returns the others. A name without
// its folder that two of either bear says nothing.
func (a *order) byFile(loops []givenLoop, inputs []Input) (rest []Input, err error) {
	paths := map[string][]string{} // of the recipe, by their names without folders
	for i, l := range a.r.Loops {
		if len(loops[i].files) > 0 {
			continue
		}
		for _, file := range l.Files {
			if name := path.Base(file); !slices.Contains(paths[name], file) {
				paths[name] = append(paths[name], file)
			}
		}
	}
	names := namesOf(inputs)
	known := map[string]Input{} // by the path in the recipe
	for i, in := range inputs {
		once := slices.Index(names, names[i]) == i && !slices.Contains(names[i+1:], names[i])
		if of := paths[names[i]]; len(of) == 1 && once {
			known[of[0]] = in
		} else {
			rest = append(rest, in)
		}
	}
	for i, l := range a.r.Loops {
		if len(loops[i].files) == 0 && slices.ContainsFunc(l.Files, func(name string) bool { return known[name].File != nil }) {
			if loops[i].files, err = a.filesOf(l, known); err != nil {
				return nil, err
			}
		}
	}
	return rest, nil
}

// filesOf returns the files of a loop of the recipe: those that are known, else those that are opened.
func (a *order) filesOf(l LoopSpec, known map[string]Input) ([]Input, error) {
	var out []Input
	for i, name := range l.Files {
		in := Input{Name: name, File: known[name].File}
		if in.File == nil {
			var err error
			if in.File, err = a.open(l, name); err != nil {
				return nil, a.loopMistake(l.Name, l.fileSpot(i), err)
			}
		}
		out = append(out, in)
	}
	return out, nil
}

// loopMistake puts what is wrong with a loop where the recipe names it; one that was given, at no place of it, stays as
// it is.
func (a *order) loopMistake(name string, at spot, err error) error {
	if at == (spot{}) {
		return err
	}
	a.fail(at, Error{Path: "loops." + name, Found: err.Error()})
	return a.err()
}

// open opens a file of a loop of the recipe.
func (a *order) open(l LoopSpec, path string) (*smf.File, error) {
	if a.o.Open == nil {
		return nil, fmt.Errorf("loops.%s: found %s and nobody to open it, want the loop given", l.Name, path)
	}
	return a.o.Open(path)
}

// apart returns the loops that inputs without names are, each as the files it is made of.
func (a *order) apart(inputs []Input) [][]Input {
	if len(inputs) == 0 {
		return nil
	}
	if a.o.Join || len(a.r.Input) > 1 { // the recipe was written for several that were joined
		return [][]Input{inputs}
	}
	var files []listen.Input
	names := namesOf(inputs)
	for i, in := range inputs {
		files = append(files, listen.Input{Name: names[i], File: in.File})
	}
	loops, told := listen.Apart(files)
	a.tell(told...)
	var out [][]Input
	for _, l := range loops {
		var files []Input
		for _, i := range l {
			files = append(files, inputs[i])
		}
		out = append(out, files)
	}
	return out
}

// freeLetter returns the first of the names a, b, c ... that no loop has.
func freeLetter(loops []givenLoop) string {
	for i := 0; ; i++ {
		name := string(rune('a' + i%26))
		if i >= 26 {
			name = fmt.Sprintf("loop-%d", i+1)
		}
		if !slices.ContainsFunc(loops, func(l givenLoop) bool { return l.name == name }) {
			return name
		}
	}
}

// hearLoops finds each of several loops in its files and hears them on one tape.
func (a *order) hearLoops(given []givenLoop) (foundLoop, error) {
	out := foundLoop{sought: true}
	var loops []listen.Looped
	for _, g := range given {
		l, err := a.findOne(&g, loops)
		var silent *listen.BarsError
		if a.o.Marked && errors.As(err, &silent) {
			a.tell(fmt.Sprintf("%s is left out: no note is in its bars %d-%d", g.name, g.first, g.last))
			continue
		}
		if err != nil {
			return out, err
		}
		if same := slices.IndexFunc(loops, func(other listen.Looped) bool { return listen.SameNotes(other, l) }); a.o.Marked && same >= 0 {
			a.tell(fmt.Sprintf("%s is left out: it has the notes of %s", g.name, loops[same].Name))
			continue
		}
		out.given, loops = append(out.given, g), append(loops, l)
		text := "loop " + g.String()
		if g.first == 0 {
			text += fmt.Sprintf(", %d bars", l.Loop.Bars)
		}
		a.tell(text)
	}
	tape, told, err := listen.NewTape(loops)
	var of *listen.LoopError
	if errors.As(err, &of) {
		return out, a.loopMistake(out.given[of.Loop].name, out.given[of.Loop].at, err)
	}
	if err != nil {
		return out, err
	}
	a.tell(told...)
	out.loop = listen.Loop{Bars: loops[0].Loop.Bars, Len: loops[0].Loop.Len}
	out.bars, out.loops = out.loop.Bars, tape.Loops
	return out, a.readParts(func(overrides []listen.Override) (err error) {
		out.song, out.report, err = tape.Hear(overrides)
		out.loops = out.report.Loops
		return err
	})
}

// findOne finds one of several loops in its files. Tempo and metre are the first one's where it has none.
func (a *order) findOne(g *givenLoop, before []listen.Looped) (listen.Looped, error) {
	out := listen.Looped{Name: g.name, From: strings.Join(namesOf(g.files), " and ")}
	j, err := a.joinFiles(g.files)
	if err != nil {
		return out, a.loopMistake(g.name, g.at, err)
	}
	if err := a.findMarker(g, j); err != nil {
		return out, err
	}
	o := a.loopOptions(*g, j)
	if len(before) > 0 {
		o.Like = &before[0]
	}
	var told []string
	if out.File, out.Loop, told, err = listen.FindLoop(j.file, o); err != nil {
		return out, a.findMistake(*g, j, err)
	}
	for _, line := range told {
		a.tell(g.name + ": " + line)
	}
	return out, nil
}

// letGo lets go of the files, of which the song was made: of a long one they take as much memory as the song does.
func (l *foundLoop) letGo() {
	for i := range l.given {
		g := &l.given[i]
		g.files = slices.Clone(g.files)
		for k := range g.files {
			g.files[k].File = nil
		}
	}
}

// loopNames returns the names of the loops, none where there is one that nobody names.
func (l foundLoop) loopNames() []string {
	var out []string
	for _, g := range l.given {
		out = append(out, g.name)
	}
	return out
}

// plays tells whether a part has notes in a loop.
func (l foundLoop) plays(part, loop int) bool {
	s := l.loops[loop]
	return len(l.song.In(l.song.Parts[part], l.song.BarRange(s.Bar, s.Bar+s.Bars-1))) > 0
}

// own returns the parts that only the loop of a section has; none in a section that plays the loop of the first one.
func (l foundLoop) own(loops []sectionLoop, section int) []int {
	if len(l.loops) < 2 || loops[section].loop == loops[0].loop {
		return nil
	}
	var out []int
	for p := range l.song.Parts {
		only := l.plays(p, loops[section].loop)
		for k := range l.loops {
			only = only && (k == loops[section].loop || !l.plays(p, k))
		}
		if only {
			out = append(out, p)
		}
	}
	return out
}

// parts counts those that play in a loop.
func (l foundLoop) parts(loop int) int {
	n := 0
	for p := range l.song.Parts {
		if l.plays(p, loop) {
			n++
		}
	}
	return n
}

// sectionLoop is which loop a section plays, which one those play that it does not have, and which one plays the second
// half of the section; -1 for none.
type sectionLoop struct{ loop, over, late int }

// sectionLoops finds out which loop each section plays.
func (a *order) sectionLoops(l foundLoop) ([]sectionLoop, error) {
	out := make([]sectionLoop, len(a.r.Sections))
	names := l.loopNames()
	index := func(name, path string, at spot) int {
		i := slices.Index(names, name)
		if name == "" || i >= 0 {
			return max(i, 0)
		}
		e := Error{Path: path, Found: strconv.Quote(name), Want: "no loop: there is one only"}
		if len(names) > 0 {
			e.Want, e.Hint = "one of the loops "+strings.Join(names, ", "), song.Nearest(name, names)
		}
		a.fail(at, e)
		return 0
	}
	for i, s := range a.r.Sections {
		path := fmt.Sprintf("sections[%d].loop", i+1)
		out[i] = sectionLoop{index(s.Loop, path, s.atLoop), -1, -1}
		if s.Over != "" {
			over := s.atLoop
			if n := strings.LastIndex(over.text, s.Over); n > 0 {
				over = a.inside(over, utf8.RuneCountInString(over.text[:n])+1)
			}
			out[i].over = index(s.Over, path, over)
		}
	}
	if len(l.loops) < 2 {
		return out, nil
	}
	if a.r.anyLoop() && !slices.ContainsFunc(a.r.Sections, func(s SectionSpec) bool { return s.Loop != "" }) {
		return out, a.shareOut(l, out)
	}
	for i, s := range out {
		if k := s.loop; s.over < 0 && k > 0 && 2*l.parts(k) < l.parts(0) {
			out[i].over = 0
			a.tell(fmt.Sprintf("%s has %d parts and %s has %d: it is laid over it", names[k], l.parts(k), names[0], l.parts(0)))
		}
	}
	return out, nil
}

// over returns, by part, where it plays on from the loop that its section's is laid over.
func (l foundLoop) over(p plan) [][]lay.Play {
	if len(l.loops) < 2 {
		return nil
	}
	out := make([][]lay.Play, len(l.song.Parts))
	bar := l.song.Time().BarTicks(1)
	for part := range out {
		for i, s := range p.loops {
			if sec := p.sections[i]; s.over >= 0 && s.over != s.loop && !l.plays(part, s.loop) && l.plays(part, s.over) {
				start := smf.Tick(sec.Bar-1) * bar
				out[part] = append(out[part], lay.Play{Range: song.Range{Start: start, End: start + smf.Tick(sec.Bars)*bar}, Loop: s.over})
			}
		}
	}
	return out
}

// withOthers returns where parts play another loop than their section's, those of line-ups before the ones that a loop
// is laid over.
func withOthers(over, others [][]lay.Play) [][]lay.Play {
	out := slices.Clone(over)
	for p := range others {
		var taken, left []song.Range
		all := slices.DeleteFunc(slices.Clone(others[p]), func(o lay.Play) bool { // says what holds without it
			return slices.ContainsFunc(over[p], func(v lay.Play) bool { return v.Loop == o.Loop && v.Start <= o.Start && o.End <= v.End })
		})
		for _, o := range all {
			taken = append(taken, o.Range)
		}
		for _, o := range over[p] {
			left = append(left, o.Range)
		}
		for _, piece := range song.Without(left, song.Union(taken)) {
			i := slices.IndexFunc(over[p], func(o lay.Play) bool { return o.Start <= piece.Start && piece.Start < o.End })
			all = append(all, lay.Play{Range: piece.Range, Loop: over[p][i].Loop})
		}
		slices.SortFunc(all, func(a, b lay.Play) int { return cmp.Compare(a.Start, b.Start) })
		out[p] = all
	}
	return out
}

// othersHeard returns, by part, where it is heard and plays another loop than its section has: what a written recipe says.
func (l laidLoop) othersHeard(plays lineUp) [][]lay.Play {
	out := make([][]lay.Play, len(l.others))
	for p := range out {
		var heard []song.Range
		for i, sec := range l.plan.sections {
			start := l.song.SectionRange(sec).Start
			for _, r := range plays[i][p] {
				heard = append(heard, song.Range{Start: start + r.Start, End: start + r.End})
			}
		}
		for _, o := range l.others[p] {
			for _, r := range song.Intersect(heard, []song.Range{o.Range}) {
				out[p] = append(out[p], lay.Play{Range: r, Loop: o.Loop})
			}
		}
	}
	return out
}

// checkAddOf notes loops in "add:" that are not there.
func (a *order) checkAddOf(l laidLoop) {
	for i, s := range a.r.Sections {
		for _, of := range s.AddOf {
			if slices.Contains(l.names, of.Loop) && len(l.names) > 1 {
				continue
			}
			e := Error{Path: fmt.Sprintf("sections[%d].add", i+1), Found: strconv.Quote("of " + of.Loop), Want: `no "of": there is one loop only`}
			if len(l.names) > 1 {
				e.Want, e.Hint = "one of the loops "+strings.Join(l.names, ", "), song.Nearest(of.Loop, l.names)
			}
			a.fail(of.at, e)
		}
	}
}

// addedOf returns, by part, where it plays another loop than its section if it is found to play there at all: where the
// line-up does not have it play already.
func (u *lineUps) addedOf(i int) [][]lay.Play {
	out := make([][]lay.Play, len(u.laid.song.Parts))
	whole := u.laid.song.SectionRange(u.laid.plan.sections[i])
	for _, of := range u.r.Sections[i].AddOf {
		k := slices.Index(u.laid.names, of.Loop)
		parts, err := of.Parts.Resolve(u.laid.song)
		if k < 0 || err != nil { // which is told
			continue
		}
		for _, p := range parts {
			var plays []song.Range
			if len(out[p]) > 0 || u.plays[i] == nil {
				continue
			}
			for _, r := range where.Ranges(u.plays[i][p]) {
				plays = append(plays, song.Range{Start: whole.Start + r.Start, End: whole.Start + r.End})
			}
			for _, piece := range song.Without([]song.Range{whole}, plays) {
				out[p] = append(out[p], lay.Play{Range: piece.Range, Loop: k})
			}
		}
	}
	return out
}

// unplayed warns of loops that no section and no line-up asks for.
func (a *order) unplayed(l foundLoop, p plan, others [][]lay.Play) {
	if len(l.loops) < 2 || a.r.anyLoop() { // whose choice is told
		return
	}
	plays := make([]bool, len(l.loops))
	for _, s := range p.loops {
		plays[s.loop] = true
		if s.over >= 0 {
			plays[s.over] = true
		}
	}
	for _, part := range others {
		for _, o := range part {
			plays[o.Loop] = true
		}
	}
	for k, name := range l.loopNames() {
		if !plays[k] {
			a.warn(fmt.Sprintf("loop %s is played nowhere: write loop: %s in a section, or a part of %s in what one plays", name, name, name))
		}
	}
}

// loopChanges tells, for each of several loops, which parts are heard where they play it: a part of the trace.
func (l laidLoop) loopChanges(loop foundLoop, plays lineUp) []song.Change {
	if len(loop.loops) < 2 {
		return nil
	}
	out := newLoopTrace(loop.loopNames(), loop.song)
	played := l.played()
	for p := range loop.song.Parts {
		add := func(k int, over, heard []song.Range) {
			if loop.plays(p, k) {
				out.add(k, p, song.Intersect(over, heard)...)
			}
		}
		for i, s := range l.plan.loops {
			whole := l.song.SectionRange(l.plan.sections[i])
			var heard, others []song.Range
			for _, r := range plays[i][p] {
				heard = append(heard, song.Range{Start: whole.Start + r.Start, End: whole.Start + r.End})
			}
			for _, o := range played[p] {
				others = append(others, o.Range)
				add(o.Loop, []song.Range{o.Range}, heard)
			}
			for _, piece := range song.Without([]song.Range{whole}, song.Union(others)) {
				add(s.loop, []song.Range{piece.Range}, heard)
			}
		}
	}
	return out.changes()
}

// loopTrace is where each part plays each of several loops.
type loopTrace struct {
	names []string         // of the loops
	parts []string         // their names
	plays [][][]song.Range // by loop, then by part
}

func newLoopTrace(loops []string, s song.Song) loopTrace {
	out := loopTrace{names: loops, plays: make([][][]song.Range, len(loops))}
	for _, p := range s.Parts {
		out.parts = append(out.parts, p.Name)
	}
	for k := range out.plays {
		out.plays[k] = make([][]song.Range, len(s.Parts))
	}
	return out
}

// add notes that a part plays a loop in some ranges.
func (t loopTrace) add(loop, part int, over ...song.Range) {
	t.plays[loop][part] = append(t.plays[loop][part], over...)
}

// changes returns, loop by loop, a change for all parts that play the loop in the same places.
func (t loopTrace) changes() []song.Change {
	var out []song.Change
	for k, name := range t.names {
		first := len(out)
		for p, ranges := range t.plays[k] {
			if ranges = song.Union(ranges); len(ranges) == 0 {
				continue
			}
			i := slices.IndexFunc(out[first:], func(c song.Change) bool { return slices.Equal(c.Ranges, ranges) })
			if i < 0 {
				i = len(out) - first
				out = append(out, song.Change{Step: -1, Move: "loop " + name, Ranges: ranges})
			}
			out[first+i].Parts = append(out[first+i].Parts, t.parts[p])
		}
	}
	return out
}

// errNoSections says that nothing tells which of several loops plays.
func errNoSections(n int) error {
	return fmt.Errorf("found %d loops and a recipe without sections, want sections, which say what plays, or one loop", n)
}
