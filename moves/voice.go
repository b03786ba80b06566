package moves

import "loopdraft/smf/song"

// voice is what a part strikes most: what generated hits are made of.
type voice struct {
	key     uint8
	length  song.Tick // of the first note of the key
	median  uint8     // velocity, of two in the middle the lower
	loudest uint8
}

// voiceOf returns the voice of a part's notes: its commonest key, the lowest of several; in a kit part
// of several sounds, a snare or clap before others. False if there is no note.
func voiceOf(notes []song.Note, p song.Part) (voice, bool) {
	if len(notes) == 0 {
		return voice{}, false
	}
	var keys [128]int
	for _, n := range notes {
		keys[n.Key&127]++
	}
	best := -1
	for k, n := range keys {
		if n > 0 && (best < 0 || better(p, uint8(k), n, uint8(best), keys[best])) {
			best = k
		}
	}
	v := voice{key: uint8(best)}
	var velocities [128]int
	for _, n := range notes {
		if n.Key != v.key {
			continue
		}
		if v.length == 0 {
			v.length = max(n.End-n.Start, 1)
		}
		velocities[n.Vel&127]++
		v.loudest = max(v.loudest, n.Vel)
	}
	v.median = median(&velocities, keys[best])
	return v, true
}

func better(p song.Part, key uint8, count int, best uint8, most int) bool {
	if a, b := p.Kit && backbeatKey(key), p.Kit && backbeatKey(best); a != b {
		return a
	}
	return count > most
}
