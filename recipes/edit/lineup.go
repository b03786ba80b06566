package edit

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/recipes"
	"loopdraft/smf/song"

	"gopkg.in/yaml.v3"
)

// Play lets a part play, or rest, in some bars of a section. The line-up becomes the shortest of a few sentences that say
// it and leave every other part as it is. Where a section has an energy or is like another, who was found to play there is
// written as its line-up; the energy goes, and what it had from the other is written down.
type Play struct {
	Section     int
	Part        string          // its name, as in the draft
	First, Last int             // bars of the section as drafted, from 1, both included
	Rest        bool            // it is to rest
	Draft       *recipes.Result // of the recipe as it is, which knows the loop's parts and who was found
}

func (e Play) edit(d *document) error {
	it, err := d.find("sections", e.Section)
	if err != nil {
		return err
	}
	in, found, ok := where.SectionContext{}, []string(nil), false
	if e.Draft != nil {
		in, found, ok = e.Draft.LineUp(e.Section)
	}
	if !ok {
		return d.failAt(it.node, "sections", "a section that is not in the draft", "a draft of this recipe")
	}
	part := in.Song.Index(e.Part)
	if part < 0 {
		return d.failAt(it.node, "sections", fmt.Sprintf("no part %q", e.Part), "a part of the loop")
	}
	if e.First < 1 || e.Last > in.Bars || e.Last < e.First {
		return d.failAt(it.node, "sections", fmt.Sprintf("bars %d-%d", e.First, e.Last), fmt.Sprintf("bars within 1-%d (the section)", in.Bars))
	}
	finds := lookUp(it.node, "energy") != nil || lookUp(it.node, "like") != nil
	texts := found
	if finds {
		if own := d.sections()[e.Section].bars; own > 0 && own != in.Bars {
			return d.failAt(it.node, "sections", fmt.Sprintf("a draft of %d bars", in.Bars), fmt.Sprintf("one of the %d bars that are written", own))
		}
		in.Written = in.Bars
	} else if texts, err = d.lineUp(it.node); err != nil {
		return err
	}
	now, err := sentence(in, texts, part, e)
	if err != nil {
		var bad *option.Mistake
		if errors.As(err, &bad) {
			return d.fail(it.node.Line, it.node.Column, recipes.Error{Path: "sections", Found: bad.Shown(), Unknown: bad.Unknown, Want: bad.Want, Hint: bad.Hint})
		}
		return err
	}
	if finds {
		if err := d.onItsOwn(it.node, now, e.Section); err != nil {
			return err
		}
		if lookUp(it.node, "play") == nil {
			return nil
		}
	}
	return d.setValue(it.node, "play", now, true)
}

// lineUp returns the texts of a section's line-up in use; "all" where it has none.
func (d *document) lineUp(n *yaml.Node) ([]string, error) {
	play := lookUp(n, "play")
	if play == nil {
		return []string{"all"}, nil
	}
	play = d.use(play)
	if play.Kind == yaml.ScalarNode {
		return []string{play.Value}, nil
	}
	if play.Kind != yaml.SequenceNode || !d.texts(play) {
		return nil, d.failAt(play, "sections", "what is no line-up", "a list of parts such as [kick, hat from 9]")
	}
	var out []string
	for _, c := range play.Content {
		out = append(out, d.use(c).Value)
	}
	return out, nil
}

// onItsOwn takes out what finds players for a section, and writes down what it has from the section that it is like, and
// a line-up, unless it has one that is to be changed.
func (d *document) onItsOwn(n *yaml.Node, play []string, i int) error {
	sections := d.sections()
	var add []entry
	for _, key := range []string{"kind", "bars", "loop", "phase", "least"} {
		for at := i; at >= 0; at = sections[at].like {
			value := lookUp(sections[at].node, key)
			if value == nil {
				continue
			}
			if at != i {
				add = append(add, entry{scalarNode(key), scalarNode(d.use(value).Value)})
			}
			break
		}
	}
	if lookUp(n, "play") == nil {
		add = append(add, entry{scalarNode("play"), listNode(play)})
	}
	return d.rewriteMap(n, []string{"like", "energy", "add"}, add)
}

// rewriteMap takes keys out of a map and writes others behind the last that stays.
func (d *document) rewriteMap(n *yaml.Node, keys []string, add []entry) error {
	goes := func(i int) bool { return slices.Contains(keys, n.Content[2*i].Value) }
	last := count(n) - 1
	for last >= 0 && goes(last) {
		last--
	}
	if last < 0 {
		return d.inPlace()
	}
	content := slices.Clone(n.Content)
	if len(add) > 0 {
		var raws []string
		for _, e := range add {
			raws = append(raws, quoted(e[0].Value)+": "+flowText(e[1]))
		}
		d.insert(n, last+1, add, raws)
	}
	n.Content = content // whose places are those of the text
	for to := count(n); to > 0; to-- {
		from := to
		for from > 0 && goes(from-1) {
			from--
		}
		if from < to {
			d.remove(n, from, to)
			to = from
		}
	}
	n.Content = slices.Insert(n.Content, len(n.Content), slices.Concat(add...)...)
	return nil
}

// sentence returns the shortest line-up, of those near to what is written, that lets a part play or rest in some bars and leaves the other parts as they are
// by some texts.
func sentence(in where.SectionContext, texts []string, part int, e Play) ([]string, error) {
	plays, _, err := where.LineUpOf(texts...).Resolve(in)
	if err != nil {
		return nil, err
	}
	tl := in.Song.Time()
	start := tl.BarStart(in.Bar)
	bars := song.Range{Start: tl.BarStart(in.Bar+e.First-1) - start, End: tl.BarStart(in.Bar+e.Last) - start}
	plays[part] = changed(plays[part], bars, e.Rest)
	l := liner{in, part, where.PartText(in.Song, part), plays}
	var best []string
	found := false
	for _, tries := range [][][]string{l.near(texts), {l.allBut(), l.oneByOne()}} {
		for _, try := range tries {
			if (!found || length(try) < length(best)) && l.says(try) {
				best, found = try, true
			}
		}
		if found {
			break
		}
	}
	if !found {
		return nil, &option.Mistake{Found: fmt.Sprintf("no sentence for bars %d-%d", e.First, e.Last), Want: "this line-up changed by hand"}
	}
	return best, nil
}

func length(texts []string) int { return len(strings.Join(texts, ", ")) }

// changed returns where a part plays once it plays or rests in a range. One that plays a single loop in the section plays it
// there too.
func changed(plays []where.Play, r song.Range, rest bool) []where.Play {
	var out []where.Play
	if !rest {
		loop := ""
		if len(plays) > 0 && !slices.ContainsFunc(plays, func(p where.Play) bool { return p.Loop != plays[0].Loop }) {
			loop = plays[0].Loop
		}
		for _, gap := range song.Without([]song.Range{r}, where.Ranges(plays)) {
			plays = append(slices.Clone(plays), where.Play{Range: gap.Range, Loop: loop})
		}
		slices.SortFunc(plays, func(a, b where.Play) int { return int(a.Start - b.Start) })
		for _, p := range plays {
			if n := len(out) - 1; n >= 0 && out[n].End >= p.Start && out[n].Loop == p.Loop {
				out[n].End = max(out[n].End, p.End)
				continue
			}
			out = append(out, p)
		}
		return out
	}
	for _, p := range plays {
		for _, left := range song.Without([]song.Range{p.Range}, []song.Range{r}) {
			out = append(out, where.Play{Range: left.Range, Loop: p.Loop})
		}
	}
	return out
}

// liner looks for a line-up by which parts play as they are to.
type liner struct {
	in    where.SectionContext
	part  int    // that changes
	word  string // for it
	plays [][]where.Play
}

// says tells whether texts let every part play as it is to. Triggers that are not named follow the others.
func (l liner) says(texts []string) bool {
	plays, _, err := where.LineUpOf(texts...).Resolve(l.in)
	if err != nil {
		return false
	}
	for p := range plays {
		if p != l.part && l.in.Song.Parts[p].Role == song.RoleTrigger {
			continue
		}
		if !slices.Equal(plays[p], l.plays[p]) {
			return false
		}
	}
	return true
}

// near returns line-ups that may say it and in which most items stay as they are.
func (l liner) near(texts []string) [][]string {
	own := l.items(l.part)
	var rest []string // without what names the part alone
	at := -1
	for i, text := range texts {
		if slices.Equal(l.meant(text), []int{l.part}) && text != "all" && !strings.HasPrefix(text, "all ") {
			if at < 0 {
				at = i
			}
			continue
		}
		rest = append(rest, text)
	}
	if at < 0 {
		at = len(rest)
	}
	out := [][]string{slices.Insert(slices.Clone(rest), min(at, len(rest)), own...)}
	for i, text := range rest {
		for _, instead := range l.instead(text) {
			one := slices.Replace(slices.Clone(rest), i, i+1, instead...)
			out = append(out, one, append(slices.Clone(one), own...))
		}
	}
	if len(own) == 0 {
		out = append(out, append(slices.Clone(rest), l.word+" out in turn"))
	}
	return out
}

// meant returns the parts that an item names; nil for "same".
func (l liner) meant(text string) []int {
	for _, p := range where.LineUpOf(text).Parts() {
		found, err := p.Resolve(l.in.Song)
		if err == nil {
			return found
		}
	}
	return nil
}

// instead returns what may stand in the place of an item that means the part among others, so that it no longer does, or
// does again.
func (l liner) instead(text string) [][]string {
	who, when := text, ""
	for _, word := range []string{" of ", " if any", " in ", " out in ", " from ", " to "} {
		if head, _, found := strings.Cut(who, word); found {
			who = head
		}
	}
	when = text[len(who):]
	if who == "all" {
		return [][]string{{"all but " + l.word + when}}
	}
	if but, found := strings.CutPrefix(who, "all but "); found {
		var kept []string
		for _, word := range strings.Split(but, " and ") {
			if !slices.Equal(l.meant(word), []int{l.part}) {
				kept = append(kept, word)
			}
		}
		if len(kept) == 0 {
			return [][]string{{"all" + when}}
		}
		return [][]string{{"all but " + strings.Join(kept, " and ") + when}, {who + " and " + l.word + when}}
	}
	meant := l.meant(text)
	if !slices.Contains(meant, l.part) {
		return nil
	}
	var others []string
	for _, p := range meant {
		if p != l.part {
			others = append(others, where.PartText(l.in.Song, p)+strings.Replace(when, " if any", "", 1))
		}
	}
	return [][]string{others}
}

// items returns a part's own items for where it is to play.
func (l liner) items(part int) []string {
	var out []string
	for _, p := range l.plays[part] {
		word := where.PartText(l.in.Song, part)
		if p.Loop != "" {
			word += " of " + p.Loop
		}
		in, r := l.in, p.Range
		if in.Written != 0 && in.Written != in.Bars { // it is drafted in another length than it is written in
			tl := in.Song.Time()
			first, start := in.Bar, tl.BarStart(in.Bar)
			moved := func(t song.Tick) song.Tick {
				bar := tl.BarOf(start+t) - first
				return tl.BarStart(first+(bar*in.Written+in.Bars/2)/in.Bars) - start
			}
			r.Start, r.End, in.Bars = moved(r.Start), moved(r.End), in.Written
		}
		out = append(out, in.Item(word, r))
	}
	return out
}

// allBut says who rests, and who plays for a time only.
func (l liner) allBut() []string {
	var rest, items []string
	whole := where.LineUpOf("all")
	all, _, err := whole.Resolve(l.in)
	if err != nil {
		return nil
	}
	for p := range l.plays {
		switch {
		case l.in.Song.Parts[p].Role == song.RoleTrigger || slices.Equal(l.plays[p], all[p]):
		case len(l.plays[p]) == 0:
			rest = append(rest, where.PartText(l.in.Song, p))
		default:
			items = append(items, l.items(p)...)
		}
	}
	if len(rest) == 0 {
		return append([]string{"all"}, items...)
	}
	return append([]string{"all but " + strings.Join(rest, " and ")}, items...)
}

// oneByOne says of every part when it plays.
func (l liner) oneByOne() []string {
	var out []string
	for p := range l.plays {
		if l.in.Song.Parts[p].Role != song.RoleTrigger || p == l.part {
			out = append(out, l.items(p)...)
		}
	}
	return out
}
