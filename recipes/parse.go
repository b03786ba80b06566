package recipes

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves"
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

const skippedMark = "# skipped: "

// Parse reads a recipe; file is the name that messages give it. No bytes, comments alone and {} are
// the empty recipe. Every scalar is read by its text. The error is an [*Errors] with all mistakes.
func Parse(file string, data []byte) (*Recipe, error) { return ParseWith(Catalogue(), file, data) }

// ParseWith reads a recipe as [Parse] does, with the moves of another catalogue.
func ParseWith(catalogue moves.Catalogue, file string, data []byte) (*Recipe, error) {
	data = bytes.TrimPrefix(data, []byte("\uFEFF"))
	s := &source{mistakes: mistakes{file: file, lines: splitLines(string(data))}, moves: catalogue}
	r := &Recipe{File: file, Catalogue: catalogue, lines: s.lines}
	if !s.readable(data) {
		return nil, s.err()
	}
	if root := s.load(data); root != nil {
		if c := s.findChoices(root); c != nil {
			s.readChoices(r, c)
		} else {
			s.recipe(r, root)
		}
	}
	if err := s.err(); err != nil {
		return nil, err
	}
	return r, nil
}

func (s *source) recipe(r *Recipe, root *yaml.Node) {
	s.read(r, root)
	s.checkSum(r)
	if !s.sectionsUnread {
		s.checkEnergies(r.Sections)
	}
	if len(s.errs) > 0 || r.Substitutes != nil { // it will not be run, or would leave out what names no section
		s.checkNames(r.Moves, [][]song.Section{r.outline()}, r.outline())
	}
}

// read reads what the keys of a recipe hold.
func (s *source) read(r *Recipe, root *yaml.Node) {
	keys := keyNames(Keys())
	pairs, ok := s.pairs(root, "", "key", "a map of "+strings.Join(keys, ", "))
	if !ok {
		return
	}
	var review *yaml.Node // read last: rules ask for the phrase
	for _, p := range pairs {
		if (s.again || s.chosen) && p.key != "sections" && p.key != "moves" {
			continue
		}
		switch p.key {
		case "length":
			r.at.length = spotOf(p.value)
			s.length(r, p.value)
		case "phrase":
			r.Phrase, _ = s.bars(p.value, "phrase")
		case "seed":
			s.seed(r, p.value)
		case "loop":
			r.at.loop = spotOf(p.value)
			r.Loop, _ = s.bars(p.value, "loop")
		case "bpm":
			r.at.bpm = spotOf(p.value)
			s.bpm(r, p.value)
		case "metre":
			r.at.metre = spotOf(p.value)
			s.metre(r, p.value)
		case "input":
			r.at.input = spotOf(p.value)
			r.Input, _, _, _ = s.texts(p.value, "input", "a file name, or a list of file names")
		case "loops":
			r.at.loops = p.at
			s.loops(r, p.value)
		case "substitutes":
			s.substitutes(r, p.value)
		case "parts":
			s.parts(r, p.value)
		case "sections":
			r.at.sections = p.at
			s.sections(r, p.value)
		case "moves":
			s.steps(r, p.value, p.at)
		case "review":
			review = p.value
		default:
			s.unknown(p.at, "", "key", p.key, keys)
		}
	}
	s.checkLoops(r)
	if review != nil {
		s.review(r, review)
	}
}

// checkNames notes words in spans and places that no section bears: in none of the lists of those there may be.
func (s *source) checkNames(steps []StepSpec, sections [][]song.Section, all []song.Section) {
	if s.sectionsUnread || !slices.ContainsFunc(sections, func(list []song.Section) bool { return len(list) > 0 }) {
		return // what a section is called, or the loop's own are called, is not known
	}
	const most = 1000 // thousands of steps, each mistaken among thousands of sections, would take minutes to tell
	before := len(s.errs)
	for _, spec := range steps {
		if len(s.errs)-before >= most {
			return
		}
		for _, err := range unknownSections(spec.Step, sections, all) {
			var option *option.Mistake
			if errors.As(err, &option) {
				s.optionMistake(err, spec.path+"."+option.Option, func(item int) spot { return spotOfField(spec.fields, option.Option, item, spec.at) })
			}
		}
	}
}

// unknownSections returns the names in a step that stand for a section in none of several lists, as they are
// mistaken among all there are.
func unknownSections(step moves.Step, sections [][]song.Section, all []song.Section) []error {
	type place struct {
		option    string
		item, col int
	}
	placeOf := func(err error) (p place) {
		var bad *option.Mistake
		if errors.As(err, &bad) {
			p = place{bad.Option, bad.Item, bad.Col}
		}
		return p
	}
	times, of := map[place]int{}, map[place]error{}
	var order []place
	for _, list := range sections {
		for _, err := range flatten(where.CheckSections(step, list)) {
			if err == nil {
				return nil
			}
			p := placeOf(err)
			if times[p]++; times[p] == 1 {
				order, of[p] = append(order, p), err
			}
		}
	}
	for _, err := range flatten(where.CheckSections(step, all)) {
		if p := placeOf(err); err != nil && times[p] > 0 {
			of[p] = err
		}
	}
	var out []error
	for _, p := range order {
		if times[p] == len(sections) {
			out = append(out, of[p])
		}
	}
	return out
}

func (s *source) length(r *Recipe, n *yaml.Node) {
	text, ok := s.text(n, "length", where.Extent{}.Want())
	if !ok {
		return
	}
	x, err := where.ParseExtent(text)
	if err != nil {
		s.optionMistakes(err, "length", func(int) spot { return spotOf(n) })
		return
	}
	r.Length = x
}

// bars reads a length in whole bars.
func (s *source) bars(n *yaml.Node, path string) (int, bool) {
	text, ok := s.text(n, path, where.Bars(0).Want())
	if !ok {
		return 0, false
	}
	bars, err := where.ParseBars(text)
	if err != nil {
		e := Error{Path: path, Found: shown(text), Want: where.Bars(0).Want()}
		var bad *option.Mistake
		if errors.As(err, &bad) {
			e.Hint = bad.Hint
		}
		s.fail(spotOf(n), e)
		return 0, false
	}
	return int(bars), true
}

func (s *source) seed(r *Recipe, n *yaml.Node) {
	text, ok := s.text(n, "seed", option.Seed{}.Want())
	if !ok {
		return
	}
	seed, err := option.ParseSeed(text)
	if err != nil {
		s.optionMistakes(err, "seed", func(int) spot { return spotOf(n) })
		return
	}
	r.Seed = seed
}

func (s *source) bpm(r *Recipe, n *yaml.Node) {
	want := fmt.Sprintf("a tempo of %d to %d beats a minute such as 126 or 127.5", smf.SlowestTempo/1000, smf.FastestTempo/1000)
	text, ok := s.text(n, "bpm", want)
	if !ok {
		return
	}
	bpm, ok := smf.ParseTempo(text)
	if !ok {
		s.fail(spotOf(n), Error{Path: "bpm", Found: shown(text), Want: want})
		return
	}
	r.BPM = bpm
}

func (s *source) metre(r *Recipe, n *yaml.Node) {
	want := "a metre such as 4/4, 1 to 255 beats of 1, 2, 4, 8, 16, 32 or 64"
	text, ok := s.text(n, "metre", want)
	if !ok {
		return
	}
	metre, ok := smf.ParseMetre(text)
	if !ok {
		s.fail(spotOf(n), Error{Path: "metre", Found: shown(text), Want: want})
		return
	}
	r.Metre = metre
}

// checkSum notes sections that do not add up to the recipe's length, or to more than a song has.
func (s *source) checkSum(r *Recipe) {
	missing := func(sec SectionSpec) bool { return sec.Bars < 1 } // which is told already
	if len(r.Sections) == 0 || slices.ContainsFunc(r.Sections, missing) {
		return
	}
	sum := r.bars()
	switch {
	case sum > song.MaxBars:
		s.fail(r.at.sections, Error{Path: "sections", Found: fmt.Sprintf("%d bars in all", sum), Want: fmt.Sprintf("at most %d", song.MaxBars)})
	case r.Length.Bars > 0 && r.Length.Bars != sum:
		s.fail(r.at.length, Error{Path: "length", Found: fmt.Sprintf("%d bars", r.Length.Bars), Want: fmt.Sprintf("the %d bars that the sections add up to", sum)})
	}
}
