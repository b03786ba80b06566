package where

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/smf/song"
)

// maxStretches bounds what a sentence, and a list of them, may stand for: nested spans such as "4
// bars before every 1/64 of 4 bars before every 1/64" multiply, and long lists add up.
const maxStretches = 1 << 18

// errNoBars is returned for songs without common bars.
var errNoBars = errors.New("found a file without common bars (format 2 or SMPTE time), want one with bars")

// Resolve returns the ranges in ticks the spans stand for on the song, in rising order, each inside
// the song and not empty. Overlapping ranges are merged; touching ones stay apart. told says
// what was left out or clipped and what may be meant otherwise. The error is a
// [*option.Mistake] (of several mistakes, what [errors.Join] makes of them) for a section that is not
// there, for written numbers that do not fit where the context is strict, and for a text that
// cannot be read; another error for a song without bars.
func (s Spans) Resolve(c SpanContext) (ranges []song.Range, told []remark.Remark, err error) {
	if s.bad != nil {
		return nil, nil, s.bad
	}
	items := s.items
	if s.IsZero() {
		items = []spanNode{allSpan{}}
	}
	r, err := newSpanResolver(c)
	if err != nil {
		return nil, nil, err
	}
	var found []stretch
	var mistakes []*option.Mistake
	for i, item := range items {
		r.text = item.text()
		got, e := item.stretches(r)
		full := e == nil && len(found)+len(got) > maxStretches
		if full {
			e = tooManyInAll(r.text)
		}
		if e != nil {
			e.Text, e.Item = r.text, i
			mistakes = append(mistakes, e)
		}
		if full {
			break // each that follows would take its time to be one too many as well
		}
		found = append(found, got...)
	}
	if len(mistakes) > 0 {
		return nil, nil, joinErrors(mistakes)
	}
	out := make([]song.Range, len(found))
	for i, s := range found {
		out[i] = s.Range
	}
	return song.Apart(out), r.told, nil
}

// Resolve returns the ticks the places stand for on the song, in rising order, each once and from 0
// to the song's end, which is included ("end" is there). told and err are as in [Spans.Resolve].
func (p Places) Resolve(c SpanContext) (at []song.Tick, told []remark.Remark, err error) {
	if p.bad != nil {
		return nil, nil, p.bad
	}
	r, err := newSpanResolver(c)
	if err != nil {
		return nil, nil, err
	}
	var mistakes []*option.Mistake
	for i, item := range p.items {
		r.text = item.text()
		got, e := item.instants(r, false)
		full := e == nil && len(at)+len(got) > maxStretches
		if full {
			e = tooManyInAll(r.text)
		}
		if e != nil {
			e.Text, e.Item = r.text, i
			mistakes = append(mistakes, e)
		}
		if full {
			break
		}
		at = append(at, got...)
	}
	if len(mistakes) > 0 {
		return nil, nil, joinErrors(mistakes)
	}
	slices.Sort(at)
	return slices.Compact(at), r.told, nil
}

func newSpanResolver(c SpanContext) (*spanResolver, error) {
	if c.Song.Time() == nil {
		return nil, errNoBars
	}
	return &spanResolver{song: c.Song, tl: c.Song.Time(), strict: c.Strict, loop: c.Loop}, nil
}

// tell notes a remark on the sentence once.
func (r *spanResolver) tell(what remark.Remark) {
	what.Sentence = r.text
	r.told = remark.Add(r.told, what)
}

func (r *spanResolver) whole() []stretch {
	return []stretch{{Range: song.Range{End: r.song.End}}}
}

// of returns the ranges of an optional "of" span.
func (r *spanResolver) of(of spanNode) ([]stretch, *option.Mistake) {
	if of == nil {
		return r.whole(), nil
	}
	return of.stretches(r)
}

func (r *spanResolver) section(i int) stretch {
	g := r.song.SectionRange(r.song.Sections[i])
	return stretch{Range: song.Range{Start: min(g.Start, r.song.End), End: min(g.End, r.song.End)}}
}

// perSection returns the sections and what lies past the last one; without sections, the song.
func (r *spanResolver) perSection() []stretch {
	var out []stretch
	var end song.Tick
	for i := range r.song.Sections {
		s := r.section(i)
		out, end = append(out, s), s.End
	}
	if end < r.song.End {
		out = append(out, stretch{Range: song.Range{Start: end, End: r.song.End}})
	}
	return out
}

// line is the end of a range for counting: where a song ends inside a bar or beat, that bar or beat
// counts as one.
func (r *spanResolver) line(end song.Tick, unit lengthUnit) song.Tick {
	if end == r.song.End {
		return unit.lineAfter(r.tl, end)
	}
	return end
}

// mention is a number that somebody wrote: what it looks like, where, and what it counts.
type mention struct {
	found string
	col   int
	unit  lengthUnit
	whole bool // a length rather than a number of a bar or beat
}

// fit clips got to the range it was counted in. What ends past that range, or starts before it, is
// an error if written numbers must fit, else told; in a range that is short already, neither.
func (r *spanResolver) fit(in stretch, got song.Range, m mention) (stretch, bool, *option.Mistake) {
	fits := got.Start >= in.Start && got.End <= r.line(in.End, m.unit)
	out := stretch{Range: song.Range{Start: max(got.Start, in.Start), End: min(got.End, in.End)}, short: !fits}
	there := out.Start < out.End
	if fits || in.short {
		return out, there, nil
	}
	if r.strict {
		return out, false, &option.Mistake{Col: m.col, Found: m.found, Want: r.room(in, m)}
	}
	kind := remark.SpanClipped
	if !there {
		kind = remark.SpanLeftOut
	}
	unit := m.unit.countedIn()
	r.tell(remark.Remark{Kind: kind, Found: m.found, Within: r.label(in), Unit: unit.one(), Numbers: []int{r.count(in, unit)}})
	return out, there, nil
}

// room says which numbers would fit.
func (r *spanResolver) room(in stretch, m mention) string {
	if m.unit != noteUnit && r.count(in, m.unit) == 0 {
		return fmt.Sprintf("a span of at least a %s to count in (%s is shorter)", m.unit.one(), r.label(in))
	}
	if m.whole || m.unit == noteUnit {
		return "at most the " + r.roomText(in, m.unit) + " of " + r.label(in)
	}
	return fmt.Sprintf("%s within 1-%d (%s)", m.unit, r.count(in, m.unit), r.label(in))
}

// roomText says how many bars or beats a range has.
func (r *spanResolver) roomText(in stretch, unit lengthUnit) string {
	unit = unit.countedIn()
	n := r.count(in, unit)
	if n == 1 {
		return "1 " + unit.one()
	}
	return fmt.Sprintf("%d %s", n, unit)
}

// countedIn returns the unit that the room for a length of a unit is counted in.
func (u lengthUnit) countedIn() lengthUnit {
	if u == noteUnit {
		return beatUnit
	}
	return u
}

// one returns the word for one of a unit.
func (u lengthUnit) one() string { return strings.TrimSuffix(u.String(), "s") }

// count returns how many whole bars or beats a range has, counted from its start.
func (r *spanResolver) count(in stretch, unit lengthUnit) int {
	end := r.line(in.End, unit)
	first, last := r.tl.BarOf(in.Start), r.tl.BarOf(end)
	if unit == barUnit {
		n := last - first
		if end-r.tl.BarStart(last) < in.Start-r.tl.BarStart(first) {
			n--
		}
		return max(n, 0)
	}
	n := 0
	for bar := first; bar < last; bar++ {
		n += beatsIn(r.tl, bar)
	}
	from, over := beatOf(r.tl, first, in.Start)
	to, rest := beatOf(r.tl, last, end)
	n += to - from
	if rest < over {
		n--
	}
	return max(n, 0)
}

// label names a range for people: the song, a section, its bars, or the place where it starts.
func (r *spanResolver) label(in stretch) string {
	for i := range r.song.Sections {
		if r.section(i).Range == in.Range {
			return r.sectionLabel(i)
		}
	}
	if in.Range == (song.Range{End: r.song.End}) {
		return "the song"
	}
	first, last := r.tl.BarOf(in.Start), r.tl.BarOf(in.End-1)
	switch {
	case r.tl.BarStart(first) != in.Start || r.tl.BarStart(last+1) != in.End:
		return "the range from " + r.positionText(in.Start)
	case first == last:
		return fmt.Sprintf("bar %d", first)
	}
	return fmt.Sprintf("the range of bars %d-%d", first, last)
}

// sectionLabel returns the section's name, numbered if it is not the only one of it.
func (r *spanResolver) sectionLabel(i int) string {
	name := r.song.Sections[i].Name
	n, of := 0, 0
	for j, s := range r.song.Sections {
		if s.Name == name {
			of++
			if j <= i {
				n++
			}
		}
	}
	if of == 1 {
		return name
	}
	return fmt.Sprintf("%s %d", name, n)
}

// positionText returns "bar 17", or "17.3" for a place inside a bar.
func (r *spanResolver) positionText(t song.Tick) string {
	bar := r.tl.BarOf(t)
	if r.tl.BarStart(bar) == t {
		return fmt.Sprintf("bar %d", bar)
	}
	beat, _ := beatOf(r.tl, bar, t)
	return fmt.Sprintf("%d.%d", bar, beat+1)
}

// sized refuses note values under a tick, which could not be told from nothing.
func (r *spanResolver) sized(l Length) *option.Mistake {
	if !l.underTick(r.tl) {
		return nil
	}
	return &option.Mistake{Col: l.col, Found: l.text(),
		Want: fmt.Sprintf("a length of at least a tick (1/%d)", 4*r.tl.PPQ())}
}

func tooMany(col int, found string) *option.Mistake {
	return &option.Mistake{Col: col, Found: found, Want: fmt.Sprintf("a span of at most %d ranges", maxStretches)}
}

func tooManyInAll(text string) *option.Mistake {
	return &option.Mistake{Col: 1, Found: text, Want: fmt.Sprintf("a list of at most %d ranges in all", maxStretches)}
}

func (allSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	if r.song.End <= 0 {
		return nil, nil
	}
	return r.whole(), nil
}

// at returns the tick of a place written as bar.beat, at most the song's end.
func (r *spanResolver) at(p pos) (song.Tick, *option.Mistake) {
	bars := r.song.Bars()
	t := inBeat(r.tl, p.bar, p.beat-1, 0)
	want, past := "", remark.Remark{Found: p.text(), Bar: p.bar}
	switch {
	case p.bar > bars+1 || p.bar == bars+1 && p.beat > 1:
		want = fmt.Sprintf("bars within 1-%d", max(bars, 1))
		past.Kind, past.Numbers = remark.BarClipped, []int{max(bars, 1)}
	case p.beat > beatsIn(r.tl, p.bar):
		want = fmt.Sprintf("beats within 1-%d in bar %d", beatsIn(r.tl, p.bar), p.bar)
		past.Kind, past.Numbers = remark.BeatClipped, []int{beatsIn(r.tl, p.bar)}
	default:
		return min(t, r.song.End), nil
	}
	if r.strict {
		return 0, &option.Mistake{Col: p.col, Found: p.text(), Want: want}
	}
	r.tell(past)
	return min(t, r.song.End), nil
}

func (s posSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	from, e := r.at(s.from)
	if e != nil {
		return nil, e
	}
	to, e := r.at(s.to)
	if e != nil || to <= from {
		return nil, e
	}
	return []stretch{{Range: song.Range{Start: from, End: to}}}, nil
}

func (s sectionSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	in, e := s.indices(r)
	if e != nil {
		return nil, e
	}
	for _, b := range s.but {
		gone, e := r.named(b)
		if e != nil {
			return nil, e
		}
		before := len(in)
		in = slices.DeleteFunc(in, func(i int) bool { return slices.Contains(gone, i) })
		if len(in) == before {
			r.tell(remark.Remark{Kind: remark.TakesNothing, Found: b.text()})
		}
	}
	var out []stretch
	for _, i := range in {
		if sec := r.section(i); sec.Start < sec.End {
			out = append(out, sec)
		}
	}
	return out, nil
}

func (s sectionSpan) indices(r *spanResolver) ([]int, *option.Mistake) {
	if s.named.name != "" {
		return r.named(s.named)
	}
	if len(r.song.Sections) == 0 {
		return nil, &option.Mistake{Col: s.col, Found: "section", Want: "a song that has sections"}
	}
	return r.sectionsWhere(func(song.Section) bool { return true }), nil
}

func (r *spanResolver) sectionsWhere(is func(song.Section) bool) []int {
	var out []int
	for i, sec := range r.song.Sections {
		if is(sec) {
			out = append(out, i)
		}
	}
	return out
}

// named returns the sections of that name; a name that no section bears means the kind.
func (r *spanResolver) named(n named) ([]int, *option.Mistake) {
	all := r.sectionsWhere(func(s song.Section) bool { return s.Name == n.name })
	if len(all) == 0 {
		all = r.sectionsWhere(func(s song.Section) bool { return s.Kind != song.NoKind && string(s.Kind) == n.name })
	}
	switch {
	case n.n == 0 && len(all) > 0:
		return all, nil
	case n.n > 0 && n.n <= len(all):
		return all[n.n-1 : n.n], nil
	case len(all) > 0:
		e := &option.Mistake{Col: n.col, Found: n.text(), Want: fmt.Sprintf("%s 1 to %s %d", n.name, n.name, len(all))}
		if len(all) == 1 {
			e.Want = fmt.Sprintf("%s, of which there is one", n.name)
			e.Hint = n.name
		}
		return nil, e
	}
	return nil, r.unknown(n)
}

// mostListed is how many sections a mistake lists, and looks for the nearest in.
const mostListed = 500

// unknown lists the sections there are, with the nearest word.
func (r *spanResolver) unknown(n named) *option.Mistake {
	e := &option.Mistake{Col: n.col, Found: n.text(), Want: "a song that has sections"}
	if len(r.song.Sections) > mostListed {
		e.Want = fmt.Sprintf("one of the names of %d sections", len(r.song.Sections))
		return e
	}
	var labels, said, names, kinds []string
	nth, total := map[string]int{}, map[string]int{}
	for _, s := range r.song.Sections {
		total[s.Name]++
	}
	for _, s := range r.song.Sections {
		nth[s.Name]++
		if isNameWord(s.Name) { // else it is a marker's text that no sentence can say
			label := s.Name
			if total[s.Name] > 1 {
				label = fmt.Sprintf("%s %d", s.Name, nth[s.Name])
			}
			labels = append(labels, label)
		}
		if nth[s.Name] > 1 {
			continue
		}
		names = append(names, s.Name)
		if isNameWord(s.Name) {
			said = append(said, s.Name)
		}
		if s.Kind != song.NoKind && !slices.Contains(kinds, string(s.Kind)) {
			kinds = append(kinds, string(s.Kind))
		}
	}
	if len(names) == 0 {
		return e
	}
	e.Want = "one of " + strings.Join(names, ", ")
	e.Hint = song.Nearest(n.text(), slices.Concat(labels, said, kinds))
	if e.Hint == "" && (synonym(n.name) == "all" || n.name == "song" || n.name == "track" || n.name == "loop") {
		e.Hint = "all"
	}
	return e
}

func (s outerSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	of, e := r.of(s.of)
	if e == nil {
		e = r.sized(s.length)
	}
	if e != nil {
		return nil, e
	}
	m := mention{found: s.length.text(), col: s.length.col, unit: s.length.unit, whole: true}
	var out []stretch
	for _, in := range of {
		got := song.Range{Start: in.Start}
		if s.last {
			got.End = r.line(in.End, s.length.unit)
			got.Start = s.length.backward(r.tl, got.End)
		} else {
			got.End = s.length.forward(r.tl, in.Start, 1, in.End)
		}
		fit, there, e := r.fit(in, got, m)
		if e != nil {
			return nil, e
		}
		if there {
			out = append(out, fit)
		}
	}
	return out, nil
}

func (s portionSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	of, e := s.of.stretches(r)
	if e != nil {
		return nil, e
	}
	one := Length{count: 1, unit: barUnit}
	var out []stretch
	for _, in := range of {
		bars := r.count(in, barUnit)
		from, to := s.portion.cut(bars)
		got := in
		if from > 0 {
			got.Start = one.forward(r.tl, in.Start, from, in.End)
		}
		if to < bars {
			got.End = one.forward(r.tl, in.Start, to, in.End)
		}
		if bars == 0 && !in.short {
			m := mention{found: s.portion.text(), col: s.portion.col, unit: barUnit, whole: true}
			if r.strict {
				return nil, &option.Mistake{Col: m.col, Found: m.found, Want: r.room(in, m)}
			}
			r.tell(remark.Remark{Kind: remark.UnderABar, Within: r.label(in)})
		}
		out = append(out, got)
	}
	return out, nil
}

func (s besideSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	at, e := s.place.instants(r, s.after)
	if e == nil {
		e = r.sized(s.length)
	}
	if e != nil {
		return nil, e
	}
	var out []stretch
	for _, t := range at {
		got := song.Range{Start: t}
		if s.after {
			got.End = s.length.forward(r.tl, t, 1, r.song.End)
		} else {
			got = song.Range{Start: s.length.backward(r.tl, r.line(t, s.length.unit)), End: t}
		}
		in := song.Range{Start: max(got.Start, 0), End: min(got.End, r.song.End)}
		if in.Start < in.End {
			out = append(out, stretch{Range: in, short: in != got})
		}
	}
	return out, nil
}

// instants returns the ticks of a place, in the order of its span; a span stands for its starts, or
// for its ends.
func (p place) instants(r *spanResolver, ends bool) ([]song.Tick, *option.Mistake) {
	switch p.edge {
	case posEdge:
		t, e := r.at(p.pos)
		return []song.Tick{t}, e
	case endEdge:
		return []song.Tick{r.song.End}, nil
	case startOfEdge:
		ends = false
	case endOfEdge:
		ends = true
	}
	in, e := p.span.stretches(r)
	if e != nil {
		return nil, e
	}
	var out []song.Tick
	for _, s := range in {
		if ends {
			out = append(out, s.End)
		} else {
			out = append(out, s.Start)
		}
	}
	return out, nil
}

func (s fromSpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	from, e := s.from.instants(r, false)
	if e != nil {
		return nil, e
	}
	to, e := s.to.instants(r, false)
	if e != nil {
		return nil, e
	}
	slices.Sort(to)
	var out []stretch
	var alone []song.Tick
	for _, f := range from {
		i, _ := slices.BinarySearch(to, f+1)
		if i == len(to) {
			alone = append(alone, f)
			continue
		}
		out = append(out, stretch{Range: song.Range{Start: f, End: to[i]}})
	}
	if len(alone) > 0 && len(out) == 0 {
		return nil, &option.Mistake{Col: s.to.col, Found: s.to.text(),
			Want: "a place after " + s.from.text() + " (" + r.positionText(alone[0]) + ")"}
	}
	for _, f := range alone {
		r.tell(remark.Remark{Kind: remark.NoneAfter, Found: s.to.text(), Within: r.positionText(f)})
	}
	s.tellBars(r)
	return out, nil
}

// tellBars says that "from bar 9 to bar 24" leaves bar 24 out, which many do not expect.
func (s fromSpan) tellBars(r *spanResolver) {
	from, ok := s.from.span.(countedSpan)
	to, too := s.to.span.(countedSpan)
	if !ok || !too || s.from.edge != noEdge || s.to.edge != noEdge ||
		from.unit != barUnit || to.unit != barUnit || from.ranged || to.ranged ||
		from.loop || to.loop || from.first >= to.first || ofText(from.of) != ofText(to.of) {
		return
	}
	through := countedSpan{unit: barUnit, first: from.first, last: to.first, ranged: true, of: to.of}
	r.tell(remark.Remark{Kind: remark.EndsBefore, Bar: to.first, Found: through.text()})
}

func (s everySpan) stretches(r *spanResolver) ([]stretch, *option.Mistake) {
	if e := r.sized(s.length); e != nil {
		return nil, e
	}
	of := r.perSection()
	if s.of != nil {
		var e *option.Mistake
		if of, e = s.of.stretches(r); e != nil {
			return nil, e
		}
	}
	var out []stretch
	for _, in := range of {
		a := in.Start
		for k := 1; a < in.End; k++ {
			b := s.next(r, in.Start, a, k, in.End)
			if !s.other || k%2 == 0 {
				out = append(out, stretch{
					Range: song.Range{Start: a, End: min(b, in.End)},
					short: b > r.line(in.End, s.length.unit),
				})
			}
			if a = b; len(out) > maxStretches {
				return nil, tooMany(s.length.col, s.length.text())
			}
		}
	}
	return out, nil
}

// next returns the k-th line after start; last is the one before. Note values are counted from the
// start, so that their rounding never adds up; beats from the last line, which is exact and quick.
func (s everySpan) next(r *spanResolver, start, last song.Tick, k int, stop song.Tick) song.Tick {
	if s.length.unit == beatUnit {
		return s.length.forward(r.tl, last, 1, stop)
	}
	return s.length.forward(r.tl, start, k, stop)
}
