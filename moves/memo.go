package moves

import "loopdraft/smf/song"

// memo keeps what a composite move finds out again and again about the parts of the loop while it tries steps.
type memo struct {
	full, loop map[string]int // the indices of parts by their names
	loudest    map[*song.Note]uint8
	lowest     map[*song.Note]int
	voices     map[string]heardVoice
	laid       map[int][]int // see Env.laid
	places     []ghostPlace  // room for those of one step after the other
}

type heardVoice struct {
	voice voice
	ok    bool
}

func newMemo(env *Env) *memo {
	names := func(s song.Song) map[string]int {
		out := map[string]int{}
		for i, p := range s.Parts {
			if _, has := out[p.Name]; !has {
				out[p.Name] = i
			}
		}
		return out
	}
	return &memo{full: names(env.Full), loop: names(env.Loop), loudest: map[*song.Note]uint8{}, lowest: map[*song.Note]int{}, voices: map[string]heardVoice{}, laid: map[int][]int{}}
}

// index returns the index of a part in a song whose names are known, -1 for none.
func index(names map[string]int, name string) int {
	if i, ok := names[name]; ok {
		return i
	}
	return -1
}

// roomForPlaces returns room for the places of ghosts.
func (e *Env) roomForPlaces() *[]ghostPlace {
	if e.memo == nil {
		return new([]ghostPlace)
	}
	return &e.memo.places
}

// loudestOf returns the greatest velocity of a part as the loop plays it, or as it plays now where that is nothing.
func (e *Env) loudestOf(p song.Part) uint8 {
	own := e.Source(p.Name).Notes
	if len(own) == 0 {
		return loudest(p.Notes)
	}
	if e.memo == nil {
		return loudest(own)
	}
	v, ok := e.memo.loudest[&own[0]]
	if !ok {
		v = loudest(own)
		e.memo.loudest[&own[0]] = v
	}
	return v
}

// lowestOf returns the lowest key of a part, as the loop plays it, that is no key switch; 128 for none.
func (e *Env) lowestOf(p song.Part) int {
	own := e.Source(p.Name).Notes
	if len(own) == 0 || e.memo == nil {
		return lowestPitchIn(own)
	}
	v, ok := e.memo.lowest[&own[0]]
	if !ok {
		v = lowestPitchIn(own)
		e.memo.lowest[&own[0]] = v
	}
	return v
}

// voiceOf returns the voice of a part as the loop plays it, or as it plays now where that is nothing.
func (e *Env) voiceOf(p song.Part) (voice, bool) {
	own := e.Source(p.Name).Notes
	switch {
	case len(own) == 0:
		return voiceOf(p.Notes, p)
	case e.memo == nil:
		return voiceOf(own, p)
	}
	v, ok := e.memo.voices[p.Name]
	if !ok {
		v.voice, v.ok = voiceOf(own, p)
		e.memo.voices[p.Name] = v
	}
	return v.voice, v.ok
}
