package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"loopdraft/recipes"
	"loopdraft/recipes/edit"
	"loopdraft/smf/song"
)

// action is what a page asks for. Sections count from 0, bars of a section from 1.
type action struct {
	Do      string       `json:"do"`
	Draft   int          `json:"draft"` // the one that the page shows
	By      int          `json:"by"`    // steps on or back
	Name    string       `json:"name"`  // of a choice, a part, a file, a section or a move
	Section int          `json:"section"`
	First   int          `json:"first"`
	Last    int          `json:"last"`
	Step    int          `json:"step"`    // from 0, among those in use
	Options []pageOption `json:"options"` // of a step, keys of a section or of the recipe
}

// answer is what came of an action.
type answer struct {
	Failed bool   `json:"failed"`
	Text   string `json:"text"`
	Name   string `json:"name"`  // a file name to offer, where the recipe needs one first; "" where it does not
	Draft  int    `json:"draft"` // the one that is shown now
}

// act does something. It may be called by anybody.
func (s *session) act(a action) answer {
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.c.progress.rest()
	text, err := s.do(a)
	if errors.Is(err, errNoFile) {
		return answer{true, err.Error(), s.freeName(), s.now.id}
	}
	if err != nil {
		return answer{Failed: true, Text: strings.Join(mistakesOf(err), "\n"), Draft: s.now.id}
	}
	s.publish(text)
	return answer{Text: text, Draft: s.now.id}
}

var (
	errNoFile    = errors.New("a built-in recipe stays as it is: give your own a file name, in the working directory")
	errBehind    = errors.New("the draft has changed meanwhile: nothing was done")
	errOnDisk    = errors.New("the recipe's file has changed on the disk and was read again: nothing was done")
	errNoSection = errors.New("found no section of the recipe there")
	errBroken    = errors.New("the recipe has a mistake: put it right or undo it first")
)

// do does something and says what it did.
func (s *session) do(a action) (string, error) {
	switch a.Do {
	case "take":
		err := s.step(sign(a.By))
		return fmt.Sprintf("take %d", s.choice.take), err
	case "choice":
		return s.stepChoice(a.Name, sign(a.By))
	case "keep":
		s.kept = s.now
		return "this take is kept: go to another one, and X switches between the two", nil
	case "switch":
		if s.kept == nil {
			return "", errors.New("no take is kept to switch to")
		}
		s.now, s.kept = s.kept, s.now
		s.choice = s.now.choice
		return fmt.Sprintf("take %d", s.choice.take), nil
	case "name":
		return s.nameRecipe(a.Name)
	case "undo":
		return "undone", s.turnBack((*edit.History).Undo, "nothing to undo")
	case "redo":
		return "redone", s.turnBack((*edit.History).Redo, "nothing to redo")
	}
	if a.Draft != s.now.id {
		return "", errBehind
	}
	switch {
	case s.builtin:
		return "", errNoFile
	case errors.As(s.broken, new(*recipes.Errors)):
		return "", errBroken
	case s.broken != nil: // a loop or the recipe cannot be read
		return "", s.broken
	}
	ways, text, err := s.editsOf(a)
	if err != nil {
		return "", err
	}
	shorn, err := s.edit(ways, a.leaves())
	if shorn {
		text += "; the length of the recipe is taken away, since it would not fit all that may be chosen"
	}
	return text, err
}

// editsOf makes edits of an action, and says what they do. Each list of them does the same, and the first that can be made
// counts.
func (s *session) editsOf(a action) ([][]edit.Edit, string, error) {
	switch a.Do {
	case "add step", "set step", "move step", "remove step":
		return s.stepEdits(a)
	case "set key", "set section":
		return s.keyEdits(a)
	}
	e, text, err := s.editOf(a)
	return [][]edit.Edit{{e}}, text, err
}

func sign(by int) int {
	if by < 0 {
		return -1
	}
	return 1
}

// editOf makes an edit of an action, and says what it does.
func (s *session) editOf(a action) (edit.Edit, string, error) {
	sections := s.now.result.Song.Sections
	if a.Section < 0 || a.Section >= len(sections) || s.now.bare {
		return nil, "", errNoSection
	}
	sec, called := sections[a.Section], visible(song.SectionNames(sections)[a.Section])
	switch a.Do {
	case "part":
		return s.partEdit(a, sec, called)
	case "bars":
		by := min(max(a.By, -song.MaxBars), song.MaxBars) * s.now.chart.Phrase
		if sec.Bars+by < 1 {
			return nil, "", fmt.Errorf("%s is %d bars long, and cannot be %d shorter", called, sec.Bars, -by)
		}
		bars := sec.Bars + by
		return edit.Bars{Section: a.Section, Bars: bars}, fmt.Sprintf("%s is %d bars long", called, bars), nil
	case "move":
		to := a.Section + sign(a.By)
		if to < 0 || to >= len(sections) {
			return nil, "", fmt.Errorf("%s has no section on that side", called)
		}
		return edit.MoveSection{Section: a.Section, To: to}, called + " is moved", nil
	case "double":
		return edit.DoubleSection{Section: a.Section}, called + " stands there twice", nil
	case "remove":
		return edit.RemoveSection{Section: a.Section}, called + " is removed", nil
	case "rename":
		return edit.Rename{Section: a.Section, Name: a.Name}, called + " is now " + visible(a.Name), nil
	}
	return nil, "", fmt.Errorf("found unknown action %q", visible(a.Do))
}

// partEdit lets a part rest in some bars of a section if its line-up lets it play in any of them; otherwise it plays in all.
func (s *session) partEdit(a action, sec song.Section, called string) (edit.Edit, string, error) {
	r := s.now.result
	part := r.Loop.Index(a.Name)
	if part < 0 {
		return nil, "", fmt.Errorf("%s is no part of the loop: a step of the recipe added it", visible(a.Name))
	}
	if a.First < 1 || a.Last < a.First || a.Last > sec.Bars {
		return nil, "", fmt.Errorf("found bars %d to %d, want bars within 1 to %d of %s", a.First, a.Last, sec.Bars, called)
	}
	bars, start := r.Song.BarRange(sec.Bar+a.First-1, sec.Bar+a.Last-1), r.Song.Time().BarStart(sec.Bar)
	rest := false
	if plays := r.Plays(a.Section); part < len(plays) {
		rest = slices.ContainsFunc(plays[part], func(x song.Range) bool { return start+x.Start < bars.End && start+x.End > bars.Start })
	}
	what := "plays"
	if rest {
		what = "rests"
	}
	text := fmt.Sprintf("%s %s in bars %d to %d of %s", visible(a.Name), what, a.First, a.Last, called)
	return edit.Play{Section: a.Section, Part: a.Name, First: a.First, Last: a.Last, Rest: rest, Draft: r}, text, nil
}

// leaves tells whether an action leaves sentences of the recipe as they are that may not fit any more.
func (a action) leaves() bool {
	if a.Do == "set section" {
		return !slices.ContainsFunc(a.Options, func(o pageOption) bool { return o.Name != "bars" && o.Name != "like" })
	}
	return slices.Contains([]string{"bars", "move", "double", "remove", "move step", "remove step"}, a.Do)
}

// edit changes the recipe's file, the first of several ways that can be gone, and shows its draft. A text that gives none
// is not written; but where the edit leaves sentences as they are, what they then lack is shown with it. shorn tells that
// the recipe's length went, as sections that are chosen among do not all add up to it any more.
func (s *session) edit(ways [][]edit.Edit, leaves bool) (shorn bool, err error) {
	if err := s.asOnDisk(); err != nil {
		return false, err
	}
	source := s.source()
	text, err := applied(source, ways)
	if err != nil {
		return false, err
	}
	by := choice{s.choice.take, s.now.result.Choices, s.now.result.Taken}
	d, mistake := s.draftAs(text, by)
	if mistake != nil && !leaves {
		return false, mistake
	}
	if mistake != nil {
		source.Text = text
		if without, err := applied(source, [][]edit.Edit{{edit.NoLength{}}}); err == nil {
			if other, err := s.draftAs(without, by); err == nil {
				text, d, mistake, shorn = without, other, nil, true
			}
		}
	}
	if err := s.writeRecipe(text); err != nil {
		return false, err
	}
	s.history.Do(text)
	if mistake != nil {
		s.broken = mistake
		s.c.fail(mistake)
		return false, nil
	}
	s.show(d)
	return shorn, nil
}

// source is the recipe's text and what of it is in use.
func (s *session) source() edit.Source {
	return edit.Source{File: visible(recipeFile(s.recipe)), Text: s.history.Text(), Taken: s.now.result.Taken}
}

// redraftAfter makes the draft of a text that is in its file. Its mistakes are shown, and the last good draft stays.
func (s *session) redraftAfter() {
	if err := s.redraft(); err != nil {
		s.c.fail(err)
	}
}

// asOnDisk holds the text against its file. Where that has changed it wins.
func (s *session) asOnDisk() error {
	was := s.history.Text()
	if err := s.readRecipe(); err != nil {
		return err
	}
	if bytes.Equal(was, s.history.Text()) {
		return nil
	}
	s.redraftAfter()
	s.publish("")
	return errOnDisk
}

// turnBack takes a change back, or makes it again.
func (s *session) turnBack(turn func(*edit.History) bool, none string) error {
	if s.builtin {
		return errors.New(none)
	}
	if err := s.asOnDisk(); err != nil {
		return err
	}
	if !turn(s.history) {
		return errors.New(none)
	}
	if err := s.writeRecipe(s.history.Text()); err != nil {
		return err
	}
	s.redraftAfter()
	return nil
}

// writeRecipe writes the recipe's file.
func (s *session) writeRecipe(text []byte) error {
	if info, err := os.Stat(recipeFile(s.recipe)); err == nil && info.Mode().Perm()&0o200 == 0 {
		return fmt.Errorf("%s may only be read: nothing was written", visible(recipeFile(s.recipe)))
	}
	out := &outputs{force: true}
	out.add(recipeFile(s.recipe), text, false)
	return s.write(out)
}

// write writes files, unless the program has been told to end.
func (s *session) write(out *outputs) error {
	s.writes.Lock()
	defer s.writes.Unlock()
	if s.ended {
		return errors.New("the program ends: nothing was written")
	}
	return out.write(s.c)
}

// endWriting waits until what is being written is written; nothing is from then on. It may be called by anybody.
func (s *session) endWriting() {
	s.writes.Lock()
	defer s.writes.Unlock()
	s.ended = true
}

// freeName is a name for a recipe of one's own that no file in the working directory has.
func (s *session) freeName() string {
	for n := 1; ; n++ {
		name := "mine" + ownEnding
		if n > 1 {
			name = fmt.Sprintf("mine-%d%s", n, ownEnding)
		}
		if _, err := os.Lstat(name); errors.Is(err, fs.ErrNotExist) || n == maxTakes {
			return name
		}
	}
}

// nameRecipe writes a built-in recipe to a file of its own in the working directory, which is the recipe from then on.
func (s *session) nameRecipe(name string) (string, error) {
	if !s.builtin {
		return "", fmt.Errorf("the recipe has a file, %s", visible(s.recipe))
	}
	name = strings.TrimSpace(name)
	if filepath.Ext(name) != ownEnding {
		name += ownEnding
	}
	word := strings.TrimSuffix(name, ownEnding)
	if word == "" || strings.HasPrefix(word, ".") || strings.ContainsAny(name, `/\:`) || name != visible(name) || filepath.Base(name) != name {
		return "", fmt.Errorf("found %q, want the plain name of a file, such as %s", visible(name), s.freeName())
	}
	out := &outputs{}
	out.add(name, s.history.Text(), false)
	if err := s.write(out); err != nil {
		return "", errors.New(strings.Replace(err.Error(), ", or --force to replace it", "", 1))
	}
	was := s.recipe
	s.recipe = name
	if err := s.readRecipe(); err != nil {
		s.recipe = was
		return "", err
	}
	s.redraftAfter()
	return "the recipe is now in " + name, nil
}
