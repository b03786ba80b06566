package recipes

import (
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// WriteRecipe returns the whole draft as a recipe: every part, section, line-up, default and choice
// spelled out, skipped steps as comments. Running it on the same loops gives the same bytes, and
// writing that draft out gives the same text. The result of [Hear] is written without arrangement.
func (r *Result) WriteRecipe() []byte {
	m, w := r.made, &writer{}
	w.top(m)
	w.parts(m.loop)
	w.sections(m)
	w.moves(m)
	w.review(m.order.r)
	return []byte(w.String())
}

// writer writes YAML that [Parse] reads back to the same texts.
type writer struct{ strings.Builder }

func (w *writer) key(name, value string) { w.WriteString(name + ": " + value + "\n") }

func (w *writer) top(m made) {
	if len(m.loop.given) > 0 {
		w.loops(m)
	} else if names := writable(m.loop.names); len(names) > 0 {
		w.key("input", list(names))
	}
	if m.loop.sought {
		if len(m.loop.given) == 0 {
			w.key("loop", where.Extent{Bars: m.loop.loop.Bars}.Texts()[0])
		}
		tl := m.loop.song.Time()
		micros := int64(tl.TempoAt(0))
		bpm := (60_000_000_000 + micros/2) / micros
		if bpm >= smf.SlowestTempo && bpm <= smf.FastestTempo {
			w.key("bpm", smf.DecimalText(bpm, 3))
		}
		w.key("metre", tl.MetreIn(1).String())
	}
	if m.laid.layout != nil {
		w.key("length", where.Extent{Bars: m.laid.plan.bars}.Texts()[0])
	}
	w.key("phrase", where.Extent{Bars: m.order.r.phrase()}.Texts()[0])
	w.key("seed", strconv.FormatUint(m.order.seed, 10))
}

// loops writes the loops with their files and, where they are not all of them, their bars.
func (w *writer) loops(m made) {
	var loops flowMap
	for _, g := range m.loop.given {
		var files []string
		for _, in := range g.files {
			name := strings.ReplaceAll(in.Name, "\\", "/")
			if !besideRecipe(name) {
				name = path.Base(name)
			}
			files = append(files, name)
		}
		text := scalar(files[0])
		if len(files) > 1 {
			text = list(files)
		}
		if g.first > 0 {
			var m flowMap
			m.add("file", text)
			if g.marker != "" {
				m.add("marker", scalar(g.marker))
			} else {
				m.add("bars", fmt.Sprintf("%d-%d", g.first, g.last))
			}
			text = m.String()
		}
		loops.add(g.name, text)
	}
	w.key("loops", loops.String())
}

// writable returns names, or nil where one of them cannot be written.
func writable(names []string) []string {
	for _, n := range names {
		if n == "" || !utf8.ValidString(n) {
			return nil
		}
	}
	return names
}

func (w *writer) parts(l foundLoop) {
	overrides := l.report.Overrides(l.song)
	if len(overrides) == 0 {
		return
	}
	w.WriteString("\nparts:\n")
	for i, o := range overrides {
		w.WriteString("  " + scalar(o.Name) + ": " + partText(l.song.Parts[i], o) + "\n")
	}
}

func partText(p song.Part, o listen.Override) string {
	var m flowMap
	if !nameOfAnother(p) {
		m.add("track", strconv.Itoa(o.Track))
		if o.TrackName != "" && utf8.ValidString(o.TrackName) {
			m.add("name", scalar(o.TrackName))
		}
		m.add("channel", strconv.Itoa(o.Channel))
		if o.Port != nil {
			m.add("port", strconv.Itoa(*o.Port))
		}
		if o.Keys != nil {
			m.add("keys", numbers(o.Keys))
		}
		if o.At != nil {
			m.add("at", list(o.At))
		}
	}
	if o.Loop != "" {
		m.add("loop", o.Loop)
	}
	m.add("role", o.Role)
	if o.Job != "" {
		m.add("job", o.Job)
	}
	if o.Cycle > 0 {
		m.add("cycle", where.Extent{Bars: o.Cycle}.Texts()[0])
	}
	if len(o.Cycles) > 0 {
		var cycles flowMap
		for _, c := range o.Cycles {
			cycles.add(c.Loop, where.Extent{Bars: c.Bars}.Texts()[0])
		}
		m.add("cycle", cycles.String())
	}
	if o.Home != nil {
		var home flowMap
		for _, h := range o.Home {
			home.add(option.ControllerText(h.Controller), strconv.Itoa(h.Value))
		}
		m.add("home", home.String())
	}
	if o.Mapped != nil {
		var names []string
		for _, c := range o.Mapped {
			names = append(names, option.ControllerText(c))
		}
		m.add("mapped", list(names))
	}
	m.add("tails", choice(p.RingsOn(), "ring", "cut"))
	m.add("entry", choice(p.Restrikes(), "restrike", "wait"))
	return m.String()
}

// nameOfAnother tells whether a part is called as another role than the recipe gave it: only by that name, as
// it is found, may it have that.
func nameOfAnother(p song.Part) bool {
	word, _, _ := strings.Cut(p.Name, " ")
	role, ok := song.RoleWord(word)
	sameJob := slices.Contains(song.Jobs(), song.Job(word)) && role.Job() == p.Role.Job() // the word means the job
	return ok && role != p.Role && !sameJob
}

func choice(is bool, yes, no string) string {
	if is {
		return yes
	}
	return no
}

func (w *writer) sections(m made) {
	if len(m.laid.plan.sections) == 0 {
		return
	}
	w.WriteString("\nsections:\n")
	for i, sec := range m.laid.plan.sections {
		spec := m.order.r.Sections[i]
		var f flowMap
		f.add("name", scalar(sec.Name))
		if sec.Kind != song.NoKind {
			f.add("kind", string(sec.Kind))
		}
		f.add("bars", strconv.Itoa(sec.Bars))
		f.add("phase", choice(spec.RunOn, "run-on", "to-end"))
		if spec.Least > 0 {
			f.add("least", strconv.Itoa(spec.Least))
		}
		if names := m.loop.loopNames(); len(names) > 1 {
			loop := m.laid.plan.loops[i]
			text := names[loop.loop]
			if loop.over >= 0 {
				text += " over " + names[loop.over]
			}
			f.add("loop", text)
		}
		f.add("play", list(m.lineUpTexts(i)))
		w.WriteString("  - " + f.String() + "\n")
	}
}

// LineUp returns what the line-up of a section is resolved in, and who plays there in names of parts, found or not, as it
// would be written for the section's bars. Base of it is nil. false where there is no such section; it counts from 0.
func (r *Result) LineUp(section int) (in where.SectionContext, texts []string, ok bool) {
	m := r.made
	if section < 0 || section >= len(m.plays) {
		return in, nil, false
	}
	return m.order.sectionContext(m.laid, section), m.lineUpTexts(section), true
}

// Plays returns, for each part of the loop, in which ticks of a section its line-up lets it play; nil where there is no such
// section. It counts from 0.
func (r *Result) Plays(section int) [][]song.Range {
	if section < 0 || section >= len(r.made.plays) {
		return nil
	}
	return r.made.plays[section]
}

// lineUpTexts writes the line-up of a section in the names of the parts. A trigger that is not named plays wherever anything plays;
// one that rests while others play is said to leave, as the only one of its item, where the section begins.
func (m made) lineUpTexts(section int) []string {
	in, loop, plays := m.order.sectionContext(m.laid, section), m.loop.song, m.plays[section]
	playing := slices.ContainsFunc(plays, func(ranges []song.Range) bool { return len(ranges) > 0 })
	var out []string
	for p, ranges := range plays {
		for _, r := range ranges {
			out = append(out, m.itemTexts(in, section, p, r)...)
		}
		if playing && len(ranges) == 0 && loop.Parts[p].Role == song.RoleTrigger {
			out = append(out, where.PartText(loop, p)+" out in turn")
		}
	}
	return out
}

// itemTexts writes that a part plays in a stretch of a section: an item for each loop that it plays there.
func (m made) itemTexts(in where.SectionContext, section, part int, r song.Range) []string {
	word := where.PartText(m.loop.song, part)
	start := m.laid.song.SectionRange(m.laid.plan.sections[section]).Start
	var out []string
	left := []song.Range{r}
	if played := m.laid.played(); part < len(played) {
		for _, o := range played[part] {
			o.Start, o.End = o.Start-start, o.End-start
			for _, here := range song.Intersect([]song.Range{r}, []song.Range{o.Range}) {
				out = append(out, in.Item(word+" of "+m.loop.given[o.Loop].name, here))
			}
			var rest []song.Range
			for _, piece := range song.Without(left, []song.Range{o.Range}) {
				rest = append(rest, piece.Range)
			}
			left = rest
		}
	}
	for _, r := range left {
		out = append(out, in.Item(word, r))
	}
	return out
}

func (w *writer) moves(m made) {
	if m.steps == nil {
		return
	}
	done, skipped := m.steps.done, slices.Clone(m.order.r.skipped)
	if len(done) == 0 && len(skipped) == 0 {
		return
	}
	w.WriteString("\nmoves:\n")
	written := false
	for _, s := range done {
		for len(skipped) > 0 && skipped[0].before <= s.index {
			w.skipped(skipped[0].text)
			skipped = skipped[1:]
		}
		if s.skipped.Kind != "" {
			given := m.order.r.catalogue().Of(s.step).Given(s.step)
			w.skipped(stepText(s.step, given) + " (" + m.order.o.Text(s.skipped) + ")")
			continue
		}
		written = true
		w.WriteString("  - " + stepText(s.step, allOptions(s.step)) + "\n")
	}
	for _, s := range skipped {
		w.skipped(s.text)
	}
	if !written {
		w.WriteString("  []\n")
	}
}

// skipped writes a comment for a step that was skipped. A comment knows no escapes: what cannot be seen becomes a
// question mark.
func (w *writer) skipped(text string) {
	w.WriteString("  " + skippedMark + strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, text) + "\n")
}

// allOptions returns the options of a step that is spelled out: every one that has a value, the parts as a
// list even where there is one.
func allOptions(step moves.Step) []option.Given {
	var out []option.Given
	for _, g := range option.ValuesOf(step) {
		g.List = g.List || g.Name == "part"
		if len(g.Texts) > 0 {
			out = append(out, g)
		}
	}
	return out
}

func stepText(step moves.Step, options []option.Given) string {
	var m flowMap
	for _, g := range options {
		if g.List {
			m.add(g.Name, list(g.Texts))
		} else {
			m.add(g.Name, scalar(g.Texts[0]))
		}
	}
	return step.Name() + ": " + m.String()
}

// flowMap is a map on one line.
type flowMap struct{ entries []string }

func (m *flowMap) add(key, value string) { m.entries = append(m.entries, scalar(key)+": "+value) }

func (m *flowMap) String() string { return "{" + strings.Join(m.entries, ", ") + "}" }

// list writes a list of texts on one line.
func list(texts []string) string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = scalar(t)
	}
	return "[" + strings.Join(out, ", ") + "]"
}

func numbers(keys []int) string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = strconv.Itoa(k)
	}
	return "[" + strings.Join(out, ", ") + "]"
}

// scalar writes a text so that YAML reads the same text: as it is where nothing in it means
// something to YAML, else in double quotes, where what cannot be seen is escaped (YAML 1.2.2 section 5.7).
func scalar(text string) string {
	if isPlain(text) {
		return text
	}
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range text {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case unicode.IsPrint(r):
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, `\U%08X`, r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// isPlain tells whether a text consists of words and numbers of the language only and would not be
// read as null or a merge key.
func isPlain(text string) bool {
	switch strings.ToLower(text) {
	case "", "null":
		return false
	}
	for i, r := range text {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9':
		case i > 0 && i < len(text)-1 && strings.ContainsRune(" ._-/+", r):
		case i > 0 && r == '%':
		default:
			return false
		}
	}
	return true
}
