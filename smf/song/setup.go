package song

import (
	"maps"
	"math/bits"
	"slices"

	"loopdraft/smf"
)

// setUp writes what is in force at a bar line where a file of a section begins: what the song says there and before.
func (c *cutter) setUp(t *cutTrack, v voice, events []gathered, at Tick) {
	c.setUpTime(t, events, at)
	last := map[byte]gathered{} // metas that say what the track is played on
	states := map[uint8]*inForce{}
	for _, g := range events {
		if g.Tick >= at {
			break
		}
		switch kind, meta := g.MetaType(); {
		case meta && (kind == metaInstrument || kind == metaDevice || kind == smf.MetaPort):
			last[kind] = g
		case g.IsChannel():
			if states[g.Chan()] == nil {
				states[g.Chan()] = newInForce()
			}
			states[g.Chan()].apply(g.Event)
		}
	}
	for _, kind := range slices.Sorted(maps.Keys(last)) {
		t.meta(kind, last[kind].from.Long(last[kind].Event))
	}
	for _, channel := range slices.Sorted(maps.Keys(states)) {
		for _, g := range events {
			if g.Tick == at && g.IsChannel() && g.Chan() == channel {
				states[channel].spare(g.Event)
			}
		}
		for _, e := range states[channel].send() {
			t.Events = append(t.Events, Event{Event: e.At(0), New: true})
		}
	}
}

const (
	metaInstrument = 0x04 // RP-001 p. 8
	metaDevice     = 0x09 // RP-019
)

// setUpTime writes tempo, metre and key, unless they are written at the line itself.
func (c *cutter) setUpTime(t *cutTrack, events []gathered, at Tick) {
	var metre, key []byte
	written := map[byte]bool{}
	in := c.song.time.MetreIn(c.song.time.BarOf(at))
	den := byte(bits.Len(uint(in.Den)) - 1)
	for _, g := range events {
		if g.Tick > at {
			break
		}
		kind, meta := g.MetaType()
		b := g.from.Long(g.Event)
		switch {
		case !meta:
		case kind == smf.MetaMetre && len(b) == 4 && int(b[0]) == in.Num && b[1] == den:
			metre = b
		case kind == smf.MetaKey:
			key = b
		}
		written[kind] = written[kind] || meta && g.Tick == at
	}
	if micros := c.song.time.TempoAt(at); !written[smf.MetaTempo] {
		t.meta(smf.MetaTempo, []byte{byte(micros >> 16), byte(micros >> 8), byte(micros)})
	}
	if metre == nil { // 24 MIDI clocks a click and 8 notated 32nds a quarter note, as where nothing says it
		metre = []byte{byte(in.Num), den, 24, 8}
	}
	if !written[smf.MetaMetre] {
		t.meta(smf.MetaMetre, metre)
	}
	if key != nil && !written[smf.MetaKey] {
		t.meta(smf.MetaKey, key)
	}
}

// inForce is what is in force on a channel (MIDI 1.0, tables III and V; RP-015 for the reset of controllers).
type inForce struct {
	modes    map[byte]smf.Event // omni under 124, mono or poly under 126
	banks    map[byte]smf.Event // bank select as it stands
	latched  map[byte]smf.Event // bank select as it was when the program was chosen
	program  *smf.Event
	controls map[byte]smf.Event
	bend     *smf.Event
	pressure *smf.Event

	selected  parameter // the one that data entry is for
	selection [2]smf.Event
	entered   map[parameter][]smf.Event // data entry, increments and decrements of each since it was set last
	order     []parameter
}

// parameter is a registered parameter or one that is not.
type parameter struct {
	registered bool
	high, low  byte // 127 and 127: none
}

func newInForce() *inForce {
	return &inForce{
		modes: map[byte]smf.Event{}, banks: map[byte]smf.Event{}, latched: map[byte]smf.Event{}, controls: map[byte]smf.Event{},
		selected: parameter{high: 127, low: 127}, entered: map[parameter][]smf.Event{},
	}
}

// apply takes an event into account.
func (f *inForce) apply(ev Event) {
	e := ev.Event
	switch e.Kind() {
	case 0xC0:
		f.program, f.latched = &e, maps.Clone(f.banks)
	case 0xD0:
		f.pressure = &e
	case 0xE0:
		f.bend = &e
	case 0xB0:
		f.control(e)
	}
}

func (f *inForce) control(e smf.Event) {
	switch c := e.Data1(); c {
	case 0, 32:
		f.banks[c] = e
	case 6, 38, 96, 97:
		p := f.selected
		if p.high == 127 && p.low == 127 {
			return
		}
		if f.entered[p] == nil {
			f.order = append(f.order, p)
		}
		if c == 6 { // what was entered before does not count any more
			f.entered[p] = nil
		}
		f.entered[p] = append(f.entered[p], e)
	case 98, 99, 100, 101:
		if registered := c >= 100; registered != f.selected.registered {
			f.selected, f.selection = parameter{registered: registered, high: 127, low: 127}, [2]smf.Event{}
		}
		if c%2 == 1 {
			f.selected.high, f.selection[0] = e.Data2(), e
		} else {
			f.selected.low, f.selection[1] = e.Data2(), e
		}
	case 121:
		for _, c := range []byte{1, 11, 64, 65, 66, 67} {
			delete(f.controls, c)
		}
		f.bend, f.pressure = nil, nil
		f.selected, f.selection = parameter{high: 127, low: 127}, [2]smf.Event{}
	case 120, 122, 123: // they end sounds, or are about a keyboard
	case 124, 125, 126, 127:
		f.modes[c&^1] = e
	default:
		f.controls[c] = e
	}
}

// spare drops what an event sets anew where the section begins.
func (f *inForce) spare(ev Event) {
	switch ev.Kind() {
	case 0xC0:
		f.program, f.latched = nil, nil
	case 0xD0:
		f.pressure = nil
	case 0xE0:
		f.bend = nil
	case 0xB0:
		delete(f.controls, ev.Data1())
	}
}

// send returns the events that bring all of it about.
func (f *inForce) send() []smf.Event {
	var out []smf.Event
	some := func(of map[byte]smf.Event) {
		for _, c := range slices.Sorted(maps.Keys(of)) {
			out = append(out, of[c])
		}
	}
	some(f.modes)
	some(f.latched)
	if f.program != nil {
		out = append(out, *f.program)
	}
	if !maps.Equal(f.banks, f.latched) {
		some(f.banks)
	}
	some(f.controls)
	for _, p := range f.order {
		high, low := byte(99), byte(98)
		if p.registered {
			high, low = 101, 100
		}
		status := f.entered[p][0].Status()
		out = append(out, smf.Channel(0, status, high, p.high), smf.Channel(0, status, low, p.low))
		out = append(append(out, f.entered[p]...), smf.Channel(0, status, 101, 127), smf.Channel(0, status, 100, 127))
	}
	for _, e := range f.selection {
		if e != (smf.Event{}) {
			out = append(out, e)
		}
	}
	for _, e := range []*smf.Event{f.bend, f.pressure} {
		if e != nil {
			out = append(out, *e)
		}
	}
	return out
}
