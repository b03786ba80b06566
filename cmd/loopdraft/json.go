package main

import (
	"slices"
	"strconv"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// The JSON shapes: names stay as they are once they have been published, lists are never null.

type songJSON struct {
	Bars     int           `json:"bars"`    // a short last one included
	Ticks    song.Tick     `json:"ticks"`   // the length
	PPQ      song.Tick     `json:"ppq"`     // ticks a quarter note; 0 where there are no common bars
	Seconds  float64       `json:"seconds"` // the length
	BPM      float64       `json:"bpm"`     // for most of the time from where the music begins
	Metre    string        `json:"metre"`   // of most bars from there on
	Sections []sectionJSON `json:"sections"`
	Parts    []partJSON    `json:"parts"`
}

type sectionJSON struct {
	Name string    `json:"name"`
	Kind song.Kind `json:"kind"` // "" where nothing says
	Bar  int       `json:"bar"`  // its first bar, from 1
	Bars int       `json:"bars"`

	// How loud its mean power is, as a share of full and in dB of it: of a draft the loop's loudest phrase, of a song its
	// own. Left out where it was not measured.
	OfFull *float64 `json:"of_full,omitempty"`
	DB     *float64 `json:"db,omitempty"`

	Asked *askedJSON `json:"asked,omitempty"` // of a draft, where its recipe asks for an energy
}

// askedJSON is what a recipe asks of the energy of a section, and what came of it.
type askedJSON struct {
	Energy string     `json:"energy"` // as the recipe has it
	Units  []unitJSON `json:"units"`
}

// unitJSON is a stretch of a section that has a range of its own. Shares are of full.
type unitJSON struct {
	Bar    int      `json:"bar"` // its first bar, from 1
	Bars   int      `json:"bars"`
	Least  *float64 `json:"least,omitempty"` // the range asked for; left out where the section is to rise or to fall
	Most   *float64 `json:"most,omitempty"`
	OfFull float64  `json:"of_full"` // what it reached
}

type partJSON struct {
	Name    string    `json:"name"`
	Role    song.Role `json:"role"`
	Job     song.Job  `json:"job"`
	Track   int       `json:"track"`   // from 1
	Channel int       `json:"channel"` // from 1
	Keys    []int     `json:"keys"`    // empty: all of the track and channel
	Notes   int       `json:"notes"`
}

type changeJSON struct {
	Step   int         `json:"step"` // in the recipe, from 1; 0: before its own steps
	Move   string      `json:"move"`
	Within string      `json:"within,omitempty"` // the composite move it is a step of
	Parts  []string    `json:"parts"`
	Ranges []rangeJSON `json:"ranges"`
	Text   string      `json:"text"`
}

// rangeJSON is a stretch in ticks, and as bar.beat; the end is not in it.
type rangeJSON struct {
	Start song.Tick `json:"start"`
	End   song.Tick `json:"end"`
	From  string    `json:"from"`
	To    string    `json:"to"`
}

type draftJSON struct {
	File     string       `json:"file"`
	Recipe   string       `json:"recipe"`      // the recipe written; "" for none
	Map      string       `json:"map"`         // the picture of the map; "" for none
	Split    []string     `json:"split"`       // the files of --split
	Files    []splitJSON  `json:"split_files"` // what each of them is
	LoopBars int          `json:"loop_bars"`
	Choices  []string     `json:"choices"` // that were made, of those with a name, such as break=2
	Song     songJSON     `json:"song"`
	Changes  []changeJSON `json:"changes"`
	Plan     []string     `json:"plan"`
	Told     []string     `json:"told"`
	Warnings []string     `json:"warnings"`
	Todo     []string     `json:"todo"`
	Review   draftReview  `json:"review"` // by the recipe's rules of thumb
}

type draftsResult struct {
	Drafts []draftJSON `json:"drafts"`
}

func draftsJSON(takes []take) draftsResult {
	out := draftsResult{Drafts: []draftJSON{}}
	for _, t := range takes {
		r := t.result
		s := songOf(t.song)
		if len(t.energy.Bars) > 0 {
			s.tellEnergy(r.Song, t.energy, t.full)
			s.tellAsked(r.Song, t.energy, t.full, r.Asked())
		}
		out.Drafts = append(out.Drafts, draftJSON{
			File: t.midi, Recipe: t.recipe, Map: t.picture, Split: t.splitNames(), Files: t.splitFiles(), LoopBars: r.LoopBars,
			Choices: full(choices(r)), Song: s, Changes: changesOf(r),
			Plan: full(r.Plan), Told: full(slices.Concat(r.Told, t.told)), Warnings: full(r.Warnings), Todo: full(r.Todo), Review: t.review,
		})
	}
	return out
}

// full makes an empty list of none.
func full[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

func songOf(s song.Song) songJSON {
	out := songJSON{Ticks: s.End, Sections: []sectionJSON{}, Parts: []partJSON{}}
	if tl := s.Time(); tl != nil {
		out.Bars, out.PPQ, out.Seconds = s.Bars(), tl.PPQ(), tl.Seconds(s.End)
		micros, metre := s.Mostly()
		out.BPM, out.Metre = 60e6/float64(micros), metre.String()
	}
	for _, sec := range s.Sections {
		out.Sections = append(out.Sections, sectionJSON{Name: sec.Name, Kind: sec.Kind, Bar: sec.Bar, Bars: sec.Bars})
	}
	for _, p := range s.Parts {
		out.Parts = append(out.Parts, partOf(p))
	}
	return out
}

func partOf(p song.Part) partJSON {
	keys := []int{}
	for _, k := range p.Keys.List() {
		keys = append(keys, int(k))
	}
	return partJSON{p.Name, p.Role, p.Job, p.Track + 1, int(p.Channel) + 1, keys, len(p.Notes)}
}

func changesOf(r *recipes.Result) []changeJSON {
	out := []changeJSON{}
	for _, c := range r.Changes {
		ranges := []rangeJSON{}
		for _, g := range c.Ranges {
			ranges = append(ranges, rangeJSON{g.Start, g.End, position(r.Song.Time(), g.Start), position(r.Song.Time(), g.End)})
		}
		out = append(out, changeJSON{c.Step + 1, c.Move, c.Within, full(c.Parts), ranges, c.Text})
	}
	return out
}

// position writes a tick as bar.beat, and the ticks past the beat where there are any.
func position(tl *smf.Timeline, t song.Tick) string {
	if tl == nil {
		return ""
	}
	p := tl.Locate(t)
	if p.Tick == 0 {
		return strconv.Itoa(p.Bar) + "." + strconv.Itoa(p.Beat)
	}
	return strconv.Itoa(p.Bar) + "." + strconv.Itoa(p.Beat) + "+" + strconv.Itoa(int(p.Tick))
}
