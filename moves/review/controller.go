package review

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// ControllerHome finds controllers that are left away from home at the end.
type ControllerHome struct {
	Steps int `yaml:"steps" range:"1..127" unit:"steps of 127" doc:"so far from home is away"`
}

func controllerRule() Rule {
	return Rule{
		Name: "controller", Group: Broken, Level: Warn,
		Brief:  "controllers are home at the end",
		Doc:    "A pedal that is held, a bend that is not in the middle or a filter that is left closed at the end is still so when the song is started again. Home is what the part says, else for pedals, modulation, bend, pressure and expression their default, else the value at the channel's first note. Pedals and bend are a warning, the others a note.",
		Source: "defaults: General MIDI System Level 1 Developer Guidelines, 2nd revision, and MMA RP-015; the rest is common practice, no source",
		New:    func() Check { return &ControllerHome{Steps: 1} },
	}
}

func (r *ControllerHome) find(s *subject) []Finding {
	var out []Finding
	for first, end := 0, 0; first < len(s.song.Parts); first = end {
		track := s.song.Parts[first].Track
		for end = first; end < len(s.song.Parts) && s.song.Parts[end].Track == track; { // the parts of a track are neighbours
			end++
		}
		var parts [16][]int // by channel
		for i := first; i < end; i++ {
			parts[s.song.Parts[i].Channel] = append(parts[s.song.Parts[i].Channel], i)
		}
		set := s.settings(track, parts)
		for _, of := range slices.SortedFunc(maps.Keys(set), func(a, b knob) int {
			return cmp.Or(cmp.Compare(a.channel, b.channel), cmp.Compare(a.id, b.id))
		}) {
			if f, away := r.away(s, parts[of.channel], of.id, *set[of]); away {
				out = append(out, f)
			}
		}
	}
	return out
}

// knob is a controller of a channel.
type knob struct {
	channel uint8
	id      song.Controller
}

// setting is what a channel sets a controller to.
type setting struct {
	now   song.Point // the last value
	early int        // the value in force at the channel's first note
	known bool       // there was a value in force then
}

// settings goes once over the events of a track, whose parts are given by channel.
func (s *subject) settings(track int, parts [16][]int) map[knob]*setting {
	out := map[knob]*setting{}
	var first [16]song.Tick // note
	for channel := range first {
		first[channel] = s.song.End
		for _, i := range parts[channel] {
			if notes := s.song.Parts[i].Notes; len(notes) > 0 {
				first[channel] = min(first[channel], notes[0].Start)
			}
		}
	}
	for _, ev := range s.song.Tracks[track].Events {
		id, value, ok := ev.Of()
		if !ok {
			continue
		}
		c := out[knob{ev.Chan(), id}]
		if c == nil {
			c = &setting{}
			out[knob{ev.Chan(), id}] = c
		}
		c.now = song.Point{Tick: ev.Tick, Value: value}
		if ev.Tick <= first[ev.Chan()] {
			c.early, c.known = value, true
		}
	}
	return out
}

// rests tells whether a controller has a home: not bank, data entry and parameter numbers, nor volume and
// pan, which belong to the mix.
func rests(id song.Controller) bool {
	_, err := option.ParseController(strconv.Itoa(int(id)))
	return id >= song.Bend || err == nil && id != 7 && id != 10
}

// away tells whether a controller is left away from home.
func (r *ControllerHome) away(s *subject, parts []int, id song.Controller, c setting) (Finding, bool) {
	if len(parts) == 0 || !rests(id) {
		return Finding{}, false
	}
	home, known := s.home(parts, id, c)
	now := c.now.Value
	if !known || 128*max(now-home, home-now) < r.Steps*(id.Max()+1) || pedal(id) && now < 64 {
		return Finding{}, false
	}
	name := option.ControllerText(id)
	f := Finding{Level: Note, First: min(s.time.BarOf(c.now.Tick), s.bars), Last: s.bars, Parts: s.names(parts), About: name, Found: float64(now), Limit: float64(home), Unit: "(value)"}
	if pedal(id) || id == song.Bend {
		f.Level = Warn
	}
	words := name
	switch _, err := strconv.Atoi(name); {
	case pedal(id):
		words = [...]string{"sustain pedal", "portamento", "sostenuto pedal", "soft pedal"}[id-64]
	case err == nil:
		words = "controller " + name
	}
	f.Text = fmt.Sprintf("The %s of %s is left at %d at the end, %d is home: whoever starts the song again hears it so.", words, inWords(f.Parts), now, home)
	f.tries = func() []Steps {
		value := strconv.Itoa(home)
		return []Steps{one("ride", "part", s.partList(parts), "controller", name, "over", "last 1 beat", "from", value, "to", value, "hold", "true")}
	}
	return f, true
}

// pedal tells a pedal or switch (controllers 64 to 67: 0 to 63 off, 64 to 127 on; MIDI 1.0 table 3).
func pedal(id song.Controller) bool { return id >= 64 && id <= 67 }

// home returns where a controller rests.
func (s *subject) home(parts []int, id song.Controller, c setting) (int, bool) {
	for _, i := range parts {
		for _, h := range s.song.Parts[i].Home {
			if h.Controller == id {
				return h.Value, true
			}
		}
	}
	if v, ok := id.Default(); ok {
		return v, true
	}
	return c.early, c.known
}
