package song

// BendRanges are the bend ranges in semitones that are announced for a channel, by tick.
type BendRanges Points

// BendRanges returns the bend ranges that a track announces for a channel: registered parameter 0
// (MIDI 1.0). It walks the track once.
func (s Song) BendRanges(track int, channel uint8) BendRanges {
	var out BendRanges
	selected := [2]byte{127, 127}
	for _, ev := range s.Tracks[track].Events {
		if ev.Kind() != 0xB0 || ev.Chan() != channel {
			continue
		}
		switch ev.Data1() {
		case 98, 99:
			selected = [2]byte{127, 127}
		case 100, 101:
			selected[ev.Data1()-100] = ev.Data2()
		case 6:
			if selected == [2]byte{} {
				out = append(out, Point{Tick: ev.Tick, Value: int(ev.Data2())})
			}
		}
	}
	return out
}

// At returns the range in force at a tick, 2 semitones where none is announced (General MIDI).
func (r BendRanges) At(t Tick) int {
	if v, ok := Points(r).At(t); ok && v > 0 {
		return v
	}
	return 2
}
