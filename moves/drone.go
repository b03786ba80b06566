package moves

import (
	"fmt"

	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// Drone holds a note under spans.
type Drone struct {
	Over     where.Spans  `yaml:"over" doc:"where it is held; left out, over all of the song"`
	Except   where.Spans  `yaml:"except" doc:"what is cut out of over; what is left of a span that is cut is a span of its own"`
	Key      int          `yaml:"key" range:"1..127" doc:"the key held, 60 is middle C; left out, the loop's root between 36 and 47"`
	Channel  int          `yaml:"channel" range:"1..16" doc:"channel of the track; left out, a free one"`
	Program  int          `yaml:"program" range:"1..128" doc:"its program; left out, none is written"`
	Velocity option.Share `yaml:"velocity" doc:"share of a velocity of 100"`
}

func droneMove() Move {
	return Move{
		Group: Pitch,
		Brief: "Hold the loop's root under spans",
		Doc: `One note is held from the start of each span to its end, on a new track named drone-added (with a number where the loop has such a part); later drones play there too. No free channel is an error: channel then says which one to share.

The root is the tonic of the key that the loop's pitched parts are heard in, which is told; key overrules it. A loop without a key gets no drone but a warning.`,
		New: func() Step { return &Drone{Velocity: 80 * option.Whole / 100} },
		Example: func() Example {
			return Example{
				Step:   &Drone{Over: where.SpansOf("bar 2"), Velocity: option.Whole},
				Before: "bass:45 x-..x-..x-..x-..|x-..x-..x-..x-..\nlead:72 x-......x-......|x-......x-......",
				After:  "bass:45        x-..x-..x-..x-..|x-..x-..x-..x-..\nlead:72        x-......x-......|x-......x-......\ndrone-added:45 ................|x---------------",
			}
		},
	}
}

// Name implements [Step].
func (*Drone) Name() string { return "drone" }

// Apply implements [Step].
func (d *Drone) Apply(env *Env, in song.Song) (Outcome, error) {
	o := Outcome{Song: in}
	ranges, err := o.over(env, d.Over, d.Except, in)
	if err != nil {
		return Outcome{}, err
	}
	if len(ranges) == 0 {
		return o, nil
	}
	key, ok := d.root(&o, env)
	if !ok {
		o.nothing(remark.Remark{Kind: remark.NothingHeld})
		return o, nil
	}
	name := "drone-added"
	for n := 2; env.Full.Index(name) >= 0; n++ { // a draft may be the next one's loop
		name = fmt.Sprintf("drone-added-%d", n)
	}
	e := in.Edit()
	to, err := added{
		part:    song.Part{Name: name, Role: song.RoleDrone, Job: song.RoleDrone.Job()},
		channel: d.Channel, program: d.Program,
	}.in(&o, env, in, e)
	if err != nil {
		return Outcome{}, err
	}
	for _, r := range ranges {
		e.Place(to, song.Note{Start: r.Start, End: r.End, Key: key, Vel: uint8(min(max(d.Velocity.Of(100), 1), 127))})
	}
	out := e.Song()
	o.changed(out, []int{to}, ranges, fmt.Sprintf("key %d", key))
	return o.with(out), nil
}

// root returns the key to hold.
func (d *Drone) root(o *Outcome, env *Env) (uint8, bool) {
	if d.Key > 0 {
		return uint8(d.Key), true
	}
	heard, ok := listen.KeyOf(env.Loop)
	if ok {
		o.tell(remark.Remark{Kind: remark.HeldIn, Found: heard.String(), Numbers: []int{36 + int(heard.Tonic)}})
	}
	return 36 + heard.Tonic, ok
}
