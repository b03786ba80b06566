// Package study learns from an arrangement: how long its sections are and what they are for, who plays
// in them and from where to where, what prepares each change, what is ridden, how loud it gets. [Of] hears
// all that in a song, [Study.Recipe] writes it as a recipe that can be laid over another loop.
package study

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/novelty"
	"loopdraft/smf/song"
)

// Study is how an arrangement is built.
type Study struct {
	Bars      int
	Seconds   float64
	BPM       float64 // at its start
	TempoSure float64 // of a tempo found in a recording, 0..1; else 1
	Metre     string  // at its start
	Phrase    int     // in bars
	Lines     []Line
	Sections  []Section
	Full      string   // what the levels of sections are told against
	Told      []string // what could not be told, or was assumed
}

// Line is a part, or a layer of sound, and where it plays.
type Line struct {
	Word    string // that a recipe calls it by: a role, job or group, or the N-th of one
	Name    string // in the file; "" where there is none
	Playing []bool // for each bar, from 0
}

// Section is a section and what goes on in it.
type Section struct {
	form.HeardSection
	Marker    string  // what the song calls it; "" for nothing
	Ref       string  // that a recipe calls it by: its name, numbered where several have it
	Start     float64 // in seconds
	Seconds   float64
	Share     float64  // of the song's bars, 0..1
	form.Told          // how loud it is
	Rise      float64  // loudness of its last quarter less that of its first, as shares of the loudest bar's
	Energy    string   // from its softest to its loudest phrase, as a section of a recipe says it; "": it is left open
	Plays     []string // who plays in it and when, part by part
	LineUp    []string // the same for any loop, as items of a line-up; empty for silence
	Moves     []Move   // in it, and before what follows
}

// Move is a move that does what was heard.
type Move struct {
	Heard   string // such as "kick out"
	Name    string
	Options []Option
}

// Option is an option of a move and its value as it is written in a recipe.
type Option struct{ Name, Value string }

// String returns the move as an item of a recipe's list of moves.
func (m Move) String() string {
	var options []string
	for _, o := range m.Options {
		options = append(options, o.Name+": "+o.Value)
	}
	return m.Name + ": {" + strings.Join(options, ", ") + "}"
}

// Of studies a song whose parts have roles, see [listen.Hear]. phrase is its phrase in bars; 0: as heard.
// Errors are those of [form.StructureOf], a song of more bars than a recipe has, and one in which nothing sounds.
func Of(s song.Song, phrase int) (*Study, error) {
	st, err := form.StructureOf(s, phrase)
	if err != nil {
		return nil, err
	}
	tl := s.Time()
	tempo, metre := s.Mostly()
	bpm := 6e7 / float64(tempo)
	out := &Study{
		Bars: s.Bars(), Seconds: float64(tl.Micros(s.End)) / 1e6, BPM: bpm, TempoSure: 1,
		Metre: metre.String(), Phrase: st.Phrase, Full: "the song's loudest phrase, played by General MIDI sounds",
	}
	if out.Bars > song.MaxBars {
		return nil, fmt.Errorf("found %d bars, want at most %d, the most a recipe has", out.Bars, song.MaxBars)
	}
	begin := tl.BarStart(s.FirstBar())
	metres, tempi := 0, 0
	for _, m := range tl.Metres() {
		if m.Tick > begin && m.Tick < s.End {
			metres++
		}
	}
	for _, t := range tl.Tempi() {
		if t.Tick > begin && t.Tick < s.End {
			tempi++
		}
	}
	if metres > 0 {
		out.Told = append(out.Told, times(metres, "the metre changes")+": a recipe has bars only")
	}
	if tempi > 0 {
		out.Told = append(out.Told, times(tempi, "the tempo changes")+": the bpm is that of most of it")
	}
	if n := offLine(s); n > 0 {
		out.Told = append(out.Told, times(n, "a marker stands off the bar line")+": it is not taken for a section")
	}
	out.setSections(sectionsOf(s, st), func(bar int) float64 { return float64(tl.Micros(tl.BarStart(bar))) / 1e6 })
	full := st.Energy.Full(form.FullPhrase)
	for i, sec := range out.Sections {
		out.Sections[i].Told = st.Energy.Tell(sec.Section, full)
		out.Sections[i].Energy = energyOf(st.Energy, sec.Section, st.Phrase, full)
	}
	r := &reader{Study: out, song: s, st: st}
	if r.setVoices(); !slices.ContainsFunc(r.voices, func(v voice) bool { return slices.Contains(v.lined, true) }) {
		return nil, errors.New("found no note that sounds, want an arrangement")
	}
	r.read()
	return out, nil
}

// energyOf writes how loud the phrases of a section are.
func energyOf(e form.Energy, sec song.Section, phrase int, full form.Power) string {
	low, high := math.MaxInt, 10
	for bar := sec.Bar; bar < sec.Bar+sec.Bars; bar += phrase {
		share := e.Mean(bar, min(bar+phrase, sec.Bar+sec.Bars)-1).Sum().Share(full)
		low, high = min(low, share), max(high, share)
	}
	const most = 150 // percent: no recipe may ask for more
	return fmt.Sprintf("%d%%..%d%%", min(max(low/10, 1), most), min((high+9)/10, most))
}

// times says how often something happens.
func times(n int, what string) string {
	if n == 1 {
		return what + " once"
	}
	return fmt.Sprintf("%s %d times", what, n)
}

// offLine counts the markers that do not stand on bar lines.
func offLine(s song.Song) int {
	n := 0
	for _, tr := range s.Tracks {
		for _, ev := range tr.Events {
			if kind, meta := ev.MetaType(); meta && kind == smf.MetaMarker && !s.Time().IsBarLine(ev.Tick) {
				n++
			}
		}
	}
	return n
}

// setSections sets what sections have in common, be they of notes or of sound.
func (st *Study) setSections(heard []form.HeardSection, seconds func(bar int) float64) {
	for _, h := range heard {
		sec := Section{HeardSection: h, Start: seconds(h.Bar), Share: float64(h.Bars) / float64(max(st.Bars, 1)), Rise: h.Stretch.Rise}
		sec.Seconds = seconds(h.Bar+h.Bars) - sec.Start
		if !h.Found {
			sec.Marker = h.Name
		}
		st.Sections = append(st.Sections, sec)
	}
	var named []song.Section
	for i := range st.Sections {
		st.Sections[i].Name = nameFor(st.Sections[i])
		named = append(named, st.Sections[i].Section)
	}
	for i, ref := range song.SectionNames(named) {
		st.Sections[i].Ref = ref
	}
}

// A song whose makers marked no sections has so many at most; so many hundredths of two that are alike in their parts
// are the same.
const (
	mostSections = 8
	manySections = 100 // of more, many are joined at a time: each time all are heard again
	alikeParts   = 80
	alikeDB      = 2
)

// sectionsOf returns the sections of a song: its own, without what is silent before the music; else those that are
// heard, of which neighbours of one kind that are alike in their parts are one, and the likest neighbours until there
// are few enough. What comes again, a groove or a drop, is of the kind that most of it is.
func sectionsOf(s song.Song, st form.Structure) []form.HeardSection {
	signs := st.Signs(s)
	var sectioning form.Sectioning
	heard := sectioning.By(st, signs)
	first, like := s.FirstBar(), newLikeness(s, st)
	for len(heard) > 1 && heard[0].Bar+heard[0].Bars <= first {
		heard = heard[1:]
	}
	if cut := first - heard[0].Bar; cut > 0 && cut < heard[0].Bars {
		heard[0].Bar, heard[0].Bars = first, heard[0].Bars-cut
	}
	if !heard[0].Found {
		return joinShort(heard)
	}
	cloned := false
	for {
		alikes, at := like.neighbours(heard), 0
		for i, alike := range alikes {
			if alike > alikes[at] {
				at = i
			}
		}
		if at == 0 || len(heard) <= mostSections && alikes[at] < 100+alikeParts {
			break
		}
		lines := []int{heard[at].Bar}
		if len(heard) > manySections {
			lines = likest(heard, alikes)
		}
		if !cloned { // they are the caller's
			st.Boundaries, cloned = slices.Clone(st.Boundaries), true
		}
		st.Boundaries = slices.DeleteFunc(st.Boundaries, func(bar int) bool {
			_, is := slices.BinarySearch(lines, bar)
			return is
		})
		heard = sectioning.By(st, signs)
	}
	isCore := func(k song.Kind) bool { return k == song.KindGroove || k == song.KindDrop }
	for i := range heard {
		var same []int
		grooves := 0
		for j := range heard {
			if isCore(heard[i].Kind) && isCore(heard[j].Kind) && like.in(heard[i].Section, heard[j].Section) >= alikeParts {
				same = append(same, j)
				if heard[j].Kind == song.KindGroove {
					grooves += heard[j].Bars
				} else {
					grooves -= heard[j].Bars
				}
			}
		}
		kind := song.KindDrop
		if grooves > 0 {
			kind = song.KindGroove
		}
		for _, j := range same {
			heard[j].Kind, heard[j].Name = kind, string(kind)
		}
	}
	return heard
}

// neighbours returns how alike each section is to the one before it in its parts, 100 more where they are of one kind and
// about as loud; 0 for the first.
func (l *likeness) neighbours(heard []form.HeardSection) []int {
	out := make([]int, len(heard))
	for i := 1; i < len(heard); i++ {
		a, b := heard[i-1].Section, heard[i].Section
		out[i] = l.in(a, b)
		if louder := l.level(a) - l.level(b); a.Kind == b.Kind && math.Abs(louder) <= alikeDB {
			out[i] += 100
		}
	}
	return out
}

// likest returns the bars at which the likest quarter of many sections start, no two of them neighbours.
func likest(heard []form.HeardSection, alikes []int) []int {
	sorted := slices.Sorted(slices.Values(alikes))
	least := max(sorted[len(sorted)*3/4], 1)
	var lines []int
	for i, last := 1, 0; i < len(heard); i++ {
		if alikes[i] >= least && (last == 0 || i > last+1) {
			lines, last = append(lines, heard[i].Bar), i
		}
	}
	return lines
}

// joinShort makes marks that stand a bar apart one section: a bar alone belongs to what follows, at the end to what
// came before.
func joinShort(in []form.HeardSection) []form.HeardSection {
	out := in[:1:1]
	for _, sec := range in[1:] {
		last := &out[len(out)-1]
		switch start, bars := last.Bar, last.Bars+sec.Bars; {
		case last.Bars == 1:
			*last = sec
			last.Bar, last.Bars = start, bars
		case sec.Bars == 1 && sec.Bar == in[len(in)-1].Bar:
			last.Bars = bars
		default:
			out = append(out, sec)
		}
	}
	return out
}

// likeness tells how alike the sections of a song are, each two of them asked for once: while neighbours are joined, most
// of the others stay.
type likeness struct {
	st     form.Structure
	parts  int // of the song
	full   form.Power
	shares map[stretch][]uint8
	db     map[stretch]float64
	alike  map[[2]stretch]int
}

// stretch is where a section is, whatever it is called.
type stretch struct{ bar, bars int }

func newLikeness(s song.Song, st form.Structure) *likeness {
	return &likeness{st, len(s.Parts), st.Energy.Full(form.FullPhrase), map[stretch][]uint8{}, map[stretch]float64{}, map[[2]stretch]int{}}
}

// in returns how alike two sections are in their parts, 0 to 100: by the share of their bars that each sounds in.
func (l *likeness) in(a, b song.Section) int {
	pair := [2]stretch{{a.Bar, a.Bars}, {b.Bar, b.Bars}}
	alike, known := l.alike[pair]
	if !known {
		alike = 100 * novelty.Alike(l.sharesIn(pair[0]), l.sharesIn(pair[1])) / novelty.One
		l.alike[pair] = alike
	}
	return alike
}

// sharesIn returns for each part the percent of the bars that it sounds in.
func (l *likeness) sharesIn(at stretch) []uint8 {
	shares, known := l.shares[at]
	if !known {
		bars := make([]int, l.parts)
		for _, bar := range l.st.Bars[at.bar-1 : at.bar-1+at.bars] {
			for _, p := range bar.Parts {
				bars[p]++
			}
		}
		shares = make([]uint8, l.parts)
		for p, n := range bars {
			shares[p] = uint8(100 * n / at.bars)
		}
		l.shares[at] = shares
	}
	return shares
}

// level returns how strong a section is, in dB of full.
func (l *likeness) level(sec song.Section) float64 {
	at := stretch{sec.Bar, sec.Bars}
	db, known := l.db[at]
	if !known {
		db = l.st.Energy.Tell(sec, l.full).DB
		l.db[at] = db
	}
	return db
}

// longestName is how many bytes a marker has at most that becomes a section's name.
const longestName = 40

// nameFor returns the name a section has in a recipe: the marker's, without a number at its end, where it may stand
// there and says the kind, else the kind.
func nameFor(sec Section) string {
	name := strings.TrimRight(song.MarkerName(sec.Name), "0123456789")
	if name = strings.TrimRight(name, "-"); song.KindOf(name) == sec.Kind && where.CheckSectionName(name) == nil && len(name) <= longestName {
		return name
	}
	return string(sec.Kind)
}

// sectionBars returns how many bars the sections have together: the song's, without what is silent before the music.
func (st *Study) sectionBars() int {
	sum := 0
	for _, sec := range st.Sections {
		sum += sec.Bars
	}
	return sum
}

// sectionAt returns the index of the section a bar is in, -1 for none.
func (st *Study) sectionAt(bar int) int {
	return slices.IndexFunc(st.Sections, func(s Section) bool { return bar >= s.Bar && bar < s.Bar+s.Bars })
}
