package recipes_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// figures are what is measured of a draft with a break and two drops, by its notes and by the model of energy.
type figures struct {
	song      string
	parts     int
	pitched   int
	breaks    []int // tenths of a dB of each break under the drop that follows
	barest    int   // tenths of a dB of the barest 8 bars inside the track under the loudest drop
	lone      int   // percent of the bars of breaks in which at most one part sounds
	drop1     int   // tenths of a dB of the first 8 bars of drop 1 over the groove
	fresh     int   // percent of their notes that the last 8 bars of the groove did not play
	drop2     int   // tenths of a dB of drop 2 over drop 1
	loudest   song.Kind
	still     int // bars of the longest stretch in which no band moves by 1 dB from 8 bars to 8 bars
	entry     int // percent of all parts, the most that enter at one line
	silent    int // silent bars that are not the last two before a section
	done      bool
	rules     []string // of the findings of the review that warn
	hasGroove bool
}

// measured is a draft while its figures are taken.
type measured struct {
	song     song.Song
	e        form.Energy
	sounding [][]int // a bar: how many notes of each part start there
	sounds   [][]bool
}

func figuresOf(t *testing.T, r *recipes.Recipe, of string, got *recipes.Result) figures {
	t.Helper()
	m := measured{song: got.Song}
	var err error
	if m.e, err = form.EnergyOf(got.Song); err != nil {
		t.Fatal(err)
	}
	m.notes()
	f := figures{song: of, still: m.still(), silent: m.silent()}
	for _, p := range got.Loop.Parts {
		if p.Role != song.RoleTrigger {
			f.parts++
		}
		if p.Job == song.JobHook || p.Job == song.JobBed || p.Job == song.JobExtra {
			f.pitched++
		}
	}
	f.entry = m.entry()
	var drops, breaks []song.Section
	var groove song.Section
	var loudest form.Power
	for _, sec := range got.Song.Sections {
		if p := m.mean(sec); p > loudest {
			loudest, f.loudest = p, sec.Kind
		}
		switch sec.Kind {
		case song.KindDrop:
			drops = append(drops, sec)
		case song.KindBreak:
			breaks = append(breaks, sec)
		case song.KindGroove:
			if len(drops) == 0 {
				groove, f.hasGroove = sec, true
			}
		}
	}
	if len(drops) > 1 {
		f.drop2 = m.mean(drops[1]).Level(m.mean(drops[0]))
	}
	lone, bars, loudestDrop := 0, 0, form.Power(0)
	for _, d := range drops {
		loudestDrop = max(loudestDrop, m.mean(d))
	}
	for _, b := range breaks {
		next := drops[len(drops)-1]
		for _, d := range slices.Backward(drops) {
			if d.Bar > b.Bar {
				next = d
			}
		}
		f.breaks = append(f.breaks, m.mean(next).Level(m.mean(b)))
		for bar := b.Bar; bar < b.Bar+b.Bars; bar++ {
			bars++
			if m.heard(bar) <= 1 {
				lone++
			}
		}
	}
	f.lone = 100 * lone / max(bars, 1)
	for bar := 9; bar+7 <= got.Song.Bars()-16; bar += 8 {
		f.barest = max(f.barest, loudestDrop.Level(m.e.Mean(bar, bar+7).Sum()))
	}
	if f.hasGroove && len(drops) > 0 {
		first := drops[0]
		f.drop1 = m.e.Mean(first.Bar, first.Bar+7).Sum().Level(m.mean(groove))
		f.fresh = m.fresh(groove.Bar+groove.Bars-8, first.Bar)
	}
	found, err := review.Review(got.ToReview(), review.Options{Checks: r.Checks(), Level: review.Warn, Bare: true})
	if err != nil {
		t.Fatal(err)
	}
	f.done = true
	for _, x := range found.Findings {
		if x.Level >= review.Warn {
			f.done = false
			f.rules = append(f.rules, x.Rule)
		}
	}
	return f
}

func (m *measured) mean(sec song.Section) form.Power {
	return m.e.Mean(sec.Bar, sec.Bar+sec.Bars-1).Sum()
}

func (m *measured) notes() {
	tl := m.song.Time()
	m.sounding, m.sounds = make([][]int, m.song.Bars()+1), make([][]bool, m.song.Bars()+1)
	for bar := range m.sounding {
		m.sounding[bar], m.sounds[bar] = make([]int, len(m.song.Parts)), make([]bool, len(m.song.Parts))
	}
	for p, part := range m.song.Parts {
		for _, n := range part.Notes {
			bar := min(tl.BarOf(m.song.Counted(n.Start)), m.song.Bars())
			m.sounding[bar][p]++
			for ; bar <= m.song.Bars() && (m.sounds[bar][p] || tl.BarStart(bar) < n.End); bar++ {
				m.sounds[bar][p] = true
				if tl.BarStart(bar+1) >= n.End {
					break
				}
			}
		}
	}
}

// heard returns how many parts sound in a bar.
func (m *measured) heard(bar int) int {
	n := 0
	for _, does := range m.sounds[bar] {
		if does {
			n++
		}
	}
	return n
}

func (m *measured) silent() int {
	n := 0
	for bar := 1; bar <= m.song.Bars(); bar++ {
		before := slices.ContainsFunc(m.song.Sections, func(s song.Section) bool { return s.Bar == bar+1 || s.Bar == bar+2 })
		if m.heard(bar) == 0 && !before {
			n++
		}
	}
	return n
}

func (m *measured) still() int {
	run, most := 8, 8
	for bar := 9; bar+7 <= m.song.Bars(); bar += 8 {
		a, b := m.e.Mean(bar-8, bar-1), m.e.Mean(bar, bar+7)
		moves := a.Sum().Apart(b.Sum(), 10)
		for band := range a {
			moves = moves || a[band].Apart(b[band], 10)
		}
		if run += 8; moves {
			run = 8
		}
		most = max(most, run)
	}
	return most
}

func (m *measured) entry() int {
	plays := func(p, first, last int) bool {
		for bar := max(first, 1); bar <= min(last, m.song.Bars()); bar++ {
			if m.sounding[bar][p] > 0 {
				return true
			}
		}
		return false
	}
	most, all := 0, 0
	for p := range m.song.Parts {
		if len(m.song.Parts[p].Notes) > 0 {
			all++
		}
	}
	for bar := 9; bar < m.song.Bars()-8; bar += 4 {
		n := 0
		for p := range m.song.Parts {
			if plays(p, bar, bar+3) && !plays(p, bar-8, bar-1) {
				n++
			}
		}
		most = max(most, n)
	}
	return 100 * most / max(all, 1)
}

// fresh returns how many percent of the notes of 8 bars are not those of 8 earlier ones.
func (m *measured) fresh(before, first int) int {
	type place struct {
		bar, part, key int
		at             song.Tick
	}
	notes := func(first int) map[place]bool {
		out, tl := map[place]bool{}, m.song.Time()
		for p, part := range m.song.Parts {
			for _, n := range m.song.In(part, m.song.BarRange(first, first+7)) {
				bar := tl.BarOf(n.Start)
				out[place{(bar - first) % 8, p, int(n.Key), (n.Start - tl.BarStart(bar)) * 8 / tl.PPQ()}] = true
			}
		}
		return out
	}
	old, now, n := notes(before), notes(first), 0
	for p := range now {
		if !old[p] {
			n++
		}
	}
	return 100 * n / max(len(now), 1)
}

// goal is a figure with the share of songs, in percent, in which it is to be met.
type goal struct {
	name string
	want int
	form bool // it is of breaks, drops and groove as a club track has them
	ok   func(f figures) (ok, counts bool)
}

func goals() []goal {
	between := func(v, low, high int) bool { return v >= low && v <= high }
	return []goal{
		{"each break 5 to 12 dB under its drop", 85, true, func(f figures) (bool, bool) {
			return !slices.ContainsFunc(f.breaks, func(b int) bool { return !between(b, 50, 120) }), len(f.breaks) > 0
		}},
		{"each break 4 to 13 dB under its drop", 95, true, func(f figures) (bool, bool) {
			return !slices.ContainsFunc(f.breaks, func(b int) bool { return !between(b, 40, 130) }), len(f.breaks) > 0
		}},
		{"the barest 8 bars at most 18 dB under the drop", 95, true, func(f figures) (bool, bool) { return f.barest <= 180, true }},
		{"at most 10 % of break bars with one part, from three pitched ones on", 90, true, func(f figures) (bool, bool) { return f.lone <= 10, f.pitched >= 3 }},
		{"drop 1 at least 1.5 dB over the groove", 95, true, func(f figures) (bool, bool) { return f.drop1 >= 15, f.hasGroove }},
		{"a quarter of its notes is new", 90, true, func(f figures) (bool, bool) { return f.fresh >= 25, f.hasGroove }},
		{"drop 2 0.8 to 4 dB over drop 1", 92, true, func(f figures) (bool, bool) { return between(f.drop2, 8, 40), true }},
		{"the loudest section is a drop", 95, true, func(f figures) (bool, bool) { return f.loudest == song.KindDrop, true }},
		{"something moves after 16 bars at most", 95, false, func(f figures) (bool, bool) { return f.still <= 16, true }},
		{"at most 40 % of the parts enter at once, from 8 parts on", 90, false, func(f figures) (bool, bool) { return f.entry <= 40, f.parts >= 8 }},
		{"no silent bar but before a section", 90, false, func(f figures) (bool, bool) { return f.silent == 0, true }},
	}
}

// TestTableOf drafts loops cut from real songs, of which five parts or more are heard, a beat and a bass among them, by
// the built-in recipes, and holds them against what a draft is to be. What a break, a drop and a groove are apart is from
// 194 house tracks and 30 finished songs; the rest is common practice, no source.
func TestTableOf(t *testing.T) {
	loops := oracle.CutLoops(t)
	slices.SortStableFunc(loops, func(a, b oracle.CutLoop) int { return cmp.Compare(fnvOf(a.Name), fnvOf(b.Name)) })
	for _, info := range recipes.Builtins() {
		t.Run(info.Name, func(t *testing.T) {
			t.Parallel()
			printTable(t, info.Name, loops, oracle.Size(6, 24, 200), recipes.Options{})
			for _, choice := range alternatives[info.Name] {
				for n := 1; n <= choice.N; n++ {
					one := recipes.Choice{Name: choice.Name, N: n}
					t.Run(one.String(), func(t *testing.T) {
						printTable(t, info.Name, loops, oracle.Size(2, 24, 60), recipes.Options{Choose: []recipes.Choice{one}})
					})
				}
			}
		})
	}
}

// alternatives are the choices of the built-in recipes with how many alternatives each has.
var alternatives = map[string][]recipes.Choice{
	"club":       {{"form", 5}, {"order", 4}, {"bass", 2}, {"carrier", 3}, {"tease", 3}, {"way", 4}},
	"short":      {{"form", 5}, {"order", 4}, {"bass", 2}, {"carrier", 3}, {"tease", 3}, {"way", 4}},
	"two-breaks": {{"form", 2}, {"order", 4}, {"carrier", 3}, {"tease", 3}},
	"slow-burn":  {{"form", 2}, {"order", 4}, {"carrier", 3}},
	"mix-tool":   {{"form", 2}, {"order", 4}},
}

func printTable(t *testing.T, name string, loops []oracle.CutLoop, most int, o recipes.Options) {
	r, _ := recipes.Builtin(name)
	var all []figures
	for _, l := range loops {
		if len(all) == most {
			break
		}
		o.Take = len(all) + 1 // the choices that are not held go round
		got, err := recipes.Draft([]recipes.Input{input(t, l.Name, l.Bytes)}, r, o)
		if err != nil {
			t.Logf("%s: %v", l.Name, err)
			continue
		}
		jobs := map[song.Job]bool{}
		for _, p := range got.Loop.Parts {
			jobs[p.Job] = true
		}
		if len(got.Loop.Parts) < 5 || !jobs[song.JobBeat] || !jobs[song.JobBass] {
			continue
		}
		f := figuresOf(t, r, l.Song, got)
		all = append(all, f)
		t.Logf("%-26.26s %s", l.Name, f)
	}
	slack := 0 // a song of twenty is 5 of 100
	switch {
	case len(o.Choose) > 0:
		slack = 15
	case len(all) < 60:
		slack = 5
	}
	holdTable(t, name, all, slack)
}

// String tells the figures of a draft in a line.
func (f figures) String() string {
	return fmt.Sprintf("%2d parts: breaks %4d barest %3d lone %3d drop1 %3d new %2d drop2 %3d still %2d entry %2d silent %d %s",
		f.parts, f.breaks, f.barest, f.lone, f.drop1, f.fresh, f.drop2, f.still, f.entry, f.silent, strings.Join(f.rules, " "))
}

// holdTable prints the shares of drafts that meet each goal, and fails where one is met in too few; slack is in percent.
func holdTable(t *testing.T, name string, all []figures, slack int) {
	t.Helper()
	perSong := map[string]int{}
	for _, f := range all {
		perSong[f.song]++
	}
	var table strings.Builder
	for _, g := range goals() {
		if g.form && (name == "slow-burn" || name == "mix-tool") { // they are to be even
			continue
		}
		var met, of float64 // each song counts as one, however many loops are of it
		for _, f := range all {
			if ok, counts := g.ok(f); counts {
				of += 1 / float64(perSong[f.song])
				if ok {
					met += 1 / float64(perSong[f.song])
				}
			}
		}
		share := 100.0
		if of > 0 {
			share = 100 * met / of
		}
		fmt.Fprintf(&table, "%-70s %3.0f of 100, want %d\n", g.name, share, g.want)
		if share < float64(g.want-slack) && len(all) >= 20 {
			t.Errorf("%s: in %.0f of 100, want %d", g.name, share, g.want)
		}
	}
	rules, done := map[string]int{}, 0
	for _, f := range all {
		if f.done {
			done++
		}
		for _, rule := range slices.Compact(slices.Sorted(slices.Values(f.rules))) {
			rules[rule]++
		}
	}
	fmt.Fprintf(&table, "%d of %d drafts pass the review; the others by rule:", done, len(all))
	for _, rule := range slices.Sorted(maps.Keys(rules)) {
		fmt.Fprintf(&table, " %s %d", rule, rules[rule])
	}
	t.Logf("%s, %d drafts of loops of %d songs:\n%s", name, len(all), len(perSong), table.String())
}

// hashOf brings names into an order that has nothing to do with their songs.
func fnvOf(name string) uint32 {
	h := uint32(2166136261) // FNV-1a
	for _, b := range []byte(name) {
		h = (h ^ uint32(b)) * 16777619
	}
	return h
}
