package lay

import (
	"slices"

	"loopdraft/moves/remark"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// layEvents copies what is not a note, by the table of what repeats: set-up is written once;
// controllers, programs, bends, pressure and parameters repeat, with their start value sent again
// where a pass ends on another; tempo, metre and key follow the loop whatever track they stand in;
// everything else stands in the first pass only.
func (t *trackLayer) layEvents(c *conductor) []song.Event {
	src := t.song.Tracks[t.track]
	kinds := t.classify(src)
	states := newChannels(t, src, kinds)
	var out []song.Event
	firstInside := len(t.segs) > 0 && t.segs[0].inside
	for i, ev := range src.Events { // set-up stands where it stood
		if kinds[i].setup && !kinds[i].left && ev.Tick < t.end && !(firstInside && kinds[i].state) && !(firstInside && kinds[i].conductor) {
			out = append(out, ev)
			if kinds[i].state {
				states.apply(ev)
			}
		}
	}
	force := states.inForce(src, kinds, t.entries())
	done := make([]bool, len(src.Events)) // first-pass events that are written
	for k, s := range t.segs {
		switch {
		case s.inside:
			out = states.enter(out, force, s)
		case k > 0:
			out = states.restart(out, s)
		}
		i, _ := slices.BinarySearchFunc(src.Events, s.from, func(ev song.Event, at song.Tick) int { return int(ev.Tick - at) })
		for ; i < len(src.Events) && src.Events[i].Tick < s.to; i++ {
			ev, kind := src.Events[i], kinds[i]
			switch {
			case kind.setup || kind.conductor || kind.left:
				continue
			case kind.loose && (k > 0 || s.inside):
				continue
			case kind.once && (done[i] || kind.first < s.from || kind.last >= s.to):
				continue
			}
			done[i] = true
			if kind.state {
				states.apply(ev)
			}
			ev.Tick += s.at - s.from
			ev.Pass = s.pass
			out = append(out, ev)
		}
	}
	for i, kind := range kinds {
		if kind.once && !kind.setup && !kind.left && !done[i] && kind.first < kind.last && kind.last < t.cycle {
			t.tell(remark.Remark{Kind: remark.PacketsLeftOut})
		}
	}
	out = c.lay(out, t.track, firstInside, func(ev song.Event) bool {
		i, found := slices.BinarySearchFunc(src.Events, ev, song.CompareEvents)
		return found && kinds[i].setup
	})
	out = states.release(out, t.end)
	if !slices.IsSortedFunc(out, song.CompareEvents) {
		slices.SortStableFunc(out, song.CompareEvents)
	}
	return out
}

// eventKind says how an event repeats.
type eventKind struct {
	setup     bool // written once, where it stands
	state     bool // sets a value that is kept track of
	once      bool // first pass only
	conductor bool // tempo, metre or key: laid with the loop
	left      bool // left out
	loose     bool // a note-off without a note
	// Of a message in several packets, which are written in one pass or not at all: where it begins and ends.
	first, last song.Tick
	packet      int // index of its first packet, from 1; 0: it is no later packet
}

// classify decides for every event of the track how it repeats.
func (t *trackLayer) classify(src *song.Track) []eventKind {
	firstNote := t.firstNotes()
	beat := t.song.Time().BeatTicks(1)
	kinds := make([]eventKind, len(src.Events))
	message := -1 // the first packet of a system exclusive message that is not complete
	for i, ev := range src.Events {
		k := &kinds[i]
		if ev.IsChannel() {
			first := firstNote[ev.Chan()]
			k.setup = ev.Tick == 0 || ev.Tick < beat && ev.Tick < first
			switch {
			case ev.IsOff(): // repeated, it would end notes that ring into a later pass
				k.setup, k.loose = false, true
			case ev.Kind() == 0xA0:
				k.setup = false
			case ev.Kind() == 0xB0 && ev.Data1() >= 120:
				k.state = ev.Data1() == 121
			default:
				k.state = true
			}
			continue
		}
		k.setup = ev.Tick == 0 || ev.Tick < beat && ev.Tick < firstNote[16]
		k.once = true
		k.first, k.last = ev.Tick, ev.Tick
		if ev.IsSysex() {
			message = joinPackets(kinds, src, message, i)
			continue
		}
		switch kind, _ := ev.MetaType(); kind {
		case smf.MetaTempo, smf.MetaMetre, smf.MetaKey:
			k.conductor, k.once = true, false
		case smf.MetaPort:
			k.setup = true
		case smf.MetaMarker:
			if !t.markers {
				k.left = true
				t.tell(remark.Remark{Kind: remark.MarkersLeftOut})
			}
		}
	}
	for i := len(src.Events) - 1; i >= 0; i-- { // every packet knows where its message ends
		if k := &kinds[i]; k.packet > 0 {
			kinds[k.packet-1].last = max(kinds[k.packet-1].last, k.last)
		}
	}
	for i := range kinds {
		if k := &kinds[i]; k.packet > 0 {
			k.last = kinds[k.packet-1].last
		}
	}
	for i := len(src.Events) - 2; i >= 0; i-- { // a channel prefix goes with the metas it precedes
		ev, next := src.Events[i], src.Events[i+1]
		if kind, ok := ev.MetaType(); ok && kind == smf.MetaChannelPrefix && next.IsMeta() && next.Tick == ev.Tick {
			kinds[i].left = kinds[i+1].left
		}
	}
	return kinds
}

// joinPackets takes the packet at index i to the message that is open, or begins one; it returns the
// index of the message still open, or -1.
func joinPackets(kinds []eventKind, src *song.Track, open, i int) int {
	ev := src.Events[i]
	if ev.Status() == 0xF7 {
		if open < 0 {
			return -1 // an escape
		}
		kinds[i].packet = open + 1
		kinds[i].setup, kinds[i].first = kinds[open].setup, kinds[open].first
	} else {
		open = i
	}
	if b := src.Long(ev); len(b) > 0 && b[len(b)-1] == 0xF7 {
		return -1
	}
	return open
}

// firstNotes returns the onset of each channel's first note, and of the track's in the last place;
// where there is none, a tick past the end.
func (t *trackLayer) firstNotes() [17]song.Tick {
	var first [17]song.Tick
	for c := range first {
		first[c] = smf.MaxTicks + 1
	}
	for _, p := range t.parts {
		if len(p.Notes) > 0 {
			first[p.Channel] = min(first[p.Channel], p.Notes[0].Start)
			first[16] = min(first[16], p.Notes[0].Start)
		}
	}
	return first
}

// unknown is the value of what nothing has set.
const unknown = -1

// parameter is a registered or non-registered parameter and its value.
type parameter struct {
	select1, select2 byte // the controllers that select it: 101 and 100, or 99 and 98
	msb, lsb         byte
	coarse, fine     int  // data entry 6 and 38; unknown
	lost             bool // data increment or decrement made its value unknown
}

func (p parameter) same(q parameter) bool {
	return p.select1 == q.select1 && p.msb == q.msb && p.lsb == q.lsb
}

// chanState is what is in force on a channel.
type chanState struct {
	value                 [130]int16 // by controller; unknown where nothing set it
	bankHigh, bankLow     int
	program               int
	params                []parameter
	selected              int // index into params; unknown: null or none
	selectHigh, selectLow int // halves of a selection so far
	selecting             byte
}

func newChanState() chanState {
	s := chanState{bankHigh: unknown, bankLow: unknown, program: unknown, selected: unknown, selectHigh: unknown, selectLow: unknown}
	for i := range s.value {
		s.value[i] = unknown
	}
	return s
}

func (s chanState) clone() chanState {
	s.params = slices.Clone(s.params)
	return s
}

// apply takes an event into account.
func (s *chanState) apply(ev song.Event) {
	switch ev.Kind() {
	case 0xC0:
		s.program = int(ev.Data1())
		return
	case 0xB0:
		if s.applyUnit(ev.Data1(), int(ev.Data2())) {
			return
		}
	}
	if c, v, ok := ev.Of(); ok {
		s.value[c] = int16(v)
	}
}

// applyUnit handles the controllers that belong to a unit: bank select, parameters, and the reset.
func (s *chanState) applyUnit(controller byte, v int) bool {
	switch controller {
	case 0:
		s.bankHigh = v
	case 32:
		s.bankLow = v
	case 98, 100:
		s.choose(controller+1, unknown, v)
	case 99, 101:
		s.choose(controller, v, unknown)
	case 6, 38, 96, 97:
		if s.selected == unknown {
			return true
		}
		p := &s.params[s.selected]
		switch controller {
		case 6:
			p.coarse, p.lost = v, false
		case 38:
			p.fine = v
		default:
			p.lost = true
		}
	case 121: // MMA RP-015
		for _, c := range []song.Controller{1, 11, 64, 65, 66, 67, song.Bend, song.Pressure} {
			v, _ := c.Default()
			s.value[c] = int16(v)
		}
		s.selected, s.selectHigh, s.selectLow = unknown, unknown, unknown
	default:
		return false
	}
	return true
}

// choose takes one half of a parameter's selection; kind is 101 for RPN, 99 for NRPN.
func (s *chanState) choose(kind byte, high, low int) {
	if s.selecting != kind {
		s.selecting, s.selectHigh, s.selectLow = kind, unknown, unknown
	}
	if high != unknown {
		s.selectHigh = high
	}
	if low != unknown {
		s.selectLow = low
	}
	s.selected = unknown
	if s.selectHigh == unknown || s.selectLow == unknown || s.selectHigh == 127 && s.selectLow == 127 {
		return
	}
	want := parameter{select1: kind, select2: kind - 1, msb: byte(s.selectHigh), lsb: byte(s.selectLow), coarse: unknown, fine: unknown}
	i := slices.IndexFunc(s.params, want.same)
	if i < 0 {
		i = len(s.params)
		s.params = append(s.params, want)
	}
	s.selected = i
}

// channels keeps track of the sixteen channels of a track.
type channels struct {
	t          *trackLayer
	now, start [16]chanState
	used       [16]bool
	bare       [16]bool // some data entry of the loop finds its parameter selected before the loop begins
}

func newChannels(t *trackLayer, src *song.Track, kinds []eventKind) *channels {
	c := &channels{t: t}
	for i := range c.now {
		c.now[i], c.start[i] = newChanState(), newChanState()
	}
	first := t.firstNotes()
	for i, ev := range src.Events {
		if !kinds[i].state || ev.Tick >= t.cycle {
			continue
		}
		ch := ev.Chan()
		c.used[ch] = true
		if ev.Tick == 0 || ev.Tick <= first[ch] && first[ch] <= smf.MaxTicks {
			c.start[ch].apply(ev)
		}
	}
	var chosen [16]bool
	for i, ev := range src.Events {
		if kinds[i].setup || ev.Kind() != 0xB0 {
			continue
		}
		switch ch := ev.Chan(); ev.Data1() {
		case 98, 99, 100, 101:
			chosen[ch] = true
		case 6, 38, 96, 97:
			c.bare[ch] = c.bare[ch] || !chosen[ch]
		}
	}
	for i, ev := range src.Events { // what the loop sets later starts at its default
		if !kinds[i].state || ev.Tick >= t.cycle {
			continue
		}
		if id, _, ok := ev.Of(); ok && !unitController(id) {
			s := &c.start[ev.Chan()]
			if v, known := id.Default(); known && s.value[id] == unknown {
				s.value[id] = int16(v)
			}
		}
	}
	for i := range c.now { // what was never set is at its default: nothing to send again
		for id := range c.now[i].value {
			if v, known := song.Controller(id).Default(); known {
				c.now[i].value[id] = int16(v)
			}
		}
	}
	return c
}

// unitController tells whether a controller belongs to a unit of several events.
func unitController(c song.Controller) bool {
	switch c {
	case 0, 32, 6, 38, 96, 97, 98, 99, 100, 101:
		return true
	}
	return false
}

func (c *channels) apply(ev song.Event) { c.now[ev.Chan()].apply(ev) }

// restart sends the start values again that the pass before did not end on.
func (c *channels) restart(out []song.Event, s segment) []song.Event {
	for ch := range c.now {
		if c.used[ch] {
			out = c.send(out, uint8(ch), c.start[ch], s, false)
		}
	}
	return out
}

// enter sends everything in force where a segment begins inside the loop.
func (c *channels) enter(out []song.Event, force map[song.Tick][16]*chanState, s segment) []song.Event {
	for ch, state := range force[s.from] {
		if state != nil {
			out = c.send(out, uint8(ch), *state, s, true)
		}
	}
	return out
}

// inForce returns what is in force on the used channels at places of the loop, which are in order,
// found in one walk.
func (c *channels) inForce(src *song.Track, kinds []eventKind, at []song.Tick) map[song.Tick][16]*chanState {
	if len(at) == 0 {
		return nil
	}
	var force [16]chanState
	for ch := range force {
		force[ch] = c.start[ch].clone()
	}
	out := make(map[song.Tick][16]*chanState, len(at))
	i := 0
	for _, from := range at {
		for ; i < len(src.Events) && src.Events[i].Tick < from; i++ {
			if kinds[i].state {
				force[src.Events[i].Chan()].apply(src.Events[i])
			}
		}
		var here [16]*chanState
		for ch := range force {
			if c.used[ch] {
				state := force[ch].clone()
				here[ch] = &state
			}
		}
		out[from] = here
	}
	return out
}

// send writes what of a state is not in force yet, or all of it.
func (c *channels) send(out []song.Event, ch uint8, want chanState, s segment, all bool) []song.Event {
	now := &c.now[ch]
	w := writer{out: out, ch: ch, seg: s}
	bank := want.bankHigh != now.bankHigh || want.bankLow != now.bankLow
	if all || bank || want.program != unknown && want.program != now.program {
		if want.bankHigh != unknown {
			w.control(0, want.bankHigh)
		}
		if want.bankLow != unknown {
			w.control(32, want.bankLow)
		}
		if want.program != unknown { // else the pass chooses one itself, in that bank
			w.add(0xC0, byte(want.program), 0)
		}
	}
	c.sendParameters(&w, want, now, all)
	for id, v := range want.value {
		if v == unknown || !all && now.value[id] == v {
			continue
		}
		switch id := song.Controller(id); id {
		case song.Bend:
			w.add(0xE0, byte(v&0x7F), byte(v>>7))
		case song.Pressure:
			w.add(0xD0, byte(v), 0)
		default:
			w.control(byte(id), int(v))
		}
	}
	keep := *now
	*now = want.clone()
	for _, p := range keep.params { // what an increment made unknown stays so
		if i := slices.IndexFunc(now.params, p.same); i >= 0 {
			now.params[i].lost = p.lost
		} else {
			now.params = append(now.params, p)
		}
	}
	if want.program == unknown {
		now.program = keep.program
	}
	if want.bankHigh == unknown {
		now.bankHigh = keep.bankHigh
	}
	if want.bankLow == unknown {
		now.bankLow = keep.bankLow
	}
	for id, v := range keep.value { // what the loop never sets stays as it is
		if want.value[id] == unknown {
			now.value[id] = v
		}
	}
	return w.out
}

// sendParameters writes parameters as whole units, each followed by the null parameter; where the
// place lies inside a selection, that is made again.
func (c *channels) sendParameters(w *writer, want chanState, now *chanState, all bool) {
	null := false // nothing is selected any more
	lost := func(p parameter) bool {
		i := slices.IndexFunc(now.params, p.same)
		return p.lost || i >= 0 && now.params[i].lost
	}
	for _, p := range want.params {
		if lost(p) {
			c.t.tell(remark.Remark{Kind: remark.ParameterStays, Numbers: []int{int(w.ch) + 1}})
			continue
		}
		if p.coarse == unknown && p.fine == unknown {
			continue
		}
		i := slices.IndexFunc(now.params, p.same)
		if !all && i >= 0 && now.params[i] == p {
			continue
		}
		w.control(p.select1, int(p.msb))
		w.control(p.select2, int(p.lsb))
		if p.coarse != unknown {
			w.control(6, p.coarse)
		}
		if p.fine != unknown {
			w.control(38, p.fine)
		}
		w.control(p.select1, 127)
		w.control(p.select2, 127)
		null = true
	}
	if want.selected == unknown || !all && !c.bare[w.ch] {
		return
	}
	p := want.params[want.selected]
	if all || null || now.selected == unknown || !now.params[now.selected].same(p) {
		w.control(p.select1, int(p.msb))
		w.control(p.select2, int(p.lsb))
	}
}

// release lets held pedals go at the end of the song.
func (c *channels) release(out []song.Event, end song.Tick) []song.Event {
	for ch := range c.now {
		w := writer{out: out, ch: uint8(ch), seg: segment{at: end}}
		for _, pedal := range []byte{64, 66, 67, 69} {
			if c.now[ch].value[pedal] >= 64 {
				w.control(pedal, 0)
			}
		}
		out = w.out
	}
	return out
}

// writer appends inserted events at the start of a segment, in the order they are written.
type writer struct {
	out []song.Event
	ch  uint8
	seg segment
	n   uint32
}

func (w *writer) control(controller byte, v int) { w.add(0xB0, controller, byte(v)) }

func (w *writer) add(kind, d1, d2 byte) {
	w.n++
	w.out = append(w.out, song.Event{Event: smf.Channel(w.seg.at, kind|w.ch, d1, d2), Seq: uint32(w.ch)<<16 | w.n, Pass: w.seg.pass, New: true})
}
