package review

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// subject is a song with what several rules ask of it.
type subject struct {
	in     Input
	file   song.Song // as it was before any answer, which is what a recipe of the answers starts from
	o      Options
	checks []Check
	song   song.Song // with the sections it is looked at by
	titles []string  // of the sections, see namesOf
	sure   []int     // of their kinds, in percent
	strict []bool    // which of them bear a word of club music, see contrast
	marked bool      // the sections are told, by markers or a recipe, and not heard
	time   *smf.Timeline
	first  int // the bar in which the music begins: bars before it are set-up
	bars   int
	told   []string
	broken []song.Violation

	loopBroken map[brokenAt]bool // what is broken in the loop of a draft; nil: nobody has asked

	foundOf      map[Check][]Finding // what was looked for so far
	low, loopLow map[int][]pair      // the parts that are low at once in the song, and in the loop of a draft, by the key under which

	measured  bool // what follows is known; a song of far more bars than notes is not measured
	energy    form.Energy
	parts     []heardPart
	heardBy   map[int]form.Structure       // of a song of which nothing else is known, by phrase
	changedAt map[lineBy][]form.LineChange // of a draft
	led       map[int]bool                 // of a draft: whether the line where a bar starts is prepared
}

// lineBy is the line where a bar starts, as it is heard by a phrase.
type lineBy struct{ phrase, bar int }

// heardPart is what a part does bar by bar, counted from 0.
type heardPart struct {
	onsets  []int32
	sounds  []bool   // a note sounds in the bar; of a drum, one is struck
	content []uint64 // what is struck and where in the bar, 0 for nothing

	short map[int][]shortNote // notes that are too short, by how many milliseconds are; nil: nobody has asked
}

func newSubject(in Input, o Options) (*subject, error) {
	tl := in.Song.Time()
	if tl == nil {
		return nil, errors.New("found a file without common bars (format 2 or SMPTE time), want format 0 or 1 in ticks per quarter note")
	}
	s := &subject{in: in, file: in.Song.WithSections(nil), o: o, checks: o.Checks, song: in.Song, time: tl, first: in.Song.FirstBar(), bars: in.Song.Bars(), broken: in.Song.Check()}
	s.foundOf, s.low, s.loopLow = map[Check][]Finding{}, map[int][]pair{}, map[int][]pair{}
	if s.bars == 0 {
		return nil, errors.New("found a file that ends where it begins, want at least a bar")
	}
	if s.in.preparer == nil {
		s.in.preparer = form.NewPreparer(form.DefaultPrepareRule())
	}
	if s.checks == nil {
		s.checks = asTheyAre()
	}
	if in.Known.of(in) {
		s.in.preparer = in.Known.subject.in.preparer
		return in.Known.subject.by(s.in, o, s.checks), nil
	}
	var err error
	if s.energy, err = in.Heard.Again(in.Song); err != nil {
		s.told = append(s.told, err.Error()+"; only broken things were looked for")
		s.setSections()
		return s, nil
	}
	s.measured = true
	for i := range in.Song.Parts {
		s.parts = append(s.parts, s.hear(&in.Song.Parts[i]))
	}
	s.setSections()
	s.heardBy, s.changedAt, s.led = map[int]form.Structure{}, map[lineBy][]form.LineChange{}, map[int]bool{}
	return s, nil
}

// of tells whether it is known of a song, and of what that was made of.
func (k *Known) of(in Input) bool {
	if k == nil || k.subject == nil || !k.subject.measured || !k.subject.marked {
		return false
	}
	same := func(a, b song.Song) bool {
		return a.Time() == b.Time() && a.End == b.End && slices.Equal(a.Tracks, b.Tracks) && slices.Equal(a.Sections, b.Sections) &&
			len(a.Parts) == len(b.Parts) && (len(a.Parts) == 0 || &a.Parts[0] == &b.Parts[0])
	}
	was := k.subject.in
	return same(was.Song, in.Song) && same(was.Full, in.Full) && same(was.Lined, in.Lined) && was.LoopBars == in.LoopBars && slices.Equal(was.Energies, in.Energies)
}

// by returns the subject of the same song to be looked at by other rules.
func (s *subject) by(in Input, o Options, checks []Check) *subject {
	out := *s
	out.in, out.file, out.o, out.checks, out.first = in, in.Song.WithSections(nil), o, checks, in.Song.FirstBar()
	out.heardBy, out.changedAt, out.led = maps.Clone(s.heardBy), maps.Clone(s.changedAt), maps.Clone(s.led)
	out.foundOf, out.low, out.loopLow = map[Check][]Finding{}, maps.Clone(s.low), maps.Clone(s.loopLow)
	return &out
}

// asTheyAre returns all rules, with their numbers as they are.
func asTheyAre() []Check {
	var out []Check
	for _, entry := range entries() {
		out = append(out, entry().New())
	}
	return out
}

// changed returns the subject with its song changed. Sections stay as they are, and so do parts, levels and lines
// where the song is the same; only a song of another length is looked at anew.
func (s *subject) changed(to song.Song) (*subject, error) {
	out := *s
	out.in.Song = to.WithSections(s.in.Song.Sections)
	if to.End != s.song.End || to.Time() != s.time || !s.measured {
		return newSubject(out.in, s.o)
	}
	out.song, out.broken = to.WithSections(s.song.Sections), to.Check()
	var err error
	if out.energy, err = s.energy.Again(out.song); err != nil {
		return nil, err
	}
	out.parts = make([]heardPart, len(to.Parts))
	lows := len(to.Parts) == len(s.song.Parts) // the low parts play what they played
	lasts := lows && len(to.Tracks) == len(s.song.Tracks)
	for i := range to.Tracks {
		lasts = lasts && sameEvents(to.Tracks[i].Events, s.song.Tracks[i].Events)
	}
	var touched song.Range
	for i := range to.Parts {
		p := &to.Parts[i]
		was := i // parts that a move adds come after the others of their track
		if was >= len(s.song.Parts) || s.song.Parts[was].Name != p.Name {
			was, lasts, lows = s.song.Index(p.Name), false, false
		}
		if was >= 0 && p.Kit == s.song.Parts[was].Kit && sameNotes(p.Notes, s.song.Parts[was].Notes) {
			out.parts[i] = s.parts[was]
			continue
		}
		out.parts[i] = out.hear(p)
		lows = lows && !mayBeLow(p)
		if lasts {
			touched = hull(touched, apartIn(s.song.Parts[was].Notes, p.Notes))
		}
	}
	out.heardBy, out.changedAt, out.led = map[int]form.Structure{}, map[lineBy][]form.LineChange{}, map[int]bool{}
	if out.foundOf = map[Check][]Finding{}; !lows {
		out.low = map[int][]pair{}
	}
	if lasts { // lines away from what was touched are as they were
		first, end := s.time.BarOf(touched.Start), s.time.BarOf(max(touched.End-1, touched.Start))
		for at, changes := range s.changedAt {
			if touched.Len() == 0 || at.bar+at.phrase <= first || at.bar-at.phrase > end {
				out.changedAt[at] = changes
			}
		}
		for bar, prepared := range s.led {
			if touched.Len() == 0 || bar+1 < first || s.ledFrom(bar) > end {
				out.led[bar] = prepared
			}
		}
	}
	return &out, nil
}

// ledFrom returns the first bar that what prepares a line is told by: that of the section before it, or a pass before the
// bars in which it is prepared.
func (s *subject) ledFrom(bar int) int {
	rule := form.DefaultPrepareRule()
	from := bar - 2*max(rule.Bars, rule.DropBars) - s.passTo(bar)
	if i := s.sectionAt(bar - 1); i >= 0 {
		from = min(from, s.song.Sections[i].Bar)
	}
	return from
}

// apartIn returns where two lists of notes are not the same.
func apartIn(a, b []song.Note) song.Range {
	for len(a) > 0 && len(b) > 0 && a[0] == b[0] {
		a, b = a[1:], b[1:]
	}
	for len(a) > 0 && len(b) > 0 && a[len(a)-1] == b[len(b)-1] {
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	var out song.Range
	for _, notes := range [][]song.Note{a, b} {
		for _, n := range notes {
			out = hull(out, song.Range{Start: n.Start, End: max(n.End, n.Start+1)})
		}
	}
	return out
}

// hull returns the range from the start of the first of two to the end of the last; one that is empty does not count.
func hull(a, b song.Range) song.Range {
	switch {
	case a.Len() == 0:
		return b
	case b.Len() == 0:
		return a
	}
	return song.Range{Start: min(a.Start, b.Start), End: max(a.End, b.End)}
}

// sameEvents tells whether two lists are one and the same.
func sameEvents(a, b []song.Event) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

// sameNotes tells whether two lists are one and the same.
func sameNotes(a, b []song.Note) bool {
	return len(a) == len(b) && (len(a) == 0 || &a[0] == &b[0])
}

// hear goes once over the notes of a part.
func (s *subject) hear(p *song.Part) heardPart {
	h := heardPart{onsets: make([]int32, s.bars), sounds: make([]bool, s.bars), content: make([]uint64, s.bars)}
	grain := max(s.time.PPQ()/16, 1)
	until := -1 // last bar in which a note that was struck still sounds
	bar, start := 0, song.Tick(0)
	next := func(b int) { // marks what is held up to a bar
		for ; bar < b; bar++ {
			h.sounds[bar] = h.sounds[bar] || bar <= until
		}
	}
	last, counter := song.Tick(-1), s.song.Counter()
	for _, n := range p.Notes {
		at, b := counter.Counted(n.Start), counter.Bar(n.Start)-1
		if b >= s.bars {
			break
		}
		if b > bar {
			next(b)
			start = s.time.BarStart(b + 1)
		}
		h.sounds[b] = true
		if last < 0 || at-last >= grain {
			h.onsets[b]++
			last = at
		}
		h.content[b] += mix(uint64((at-start)/grain)<<8 | uint64(n.Key))
		if !p.Kit && n.End > n.Start {
			until = max(until, s.time.BarOf(min(n.End, s.song.End)-1)-1)
		}
	}
	next(s.bars)
	return h
}

// mix spreads a number over 64 bits (the finalizer of splitmix64), so that sums of them tell sets apart.
func mix(x uint64) uint64 {
	x += 0x9E3779B97F4A7C15
	x = (x ^ x>>30) * 0xBF58476D1CE4E5B9
	x = (x ^ x>>27) * 0x94D049BB133111EB
	return x ^ x>>31
}

// findAll returns the findings of all checks in their order.
func (s *subject) findAll() []Finding { return s.find("") }

// find returns the findings of the checks of a rule in their order; of all rules where it is "".
func (s *subject) find(only string) []Finding {
	type ranked struct {
		Finding
		rule int
	}
	var all []ranked
	for _, c := range s.checks {
		rule, i := ruleOf(c)
		if !s.looksBy(rule) || only != "" && rule.Name != only {
			continue
		}
		for _, f := range s.foundBy(c) {
			f.Rule, f.Parts = rule.Name, append([]string{}, f.Parts...)
			if i := s.sectionAt(f.First); i >= 0 {
				f.Section = s.titles[i]
				if rule.Sections && s.sure[i] < sureFrom {
					f.Level = Note
				}
			}
			all = append(all, ranked{f, i})
		}
	}
	slices.SortStableFunc(all, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(b.Level, a.Level), cmp.Compare(a.First, b.First), cmp.Compare(a.rule, b.rule))
	})
	out := make([]Finding, len(all))
	for i, f := range all {
		out[i] = f.Finding
	}
	return out
}

// foundBy returns what a check finds, which it looks for once.
func (s *subject) foundBy(c Check) []Finding {
	found, known := s.foundOf[c]
	if !known {
		found = c.find(s)
		s.foundOf[c] = found
	}
	return found
}

// looksBy tells whether a rule can be looked by.
func (s *subject) looksBy(r Rule) bool {
	return (s.measured || r.Group == Broken) && (!r.Sections || len(s.song.Sections) > 0) && (!r.Energies || len(s.in.Energies) > 0)
}

// lines are the bars at which something is due to change: each section's first and, counted from it,
// every phrase.
func (s *subject) lines(phrase int) []int {
	var out []int
	for _, sec := range s.song.Sections {
		for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar += phrase {
			out = append(out, bar)
		}
	}
	return out
}

// structure returns what is heard in a song of which nothing else is known.
func (s *subject) structure(phrase int) form.Structure {
	st, known := s.heardBy[phrase]
	if !known {
		st = form.StructureBy(s.song, s.energy, phrase)
		s.heardBy[phrase] = st
	}
	return st
}

// changes returns what changes at a line.
func (s *subject) changes(phrase, bar int) []form.LineChange {
	if s.in.Full.Time() == nil {
		return s.structure(phrase).Bars[bar-1].Changes
	}
	if _, known := s.changedAt[lineBy{phrase, bar}]; !known {
		lines := slices.DeleteFunc(s.lines(phrase), func(bar int) bool {
			_, known := s.changedAt[lineBy{phrase, bar}]
			return known
		})
		if s.in.strikes == nil {
			s.in.strikes = form.NewStrikes(s.in.Full)
		}
		for i, changes := range s.in.strikes.ChangesAt(form.DefaultLineRule(phrase), s.song, s.energy, lines) {
			s.changedAt[lineBy{phrase, lines[i]}] = changes
		}
	}
	return s.changedAt[lineBy{phrase, bar}]
}

// passTo returns the length in bars of the loop that plays up to the line where a bar starts.
func (s *subject) passTo(bar int) int {
	if n := len(s.in.Passes); n > 0 {
		return s.in.Passes[min(max(bar-2, 0), n-1)]
	}
	return s.in.LoopBars
}

// prepared tells whether any part prepares the line where a bar starts.
func (s *subject) prepared(bar int) bool {
	if s.in.Lined.Time() == nil {
		return len(s.structure(preparedPhrase).Bars[bar-1].Preparing) > 0
	}
	if _, known := s.led[bar]; !known {
		s.led[bar] = s.in.preparer.Prepared(s.song, s.in.Lined, s.passTo(bar), bar)
	}
	return s.led[bar]
}

// preparedPhrase is the phrase by which lines are heard where a rule has none of its own, in bars.
const preparedPhrase = 8

// usual returns what a part usually plays in a stretch.
func (s *subject) usual(part int, over song.Range) []song.Note {
	as := s.in.Lined
	if as.Time() == nil {
		as = s.structure(preparedPhrase).Usual
	}
	if i := as.Index(s.song.Parts[part].Name); i >= 0 {
		return as.In(as.Parts[i], over)
	}
	return nil
}

// level returns the mean level of bars first to last in dB of one held note, rounded to a tenth.
func (s *subject) level(first, last int) float64 {
	return float64(s.energy.Mean(first, last).Sum().Level(form.Held)) / 10
}

// tenth rounds to a tenth.
func tenth(x float64) float64 { return math.Round(10*x) / 10 }

// playing counts the bars first to last in which a part sounds.
func (s *subject) playing(part, first, last int) int {
	n := 0
	for bar := max(first, 1); bar <= min(last, s.bars); bar++ {
		if s.parts[part].sounds[bar-1] {
			n++
		}
	}
	return n
}

// heard returns the parts that sound at all, without triggers.
func (s *subject) heard() []int {
	var out []int
	for i, p := range s.song.Parts {
		if p.Role != song.RoleTrigger && len(p.Notes) > 0 {
			out = append(out, i)
		}
	}
	return out
}

// barAt returns the bar that an onset counts to, within the song.
func (s *subject) barAt(t song.Tick) int {
	return min(max(s.time.BarOf(s.song.Counted(t)), 1), s.bars)
}

// barsText writes bars first to last as a span.
func barsText(first, last int) string {
	if first == last {
		return fmt.Sprintf("bar %d", first)
	}
	return fmt.Sprintf("bars %d-%d", first, last)
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// plural is "s" for all but one.
func plural(n int, singular, other string) string {
	if n == 1 {
		return singular
	}
	return other
}
