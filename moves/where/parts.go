package where

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/song"
)

// Parts says which parts a move works on. The zero value is no part.
//
//	parts = item {"or" item} ["if any"]
//	item  = NAME [N] | "all" ["but" NAME [N] {"and" NAME [N]}]
//
// A NAME is a part's name, a role, a job or a group; of several items the first that is there
// counts. A word that is both role and job (bass, perc) means the job. NAME N is the part of that
// name, else the N-th of the role, job or group. A trigger is in no group or job.
type Parts struct{ sentences[partChoice] }

const wantPart = "a part's name, a role, a job, a group or all"

// ParseParts reads a list of part texts, at least one. The error is a [*option.Mistake]; of several
// mistakes, what [errors.Join] makes of them.
func ParseParts(texts ...string) (Parts, error) {
	p := PartsOf(texts...)
	return p, p.bad
}

// PartsOf is [ParseParts] for literals: the error is kept and returned by Resolve.
func PartsOf(texts ...string) Parts {
	return Parts{read(texts, (*phraseParser).partChoice, partRewrites(), wantPart)}
}

// UnmarshalTexts sets the parts from a list of texts; see [ParseParts].
func (p *Parts) UnmarshalTexts(texts []string) error {
	*p = PartsOf(texts...)
	return p.bad
}

// Equal tells whether two values read the same.
func (p Parts) Equal(q Parts) bool { return p.String() == q.String() }

// OneByOne returns each item of the list alone.
func (p Parts) OneByOne() []Parts {
	var out []Parts
	for _, one := range p.each() {
		out = append(out, Parts{one})
	}
	return out
}

// Resolve returns the indices of the parts in the song, rising, each once. There may be none: a job
// or group may be empty, and so may whatever is written with "if any". A part or role that is not
// there is a [*option.Mistake] that lists the parts there are (of several, what [errors.Join] makes
// of them).
func (p Parts) Resolve(s song.Song) ([]int, error) {
	if p.bad != nil {
		return nil, p.bad
	}
	var out []int
	var mistakes []*option.Mistake
	for i, item := range p.items {
		got, e := item.resolve(s)
		if e != nil {
			e.Text, e.Item = item.text(), i
			mistakes = append(mistakes, e)
		}
		out = append(out, got...)
	}
	if len(mistakes) > 0 {
		return nil, joinErrors(mistakes)
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// PartText returns the shortest text that means the part of this index and no other: its name, or,
// where that word means more, its number in a role, job or group. It returns "" for an index that
// is none.
func PartText(s song.Song, index int) string {
	if index < 0 || index >= len(s.Parts) {
		return ""
	}
	only := func(n named) bool {
		found := findPart(s, n)
		return len(found.indices) == 1 && found.indices[0] == index
	}
	part := s.Parts[index]
	if words := splitWords(part.Name); len(words) == 2 && part.Name != "same" && only(named{name: part.Name}) {
		return part.Name
	} else if len(words) == 3 && words[1].kind == plainNumber && only(named{name: words[0].text, n: words[1].a}) {
		return part.Name
	}
	for _, name := range []string{part.Name, string(part.Role), string(part.Job), "all"} {
		for n := 1; n <= len(s.Parts); n++ {
			if w := (named{name: name, n: n}); song.IsName(name) && only(w) {
				return w.text()
			}
		}
	}
	return ""
}

// partChoice is item {"or" item} ["if any"].
type partChoice struct {
	items []partItem
	ifAny bool
}

// partItem is NAME [N], or all with what it leaves out.
type partItem struct {
	all   bool
	named named
	but   []named
}

func (p partItem) text() string {
	if p.all {
		return "all" + butText(p.but)
	}
	return p.named.text()
}

func (c partChoice) text() string {
	return strings.Join(phraseTexts(c.items), " or ") + ifAnyText(c.ifAny)
}

func ifAnyText(ifAny bool) string {
	if ifAny {
		return " if any"
	}
	return ""
}

func (p *phraseParser) partChoice() (partChoice, *option.Mistake) {
	var c partChoice
	for {
		item, e := p.partItem()
		if e != nil {
			return c, e
		}
		c.items = append(c.items, item)
		if !p.accept("or") {
			break
		}
	}
	if item := c.items[0]; len(c.items) == 1 && !item.all && p.peek().is("of") && p.second().kind == plainWord {
		return c, p.fail(`no "of": a part is meant whichever loop it plays`)
	}
	var e *option.Mistake
	c.ifAny, e = p.ifAny()
	return c, e
}

func (p *phraseParser) partItem() (partItem, *option.Mistake) {
	if p.accept("all") {
		but, e := p.butList(word.isPartName, "a part's name, a role, a job or a group")
		return partItem{all: true, but: but}, e
	}
	if !p.peek().isPartName() {
		return partItem{}, p.fail(wantPart)
	}
	return partItem{named: p.named()}, nil
}

func (p *phraseParser) ifAny() (bool, *option.Mistake) {
	if !p.accept("if") {
		return false, nil
	}
	return true, p.expect("any")
}

// breadth is how much a word takes in: the narrower overrules the wider in a line-up.
type breadth uint8

const (
	partBreadth breadth = iota
	roleBreadth
	jobBreadth
	groupBreadth
	allBreadth  // the group that holds every other
	sameBreadth // what another section plays
)

// foundParts is what a word means on a song.
type foundParts struct {
	indices []int // of NAME: in song order; of NAME N: one or none
	breadth breadth
	known   bool // a word that may mean nothing without complaint: a job or group
	standIn bool // they take the place of what is not there
	lacking bool // a role that the song merely lacks: "if any" would not insist on it
}

// findPart looks a word up: group and job first, so that "bass" is the job; then the role, else the part
// that stands for it; then a part's own name; then the role's aliases.
func findPart(s song.Song, n named) foundParts {
	if n.n == 0 {
		return findWord(s, n.name)
	}
	if i := s.Index(n.text()); i >= 0 {
		return foundParts{indices: []int{i}}
	}
	all := findWord(s, n.name)
	all.indices = inOrder(s, n.name, all.indices)
	found := foundParts{known: all.known, standIn: all.standIn}
	if n.n <= len(all.indices) {
		found.indices = all.indices[n.n-1 : n.n]
	}
	return found
}

// Numbered returns the indices of the parts that a word with a number means: NAME 1, NAME 2 and so on, up to the first number
// that means none. It is empty for what is no word for parts.
func Numbered(s song.Song, word string) []int {
	if parts, err := ParseParts(word); err != nil || len(parts.items) != 1 {
		return nil
	}
	byName := map[string]int{}
	for i, p := range s.Parts {
		if _, is := byName[p.Name]; !is {
			byName[p.Name] = i
		}
	}
	var out []int
	all := inOrder(s, word, findWord(s, word).indices)
	for n := range s.Parts {
		i, is := byName[named{name: word, n: n + 1}.text()]
		switch {
		case is:
			out = append(out, i)
		case n < len(all):
			out = append(out, all[n])
		default:
			return out
		}
	}
	return out
}

// inOrder returns the parts that a word means in the order of NAME 1, NAME 2 ...: those of a job in their turns, then
// by role, else as they stand.
func inOrder(s song.Song, name string, parts []int) []int {
	parts = slices.Clone(parts)
	slices.SortStableFunc(parts, func(i, j int) int {
		if a, b := s.Parts[i].Turn, s.Parts[j].Turn; isJob(name) && a != b {
			return cmp.Compare(a, b)
		}
		return cmp.Compare(song.RankOf(s.Parts[i].Role), song.RankOf(s.Parts[j].Role))
	})
	return parts
}

func findWord(s song.Song, name string) foundParts {
	where := func(is func(song.Part) bool) []int {
		var out []int
		for i, p := range s.Parts {
			if is(p) {
				out = append(out, i)
			}
		}
		return out
	}
	role, alias := song.RoleWord(name)
	standing := func() []int { return where(func(p song.Part) bool { return slices.Contains(p.StandsFor, role) }) }
	switch {
	case slices.Contains(song.Groups(), name):
		b := groupBreadth
		if name == "all" {
			b = allBreadth
		}
		return foundParts{indices: where(func(p song.Part) bool { return p.InGroup(name) }), breadth: b, known: true}
	case isJob(name):
		found := where(func(p song.Part) bool { return p.Role != song.RoleTrigger && string(p.Job) == name })
		standIn := len(found) == 0 && alias && string(role) == name
		if standIn {
			found = standing()
		}
		if len(found) > 0 || s.Index(name) < 0 { // as with roles
			return foundParts{indices: found, breadth: jobBreadth, known: true, standIn: standIn && len(found) > 0}
		}
	case alias && string(role) == name:
		found := where(func(p song.Part) bool { return p.Role == role })
		standIn := len(found) == 0
		if standIn {
			found = standing()
		}
		if len(found) > 0 || s.Index(name) < 0 { // else a part bears the name, and the recipe gave it another role
			return foundParts{indices: found, breadth: roleBreadth, standIn: standIn && len(found) > 0}
		}
	}
	if i := s.Index(name); i >= 0 {
		return foundParts{indices: []int{i}}
	}
	if alias {
		return findWord(s, string(role))
	}
	return foundParts{}
}

func (c partChoice) resolve(s song.Song) ([]int, *option.Mistake) {
	var missing *option.Mistake
	var standIns []int // come after all that is there itself
	known := c.ifAny
	for _, item := range c.items {
		found, e := item.find(s, c.ifAny)
		switch {
		case e != nil && missing == nil:
			missing = e
			if found.lacking { // "if any" stands at the end of all of them
				missing.Hint = partChoice{c.items, true}.text()
			}
		case e == nil && found.standIn && standIns == nil:
			standIns = found.indices
		case e == nil && !found.standIn && len(found.indices) > 0:
			return found.indices, nil
		}
		known = known || e == nil
	}
	if len(standIns) > 0 {
		return standIns, nil
	}
	if known {
		return nil, nil
	}
	return nil, missing
}

// find returns the parts an item means; what is neither there nor a job or group is an error.
func (p partItem) find(s song.Song, ifAny bool) (foundParts, *option.Mistake) {
	if !p.all {
		found := findPart(s, p.named)
		if len(found.indices) == 0 && !found.known && !ifAny {
			var e *option.Mistake
			e, found.lacking = missingPart(s, p.named)
			return found, e
		}
		return found, nil
	}
	found := findWord(s, "all")
	for _, b := range p.but {
		gone, e := partItem{named: b}.find(s, ifAny)
		if e != nil {
			return gone, e
		}
		if gone.standIn { // what is not there is left out already
			continue
		}
		found.indices = slices.DeleteFunc(found.indices, func(i int) bool { return slices.Contains(gone.indices, i) })
	}
	return found, nil
}

// missingPart lists the parts there are. The hint is the nearest word that would be there, or, for
// a role that this loop merely lacks, the text that does not insist on it.
func missingPart(s song.Song, n named) (e *option.Mistake, lacking bool) {
	e = &option.Mistake{Col: n.col, Found: n.text(), Want: "a part, and the song has none"}
	var names, roles []string
	for _, p := range s.Parts {
		names = append(names, p.Name)
		roles = append(roles, string(p.Role))
	}
	if len(names) > 0 {
		e.Want = "one of " + strings.Join(names, ", ") + ", or a role, job or group of theirs"
	}
	var jobs []string
	for _, j := range song.Jobs() {
		jobs = append(jobs, string(j))
	}
	there := findWord(s, n.name)
	_, role := song.RoleWord(n.name)
	switch {
	case n.n > 0 && len(there.indices) > 0:
		e.Want = fmt.Sprintf("%s 1 to %s %d", n.name, n.name, len(there.indices))
		if len(there.indices) == 1 {
			e.Want, e.Hint = n.name+", of which there is one", n.name
		}
	case synonym(n.name) == "all":
		e.Hint = "all"
	case role:
		e.Hint, lacking = n.text()+ifAnyText(true), true
	case saidPart(n.name, s) != "":
		e.Hint = saidPart(n.name, s)
	default:
		e.Hint = song.Nearest(n.text(), slices.Concat(names, roles, jobs, song.Groups()))
	}
	return e, lacking
}

// saidPart returns the part that a word is a piece of the name of, such as closed-hat for closed, if there is one, or the
// open hat or hat that is called open or closed; "" for none.
func saidPart(name string, s song.Song) string {
	var meant []int
	for i, p := range s.Parts {
		if slices.Contains(strings.Split(p.Name, "-"), name) {
			meant = append(meant, i)
		}
	}
	if len(meant) == 0 {
		role := map[string]string{"open": string(song.RoleOpenHat), "closed": string(song.RoleHat)}[name]
		if role != "" && len(findWord(s, role).indices) > 0 {
			return role
		}
	}
	if len(meant) != 1 {
		return ""
	}
	return PartText(s, meant[0])
}

func partRewrites() []rewrite {
	return []rewrite{lowerCase, synonyms, ifThere, allOf, withoutBars, withoutLoop}
}

// ifThere reads the ways to say "if any".
func ifThere(ws []string) []string {
	for i := 0; i+1 < len(ws); i++ {
		if ws[i] == "if" && slices.Contains([]string{"there", "present", "available", "possible"}, ws[i+1]) {
			ws[i+1] = "any"
			return ws
		}
	}
	return nil
}

// allOf reads all drums and every hat as drums and hat.
func allOf(ws []string) []string {
	if len(ws) > 1 && (ws[0] == "all" || ws[0] == "every") && (isNameWord(ws[1]) || isJob(ws[1])) {
		return ws[1:]
	}
	return nil
}

// withoutBars leaves out from and to, which belong to line-ups.
func withoutBars(ws []string) []string {
	for i, w := range ws {
		if i > 0 && (w == "from" || w == "to") {
			return ws[:i]
		}
	}
	return nil
}

// withoutLoop leaves out "of" with a loop, which belongs to line-ups: a part is meant whichever loop it plays.
func withoutLoop(ws []string) []string {
	for i, w := range ws {
		if i > 0 && w == "of" && i+1 < len(ws) {
			return append(ws[:i], ws[i+2:]...)
		}
	}
	return nil
}

// PartsMeant returns the parts that a word alone means on a song, as indices in order; nil for a word that
// means none there.
func PartsMeant(s song.Song, word string) []int { return findWord(s, word).indices }

// Form says what parts look like.
func (p Parts) Form() option.Form {
	return option.Form{Name: "part", Pattern: sentence(`ITEM(?: or ITEM)*(?: if any)?`)}
}
