// Package songtest makes songs for tests: of step grids, and of events at [Quarter] ticks a quarter note. Only
// tests import it.
package songtest

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Lengths in ticks of the songs that are made of events; a bar is one of 4/4.
const (
	Quarter = smf.Tick(96)
	Bar     = 4 * Quarter
)

// Song makes a song of tracks at 96 ticks a quarter note; each ends at end.
func Song(t testing.TB, end smf.Tick, tracks ...[]smf.Event) song.Song {
	t.Helper()
	f := &smf.File{Format: 1, Division: 96}
	for _, events := range tracks {
		var tr smf.Track
		for _, ev := range events {
			tr.Append(ev)
		}
		tr.End = end
		f.Tracks = append(f.Tracks, tr)
	}
	return From(t, f)
}

// Decoded makes a song of the bytes of a file; false where they make none.
func Decoded(b []byte) (song.Song, bool) {
	f, err := smf.Decode(b)
	if err != nil {
		return song.Song{}, false
	}
	s, err := song.From(f)
	return s, err == nil
}

// From makes a song of a file.
func From(t testing.TB, f *smf.File) song.Song {
	t.Helper()
	s, err := song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// On is a note-on on channel 1.
func On(t smf.Tick, key, vel byte) smf.Event { return smf.Channel(t, 0x90, key, vel) }

// Off is a note-off on channel 1.
func Off(t smf.Tick, key byte) smf.Event { return smf.Channel(t, 0x80, key, 64) }

// Controller is a change of controller c to v on channel 1.
func Controller(t smf.Tick, c, v byte) smf.Event { return smf.Channel(t, 0xB0, c, v) }

// Program is a change of program on channel 1; p counts from 0.
func Program(t smf.Tick, p byte) smf.Event { return smf.Channel(t, 0xC0, p, 0) }

// Bend is a pitch bend on channel 1 by its high byte, 64 for none.
func Bend(t smf.Tick, msb byte) smf.Event { return smf.Channel(t, 0xE0, 0, msb) }

// Note is a note of velocity 100 on channel 1 that ends at end.
func Note(t, end smf.Tick, k byte) []smf.Event { return []smf.Event{On(t, k, 100), Off(end, k)} }

// Violations counts the invariants that a song breaks, by rule.
func Violations(s song.Song) map[string]int {
	out := map[string]int{}
	for _, v := range s.Check() {
		out[v.Rule]++
	}
	return out
}

// Show prints the events of a track that are not notes, with their ticks in quarters and ticks.
func Show(s song.Song, track int) string {
	var out []string
	for _, ev := range s.File().Tracks[track].Events {
		if ev.IsOn() || ev.IsOff() {
			continue
		}
		at := fmt.Sprint(int(ev.Tick / Quarter))
		if r := ev.Tick % Quarter; r != 0 {
			at += fmt.Sprintf("+%d", r)
		}
		switch ev.Kind() {
		case 0xB0:
			out = append(out, fmt.Sprintf("%s:cc%d=%d", at, ev.Data1(), ev.Data2()))
		case 0xC0:
			out = append(out, fmt.Sprintf("%s:prog=%d", at, ev.Data1()))
		case 0xE0:
			out = append(out, fmt.Sprintf("%s:bend=%d", at, ev.Data2()))
		case 0xD0:
			out = append(out, fmt.Sprintf("%s:pressure=%d", at, ev.Data1()))
		case 0xA0:
			out = append(out, fmt.Sprintf("%s:poly=%d", at, ev.Data2()))
		default:
			f := s.File()
			b := f.Tracks[track].Long(ev)
			kind, _ := ev.MetaType()
			switch {
			case ev.IsSysex():
				out = append(out, fmt.Sprintf("%s:sysex=%x", at, b))
			case kind == 0x51:
				out = append(out, fmt.Sprintf("%s:tempo=%x", at, b))
			case kind == 0x58:
				out = append(out, fmt.Sprintf("%s:metre=%d/%d", at, b[0], 1<<b[1]))
			case kind == 0x59:
				out = append(out, fmt.Sprintf("%s:key=%x", at, b))
			default:
				out = append(out, fmt.Sprintf("%s:meta%02x=%s", at, kind, b))
			}
		}
	}
	return strings.Join(out, " ")
}

// SameWords compares without regard to the order of events at one tick, which other tests hold.
func SameWords(a, b string) bool {
	count := map[string]int{}
	for _, w := range strings.Fields(a) {
		count[w]++
	}
	for _, w := range strings.Fields(b) {
		count[w]--
	}
	for _, n := range count {
		if n != 0 {
			return false
		}
	}
	return true
}

func MetaFile(end smf.Tick, put func(tr *smf.Track)) *smf.File {
	var tr smf.Track
	put(&tr)
	tr.End = end
	return &smf.File{Format: 1, Division: 96, Tracks: []smf.Track{tr}}
}

func Grid(t testing.TB, text string) song.Song {
	t.Helper()
	s, err := song.ParseGrid(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func SortedEvents(events []smf.Event) []smf.Event {
	slices.SortStableFunc(events, func(a, b smf.Event) int { return int(a.Tick - b.Tick) })
	return events
}
