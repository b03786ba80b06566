package listen

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Loop is the loop that a song is.
type Loop struct {
	Bars   int         // its length in bars, at least 1
	Len    song.Tick   // and in ticks
	Cycles []song.Tick // by track: the length in ticks after which it repeats, if it is not the loop's; else 0
}

// LoopOptions are what [FindLoop] is told besides the file. Zero values mean: as the file says.
type LoopOptions struct {
	Names        []string   // names of the input files, for what is told and for a tempo in them
	InputOfTrack []int      // which input each track comes from, as Join gives it; nil: all from one
	FirstBar     int        // the first bar of the loop, from 1; 0: the first that is not empty in all tracks
	LoopBars     int        // length of the loop in bars
	BPM          int64      // tempo where the file has none, in thousandths of a beat a minute, 4000..999000
	Metre        smf.Metre  // metre where the file has none
	Overrides    []Override // a recipe's "parts:"; their cycles are carried out here
}

// longestLoop is the most bars that a loop may have.
const longestLoop = 100_000

// FindLoop finds where the loop is in a file and which of its tracks repeat on a cycle of their own.
// It returns a file that is that loop: bars that are empty in all tracks at the start are dropped and
// their set-up stands at tick 0, a tempo and a metre stand in it, what lies past a length that was
// asked for is dropped, a last bar that a change of metre cut short is whole, and the tracks end with
// their cycles, or later where notes ring past them. The file it gets is not written to. The lines it returns besides tell a producer what was assumed.
//
// An onset less than a 1/64 note before the first bar that is kept belongs to that bar: it moves to
// the end of its track's cycle, from where it leads into bar 1 again.
//
// Files without notes, of format 2 or in SMPTE time are an error, and so is a length past
// smf.MaxTicks. Mistakes in overrides are [OverrideErrors].
func FindLoop(f *smf.File, o LoopOptions) (*smf.File, Loop, []string, error) {
	if _, _, err := f.Timeline(); err != nil {
		return nil, Loop{}, nil, o.failed(err)
	}
	c := &cutting{file: copyFile(f), opts: o}
	if err := c.assume(); err != nil {
		return nil, Loop{}, nil, o.failed(err)
	}
	c.readTracks()
	if err := c.startAt(o.FirstBar); err != nil {
		return nil, Loop{}, nil, o.failed(err)
	}
	for _, step := range []func() error{c.findLength, c.findCycles} {
		if err := step(); err != nil {
			return nil, Loop{}, nil, o.failed(err)
		}
	}
	c.cut()
	plays := func(t trackFacts) bool { return len(t.onsets)+len(t.early) > 0 }
	if o.FirstBar > 0 && !slices.ContainsFunc(c.tracks, plays) {
		return nil, Loop{}, nil, o.failed(&BarsError{First: o.FirstBar, Last: o.FirstBar + c.loop.Bars - 1})
	}
	if err := c.wholeLastBar(); err != nil {
		return nil, Loop{}, nil, o.failed(err)
	}
	if err := c.overrideCycles(); err != nil {
		return nil, Loop{}, nil, err
	}
	c.finish()
	return c.file, c.loop, c.told, nil
}

// failed puts the input's name in front of an error.
func (o LoopOptions) failed(err error) error {
	if len(o.Names) == 0 {
		return err
	}
	return fmt.Errorf("%s: %w", strings.Join(o.Names, ", "), err)
}

// cutting is a file on its way to being a loop.
type cutting struct {
	file   *smf.File
	opts   LoopOptions
	time   *smf.Timeline
	tracks []trackFacts
	loop   Loop
	told   []string
}

// trackFacts are what the length is found by, in ticks of the loop's own time.
type trackFacts struct {
	name   string
	input  int
	onsets []song.Tick // rising; none of those in early
	early  []earlyNote // onsets that belong to bar 1 and stand before it
	past   bool        // its end stands past its last event
}

// earlyNote is a note that moves to the end of the cycle: how long before bar 1 it starts, and how long
// it lasts; -1: it is not closed.
type earlyNote struct {
	on, off       smf.Event
	ahead, length song.Tick
}

func (c *cutting) tell(format string, args ...any) {
	c.told = append(c.told, fmt.Sprintf(format, args...))
}

// copyFile copies a file as far as cutting writes to it.
func copyFile(f *smf.File) *smf.File {
	g := *f
	g.Tracks = slices.Clone(f.Tracks)
	return &g
}

// replace gives a track other events; their long events are places in the bytes of the old one.
func (c *cutting) replace(track int, events []smf.Event, end song.Tick) {
	c.file.Tracks[track] = smf.TrackFromStore(events, end, c.file.Tracks[track].LongStore())
}

// readTracks gathers names, onsets and ends.
func (c *cutting) readTracks() {
	c.tracks = make([]trackFacts, len(c.file.Tracks))
	for i := range c.file.Tracks {
		t := &c.file.Tracks[i]
		facts := &c.tracks[i]
		if i < len(c.opts.InputOfTrack) {
			facts.input = c.opts.InputOfTrack[i]
		}
		last := song.Tick(0)
		for _, e := range t.Events {
			last = e.Tick
			if e.IsOn() {
				facts.onsets = append(facts.onsets, e.Tick)
			}
			if kind, _ := e.MetaType(); kind == 0x03 && e.IsMeta() && facts.name == "" {
				facts.name = strings.Trim(string(t.Long(e)), " \x00\t\r\n")
			}
		}
		facts.past = t.End > last
	}
}

// startAt lets the loop start at a bar that was asked for; 0: at the first that is not empty.
func (c *cutting) startAt(bar int) error {
	if bar == 0 {
		return c.dropLead()
	}
	c.time, _, _ = c.file.Timeline()
	last := 0
	for _, t := range c.tracks {
		if n := len(t.onsets); n > 0 {
			last = max(last, c.time.BarOf(t.onsets[n-1]))
		}
	}
	if end := bar - 1 + max(c.opts.LoopBars, 1); last == 0 || end > roundBars(last) && end > c.time.BarOf(c.latestEnd(0)-1) {
		return &BarsError{bar, end, max(last, c.time.BarOf(max(c.latestEnd(0)-1, 0)))}
	}
	if bar > 1 {
		start := c.time.BarStart(bar)
		for i := range c.file.Tracks {
			c.shift(i, start)
		}
		c.time, _, _ = c.file.Timeline()
	}
	return nil
}

// dropLead drops the bars at the start in which no track has an onset.
func (c *cutting) dropLead() error {
	c.time, _, _ = c.file.Timeline()
	first, found := song.Tick(0), false
	for _, t := range c.tracks {
		if len(t.onsets) > 0 && (!found || t.onsets[0] < first) {
			first, found = t.onsets[0], true
		}
	}
	if !found {
		return errors.New("found no notes, want a loop")
	}
	bar := c.time.BarOf(c.counted(first))
	if bar == 1 {
		return nil
	}
	c.tell("%s empty at the start in all tracks: dropped, the set-up in %s kept", barsAre(1, bar-1), itThem(bar-1))
	start := c.time.BarStart(bar)
	for i := range c.file.Tracks {
		c.shift(i, start)
	}
	c.time, _, _ = c.file.Timeline()
	return nil
}

// counted is song.Counted for a file.
func (c *cutting) counted(t song.Tick) song.Tick {
	if next := c.time.BarStart(c.time.BarOf(t) + 1); (next-t)*16 < c.time.PPQ() {
		return next
	}
	return t
}

// shift moves a track so that start becomes tick 0, takes the notes out that start before it, and
// puts everything else from before it at tick 0.
func (c *cutting) shift(track int, start song.Tick) {
	t := &c.file.Tracks[track]
	facts := &c.tracks[track]
	early := map[int]int{} // index of an event that is taken out, to the note's; -1: it is dropped
	before := 0
	for _, n := range t.Pair().Notes {
		on := t.Events[n.On]
		if on.Tick >= start {
			break
		}
		before++
		if c.counted(on.Tick) < start {
			early[n.On] = -1
			if n.Off >= 0 {
				early[n.Off] = -1
			}
			continue
		}
		note := earlyNote{on: on, ahead: start - on.Tick, length: -1}
		early[n.On] = len(facts.early)
		if n.Off >= 0 {
			note.off, note.length = t.Events[n.Off], t.Events[n.Off].Tick-on.Tick
			early[n.Off] = len(facts.early)
		}
		facts.early = append(facts.early, note)
	}
	events := make([]smf.Event, 0, len(t.Events))
	for i, e := range t.Events {
		if _, out := early[i]; !out && !(e.Tick < start && isMarker(e)) {
			events = append(events, e.At(max(0, e.Tick-start)))
		}
	}
	facts.onsets = facts.onsets[before:]
	for i := range facts.onsets {
		facts.onsets[i] -= start
	}
	c.replace(track, events, max(0, t.End-start))
}

// isMarker tells whether an event is a marker, which is of its own place alone.
func isMarker(e smf.Event) bool {
	kind, meta := e.MetaType()
	return meta && kind == smf.MetaMarker
}

// findLength finds the loop's length in bars: of several inputs the longest one's.
func (c *cutting) findLength() error {
	for input := range c.inputs() {
		c.loop.Bars = max(c.loop.Bars, c.inputBars(input))
	}
	if o := c.opts.LoopBars; o != 0 {
		if o < 1 || o > longestLoop {
			return fmt.Errorf("loop: found %d bars, want 1 to %d", o, longestLoop)
		}
		c.loop.Bars = o
	} else if c.inputs() == 1 {
		if last := c.lastOnsetBar(0); last < c.loop.Bars && !c.endSays(0) {
			c.tell("the last note starts in bar %d and the end of track says no more: the loop is taken to be %s long", last, bars(c.loop.Bars))
		}
	}
	if c.loop.Bars > longestLoop {
		return fmt.Errorf("loop: found %s, want at most %d", bars(c.loop.Bars), longestLoop)
	}
	return c.measure()
}

// measure sets the loop's length in ticks.
func (c *cutting) measure() error {
	c.loop.Len = c.time.BarStart(c.loop.Bars + 1)
	if c.loop.Len > smf.MaxTicks {
		return fmt.Errorf("loop: found %s, want at most %d", bars(c.loop.Bars), c.time.BarOf(smf.MaxTicks)-1)
	}
	return nil
}

// wholeLastBar makes a last bar whole that a change of metre at the loop's end cut short: that change is not of the
// loop, and the next pass starts on a bar line.
func (c *cutting) wholeLastBar() error {
	end := c.loop.Len
	c.time, _, _ = c.file.Timeline()
	if err := c.measure(); err != nil || c.loop.Len == end {
		return err
	}
	c.tell("a change of metre cuts bar %d short, where the loop ends: it is taken to be a whole bar of %s", c.loop.Bars, c.time.MetreIn(c.loop.Bars))
	return nil
}

func (c *cutting) inputs() int {
	n := 1
	for _, t := range c.tracks {
		n = max(n, t.input+1)
	}
	return n
}

// inputBars returns the length of an input in bars: its latest end of track, if that stands on a bar
// line at or past its last event, else the bar of its last onset, rounded up. An input without notes
// is no bars long.
func (c *cutting) inputBars(input int) int {
	last := c.lastOnsetBar(input)
	if last == 0 {
		return 0
	}
	if c.endSays(input) {
		return c.time.BarOf(c.latestEnd(input)) - 1
	}
	return roundBars(last)
}

// lastOnsetBar returns the bar that an input's last onset stands in; 0 without notes. An early note
// counts to the bar it stands in here.
func (c *cutting) lastOnsetBar(input int) int {
	last := 0
	for _, t := range c.tracks {
		if t.input != input {
			continue
		}
		if n := len(t.onsets); n > 0 {
			last = max(last, c.time.BarOf(t.onsets[n-1]))
		} else if len(t.early) > 0 {
			last = max(last, 1)
		}
	}
	return last
}

// latestEnd returns the latest end of track of an input, in ticks. It is at or past the last event,
// as every track's end is.
func (c *cutting) latestEnd(input int) song.Tick {
	end := song.Tick(0)
	for i, t := range c.tracks {
		if t.input == input {
			end = max(end, c.file.Tracks[i].End)
		}
	}
	return end
}

// endSays tells whether an input's latest end of track says its length.
func (c *cutting) endSays(input int) bool {
	end := c.latestEnd(input)
	return end > 0 && c.time.IsBarLine(end)
}

// roundBars rounds a number of bars up to 1, 2, 4, 8, 12, 16, 24, 32, then to multiples of eight.
func roundBars(n int) int {
	for _, size := range [...]int{1, 2, 4, 8, 12, 16, 24, 32} {
		if n <= size {
			return size
		}
	}
	return (n + 7) / 8 * 8
}

// cut drops what starts at or past the loop's end. It is told where a length was asked for; otherwise
// only controllers and the like can stand there, which no pass of the loop reaches.
func (c *cutting) cut() {
	notes := 0
	any := false
	for i := range c.file.Tracks {
		n, cut := c.cutTrack(i, c.loop.Len)
		notes += n
		any = any || cut
	}
	if any && c.opts.LoopBars > 0 && c.opts.FirstBar == 0 {
		c.tell("what lies past bar %d is dropped: %s", c.loop.Bars, counted(notes, "note"))
	}
}

// cutTrack drops everything of a track at or past a tick but the ends of notes that started before
// it, and returns how many notes went and whether anything did.
func (c *cutting) cutTrack(track int, at song.Tick) (notes int, any bool) {
	t := &c.file.Tracks[track]
	first, _ := slices.BinarySearchFunc(t.Events, at, func(e smf.Event, at song.Tick) int {
		if e.Tick < at {
			return -1
		}
		return 1
	})
	if first == len(t.Events) {
		return 0, false
	}
	ring := map[int]bool{}
	for _, n := range t.Pair().Notes {
		switch {
		case n.On >= first:
			notes++
		case n.Off >= first:
			ring[n.Off] = true
		}
	}
	events := slices.Clone(t.Events[:first])
	for i := first; i < len(t.Events); i++ {
		if ring[i] {
			events = append(events, t.Events[i])
		}
	}
	if len(events) == len(t.Events) {
		return 0, false
	}
	c.replace(track, events, t.End)
	onsets := c.tracks[track].onsets
	keep, _ := slices.BinarySearch(onsets, at)
	c.tracks[track].onsets = onsets[:keep]
	return notes, true
}

// finish puts the early notes at the end of their cycles and every end of track where its cycle ends,
// or at its last event if that is later. Notes ring to smf.MaxTicks at most.
func (c *cutting) finish() {
	for i := range c.file.Tracks {
		t := &c.file.Tracks[i]
		cycle := c.loop.Len
		if c.loop.Cycles[i] > 0 {
			cycle = c.loop.Cycles[i]
		}
		events := t.Events
		if len(c.tracks[i].early) > 0 {
			events = c.withEarly(i, cycle)
		}
		end := cycle
		if n := len(events); n > 0 {
			if events[n-1].Tick > smf.MaxTicks {
				events = endedBy(events, smf.MaxTicks)
			}
			end = max(end, events[n-1].Tick)
		}
		c.replace(i, events, end)
	}
}

// endedBy returns events of which none is past a tick: notes that ring past it end there. Once what stood before the end
// of such a note is cut, a file could not say how long after the event before it comes.
func endedBy(events []smf.Event, at song.Tick) []smf.Event {
	events = slices.Clone(events)
	for i := len(events) - 1; i >= 0 && events[i].Tick > at; i-- {
		events[i] = events[i].At(at)
	}
	return events
}

// withEarly returns a track's events with its early notes before the end of its cycle. One whose key
// is struck there already has nothing to add.
func (c *cutting) withEarly(track int, cycle song.Tick) []smf.Event {
	t := &c.file.Tracks[track]
	events := slices.Clone(t.Events)
	for _, n := range c.tracks[track].early {
		struck := slices.ContainsFunc(t.Events, func(e smf.Event) bool {
			return e.IsOn() && e.Chan() == n.on.Chan() && e.Data1() == n.on.Data1() && e.Tick < cycle && (cycle-e.Tick)*16 < c.time.PPQ()
		})
		if struck {
			continue
		}
		events = append(events, n.on.At(max(0, cycle-n.ahead)))
		if n.length >= 0 {
			events = append(events, n.off.At(max(0, cycle-n.ahead)+n.length))
		}
	}
	slices.SortStableFunc(events, byTick)
	return events
}

// bars says a number of bars.
func bars(n int) string { return counted(n, "bar") }

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// barsAre says which bars, both included, with its verb.
func barsAre(first, last int) string {
	if first == last {
		return fmt.Sprintf("bar %d is", first)
	}
	return fmt.Sprintf("bars %d-%d are", first, last)
}

func itThem(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}
