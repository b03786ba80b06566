package recipes

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// spelledOut returns a step with everything in it said: the parts by name, the span, every default
// and the seed. in is the song it was carried out on.
func (d *drafter) spelledOut(m moves.Move, spec StepSpec, seed uint64, in song.Song) doneStep {
	done := doneStep{spec: spec}
	for _, g := range m.Values(spec.Step) {
		switch {
		case g.Name == "part":
			g.Texts, g.List = partTexts(in, d.env.Parts), true
			if len(g.Texts) == 0 {
				done.skipped = "no such part"
			}
		case g.Where != option.Nowhere:
			var none bool
			if g, none = d.whereSpelledOut(g, in); none && done.skipped == "" {
				done.skipped = "no such place"
			}
		case g.Name == "seed" && len(g.Texts) == 0:
			g.Texts = []string{strconv.FormatUint(seed, 10)}
		}
		if len(g.Texts) > 0 {
			done.options = append(done.options, g)
		}
	}
	if done.skipped != "" {
		done.options = m.Given(spec.Step)
	}
	return done
}

func partTexts(in song.Song, parts []int) []string {
	var out []string
	for _, p := range parts {
		out = append(out, where.PartText(in, p))
	}
	return out
}

// whereSpelledOut keeps spans or places as they are written unless they say more than there is, which
// only a built-in recipe may: then they are written as the bars and beats they came to. none tells that
// none of them is there.
func (d *drafter) whereSpelledOut(g option.Given, in song.Song) (out option.Given, none bool) {
	if len(g.Texts) == 0 {
		if g.Name != "over" {
			return g, false
		}
		g.Texts = []string{"all"}
	}
	strict, loose := where.SpanContext{Song: in, Strict: true}, where.SpanContext{Song: in}
	var texts []string
	ok := true
	if g.Where == option.InSpans {
		spans, _ := where.ParseSpans(g.Texts...)
		ranges, _, err := spans.Resolve(strict)
		if err == nil {
			return g, len(ranges) == 0
		}
		ranges, _, _ = spans.Resolve(loose)
		for _, r := range ranges {
			text, whole := where.RangeText(in, r)
			texts, ok = append(texts, text), ok && whole
		}
	} else {
		places, _ := where.ParsePlaces(g.Texts...)
		at, _, err := places.Resolve(strict)
		if err == nil {
			return g, len(at) == 0
		}
		at, _, _ = places.Resolve(loose)
		for _, t := range at {
			text, whole := where.PlaceText(in, t)
			texts, ok = append(texts, text), ok && whole
		}
	}
	if !ok || len(texts) == 0 {
		return g, len(texts) == 0
	}
	g.Texts, g.List = texts, len(texts) > 1
	return g, false
}

// WriteRecipe returns the whole draft as a recipe: every part, section, line-up, default and choice
// spelled out, skipped steps as comments. Running it on the same loops gives the same bytes, and
// writing that draft out gives the same text. The result of [Hear] is written without arrangement.
func (r *Result) WriteRecipe() []byte {
	d := r.draft
	w := &writer{}
	w.top(d)
	w.parts(d)
	w.sections(d)
	w.moves(d)
	w.review(d.r)
	return []byte(w.String())
}

// writer writes YAML that [Parse] reads back to the same texts.
type writer struct{ strings.Builder }

func (w *writer) key(name, value string) { w.WriteString(name + ": " + value + "\n") }

func (w *writer) top(d *drafter) {
	if names := d.inputNames(); len(names) > 0 {
		w.key("input", list(names))
	}
	if d.found {
		w.key("loop", where.Extent{Bars: d.loop.Bars}.Texts()[0])
		tl := d.res.Loop.Time()
		micros := int64(tl.TempoAt(0))
		bpm := (60_000_000_000 + micros/2) / micros
		if bpm >= minBPM*1000 && bpm <= maxBPM*1000 {
			w.key("bpm", bpmText(bpm))
		}
		w.key("metre", tl.MetreIn(1).String())
	}
	if d.laid {
		w.key("length", where.Extent{Bars: d.plan.bars}.Texts()[0])
	}
	w.key("phrase", where.Extent{Bars: d.r.phrase()}.Texts()[0])
	w.key("seed", strconv.FormatUint(d.seed, 10))
}

// inputNames returns the names of the loops, "" where one cannot be written.
func (d *drafter) inputNames() []string {
	for _, n := range d.names {
		if n == "" || !utf8.ValidString(n) {
			return nil
		}
	}
	return d.names
}

func (w *writer) parts(d *drafter) {
	overrides := d.report.Overrides(d.res.Loop)
	if len(overrides) == 0 {
		return
	}
	w.WriteString("\nparts:\n")
	for i, o := range overrides {
		w.WriteString("  " + scalar(o.Name) + ": " + partText(d.res.Loop.Parts[i], o) + "\n")
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
	m.add("role", o.Role)
	if o.Job != "" {
		m.add("job", o.Job)
	}
	if o.Cycle > 0 {
		m.add("cycle", where.Extent{Bars: o.Cycle}.Texts()[0])
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

func (w *writer) sections(d *drafter) {
	if len(d.plan.sections) == 0 {
		return
	}
	w.WriteString("\nsections:\n")
	for i, sec := range d.plan.sections {
		spec := d.r.Sections[i]
		var m flowMap
		m.add("name", scalar(sec.Name))
		if sec.Kind != song.NoKind {
			m.add("kind", string(sec.Kind))
		}
		m.add("bars", strconv.Itoa(sec.Bars))
		m.add("phase", choice(spec.RunOn, "run-on", "to-end"))
		if spec.Least > 0 {
			m.add("least", strconv.Itoa(spec.Least))
		}
		m.add("play", list(lineUpTexts(d.res.Loop, d.plays[i], sec.Bars)))
		w.WriteString("  - " + m.String() + "\n")
	}
}

// lineUpTexts writes a line-up in the names of the parts.
func lineUpTexts(s song.Song, plays [][]where.BarRange, bars int) []string {
	var out []string
	for p, ranges := range plays {
		for _, r := range ranges {
			text := where.PartText(s, p)
			if r.First > 1 {
				text += fmt.Sprintf(" from %d", r.First)
			}
			if r.Last < bars {
				text += fmt.Sprintf(" to %d", r.Last)
			}
			out = append(out, text)
		}
	}
	return out
}

func (w *writer) moves(d *drafter) {
	if len(d.steps) == 0 && len(d.r.skipped) == 0 {
		return
	}
	skipped := slices.Clone(d.r.skipped)
	w.WriteString("\nmoves:\n")
	written := false
	for _, s := range d.steps {
		for len(skipped) > 0 && skipped[0].before <= s.index {
			w.WriteString("  " + skippedMark + skipped[0].text + "\n")
			skipped = skipped[1:]
		}
		if s.skipped != "" {
			w.WriteString("  " + skippedMark + stepText(s.spec.Move, s.options) + " (" + s.skipped + ")\n")
			continue
		}
		written = true
		w.WriteString("  - " + stepText(s.spec.Move, s.options) + "\n")
	}
	for _, s := range skipped {
		w.WriteString("  " + skippedMark + s.text + "\n")
	}
	if !written {
		w.WriteString("  []\n")
	}
}

func stepText(move string, options []option.Given) string {
	var m flowMap
	for _, g := range options {
		if g.List {
			m.add(g.Name, list(g.Texts))
		} else {
			m.add(g.Name, scalar(g.Texts[0]))
		}
	}
	return move + ": " + m.String()
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
// something to YAML, else in double quotes.
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
		case r >= ' ' && r < 0x7F, r >= 0xA0 && r < 0xD800 && r != 0x2028 && r != 0x2029, r >= 0xE000 && r < 0xFEFF:
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
