package listen

import (
	"fmt"
	"slices"
	"strconv"

	"loopdraft/smf/song"
)

// findCycles finds the tracks that repeat on a cycle of their own. In one file a track does if its end
// of track stands on a bar line before the loop's end, an onset is in the cycle's second half, and some
// track of the file ends past its last event: an exporter that ends tracks at their last event says
// nothing by it. A file of its own has its own length. There are none in a loop with metre changes.
func (c *cutting) findCycles() error {
	c.loop.Cycles = make([]song.Tick, len(c.tracks))
	if c.metreChanges() {
		return nil
	}
	inputs := c.inputs()
	says := make([]bool, inputs)
	length := make([]song.Tick, inputs)
	for input := range inputs {
		length[input] = c.time.BarStart(c.inputBars(input) + 1)
	}
	for _, t := range c.tracks {
		says[t.input] = says[t.input] || t.past
	}
	for i, t := range c.tracks {
		if len(t.onsets) == 0 && len(t.early) == 0 {
			continue
		}
		cycle := song.Tick(0)
		if inputs > 1 {
			cycle = length[t.input]
		}
		if end := c.file.Tracks[i].End; says[t.input] && c.ownEnd(i) && (cycle == 0 || end < cycle) {
			cycle = end
		}
		if cycle > 0 && cycle < c.loop.Len {
			c.loop.Cycles[i] = cycle
			c.tell("%s repeats every %s", c.trackText(i), bars(c.time.BarOf(cycle)-1))
		}
	}
	return nil
}

// metreChanges tells whether the metre changes within the loop.
func (c *cutting) metreChanges() bool {
	metres := c.time.Metres()
	return len(metres) > 1 && metres[1].Tick < c.loop.Len
}

// ownEnd tells whether a track's end stands on a bar line with an onset in the half before it.
func (c *cutting) ownEnd(track int) bool {
	end := c.file.Tracks[track].End
	onsets := c.tracks[track].onsets
	return end > 0 && c.time.IsBarLine(end) && len(onsets) > 0 && 2*onsets[len(onsets)-1] >= end
}

// trackText names a track.
func (c *cutting) trackText(track int) string {
	text := "track " + strconv.Itoa(track+1)
	if name := c.tracks[track].name; name != "" {
		text += " " + quoted(name)
	}
	return text
}

// overrideCycles carries out the cycles that overrides ask for: of every track that a part of theirs
// is on.
func (c *cutting) overrideCycles() error {
	if !slices.ContainsFunc(c.opts.Overrides, func(o Override) bool { return o.Cycle != 0 }) {
		return nil
	}
	s, err := song.From(c.file)
	if err != nil {
		return c.opts.failed(err)
	}
	h := newHearing(s, Options{Overrides: c.opts.Overrides, Loop: c.loop})
	if h.run(); len(h.errs) > 0 {
		return h.errs
	}
	by := make([]int, len(c.tracks)) // the override, from 1, that gave a track its cycle
	for i, o := range c.opts.Overrides {
		if o.Cycle == 0 {
			continue
		}
		if c.metreChanges() {
			h.wrong(i, "cycle", bars(o.Cycle), "none: the metre changes in the loop", "")
			continue
		}
		if o.Cycle > c.loop.Bars {
			h.wrong(i, "cycle", bars(o.Cycle), fmt.Sprintf("1 to %d", c.loop.Bars), "")
			continue
		}
		for _, v := range h.voices {
			if !slices.Contains(v.from, i) {
				continue
			}
			if b := by[v.Track]; b > 0 && c.opts.Overrides[b-1].Cycle != o.Cycle {
				h.wrong(i, "cycle", bars(o.Cycle), bars(c.opts.Overrides[b-1].Cycle)+
					" like parts."+c.opts.Overrides[b-1].Name+", which is on the same track", "")
				continue
			}
			if by[v.Track] == 0 {
				c.giveCycle(v.Track, o.Cycle)
			}
			by[v.Track] = i + 1
		}
	}
	if len(h.errs) > 0 {
		return h.errs
	}
	return nil
}

// giveCycle gives a track a cycle of so many bars and drops what lies past it.
func (c *cutting) giveCycle(track, length int) {
	cycle := c.time.BarStart(length + 1)
	if notes, any := c.cutTrack(track, cycle); any {
		c.tell("%s: what lies past bar %d is dropped: %s", c.trackText(track), length, counted(notes, "note"))
	}
	if cycle >= c.loop.Len {
		cycle = 0
	}
	c.loop.Cycles[track] = cycle
}

// silentHalves tells of tracks that are silent in the second half of the loop and have no cycle of
// their own: they may well be meant to have one.
func (h *hearing) silentHalves() []string {
	loop := h.opts.Loop
	if h.time == nil || loop.Bars < 2 || len(h.time.Metres()) > 1 {
		return nil
	}
	var told []string
	for first := 0; first < len(h.voices); {
		last := first
		for last < len(h.voices) && h.voices[last].Track == h.voices[first].Track {
			last++
		}
		if text := h.silentHalf(h.voices[first:last]); text != "" {
			told = append(told, text)
		}
		first = last
	}
	return told
}

// silentHalf looks at the voices of one track.
func (h *hearing) silentHalf(voices []*voice) string {
	loop := h.opts.Loop
	if h.cycleOf(voices[0].Track) < h.length {
		return ""
	}
	last := song.Tick(0)
	for _, v := range voices {
		if v.Role == song.RoleTrigger || slices.ContainsFunc(v.from, func(i int) bool { return h.opts.Overrides[i].Cycle > 0 }) {
			return ""
		}
		rings := !v.Role.Drum() && !v.whole
		for _, n := range v.Notes {
			at := h.song.Counted(n.Start)
			if 2*at >= loop.Len || rings && 2*n.End > loop.Len {
				return ""
			}
			last = max(last, at)
		}
	}
	cycle := roundBars(h.time.BarOf(last))
	if 2*cycle > loop.Bars {
		cycle = loop.Bars / 2
	}
	repeats := bars(cycle)
	if h.name != "" {
		repeats = "{" + h.name + ": " + repeats + "}"
	}
	return fmt.Sprintf("%s is silent in the second half of the loop; if it is to repeat, write parts: {%s: {cycle: %s}}",
		voices[0].Name, voices[0].Name, repeats)
}
