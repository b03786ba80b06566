package listen

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Override is an entry of a recipe's "parts:": what a part is, where what was heard is not what is
// wanted. With a selector (Track, TrackName, Channel, Port, Keys, At) the notes that all its
// selectors match move to the part of its name, one part for each track and channel they are on.
// Without one it speaks of the part that bears its name, or of every part of the role or job it
// names.
//
// Overrides are applied in order. Notes that an override with At, or with Keys, took are not taken
// again by one that selects less narrowly (At before Keys before the rest, each in one loop before in all).
type Override struct {
	Name string // "stab", "hat 2": lower-case letters, digits and hyphens, with a number or without

	Track     int      // number of the track, from 1; 0: any
	TrackName string   // its name, exact or else in any case; "": any
	Channel   int      // 1..16; 0: any
	Port      *int     // 0..127 as in FF 21; nil: any
	Keys      []int    // 0..127; nil: any. Without Track, TrackName or Channel: of kits and drums alone
	Loop      string   // of several loops on a [Tape] the one whose notes it selects; "": all. Only beside another selector
	At        []string // beats as bar.beat, both from 1, of a pattern as long as the largest bar here, repeated from bar 1 on; nil: anywhere

	Role   string // a role's word; "": as its name says, else as heard
	Job    string // a job's word; "": as heard
	Home   []song.Home
	Mapped []song.Controller
	Tails  song.Tails
	Entry  song.Entry
	Cycle  int         // bars after which its tracks repeat, for [FindLoop]; of several loops in all that are as long or longer; 0: as heard
	Cycles []LoopCycle // of several loops in each of them that is named; nil: as Cycle says
}

// LoopCycle is after how many bars something repeats in one of several loops.
type LoopCycle struct {
	Loop string
	Bars int
}

// anyDrum tells whether the override selects keys, or places, of whatever kit there is.
func (o Override) anyDrum() bool {
	return o.Keys != nil && o.Track == 0 && o.TrackName == "" && o.Channel == 0
}

// selects tells whether the override has a selector.
func (o Override) selects() bool {
	return o.Track != 0 || o.TrackName != "" || o.Channel != 0 || o.Port != nil || o.Keys != nil || o.At != nil
}

// rank tells how narrowly it selects.
func (o Override) rank() int {
	rank := 2
	switch {
	case o.At != nil:
		rank = 6
	case o.Keys != nil:
		rank = 4
	}
	if o.Loop != "" {
		rank++
	}
	return rank
}

// OverrideError is a mistake in one override. It says which override and which field of it, as far as this package
// can know, and it is not a mistake in an option of a move: overrides are no options, and this package stands below
// all that knows any. Package recipes puts either kind in its place in the file.
type OverrideError struct {
	Index       int    // of the override
	Name        string // its Name
	Field       string // as a recipe calls it: track, name, channel, port, keys, at, role, job, home, cycle; "": the entry's key
	Found, Want string
	Hint        string // the word that was probably meant, or ""
	Item        int    // which of the field's items, from 0, where it is a list
	NotThere    bool   // the entry has no selector and no part is called so
}

// Error implements error.
func (e *OverrideError) Error() string {
	var b strings.Builder
	b.WriteString("parts." + e.Name)
	if e.Field != "" {
		b.WriteString("." + e.Field)
	}
	fmt.Fprintf(&b, ": found %s, want %s", e.Found, e.Want)
	if e.Hint != "" {
		fmt.Fprintf(&b, "; did you mean %q?", e.Hint)
	}
	return b.String()
}

// OverrideErrors are all mistakes of the overrides, in their order.
type OverrideErrors []*OverrideError

// Error implements error.
func (es OverrideErrors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives errors.As each mistake.
func (es OverrideErrors) Unwrap() []error {
	out := make([]error, len(es))
	for i, e := range es {
		out[i] = e
	}
	return out
}

func (h *hearing) wrong(i int, field, found, want, hint string) {
	h.wrongItem(i, field, 0, found, want, hint)
}

func (h *hearing) wrongItem(i int, field string, item int, found, want, hint string) {
	h.errs = append(h.errs, &OverrideError{Index: i, Name: h.opts.Overrides[i].Name, Field: field, Found: found, Want: want, Hint: hint, Item: item})
}

// override applies the overrides that select notes.
func (h *hearing) override() {
	for i, o := range h.opts.Overrides {
		if h.check(i, o) && o.selects() {
			h.move(i, o)
		}
	}
	if len(h.errs) > 0 {
		return
	}
	for i, o := range h.opts.Overrides {
		if o.selects() && !slices.ContainsFunc(h.voices, func(v *voice) bool { return v.owner == i+1 }) {
			h.wrong(i, "", "no note left for it", "notes that no other entry takes as narrowly", "")
		}
	}
}

// check finds the mistakes of an override that are wrong in any song.
func (h *hearing) check(i int, o Override) bool {
	before := len(h.errs)
	if want := nameFault(o.Name); want != "" {
		h.wrong(i, "", strconv.Quote(o.Name), want, "")
	}
	inside := func(field string, n, low, high int) {
		if n < low || n > high {
			h.wrong(i, field, strconv.Itoa(n), fmt.Sprintf("%d to %d", low, high), "")
		}
	}
	if o.Track != 0 {
		inside("track", o.Track, 1, len(h.song.Tracks))
	}
	if o.Channel != 0 {
		inside("channel", o.Channel, 1, 16)
	}
	if o.Port != nil {
		inside("port", *o.Port, 0, 127)
	}
	for item, k := range o.Keys {
		if k < 0 || k > 127 {
			h.wrongItem(i, "keys", item, strconv.Itoa(k), "0 to 127", "")
		}
	}
	if o.Cycle != 0 {
		inside("cycle", o.Cycle, 1, 1<<20)
	}
	if o.Loop != "" {
		h.checkLoop(i, "loop", o.Loop)
		if !o.selects() {
			h.wrong(i, "loop", "a loop alone", "a track, name, channel or key beside it", "")
		}
	}
	for _, c := range o.Cycles {
		if h.checkLoop(i, "cycle", c.Loop) {
			inside("cycle", c.Bars, 1, h.loops[h.loopCalled(c.Loop)].Bars)
		}
	}
	for item, at := range o.At {
		if _, want := h.readPlace(at); want != "" {
			h.wrongItem(i, "at", item, strconv.Quote(at), want, "")
		}
	}
	if o.Role != "" {
		if _, ok := song.RoleWord(o.Role); !ok {
			words := roleWords()
			h.wrong(i, "role", strconv.Quote(o.Role), "one of "+strings.Join(words, ", "), song.Nearest(o.Role, words))
		}
	}
	if o.Job != "" && !slices.Contains(song.Jobs(), song.Job(o.Job)) {
		words := jobWords()
		h.wrong(i, "job", strconv.Quote(o.Job), "one of "+strings.Join(words, ", "), song.Nearest(o.Job, words))
	}
	if o.selects() { // otherwise it speaks of parts that have their names
		h.checkName(i, o)
	}
	for _, home := range o.Home {
		inside("home", home.Value, 0, home.Controller.Max())
	}
	return len(h.errs) == before
}

// checkLoop finds a loop that is not there.
func (h *hearing) checkLoop(i int, field, name string) bool {
	if h.loopCalled(name) >= 0 {
		return true
	}
	var names []string
	for _, l := range h.loops {
		names = append(names, l.Name)
	}
	if len(names) == 0 {
		h.wrong(i, field, strconv.Quote(name), "no loop: there is one only", "")
	} else {
		h.wrong(i, field, strconv.Quote(name), "one of the loops "+strings.Join(names, ", "), song.Nearest(name, names))
	}
	return false
}

// loopCalled returns the index of a loop on the tape; -1: there is none.
func (h *hearing) loopCalled(name string) int {
	return slices.IndexFunc(h.loops, func(l song.Stretch) bool { return l.Name == name })
}

// loopAt returns the index of the loop that holds a tick of the tape, and where it begins.
func (h *hearing) loopAt(t song.Tick) (loop int, start song.Tick) {
	bar := h.time.BarOf(t)
	past, _ := slices.BinarySearchFunc(h.loops, bar+1, func(l song.Stretch, bar int) int { return l.Bar - bar })
	loop = max(past-1, 0)
	return loop, h.time.BarStart(h.loops[loop].Bar)
}

// stands tells whether an onset stands at places of a pattern, which begins anew with each loop on a tape.
func (h *hearing) stands(t song.Tick, places []place, bars int, cycle song.Tick) bool {
	if len(h.loops) > 0 {
		loop, start := h.loopAt(t)
		t -= start
		cycle = h.time.BarStart(h.loops[loop].Bars + 1)
	}
	return standsAt(h.time, t, places, bars, cycle)
}

// checkName finds an override that gives a part the name of a role or job and makes it another: no
// word would mean it.
func (h *hearing) checkName(i int, o Override) {
	word, _, _ := strings.Cut(o.Name, " ")
	want := "the " + word + " itself, or another name such as " + word + "-track"
	isJob := slices.Contains(song.Jobs(), song.Job(word))
	if isJob && o.Job != "" && o.Job != word {
		h.wrong(i, "job", fmt.Sprintf("%q for a part named %s", o.Job, word), want, "")
	}
	if role, ok := song.RoleWord(word); ok && o.Role != "" {
		if given, known := song.RoleWord(o.Role); known && given != role && !(isJob && (given.Job() == song.Job(word) || o.Job == word)) {
			h.wrong(i, "role", fmt.Sprintf("%q for a part named %s", o.Role, word), want, "")
		}
	}
}

// nameFault says what a part's name should be like, "" if it is.
func nameFault(name string) string {
	word, number, numbered := strings.Cut(name, " ")
	ok := song.IsName(word)
	if n, fine := decimal(number); numbered && (!fine || n < 1) {
		ok = false
	}
	switch {
	case !ok:
		return "a name of lower-case letters, digits and hyphens, a letter first, with a number after it or without"
	case slices.Contains(song.Groups(), word):
		return "a name that is no group of parts"
	case reservedWord(word) && !slices.Contains(song.Jobs(), song.Job(word)):
		return "a name that is no word of the recipe language"
	}
	return ""
}

// decimal reads digits alone, a number under a million.
func decimal(s string) (int, bool) {
	n, ok := smf.ParseDigits(s)
	return int(n), ok && n < 1_000_000
}

// readPlace reads "bar.beat", or says what is wanted.
func (h *hearing) readPlace(text string) (place, string) {
	if h.time == nil {
		return place{}, "no places: the file has no common bars"
	}
	barText, beatText, _ := strings.Cut(text, ".")
	bar, ok1 := decimal(barText)
	beat, ok2 := decimal(beatText)
	last := max(1, h.time.BarOf(h.length-1))
	for k, l := range h.loops { // the longest
		if last = max(last, l.Bars); k == 0 {
			last = l.Bars
		}
	}
	switch {
	case !ok1 || !ok2:
		return place{}, "bar.beat, such as 1.3"
	case bar < 1 || bar > last:
		return place{}, fmt.Sprintf("a bar from 1 to %d", last)
	case beat < 1 || beat > h.time.MetreIn(bar).Num:
		return place{}, fmt.Sprintf("a beat from 1 to %d", h.time.MetreIn(bar).Num)
	}
	return place{bar, beat}, ""
}

func roleWords() []string {
	var out []string
	for _, r := range song.Roles() {
		out = append(out, string(r))
	}
	return out
}

func jobWords() []string {
	var out []string
	for _, j := range song.Jobs() {
		out = append(out, string(j))
	}
	return out
}

// selector is an override's selectors, read.
type selector struct {
	Override
	keys   song.Keys
	places []place
	bars   int // of the pattern of places
	fold   bool
	loop   int // whose notes it selects; -1: all
}

func (h *hearing) selector(o Override) selector {
	sel := selector{Override: o, loop: -1}
	if o.Loop != "" {
		sel.loop = h.loopCalled(o.Loop)
	}
	for _, k := range o.Keys {
		sel.keys[k>>6] |= 1 << (k & 63)
	}
	for _, text := range o.At {
		p, _ := h.readPlace(text)
		sel.places = append(sel.places, p)
		sel.bars = max(sel.bars, p.bar)
	}
	sel.fold = o.TrackName != "" && !slices.ContainsFunc(h.song.Tracks, func(t *song.Track) bool { return t.Name == o.TrackName })
	return sel
}

func (s selector) onTrack(p song.Part) bool { return s.Track == 0 || p.Track == s.Track-1 }

func (s selector) named(t *song.Track) bool {
	return s.TrackName == "" || t.Name == s.TrackName || s.fold && strings.EqualFold(t.Name, strings.TrimSpace(s.TrackName))
}

func (s selector) onChannel(p song.Part) bool { return s.Channel == 0 || int(p.Channel) == s.Channel-1 }

func (s selector) onPort(p song.Part) bool { return s.Port == nil || int(p.Port) == *s.Port }

func (s selector) onKey(n song.Note) bool { return s.Keys == nil || s.keys.Has(n.Key) }

// inLoop tells whether a note is of the loop that is selected.
func (h *hearing) inLoop(s selector, n song.Note) bool {
	if s.loop < 0 {
		return true
	}
	loop, _ := h.loopAt(n.Start)
	return loop == s.loop
}

// move gathers the notes an override selects into voices of its name.
func (h *hearing) move(i int, o Override) {
	sel := h.selector(o)
	if !h.matches(i, sel) {
		return
	}
	var made []*voice
	var kept []*voice
	for _, v := range h.voices {
		if v.rank > o.rank() || !sel.onTrack(v.Part) || !sel.named(h.song.Tracks[v.Track]) || !sel.onChannel(v.Part) || !sel.onPort(v.Part) || o.anyDrum() && !h.drums(v.Part) {
			kept = append(kept, v)
			continue
		}
		var taken, left []song.Note
		for _, n := range v.Notes {
			if sel.onKey(n) && h.inLoop(sel, n) && (o.At == nil || h.stands(n.Start, sel.places, sel.bars, v.cycle)) {
				taken = append(taken, n)
			} else {
				left = append(left, n)
			}
		}
		if len(taken) > 0 {
			made = gather(made, v, taken)
			v.Notes = left
			if o.At == nil && o.Loop == "" && !v.Keys.All() {
				v.Keys[0], v.Keys[1] = v.Keys[0]&^sel.keys[0], v.Keys[1]&^sel.keys[1]
			}
		}
		if len(left) > 0 {
			kept = append(kept, v)
		}
	}
	for _, v := range made {
		slices.SortStableFunc(v.Notes, song.CompareNotes)
		v.Keys, v.at, v.within, v.rank, v.owner = sel.keys, o.At, o.Loop, o.rank(), i+1
		v.base, v.nameGiven = o.Name, true
		h.hearAgain(v)
		h.describe(i, v, o)
	}
	h.voices = append(kept, made...)
}

// gather adds the notes taken from a voice to the one of its track and channel among those made.
func gather(made []*voice, from *voice, taken []song.Note) []*voice {
	for _, v := range made {
		if v.Track == from.Track && v.Channel == from.Channel {
			v.Notes = append(v.Notes, taken...)
			v.from = append(v.from, from.from...)
			return made
		}
	}
	w := *from
	w.Notes, w.from = taken, slices.Clone(from.from)
	w.Job, w.jobFixed, w.jobGiven, w.roleGiven, w.group = song.NoJob, false, false, false, 0
	return append(made, &w)
}

// hearAgain gives a gathered voice the role that its notes were heard to have: the one of most of
// them, but a kick where any is a kick's.
func (h *hearing) hearAgain(v *voice) {
	v.evidence, v.Role, v.confidence, v.whole = nil, song.RoleUnknown, 0, false
	most := 0
	for _, f := range h.first {
		if f.Track != v.Track || f.Channel != v.Channel {
			continue
		}
		n := 0
		for _, note := range v.Notes {
			if f.Keys.Has(note.Key) {
				n++
			}
		}
		if n == 0 {
			continue
		}
		v.evidence = append(v.evidence, f.evidence...)
		if v.Role != song.RoleKick && (n > most || f.Role == song.RoleKick) {
			v.Role, v.confidence, v.whole = f.Role, f.confidence, f.whole && len(v.Notes) == len(f.Notes)
		}
		most = max(most, n)
	}
}

// drums tells whether a track and channel plays a kit or a drum.
func (h *hearing) drums(p song.Part) bool {
	return slices.ContainsFunc(h.first, func(f voice) bool {
		return f.Track == p.Track && f.Channel == p.Channel && (f.whole || f.Role.Drum())
	})
}

// matches tells whether the song has notes that the selectors match, taken or not; else it says
// which selector matches none.
func (h *hearing) matches(i int, sel selector) bool {
	var parts []song.Part
	there := false // in any loop
	for _, p := range h.song.Parts {
		if !sel.onTrack(p) || sel.anyDrum() && !h.drums(p) {
			continue
		}
		there = true
		if sel.loop >= 0 {
			p.Notes = slices.DeleteFunc(slices.Clone(p.Notes), func(n song.Note) bool { return !h.inLoop(sel, n) })
		}
		if len(p.Notes) > 0 {
			parts = append(parts, p)
		}
	}
	if there && len(parts) == 0 {
		h.wrong(i, "loop", strconv.Quote(sel.Loop), "a loop in which that plays", "")
		return false
	}
	if len(parts) == 0 && sel.anyDrum() {
		h.wrong(i, "keys", keyText(sel.Keys)+" and no kit", "a track, name or channel beside them", "")
		return false
	}
	if len(parts) == 0 {
		h.wrong(i, "track", fmt.Sprintf("%d, a track without notes", sel.Track), "one of "+h.tracksWithNotes(), "")
		return false
	}
	keep := func(field, found, hint string, want func() string, ok func(song.Part) bool) bool {
		rest := slices.DeleteFunc(slices.Clone(parts), func(p song.Part) bool { return !ok(p) })
		if len(rest) == 0 {
			h.wrong(i, field, found, want(), hint)
			return false
		}
		parts = rest
		return true
	}
	names := h.trackNames(parts)
	return keep("name", strconv.Quote(sel.TrackName), song.Nearest(sel.TrackName, names),
		func() string { return "one of " + strings.Join(names, ", ") },
		func(p song.Part) bool { return sel.named(h.song.Tracks[p.Track]) }) &&
		keep("channel", strconv.Itoa(sel.Channel), "",
			func() string { return "one of " + numbers(parts, func(p song.Part) int { return int(p.Channel) + 1 }) }, sel.onChannel) &&
		keep("port", portText(sel.Port), "",
			func() string { return "one of " + numbers(parts, func(p song.Part) int { return int(p.Port) }) }, sel.onPort) &&
		h.sound(i, sel, parts) &&
		keep("at", strings.Join(sel.At, ", "), "", func() string { return "beats that notes of it stand at" },
			func(p song.Part) bool {
				return sel.At == nil || slices.ContainsFunc(p.Notes, func(n song.Note) bool {
					return sel.onKey(n) && h.stands(n.Start, sel.places, sel.bars, h.cycleOf(p.Track))
				})
			})
}

// sound tells whether each of the keys selected sounds in one of the parts; else it says which do not.
func (h *hearing) sound(i int, sel selector, parts []song.Part) bool {
	before := len(h.errs)
	for item, k := range sel.Keys {
		if !slices.ContainsFunc(parts, func(p song.Part) bool {
			return slices.ContainsFunc(p.Notes, func(n song.Note) bool { return int(n.Key) == k })
		}) {
			h.wrongItem(i, "keys", item, strconv.Itoa(k), "one of "+keysOf(parts), "")
		}
	}
	return len(h.errs) == before
}

func portText(port *int) string {
	if port == nil {
		return ""
	}
	return strconv.Itoa(*port)
}

func keyText(keys []int) string {
	var out []string
	for _, k := range keys {
		out = append(out, strconv.Itoa(k))
	}
	return strings.Join(out, ", ")
}

// numbers lists a number that each part has, rising, once each.
func numbers(parts []song.Part, of func(song.Part) int) string {
	var all []int
	for _, p := range parts {
		all = append(all, of(p))
	}
	slices.Sort(all)
	return keyText(slices.Compact(all))
}

func keysOf(parts []song.Part) string {
	var all []int
	for _, p := range parts {
		for _, k := range song.KeysUsed(p.Notes) {
			all = append(all, int(k))
		}
	}
	slices.Sort(all)
	return keyText(slices.Compact(all))
}

func (h *hearing) trackNames(parts []song.Part) []string {
	var out []string
	for _, p := range parts {
		if name := h.song.Tracks[p.Track].Name; name != "" && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return out
}

func (h *hearing) tracksWithNotes() string {
	return numbers(h.song.Parts, func(p song.Part) int { return p.Track + 1 })
}

// adjust applies the overrides that speak of parts there are.
func (h *hearing) adjust() {
	for i, o := range h.opts.Overrides {
		if o.selects() || nameFault(o.Name) != "" {
			continue
		}
		named := h.called(o.Name)
		if len(named) == 0 {
			names := make([]string, len(h.voices))
			for j, v := range h.voices {
				names[j] = v.Name
			}
			h.wrong(i, "", strconv.Quote(o.Name), "one of "+strings.Join(names, ", ")+", or a track, name, channel or key it is made of",
				song.Nearest(o.Name, names))
			h.errs[len(h.errs)-1].NotThere = true
		}
		for _, v := range named {
			h.describe(i, v, o)
		}
	}
}

// called returns the voices that a name stands for: the one that bears it, else all of the job, else
// all of the role; with a number, that one of them, in the order of the roles.
func (h *hearing) called(name string) []*voice {
	for _, v := range h.voices {
		if v.Name == name {
			return []*voice{v}
		}
	}
	word, number, numbered := strings.Cut(name, " ")
	role, isRole := song.RoleWord(word)
	isJob := slices.Contains(song.Jobs(), song.Job(word))
	var out []*voice
	for _, v := range h.voices {
		if isJob && v.Job == song.Job(word) || !isJob && isRole && v.Role == role {
			out = append(out, v)
		}
	}
	if !numbered {
		return out
	}
	slices.SortStableFunc(out, func(a, b *voice) int {
		return slices.Index(song.Roles(), a.Role) - slices.Index(song.Roles(), b.Role)
	})
	if n, _ := decimal(number); n <= len(out) {
		return out[n-1 : n]
	}
	return nil
}

// describe gives a voice what the override says of it.
func (h *hearing) describe(i int, v *voice, o Override) {
	v.from = append(v.from, i)
	word, _, _ := strings.Cut(o.Name, " ")
	role, isRole := song.RoleWord(word)
	isJob := slices.Contains(song.Jobs(), song.Job(word))
	switch {
	case o.Role != "":
		role, _ = song.RoleWord(o.Role)
		h.giveRole(v, role)
	case o.selects() && isRole:
		h.giveRole(v, role)
	}
	switch {
	case o.Job != "":
		v.Job, v.jobGiven = song.Job(o.Job), true
	case o.selects() && isJob && !isRole:
		v.Job, v.jobGiven = song.Job(word), true
	case o.selects() && word == "skeleton":
		v.Job, v.jobGiven = song.JobBeat, true
		if !v.roleGiven {
			v.Role = song.RoleKick
		}
	}
	if o.Home != nil {
		v.Home = slices.Clip(slices.Clone(o.Home))
	}
	if o.Mapped != nil {
		v.Mapped = slices.Clip(slices.Clone(o.Mapped))
	}
	if o.Tails != song.TailsAuto {
		v.Tails = o.Tails
	}
	if o.Entry != song.EntryAuto {
		v.Entry = o.Entry
	}
}

func (h *hearing) giveRole(v *voice, role song.Role) {
	v.Role, v.roleGiven, v.confidence = role, true, 100
	v.whole = false
	v.note(role, 100, "the recipe says "+string(role))
	if !v.jobGiven {
		v.jobFixed = false
	}
}
