package recipes

import (
	"errors"
	"fmt"
	"path"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// joined are the inputs as one file.
type joined struct {
	paths  []string // of the inputs, as they were given
	file   *smf.File
	tracks []int // which input each track is of; nil for one input
}

// names returns the names of the inputs, without folders.
func (j joined) names() []string {
	var out []string
	for _, p := range j.paths {
		out = append(out, path.Base(strings.ReplaceAll(p, "\\", "/")))
	}
	return out
}

func (a *order) join(g givenLoop) (joined, error) {
	j, err := a.joinFiles(g.files)
	if err != nil {
		return j, a.loopMistake(g.name, g.at, err)
	}
	if names := j.names(); len(a.r.Input) > 0 && !slices.Equal(names, a.r.Input) {
		a.warn(fmt.Sprintf("the recipe was written for %s, this is %s", strings.Join(a.r.Input, ", "), strings.Join(names, ", ")))
	}
	return j, nil
}

// namesOf returns the names of inputs, without folders.
func namesOf(inputs []Input) []string {
	var j joined
	for _, in := range inputs {
		j.paths = append(j.paths, in.Name)
	}
	return j.names()
}

func (a *order) joinFiles(inputs []Input) (joined, error) {
	j := joined{file: inputs[0].File}
	var loops []listen.Input
	for i, in := range inputs {
		if k := slices.IndexFunc(inputs, func(other Input) bool { return other.Name == in.Name }); k < i && smf.Equal(inputs[k].File, in.File) {
			return j, fmt.Errorf("%s: found again, want each file once", in.Name)
		}
		j.paths = append(j.paths, in.Name)
		loops = append(loops, listen.Input{Name: in.Name, File: in.File})
	}
	if len(inputs) > 1 {
		var told []string
		var err error
		if j.file, j.tracks, told, err = listen.Join(loops); err != nil {
			return j, err
		}
		a.tell(told...)
	}
	return j, nil
}

// foundLoop is the loop as it was found in the inputs and heard.
type foundLoop struct {
	names  []string  // of the inputs, without folders
	song   song.Song // the loop
	bars   int       // its length; 0 where the file has no common bars
	report listen.Report
	sought bool           // the loop was looked for in the file
	loop   listen.Loop    // what was found then; of several the first one
	given  []givenLoop    // the loops, where they have names
	loops  []song.Stretch // where several lie on song; nil: there is one
}

// hear finds the loop in the file, or takes the file as it is, and hears its parts.
func (a *order) hear(g givenLoop, j joined, seek bool) (foundLoop, error) {
	out := foundLoop{names: j.names()}
	if err := a.findMarker(&g, j); err != nil {
		return out, err
	}
	if g.name != "" {
		out.given, a.only = []givenLoop{g}, g.name
	}
	if seek || g.first > 0 {
		return a.findLoop(out, g, j)
	}
	if _, _, err := j.file.Timeline(); err != nil && len(a.r.Moves) > 0 {
		return foundLoop{}, a.loopMistake(g.name, g.at, fmt.Errorf("%s: %w; such a file can only be left as it is", strings.Join(j.names(), ", "), err))
	}
	err := a.hearParts(&out, j.file)
	if err == nil && out.song.Time() != nil {
		out.bars = out.song.Bars()
	}
	return out, err
}

func (a *order) findLoop(out foundLoop, g givenLoop, j joined) (foundLoop, error) {
	o := a.loopOptions(g, j)
	out.sought = true
	var file *smf.File
	var told []string
	if err := a.readParts(func(overrides []listen.Override) (err error) {
		o.Overrides = overrides
		file, out.loop, told, err = listen.FindLoop(j.file, o)
		return a.findMistake(g, j, err)
	}); err != nil {
		return out, err
	}
	a.tell(told...)
	out.bars = out.loop.Bars
	return out, a.hearParts(&out, file)
}

// loopOptions are what the recipe and the options say of the loop in a file.
func (a *order) loopOptions(g givenLoop, j joined) listen.LoopOptions {
	o := listen.LoopOptions{Names: j.paths, InputOfTrack: j.tracks, LoopBars: a.r.Loop, BPM: a.r.BPM, Metre: a.r.Metre}
	if a.o.LoopBars > 0 {
		o.LoopBars = a.o.LoopBars
	}
	if a.o.BPM > 0 {
		o.BPM = a.o.BPM
	}
	if a.o.Metre != (smf.Metre{}) {
		o.Metre = a.o.Metre
	}
	if g.first > 0 {
		o.FirstBar, o.LoopBars = g.first, g.last-g.first+1
	}
	return o
}

// hearParts hears the parts of the loop, which a file is.
func (a *order) hearParts(out *foundLoop, file *smf.File) error {
	s, err := song.From(file)
	if err != nil {
		return err
	}
	return a.readParts(func(overrides []listen.Override) (err error) {
		out.song, out.report, err = listen.Hear(s, listen.Options{Overrides: overrides, Loop: out.loop})
		return err
	})
}

// finishHearing makes the choices that hang on the parts and lets parts stand for those that are not there.
func (a *order) finishHearing(out *foundLoop) error {
	a.tell(out.report.Told...)
	if err := a.choose(out.song); err != nil {
		return err
	}
	out.song = a.standFor(out.song)
	return nil
}

// readParts calls f, which reads "parts:", until it finds no mistake in them. An entry with a mistake
// is told and left out, so that the mistakes of the rest of the recipe are found too.
func (a *order) readParts(f func(overrides []listen.Override) error) error {
	for {
		var overrides []listen.Override
		var entries []int
		for i, p := range a.r.Parts {
			if !slices.Contains(a.leftOut, i) {
				overrides, entries = append(overrides, a.ofTheLoop(p.Override)), append(entries, i)
			}
		}
		err := f(overrides)
		var mistakes listen.OverrideErrors
		if !errors.As(err, &mistakes) {
			return err
		}
		a.partMistakes(mistakes, entries)
	}
}

// ofTheLoop returns an entry of "parts:" as it is where there is one loop: what it says of that by its name holds.
func (a *order) ofTheLoop(o listen.Override) listen.Override {
	if a.only == "" {
		return o
	}
	if o.Loop == a.only {
		o.Loop = ""
	}
	for i, c := range o.Cycles {
		if c.Loop == a.only {
			o.Cycle, o.Cycles = c.Bars, slices.Delete(slices.Clone(o.Cycles), i, i+1)
			break
		}
	}
	return o
}

// partMistakes puts the mistakes of "parts:" in their places; entries are those that were read.
func (a *order) partMistakes(mistakes listen.OverrideErrors, entries []int) {
	for _, e := range mistakes {
		a.leftOut = append(a.leftOut, entries[e.Index])
	}
	for _, e := range mistakes {
		entry := entries[e.Index]
		if e.NotThere && a.mayMean(e.Name, entry) {
			continue
		}
		path, fields := "parts."+e.Name, a.r.Parts[entry].at
		if e.Field != "" {
			path += "." + e.Field
		}
		at := spotOfField(fields, e.Field, e.Item, spotOfField(fields, "", -1, spot{}))
		a.fail(at, Error{Path: path, Found: e.Found, Want: e.Want, Hint: e.Hint})
	}
}

// mayMean tells whether a word that means no part may mean one that an entry of "parts:" other than
// this, or any for -1, would make if it had no mistakes.
func (a *order) mayMean(text string, this int) bool {
	word, _, _ := strings.Cut(text, " ")
	role, isRole := song.RoleWord(word)
	for _, i := range a.leftOut {
		p := a.r.Parts[i]
		name, _, _ := strings.Cut(p.Name, " ")
		for _, w := range []string{name, p.Role} {
			r, ok := song.RoleWord(w)
			if i != this && (w == word || ok && isRole && r == role) {
				return true
			}
		}
	}
	return false
}

// follows tells whether a mistake may only follow from one in "parts:".
func (a *order) follows(err error) bool {
	var m *option.Mistake
	return errors.As(err, &m) && a.mayMean(m.Found, -1)
}
