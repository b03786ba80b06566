package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"loopdraft/recipes"
	"loopdraft/recipes/edit"
	"loopdraft/smf/picture"
)

// session is what a served page is about: the loops, the recipe, what was chosen, and the drafts that came of it. Its
// methods are called by whoever holds mu, except for those that say otherwise; what is shown is read from shown.
type session struct {
	c            *console
	loops        []loopFile
	join, marked bool // how the files are loops

	mu      sync.Mutex
	recipe  string // a name or a file, as for --recipe
	builtin bool
	history *edit.History // of the recipe's text
	stamps  string        // of the loops' files as they were read last
	inputs  []recipes.Input
	choice  choice
	now     *openDraft // the last good one
	kept    *openDraft // another take, to switch to; nil for none
	broken  error      // why the loops and the recipe as they are give no draft; nil: now is that draft
	drafts  int        // that were made so far

	writes sync.Mutex // is held while the recipe is written
	ended  bool       // nothing is written any more; under writes

	shown   atomic.Pointer[shownState]
	changed chan struct{} // closed when shown changes, and made anew
}

// choice is how a draft was chosen from all that a recipe leaves open.
type choice struct {
	take  int
	held  []recipes.Choice
	taken []int // alternatives of all choices, once one was chosen by itself; nil: as the take has it
}

// openDraft is a draft as the page has it.
type openDraft struct {
	id     int
	choice choice
	result *recipes.Result
	chart  picture.Chart
	page   *picture.Page
	json   []byte
	bare   bool // it is the loop alone
}

// shownState is what the page shows, of one moment.
type shownState struct {
	now, kept *openDraft
	state     pageState
	source    edit.Source   // the recipe's text and what of it is in use
	changed   chan struct{} // closed when there is another
}

// pageState is what the page is told when something has changed.
type pageState struct {
	Draft    int      `json:"draft"`
	Kept     int      `json:"kept"` // 0: none
	Recipe   string   `json:"recipe"`
	Builtin  bool     `json:"builtin"`
	Take     int      `json:"take"`
	KeptTake string   `json:"keptTake"`
	Choices  []string `json:"choices"`  // as NAME=N, where a choice without a name is called by its line
	Ways     []string `json:"ways"`     // the same, for who reads it
	Mistakes []string `json:"mistakes"` // why what is on the disk gives no draft
	News     string   `json:"news"`     // what happened, in words; "" for nothing to tell
}

// watched returns the files to follow. It may be called by anybody.
func (s *session) watched() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return watched(s.c, s.loops, s.recipe)
}

// readRecipe reads the recipe's text into the history.
func (s *session) readRecipe() error {
	text, builtin := recipes.BuiltinText(s.recipe)
	if s.builtin = builtin; !builtin {
		src, err := s.c.read(recipeFile(s.recipe), kind{"a recipe file", recipes.MaxBytes, nil})
		if err != nil {
			return err
		}
		text = src.data
	}
	if s.history == nil {
		s.history = edit.NewHistory(text)
	} else {
		s.history.Do(text)
	}
	return nil
}

// parsed returns the recipe of a text.
func (s *session) parsed(text []byte) (*recipes.Recipe, error) {
	if r, ok := recipes.Builtin(s.recipe); ok {
		return r, nil
	}
	return recipes.Parse(visible(recipeFile(s.recipe)), text)
}

// readLoops reads the loops if they have changed.
func (s *session) readLoops() error {
	stamps := ""
	for _, name := range filesOf(s.loops) {
		if info, err := os.Stat(name); err == nil {
			stamps += fmt.Sprintf("%s %d %d\n", name, info.Size(), info.ModTime().UnixNano())
		}
	}
	if s.inputs != nil && stamps == s.stamps {
		return nil
	}
	inputs, _, err := s.c.namedLoops("open", s.loops)
	if err != nil {
		return err
	}
	s.inputs, s.stamps = inputs, stamps
	return nil
}

// draft makes a draft of the loops by a recipe's text, as chosen.
func (s *session) draft(text []byte, by choice) (*openDraft, error) {
	if err := s.readLoops(); err != nil {
		return nil, err
	}
	r, err := s.parsed(text)
	switch {
	case err != nil:
		return nil, err
	case len(s.inputs) == 0 && r.Loops == nil:
		return nil, misuse("open", "found %s, want %s", foundNames(nil), wantLoops)
	case s.join && r.Loops != nil:
		return nil, misuse("open", "found --join and a recipe that names its loops, want one of them")
	case s.marked && r.Loops != nil:
		return nil, misuse("open", "found --loops and a recipe that names its loops, want one of them")
	}
	var sources []source
	result, err := recipes.Draft(s.inputs, r, recipes.Options{
		Join: s.join, Marked: s.marked, Take: by.take, Choose: by.held, Taken: by.taken, Open: s.c.opener(s.recipe, &sources),
	})
	if err != nil {
		return nil, err
	}
	chart := picture.Chart{Title: title(s.named()), Changes: result.Changes, Asked: result.Asked(), Choices: choices(result)}
	if _, full, err := result.Energy(); err == nil {
		chart.Full = full
	}
	chart.Phrase = r.Phrase
	if chart.Phrase == 0 {
		chart.Phrase = usualPhrase
	}
	d := &openDraft{choice: by, result: result, chart: chart}
	return d, s.draw(d)
}

// draftAs makes a draft as draft does. Where the recipe does not have what was chosen any more, the take alone counts.
func (s *session) draftAs(text []byte, by choice) (*openDraft, error) {
	d, err := s.draft(text, by)
	if err != nil && len(by.held)+len(by.taken) > 0 {
		return s.draft(text, choice{take: by.take})
	}
	return d, err
}

// usualPhrase is the phrase of a recipe that says none, in bars.
const usualPhrase = 8

// bare is the loop as it is, while there is no draft.
func (s *session) bare() (*openDraft, error) {
	if err := s.readLoops(); err != nil {
		return nil, err
	}
	result, err := recipes.Draft(s.inputs, &recipes.Recipe{}, recipes.Options{Join: s.join})
	if err != nil {
		return nil, err
	}
	d := &openDraft{choice: s.choice, result: result, chart: picture.Chart{Title: title(s.named()), Phrase: usualPhrase}, bare: true}
	return d, s.draw(d)
}

// named is the file that the page is named after.
func (s *session) named() string {
	if len(s.loops) > 0 {
		return s.loops[0].file
	}
	return s.recipe
}

// draw makes the page of a draft.
func (s *session) draw(d *openDraft) error {
	var err error
	if d.page, err = picture.NewPage(d.result.Song, d.chart); err == nil {
		d.json, err = d.page.JSON()
	}
	s.drafts++
	d.id = s.drafts
	return err
}

// redraft makes the draft that is heard anew and shows it; after an error the last good one stays. Another take that is
// kept follows.
func (s *session) redraft() error {
	d, err := s.draftAs(s.history.Text(), s.choice)
	if s.broken = err; err != nil {
		return err
	}
	s.show(d)
	return nil
}

// show shows a draft of the text as it is, and makes the one that is kept anew.
func (s *session) show(d *openDraft) {
	s.now, s.choice, s.broken = d, d.choice, nil
	s.publish("")
	if s.kept != nil {
		if kept, err := s.draftAs(s.history.Text(), s.kept.choice); err == nil {
			s.kept = kept
		} else {
			s.kept = nil // the recipe does not have it any more
		}
		s.publish("")
	}
}

// filesChanged reads what was saved. It may be called by anybody.
func (s *session) filesChanged() {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.c.progress.rest()
	was, stamps := s.history.Text(), s.stamps
	err := s.readRecipe()
	if err == nil {
		same := bytes.Equal(was, s.history.Text())
		if err = s.readLoops(); err == nil && same && s.broken == nil && stamps == s.stamps && !s.loopsBeside() {
			return // it was written by the page
		}
	}
	if err == nil {
		err = s.redraft()
	}
	if s.broken = err; err != nil {
		s.c.fail(err)
		s.publish("")
	}
}

// loopsBeside tells whether the recipe names loops, which are read with each draft.
func (s *session) loopsBeside() bool {
	r, err := s.parsed(s.history.Text())
	return err == nil && r.Loops != nil
}

// publish shows how things are now, and says what happened.
func (s *session) publish(news string) {
	state := pageState{
		Draft: s.now.id, Recipe: visible(s.recipe), Builtin: s.builtin, Take: s.now.choice.take,
		Choices: []string{}, Ways: []string{}, Mistakes: mistakesOf(s.broken), News: news,
	}
	for i, name := range wayNames(s.now.result) {
		way := s.now.result.Ways[i]
		state.Choices = append(state.Choices, recipes.Choice{Name: name, N: way.N}.String())
		state.Ways = append(state.Ways, wayText(name, way))
	}
	if s.kept != nil {
		state.Kept = s.kept.id
		state.KeptTake = strings.Join(append([]string{fmt.Sprintf("take %d", s.kept.choice.take)}, choices(s.kept.result)...), ", ")
	}
	last := s.changed
	s.changed = make(chan struct{})
	s.shown.Store(&shownState{s.now, s.kept, state, s.source(), s.changed})
	close(last)
}

// mistakesOf are the texts of an error, each mistake of a recipe by itself.
func mistakesOf(err error) []string {
	out := []string{}
	var mistakes *recipes.Errors
	switch {
	case errors.As(err, &mistakes):
		for _, m := range mistakes.List {
			out = append(out, printable(m.Error()))
		}
	case err != nil:
		out = append(out, printable(err.Error()))
	}
	return out
}

// step takes the next take, or the one before.
func (s *session) step(by int) error {
	next := choice{take: min(max(s.choice.take+by, 1), maxTakes)}
	return s.choose(next)
}

// wayNames are what the page calls the choices of a draft: by their names, else by the lines in which they stand.
func wayNames(r *recipes.Result) []string {
	var out []string
	for _, way := range r.Ways {
		name := way.Name
		if name == "" {
			name = fmt.Sprintf("line %d", way.Line)
			for n := 2; slices.Contains(out, name); n++ {
				name = fmt.Sprintf("line %d, choice %d", way.Line, n)
			}
		}
		out = append(out, name)
	}
	return out
}

// wayText says which alternative a choice takes; one without a name is told by it too.
func wayText(name string, way recipes.Way) string {
	text := fmt.Sprintf("%s, %d of %d", name, way.N, way.Of)
	if way.Name == "" {
		text += ": " + printable(way.Text)
	}
	return text
}

// stepChoice takes the next alternative of the choice that the page calls so, or the one before, and says which; they
// go round. Those that give no draft are passed over.
func (s *session) stepChoice(name string, by int) (string, error) {
	i := slices.Index(wayNames(s.now.result), name)
	if i < 0 {
		return "", fmt.Errorf("found no choice %q in this draft", visible(name))
	}
	way := s.now.result.Ways[i]
	var err error
	for n := 1; n < way.Of; n++ {
		taken := slices.Clone(s.now.result.Taken)
		for _, at := range way.At {
			taken[at] = ((way.N-1+n*by)%way.Of + way.Of) % way.Of
		}
		if err = s.choose(choice{take: s.choice.take, taken: taken}); err == nil {
			return wayText(name, s.now.result.Ways[i]), nil
		}
	}
	return "", err
}

// choose makes the draft of another choice.
func (s *session) choose(by choice) error {
	d, err := s.draft(s.history.Text(), by)
	if err != nil {
		return err
	}
	s.now, s.choice, s.broken = d, by, nil
	return nil
}
