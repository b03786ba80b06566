package lay

import (
	"cmp"
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
	groups := t.groups()
	var out []song.Event
	inside := len(t.rest) > 0 && t.rest[0].inside // the song begins in the middle of the loop
	for i, ev := range src.Events {               // set-up stands where it stood
		if kinds[i].setup && kinds[i].loop == 0 && !kinds[i].left && ev.Tick < t.end && !(kinds[i].state && groups[groupOf(groups, ev)].fresh()) && !(inside && kinds[i].conductor) {
			out = append(out, ev)
			if kinds[i].state {
				states.apply(ev)
			}
		}
	}
	done := make([]bool, len(src.Events)) // first-pass events that are written
	for g := range groups {
		out = t.layGroup(out, src, kinds, states, groups, g, done)
	}
	for i, kind := range kinds {
		if l := t.loops[kind.loop]; kind.once && !kind.setup && !kind.left && !done[i] && kind.first < kind.last && kind.last < l.start+l.cycle(t.track) {
			t.tell(remark.Remark{Kind: remark.PacketsLeftOut})
		}
	}
	out = c.lay(out, t.track, inside, func(ev song.Event) bool {
		i, found := slices.BinarySearchFunc(src.Events, ev, song.CompareEvents)
		return found && kinds[i].setup
	})
	out = states.release(out, t.end)
	if !slices.IsSortedFunc(out, song.CompareEvents) {
		slices.SortStableFunc(out, song.CompareEvents)
	}
	return out
}

// group are channels of a track that play the same stretches. What is no channel's goes with the first group.
type group struct {
	segs     []segment
	channels uint16 // a bit each
}

func (g group) has(channel int) bool { return g.channels&(1<<channel) != 0 }

// fresh tells whether all that is in force has to be sent where the song begins.
func (g group) fresh() bool { return len(g.segs) > 0 && g.segs[0].fresh() }

// groups returns the channels of the track by what they play. A channel whose parts do not play the same goes with
// the blocks.
func (t *trackLayer) groups() []group {
	out := []group{{segs: t.rest, channels: 1<<16 - 1}}
	if len(t.loops) == 1 {
		return out
	}
	for channel := range 16 {
		var segs []segment
		same := true
		for i, p := range t.parts {
			if int(p.Channel) == channel {
				same = same && (segs == nil || slices.Equal(segs, t.own[i]))
				segs = t.own[i]
			}
		}
		if segs != nil && same && !slices.Equal(segs, t.rest) {
			out[0].channels &^= 1 << channel
			out = append(out, group{segs, 1 << channel})
		}
	}
	return out
}

// groupOf returns the index of the group that an event goes with.
func groupOf(groups []group, ev song.Event) int {
	if ev.IsChannel() {
		for i, g := range groups {
			if g.has(int(ev.Chan())) {
				return i
			}
		}
	}
	return 0
}

// layGroup copies the events of a group of channels, those that are not set-up.
func (t *trackLayer) layGroup(out []song.Event, src *song.Track, kinds []eventKind, states *channels, groups []group, g int, done []bool) []song.Event {
	segs := groups[g].segs
	force := map[song.Tick][16]*chanState{}
	for k := range t.loops {
		states.inForce(force, src, kinds, k, entries(segs, k))
	}
	for k, s := range segs {
		switch {
		case s.fresh():
			out = states.enter(out, groups[g], force, s, k == 0 || !s.entered)
		case k > 0:
			out = states.restart(out, groups[g], s)
		}
		i, _ := slices.BinarySearchFunc(src.Events, s.from, func(ev song.Event, at song.Tick) int { return int(ev.Tick - at) })
		for ; i < len(src.Events) && src.Events[i].Tick < s.to; i++ {
			ev, kind := src.Events[i], kinds[i]
			switch {
			case kind.setup || kind.conductor || kind.left:
				continue
			case groupOf(groups, ev) != g:
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
	return out
}

// eventKind says how an event repeats.
type eventKind struct {
	loop      int  // which one it is of
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
	firstNote := t.firstNotes(0)
	beat := t.song.Time().BeatTicks(1)
	kinds := make([]eventKind, len(src.Events))
	message := -1 // the first packet of a system exclusive message that is not complete
	for i, ev := range src.Events {
		k := &kinds[i]
		if i > 0 {
			k.loop = kinds[i-1].loop
		}
		for k.loop+1 < len(t.loops) && ev.Tick >= t.loops[k.loop+1].start {
			k.loop++
			firstNote = t.firstNotes(k.loop)
		}
		at := ev.Tick - t.loops[k.loop].start
		if ev.IsChannel() {
			first := firstNote[ev.Chan()]
			k.setup = at == 0 || at < beat && ev.Tick < first
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
			k.setup = k.setup && (k.loop == 0 || k.state) // of another loop what is in force is sent where it comes in
			continue
		}
		k.setup = ev.Tick == 0 || k.loop == 0 && at < beat && ev.Tick < firstNote[16]
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

// firstNotes returns the onset of each channel's first note in a loop, and of the track's in the last place;
// where there is none, a tick past the end.
func (t *trackLayer) firstNotes(loop int) [17]song.Tick {
	var first [17]song.Tick
	for c := range first {
		first[c] = smf.MaxTicks + 1
	}
	for _, p := range t.parts {
		i, _ := slices.BinarySearchFunc(p.Notes, t.loops[loop].start, func(n song.Note, at song.Tick) int { return cmp.Compare(n.Start, at) })
		if i < len(p.Notes) && (loop+1 == len(t.loops) || p.Notes[i].Start < t.loops[loop+1].start) {
			first[p.Channel] = min(first[p.Channel], p.Notes[i].Start)
			first[16] = min(first[16], p.Notes[i].Start)
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
	t     *trackLayer
	now   [16]chanState
	start [][16]chanState // by loop
	used  [16]bool
	bare  [][16]bool // by loop: some data entry finds its parameter selected before the loop begins
}

func newChannels(t *trackLayer, src *song.Track, kinds []eventKind) *channels {
	c := &channels{t: t, start: make([][16]chanState, len(t.loops)), bare: make([][16]bool, len(t.loops))}
	for i := range c.now {
		c.now[i] = newChanState()
		for k := range t.loops {
			c.start[k][i] = newChanState()
		}
	}
	first := make([][17]song.Tick, len(t.loops))
	for k := range t.loops {
		first[k] = t.firstNotes(k)
	}
	for i, ev := range src.Events {
		if !t.keepsTrackOf(ev, kinds[i]) {
			continue
		}
		k, ch := kinds[i].loop, ev.Chan()
		c.used[ch] = true
		if ev.Tick == t.loops[k].start || ev.Tick <= first[k][ch] && first[k][ch] <= smf.MaxTicks {
			c.start[k][ch].apply(ev)
		}
	}
	chosen := make([][16]bool, len(t.loops))
	for i, ev := range src.Events {
		if kinds[i].setup || ev.Kind() != 0xB0 {
			continue
		}
		switch k, ch := kinds[i].loop, ev.Chan(); ev.Data1() {
		case 98, 99, 100, 101:
			chosen[k][ch] = true
		case 6, 38, 96, 97:
			c.bare[k][ch] = c.bare[k][ch] || !chosen[k][ch]
		}
	}
	for i, ev := range src.Events { // what a loop sets later starts at its default
		if !t.keepsTrackOf(ev, kinds[i]) {
			continue
		}
		if id, _, ok := ev.Of(); ok && !unitController(id) {
			s := &c.start[0][ev.Chan()]
			if v, known := id.Default(); known && s.value[id] == unknown {
				s.value[id] = int16(v)
			}
		}
	}
	for k := 1; k < len(t.loops); k++ {
		for ch := range c.start[k] {
			c.start[k][ch].lean(c.start[0][ch])
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

// keepsTrackOf tells whether an event sets a value within the track's cycle of its loop.
func (t *trackLayer) keepsTrackOf(ev song.Event, kind eventKind) bool {
	l := t.loops[kind.loop]
	return kind.state && ev.Tick < l.start+l.cycle(t.track)
}

// lean takes what a loop does not set from how the first loop starts.
func (s *chanState) lean(first chanState) {
	for id, v := range first.value {
		if s.value[id] == unknown {
			s.value[id] = v
		}
	}
	if s.program == unknown {
		s.program = first.program
		if s.bankHigh == unknown && s.bankLow == unknown {
			s.bankHigh, s.bankLow = first.bankHigh, first.bankLow
		}
	}
	for _, p := range first.params {
		if !slices.ContainsFunc(s.params, p.same) {
			s.params = append(s.params, p)
		}
	}
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
func (c *channels) restart(out []song.Event, g group, s segment) []song.Event {
	for ch := range c.now {
		if c.used[ch] && g.has(ch) {
			out = c.send(out, uint8(ch), c.start[s.loop][ch], s, false)
		}
	}
	return out
}

// enter sends what is in force where a segment begins that the one before does not lead to, everything or what the
// segment before has left elsewhere.
func (c *channels) enter(out []song.Event, g group, force map[song.Tick][16]*chanState, s segment, all bool) []song.Event {
	for ch, state := range force[s.from] {
		if state != nil && g.has(ch) {
			out = c.send(out, uint8(ch), *state, s, all)
		}
	}
	return out
}

// inForce notes what is in force on the used channels at places of a loop, which are in order,
// found in one walk.
func (c *channels) inForce(out map[song.Tick][16]*chanState, src *song.Track, kinds []eventKind, loop int, at []song.Tick) {
	if len(at) == 0 {
		return
	}
	var force [16]chanState
	for ch := range force {
		force[ch] = c.start[loop][ch].clone()
	}
	i, _ := slices.BinarySearchFunc(src.Events, c.t.loops[loop].start, func(ev song.Event, at song.Tick) int { return int(ev.Tick - at) })
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
	if want.selected == unknown || !all && !c.bare[w.seg.loop][w.ch] {
		return
	}
	p := want.params[want.selected]
	if all || null || now.selected == unknown || !now.params[now.selected].same(p) {
		w.control(p.select1, int(p.msb))
		w.control(p.select2, int(p.lsb))
	}
}

// release lets held pedals go at the end of the song, where the loop does not start again, and brings bends home.
func (c *channels) release(out []song.Event, end song.Tick) []song.Event {
	for ch := range c.now {
		w := writer{out: out, ch: uint8(ch), seg: segment{at: end}}
		for _, pedal := range []byte{64, 66, 67, 69} {
			if c.now[ch].value[pedal] >= 64 {
				w.control(pedal, 0)
			}
		}
		home, _ := song.Bend.Default()
		if bend := c.now[ch].value[song.Bend]; bend != unknown && int(bend) != home {
			w.add(0xE0, byte(home&127), byte(home>>7))
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
