package oracle

import (
	"slices"
	"strings"

	"loopdraft/smf"
)

// Types of meta events that cutting looks at (RP-001 pp. 8-10).
const (
	metaMarker = 0x06
	metaMetre  = 0x58
)

const (
	fewestMarks    = 5  // markers on bar lines that make a marked song
	busiestBars    = 8  // bars of the loop of a song without
	fewestSounding = 3  // tracks with notes in a loop
	fewestNotes    = 32 // notes in a loop
)

// stretch is bars of a song that may become a loop.
type stretch struct {
	bar, bars int // the first, from 1, and how many
	section   string
}

// piece is a song to cut loops out of.
type piece struct {
	file *smf.File
	time *smf.Timeline
	bars int // up to the end of the last track, the last one counted as full
}

func newPiece(b []byte) (piece, error) {
	f, err := smf.Decode(b)
	if err != nil {
		return piece{}, err
	}
	time, _, err := f.Timeline()
	if err != nil {
		return piece{}, err
	}
	end := smf.Tick(0)
	for _, t := range f.Tracks {
		end = max(end, t.End)
	}
	return piece{f, time, time.BarOf(end - 1)}, nil
}

// marks returns the markers (FF 06) on bar lines by bar, then by text; none unless there are enough of them for the
// song's makers to have meant its sections.
func (p piece) marks() []Mark {
	var out []Mark
	for i := range p.file.Tracks {
		t := &p.file.Tracks[i]
		for _, e := range t.Events {
			if kind, meta := e.MetaType(); !meta || kind != metaMarker || !p.time.IsBarLine(e.Tick) {
				continue
			}
			if text := plain(string(t.Long(e))); text != "" {
				out = append(out, Mark{p.time.BarOf(e.Tick), text})
			}
		}
	}
	if len(out) < fewestMarks {
		return nil
	}
	slices.SortFunc(out, func(a, b Mark) int {
		if a.Bar != b.Bar {
			return a.Bar - b.Bar
		}
		return strings.Compare(a.Text, b.Text)
	})
	return out
}

// plain returns a marker's text without the zeros and blanks around it, fit for a row of a table.
func plain(text string) string {
	text = strings.Map(func(r rune) rune {
		if r < ' ' {
			return ' '
		}
		return r
	}, text)
	return strings.TrimSpace(text)
}

// stretches returns what may become loops: every 4, 8, 12 or 16 bars from one mark to the next; of a song without
// marks its busiest eight bars, those in which most tracks strike a note, counted in eights from the first note on.
// A stretch in which a time signature stands is none.
func (p piece) stretches(marks []Mark) []stretch {
	var out []stretch
	for i := range max(len(marks)-1, 0) {
		out = append(out, stretch{marks[i].Bar, marks[i+1].Bar - marks[i].Bar, marks[i].Text})
	}
	if len(marks) == 0 {
		out = p.busiest()
	}
	return slices.DeleteFunc(out, func(s stretch) bool {
		return !slices.Contains([]int{4, 8, 12, 16}, s.bars) || p.changesMetre(s)
	})
}

func (p piece) busiest() []stretch {
	var onsets [][]smf.Tick // of each track
	first := smf.MaxTicks
	for _, t := range p.file.Tracks {
		var ticks []smf.Tick
		for _, e := range t.Events {
			if e.IsOn() {
				ticks = append(ticks, e.Tick)
				first = min(first, e.Tick)
			}
		}
		onsets = append(onsets, ticks)
	}
	var best []stretch
	most := 0
	for bar := p.time.BarOf(first); bar+busiestBars <= p.bars+1; bar += busiestBars {
		a, b := p.time.BarStart(bar), p.time.BarStart(bar+busiestBars)
		sounding := 0
		for _, ticks := range onsets {
			if i, _ := slices.BinarySearch(ticks, a); i < len(ticks) && ticks[i] < b {
				sounding++
			}
		}
		if sounding > most {
			best, most = []stretch{{bar, busiestBars, "busiest"}}, sounding
		}
	}
	return best
}

// changesMetre tells whether a time signature stands inside a stretch, behind its first bar line.
func (p piece) changesMetre(s stretch) bool {
	a, b := p.time.BarStart(s.bar), p.time.BarStart(s.bar+s.bars)
	for _, t := range p.file.Tracks {
		for _, e := range t.Events {
			if kind, _ := e.MetaType(); e.IsMeta() && kind == metaMetre && a < e.Tick && e.Tick < b {
				return true
			}
		}
	}
	return false
}

// cut makes a stretch a song of its own, format 1. What was set before it (programs, controllers, bends, tempo,
// metre, names) stands at its first tick. Notes that sound when it starts are left out, at its end they are ended.
// Markers are left out. Every track ends on the last bar line. It is nil where too little sounds to be a loop.
func (p piece) cut(s stretch) *smf.File {
	a, b := p.time.BarStart(s.bar), p.time.BarStart(s.bar+s.bars)
	out := &smf.File{Format: 1, Division: p.file.Division}
	sounding, notes := 0, 0
	for i := range p.file.Tracks {
		t, n := cutTrack(&p.file.Tracks[i], a, b)
		out.Tracks = append(out.Tracks, t)
		notes += n
		if n > 0 {
			sounding++
		}
	}
	if sounding < fewestSounding || notes < fewestNotes {
		return nil
	}
	return out
}

// cutTrack returns what a track does from tick a up to tick b, and the number of its notes.
func cutTrack(t *smf.Track, a, b smf.Tick) (smf.Track, int) {
	var out smf.Track
	for _, e := range settings(t, a) {
		out.Append(out.CopyLong(t, e, 0))
	}
	var open [16 * 128]int // notes by channel and key
	var struck []smf.Event // the first note of each channel and key
	var seen [16 * 128]bool
	notes := 0
	for _, e := range t.Events {
		note := int(e.Chan())<<7 | int(e.Data1())
		kind, meta := e.MetaType()
		take := a <= e.Tick && e.Tick < b
		switch {
		case e.IsOn():
			if !take {
				break
			}
			if !seen[note] {
				seen[note] = true
				struck = append(struck, e)
			}
			open[note]++
			notes++
		case e.IsOff():
			take = open[note] > 0 && e.Tick <= b
			if take {
				open[note]--
			}
		case meta && kind == metaMarker:
			take = false
		}
		if take {
			out.Append(out.CopyLong(t, e, e.Tick-a))
		}
	}
	for _, e := range struck {
		for range open[int(e.Chan())<<7|int(e.Data1())] {
			out.Append(smf.Channel(b-a, 0x80|e.Chan(), e.Data1(), 64))
		}
	}
	out.End = b - a
	return out, notes
}

// settings returns what holds at tick a of what was set before it: the last event of each kind, of each controller
// for itself, in their order.
func settings(t *smf.Track, a smf.Tick) []smf.Event {
	var out []smf.Event
	seen := map[[2]byte]bool{}
	for _, e := range slices.Backward(t.Events) {
		kind := [2]byte{e.Status()}
		if typ, meta := e.MetaType(); meta {
			kind[1] = typ
		} else if e.Kind() == 0xB0 {
			kind[1] = e.Data1() // the controller
		}
		if e.Tick >= a || e.IsOn() || e.IsOff() || kind == [2]byte{0xFF, metaMarker} || seen[kind] {
			continue
		}
		seen[kind] = true
		out = append(out, e)
	}
	slices.Reverse(out)
	return out
}
