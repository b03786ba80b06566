package listen

import (
	"cmp"
	"math"
	"slices"

	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Options are what [Hear] is told besides the song. The zero value is what an empty recipe has.
type Options struct {
	Overrides []Override // a recipe's "parts:", in order
	Loop      Loop       // as FindLoop found it; the zero value: the whole song is the loop
}

// Heard is what is known of one part of the song, and why.
type Heard struct {
	Part       string // its name
	Role       song.Role
	Job        song.Job
	At         []string    // the places in the bar its notes stand at, as in [Override]; nil: anywhere
	Evidence   []Evidence  // what its role follows from, and what else was noticed; of pitched parts outside the bass also how much they are a tune
	Confidence int         // in the role, in percent; 0: unknown
	Cycle      int         // bars after which its track repeats; 0: the loop's length
	Loop       string      // of several loops the one whose notes it has, where another part has those of the rest; "": all
	Cycles     []LoopCycle // of several loops those it plays in and in which its track repeats before their end
}

// Report is what was heard.
type Report struct {
	Parts []Heard        // one for each of the song's Parts, in their order
	Told  []string       // what a producer should know, each a line
	Loops []song.Stretch // of a [Tape] where the loops lie, with the cycles that overrides give; nil: there is one
}

// Hear splits the kits among the raw parts that song.From makes, names the parts and gives each
// its role and job. The song it returns has the same tracks and the same notes, each in exactly one
// part; the song it got is not written to. A recipe's overrides come after the automatic split, in
// their order.
//
// Its error is a [OverrideErrors] with every mistake of the overrides.
func Hear(s song.Song, o Options) (song.Song, Report, error) {
	h := newHearing(s, o)
	if h.run(); len(h.errs) > 0 {
		return song.Song{}, Report{}, h.errs
	}
	out, r := h.result()
	return out, r, nil
}

// hearing is a song on its way to being heard.
type hearing struct {
	song    song.Song
	time    *smf.Timeline
	opts    Options
	length  song.Tick      // of the loop
	loops   []song.Stretch // where song is a tape of several
	name    string         // of several the one that song is; ""
	voices  []*voice
	first   []voice    // as split left them
	lowest  *habits    // of the pitched raw parts the one of the lowest keys; nil: none
	ground  *habits    // of the raw parts that may be the bass the lowest; nil: none
	busiest *habits    // of these, those an octave above the lowest left out, the one that plays most
	kits    []song.Job // what the kits among the raw parts do
	groups  int        // instruments with a channel for each note
	told    []string
	errs    OverrideErrors
}

// voice is a part in the making.
type voice struct {
	song.Part
	at         []string
	evidence   []Evidence
	confidence int
	base       string    // the name it wants, before numbers; "": its role's
	title      string    // the track's name, if it is this voice's own
	whole      bool      // a kit or break that was not split
	guessed    bool      // its role follows from behaviour alone
	group      int       // the instrument with a channel for each note that it belongs to, from 1; 0: none
	nameGiven  bool      // by a recipe
	roleGiven  bool      // by a recipe
	jobGiven   bool      // by a recipe
	jobFixed   bool      // decided by the skeleton
	rank       int       // how narrow the override was that made it; 0: none did
	owner      int       // that override, from 1; 0: none
	from       []int     // the overrides, from 0, that made or changed it
	loop       int       // of several the first that has it, from 0
	within     string    // of several the one that its notes are of, where another part has the rest; "": all
	cycle      song.Tick // its track's own, or the loop's length
	habits     *habits   // measured for the contest of hook and bed, once
	named      bool      // its name says that it is the tune
	tune       string    // what speaks for and against it as the tune; "": it takes no part in that contest
}

func newHearing(s song.Song, o Options) *hearing {
	h := &hearing{song: s, time: s.Time(), opts: o, length: o.Loop.Len}
	if h.length <= 0 {
		h.length = s.End
	}
	return h
}

// run hears the song. Names come before adjust, so that a recipe can use those that were shown; what
// it says of roles there may change jobs again, but no name.
func (h *hearing) run() {
	h.split()
	for _, v := range h.voices {
		h.first = append(h.first, *v)
	}
	h.override()
	h.skeleton()
	h.sort()
	h.jobs()
	h.names()
	h.adjust()
	h.jobs()
	h.keys()
}

// cycleOf returns the length in ticks after which a track repeats.
func (h *hearing) cycleOf(track int) song.Tick {
	if track < len(h.opts.Loop.Cycles) && h.opts.Loop.Cycles[track] > 0 {
		return h.opts.Loop.Cycles[track]
	}
	return h.length
}

// sort brings the voices in the order of their tracks and channels; within a kit the skeleton is
// first, other notes at given places as the recipe lists them, then roles in their listed order, then the
// lower key.
func (h *hearing) sort() {
	slices.SortStableFunc(h.voices, func(a, b *voice) int {
		return cmp.Or(
			cmp.Compare(a.Track, b.Track),
			cmp.Compare(a.Channel, b.Channel),
			cmp.Compare(a.atOrder(), b.atOrder()),
			cmp.Compare(slices.Index(song.Roles(), a.Role), slices.Index(song.Roles(), b.Role)),
			cmp.Compare(a.lowestKey(), b.lowestKey()),
		)
	})
}

// atOrder puts voices of given places before the others, in the order in which they take notes from
// each other.
func (v *voice) atOrder() int {
	if len(v.at) == 0 {
		return math.MaxInt
	}
	return v.owner
}

func (v *voice) lowestKey() int {
	lowest := 128
	for _, n := range v.Notes {
		lowest = min(lowest, int(n.Key))
	}
	return lowest
}

// keys writes down the keys of voices that had a track and channel to themselves until a recipe took
// some of its keys.
func (h *hearing) keys() {
	for _, v := range h.voices {
		others := slices.ContainsFunc(h.voices, func(w *voice) bool {
			return w != v && w.Track == v.Track && w.Channel == v.Channel && len(w.at) == 0 && w.within == "" && v.within == ""
		})
		if v.Keys.All() && len(v.at) == 0 && others {
			v.Keys = song.KeySet(song.KeysUsed(v.Notes)...)
		}
	}
}

// result puts the voices into a song.
func (h *hearing) result() (song.Song, Report) {
	out := h.song
	out.Parts = make([]song.Part, 0, len(h.voices))
	r := Report{Parts: make([]Heard, 0, len(h.voices))}
	for _, v := range h.voices {
		p := v.Part
		p.Kit = p.Role.Drum() || drumJob(p.Job)
		p.Notes = p.Notes[:len(p.Notes):len(p.Notes)]
		out.Parts = append(out.Parts, p)
		evidence := v.evidence[:len(v.evidence):len(v.evidence)]
		if v.tune != "" {
			evidence = append(evidence, Evidence{song.RoleUnknown, 0, v.tune})
		}
		r.Parts = append(r.Parts, Heard{
			Part: p.Name, Role: p.Role, Job: p.Job, At: v.at,
			Evidence: evidence, Confidence: v.confidence, Cycle: h.cycleBars(p.Track), Loop: v.within, Cycles: h.cyclesOf(v),
		})
	}
	out.Parts = out.Parts[:len(out.Parts):len(out.Parts)]
	r.Told, r.Loops = append(h.told, h.silentHalves()...), h.loops
	return out, r
}

// cycleBars returns the cycle of a track in bars, 0 for the loop's own length.
func (h *hearing) cycleBars(track int) int {
	if cycle := h.cycleOf(track); h.time != nil && cycle < h.length {
		return h.time.BarOf(cycle) - 1
	}
	return 0
}

func drumJob(j song.Job) bool {
	return j == song.JobBeat || j == song.JobBackbeat || j == song.JobTops || j == song.JobPerc
}
