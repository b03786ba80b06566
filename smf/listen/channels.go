package listen

import (
	"fmt"
	"slices"

	"loopdraft/smf/song"
)

// shareInstruments finds the raw parts that are one instrument with a channel for each note, so that
// each note can be bent by itself, and gives them the habits of all of them together.
func (h *hearing) shareInstruments(raw []rawPart) {
	for first := 0; first < len(raw); {
		last := first + 1
		for last < len(raw) && raw[last].Track == raw[first].Track {
			last++
		}
		if h.oneInstrument(raw[first:last]) {
			h.share(raw[first:last])
		}
		first = last
	}
}

// oneInstrument tells whether the raw parts of a track are one instrument: two or more, of which none
// plays two notes at once, of one program, and the track announces a zone of member channels (RPN 6,
// MIDI Polyphonic Expression, M1-100-UM), or three or more of them are bent and none is on channel 10.
func (h *hearing) oneInstrument(raw []rawPart) bool {
	if len(raw) < 2 {
		return false
	}
	p0, _ := h.program(raw[0].Part)
	drums := false
	for _, r := range raw {
		if p, _ := h.program(r.Part); p != p0 || overlaps(r.Notes) {
			return false
		}
		drums = drums || r.Channel == PercussionChannel
	}
	bent, announced := h.bends(raw[0].Track)
	n := 0
	for _, r := range raw {
		if bent&(1<<r.Channel) != 0 {
			n++
		}
	}
	return announced || n >= 3 && !drums
}

// overlaps tells whether two notes sound at once.
func overlaps(notes []song.Note) bool {
	end := song.Tick(0)
	for _, n := range notes {
		if n.Start < end {
			return true
		}
		end = max(end, n.End)
	}
	return false
}

// bends returns the channels that a track bends, a bit each, and whether it selects RPN 6 on any.
func (h *hearing) bends(track int) (bent uint16, announced bool) {
	var coarse, fine [16]uint8
	for i := range coarse {
		coarse[i], fine[i] = 127, 127
	}
	for _, e := range h.song.Tracks[track].Events {
		switch {
		case e.Kind() == 0xE0:
			bent |= 1 << e.Chan()
		case e.Kind() == 0xB0 && e.Data1() == 101:
			coarse[e.Chan()] = e.Data2()
		case e.Kind() == 0xB0 && e.Data1() == 100:
			fine[e.Chan()] = e.Data2()
		case e.Kind() == 0xB0 && e.Data1() == 6:
			announced = announced || coarse[e.Chan()] == 0 && fine[e.Chan()] == 6
		}
	}
	return bent, announced
}

// share makes raw parts one instrument: named after the track, heard together.
func (h *hearing) share(raw []rawPart) {
	h.groups++
	track := raw[0].Track
	title := h.song.Tracks[track].Name
	says := nameSays(title)
	var notes []song.Note
	for _, r := range raw {
		notes = append(notes, r.Notes...)
	}
	slices.SortStableFunc(notes, song.CompareNotes)
	together := measure(notes, raw[0].cycle, h.time)
	for i := range raw {
		r := &raw[i]
		r.title, r.says, r.habits, r.kit, r.group = title, says, together, false, h.groups
		r.note(song.RoleUnknown, 0, fmt.Sprintf("one of %d channels of one instrument, a channel for each note", len(raw)))
	}
	h.told = append(h.told, fmt.Sprintf("track %d plays one instrument on %d channels, a channel for each note: its parts belong together", track+1, len(raw)))
}
