package moves

import (
	"fmt"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// added is a pitched part on a track of its own that a step asks for.
type added struct {
	part    song.Part // its name, role, job and kind
	option  string    // names the part; "" where the move does
	channel int       // 1..16; 0: a free one
	program int       // 1..128; 0: none is written
}

// in returns the index of the part. It makes the part if no step before has made it. A part that is there
// already has to be as the options ask.
func (a added) in(o *Outcome, env *Env, in song.Song, e *song.Edit) (int, error) {
	if i := in.Index(a.part.Name); i >= 0 {
		return i, a.fits(env, in, in.Parts[i])
	}
	p := a.part
	p.Channel = uint8(a.channel - 1)
	if a.channel == 0 {
		free, ok := in.FreeChannel()
		if !ok {
			return 0, &option.Mistake{Option: "channel", Found: "no channel that is free for " + p.Name, Want: "the channel to use, 1 to 16"}
		}
		p.Channel = free
		if e.Clear(free) { // its volume or program would be the new part's
			o.tell(remark.Remark{Kind: remark.ChannelCleared, Numbers: []int{int(free) + 1}})
		}
	}
	i := e.NewPart(p)
	told := remark.Remark{Kind: remark.NewTrack, Parts: []string{p.Name}, Numbers: []int{int(p.Channel) + 1}}
	if a.program > 0 {
		e.Insert(len(in.Tracks), smf.Channel(0, 0xC0|p.Channel, byte(a.program-1), 0))
		told.Kind, told.Numbers = remark.NewTrackProgram, append(told.Numbers, a.program)
	}
	o.tell(told)
	return i, nil
}

// fits tells what is wrong with a part that is there already.
func (a added) fits(env *Env, in song.Song, p song.Part) error {
	if env.Full.Index(p.Name) >= 0 {
		return &option.Mistake{Option: a.option, Found: p.Name, Want: "a name that no part of the loop has"}
	}
	if a.channel > 0 && a.channel != int(p.Channel)+1 {
		return &option.Mistake{Option: "channel", Found: strconv.Itoa(a.channel), Want: fmt.Sprintf("%d, the channel that %s has already", p.Channel+1, p.Name)}
	}
	if a.program > 0 {
		for _, ev := range in.Tracks[p.Track].Events {
			if ev.Kind() == 0xC0 && ev.Chan() == p.Channel && int(ev.Data1())+1 == a.program {
				return nil
			}
		}
		return &option.Mistake{Option: "program", Found: strconv.Itoa(a.program), Want: "the program that " + p.Name + " has already, or none"}
	}
	return nil
}
