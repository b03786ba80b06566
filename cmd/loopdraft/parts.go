package main

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/listen"
	"loopdraft/smf/song"

	"github.com/urfave/cli/v2"
)

func partsCommand() command {
	return command{
		name:  "parts",
		usage: "FILE... [flags]",
		brief: "show what is in a loop, and why it is thought to be that",
		about: `A line for each part: its name, its role (what it sounds as), its job (what it does in a track), how certain
the role is, and the evidence; how it plays is left out where a name, key or program says the same. Of pitched
parts outside the bass it tells how much each is a tune: the best one is the hook. Below stands the key of the
pitched parts, and where parts depart from what they usually play, as in a turnaround. Several files are joined
or are loops of their own as for a draft: then it tells in which of them each part plays. What was found wrong is put
right under "parts:" in a recipe.`,
		flags: []cli.Flag{
			joinFlag(),
			loopsFlag(),
			&cli.BoolFlag{Name: "why", Usage: "give each piece of evidence a line of its own, with what it says and its weight; and track, channel and keys", DisableDefaultText: true},
			&cli.BoolFlag{Name: "json", Usage: "print the parts as JSON", DisableDefaultText: true},
		},
		min: 1, max: -1, what: "one MIDI file or more",
		run: runParts,
	}
}

func runParts(c *console, ctx *cli.Context) error {
	loops := loopFiles(ctx.Args().Slice())
	join, marked, err := checkLoops("parts", loops, ctx)
	if err != nil {
		return err
	}
	inputs, sources, err := c.namedLoops("parts", loops)
	if err != nil {
		return err
	}
	c.progress.step("hearing "+sources[0].name, nil)
	by := &recipes.Recipe{}
	r, err := recipes.Hear(inputs, by, recipes.Options{Join: join, Marked: marked})
	if err != nil {
		return err
	}
	otherwise(r, loops, by)
	for _, w := range r.Warnings {
		c.warn(w)
	}
	if ctx.Bool("json") {
		return c.writeJSON(c.out, partsJSON(r))
	}
	var b strings.Builder
	rows := [][]string{{"PART", "ROLE", "JOB", "SURE", "EVIDENCE"}}
	if len(r.Loops) > 1 {
		rows[0] = slices.Insert(rows[0], 3, "LOOPS")
	}
	for i, h := range r.Heard {
		row := []string{h.Part, string(h.Role), orDash(string(h.Job)), fmt.Sprintf("%d%%", h.Confidence), printable(strings.Join(briefly(h), "; "))}
		if len(r.Loops) > 1 {
			row = slices.Insert(row, 3, strings.Join(loopNames(r, i), " "))
		}
		rows = append(rows, row)
	}
	if ctx.Bool("why") {
		c.explainParts(&b, r, rows)
	} else {
		table(&b, "", rows)
	}
	if key, ok := listen.KeyOf(r.Loop); ok {
		b.WriteString("\nKey: " + key.String() + "\n")
	}
	if lines := departures(r); len(lines) > 0 {
		var list strings.Builder
		c.list(&list, c.out, "Usually", lines)
		b.WriteString("\n" + strings.TrimRight(list.String(), "\n") + "\n")
	}
	if len(r.Told) > 0 {
		b.WriteByte('\n')
		c.list(&b, c.out, "Assumed", r.Told)
	}
	return c.write(c.out, strings.TrimRight(b.String(), "\n")+"\n")
}

// explainParts prints each part's line without evidence, then where it is and why.
func (c *console) explainParts(b *strings.Builder, r *recipes.Result, rows [][]string) {
	var short [][]string
	for _, row := range rows {
		short = append(short, row[:len(row)-1])
	}
	var lines strings.Builder
	table(&lines, "", short)
	for i, line := range strings.Split(strings.TrimRight(lines.String(), "\n"), "\n") {
		b.WriteString(line + "\n")
		if i == 0 {
			continue
		}
		h := r.Heard[i-1]
		if at := r.Loop.Index(h.Part); at >= 0 {
			wrapInto(b, "    ", "      ", whereIs(r.Loop.Parts[at], h), c.width(c.out))
		}
		if habit, ok := habitOf(r, h); ok && habit.Pattern > 0 && len(habit.Departs) == 0 {
			wrapInto(b, "    ", "      ", "usually the same "+strings.TrimPrefix(barsOf(habit.Pattern), "1 ")+", throughout", c.width(c.out))
		}
		for _, e := range h.Evidence {
			text := e.Text
			if e.Weight > 0 {
				text += fmt.Sprintf(" (%s, %d%%)", e.Says, e.Weight)
			}
			wrapInto(b, "    ", "      ", printable(text), c.width(c.out))
		}
	}
}

// briefly returns a part's evidence in words, without the weaker pieces where one that is right more
// often than not by itself says the role.
func briefly(h listen.Heard) []string {
	const strong = 50
	known := slices.ContainsFunc(h.Evidence, func(e listen.Evidence) bool { return e.Says == h.Role && e.Weight > strong })
	var out []string
	for _, e := range h.Evidence {
		if !known || e.Weight == 0 || e.Weight > strong {
			out = append(out, e.Text)
		}
	}
	return out
}

// whereIs says where a part's notes stand.
func whereIs(p song.Part, h listen.Heard) string {
	s := fmt.Sprintf("track %d, channel %d", p.Track+1, p.Channel+1)
	if keys := p.Keys.List(); len(keys) > 0 {
		s += ", key"
		if len(keys) > 1 {
			s += "s"
		}
		for _, k := range keys {
			s += fmt.Sprintf(" %d", k)
		}
	}
	if len(h.At) > 0 {
		s += ", at " + strings.Join(h.At, " ")
	}
	if h.Loop != "" {
		s += ", in " + h.Loop + " alone"
	}
	if h.Cycle > 0 {
		s += fmt.Sprintf(", repeats after %s", barsOf(h.Cycle))
	}
	for _, c := range h.Cycles {
		s += fmt.Sprintf(", repeats after %s in %s", barsOf(c.Bars), c.Loop)
	}
	return s
}

// loopNames returns the names of the loops in which a part plays; none where there is one loop.
func loopNames(r *recipes.Result, part int) []string {
	var out []string
	for _, k := range r.LoopsOf(part) {
		out = append(out, r.Loops[k].Name)
	}
	return out
}

// habitOf returns what a part usually plays, of several loops in the first that it plays in; false where the loop has
// no bars.
func habitOf(r *recipes.Result, h listen.Heard) (form.Habit, bool) {
	i := r.Loop.Index(h.Part)
	if i < 0 || r.Loop.Time() == nil || r.LoopBars < 1 || h.Role == song.RoleTrigger {
		return form.Habit{}, false
	}
	if len(r.Loops) > 1 {
		l := r.Loops[r.LoopsOf(i)[0]]
		cycle, tl := l.Bars, r.Loop.Time()
		if c := l.Cycles[r.Loop.Parts[i].Track]; c > 0 {
			cycle = tl.BarOf(tl.BarStart(l.Bar)+c) - l.Bar
		}
		return form.HabitFrom(r.Loop, r.Loop.Parts[i], l.Bar, cycle), true
	}
	cycle := r.LoopBars
	if h.Cycle > 0 {
		cycle = h.Cycle
	}
	return form.HabitOf(r.Loop, r.Loop.Parts[i], cycle), true
}

// departures says of each part that departs from what it usually plays where it does.
func departures(r *recipes.Result) []string {
	var out []string
	for i, h := range r.Heard {
		habit, ok := habitOf(r, h)
		if !ok || len(habit.Departs) == 0 {
			continue
		}
		who := h.Part
		if in := loopNames(r, i); len(in) > 0 {
			who += " in " + in[0]
		}
		text := fmt.Sprintf("%s: the same %s, but for %s", who, strings.TrimPrefix(barsOf(habit.Pattern), "1 "), barList(habit.Departs))
		switch turn := habit.Turnaround(); {
		case len(turn) == len(habit.Departs):
			text += ", its turnaround"
		case len(turn) > 0:
			text += "; " + barList(turn) + " is its turnaround"
		}
		out = append(out, text)
	}
	return out
}

func barsOf(n int) string {
	if n == 1 {
		return "1 bar"
	}
	return fmt.Sprintf("%d bars", n)
}

func orDash(s string) string {
	if s == "" {
		return "-"
	}
	return s
}

// table prints rows in columns two spaces apart, without spaces at the end of lines.
func table(b *strings.Builder, indent string, rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], len([]rune(cell)))
		}
	}
	for _, row := range rows {
		line := indent
		for i, cell := range row {
			line += cell + strings.Repeat(" ", widths[i]-len([]rune(cell))+2)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

type heardJSON struct {
	partJSON
	Confidence int        `json:"confidence"` // in the role, in percent; 0: unknown
	Evidence   []string   `json:"evidence"`
	Votes      []voteJSON `json:"votes"`  // for each piece of evidence the role it says, and its weight
	At         []string   `json:"at"`     // places in the bar its notes stand at; empty: anywhere
	Cycle      int        `json:"cycle"`  // bars after which it repeats; 0: the loop's length
	Loops      []string   `json:"loops"`  // of several loops those in which it plays
	Cycles     []int      `json:"cycles"` // for each of these the bars after which it repeats; 0: the loop's length

	Usual      int   `json:"usual"`      // bars after which what it usually plays comes again; 0: nothing does
	Departs    []int `json:"departs"`    // bars in which it departs from that
	Turnaround []int `json:"turnaround"` // those of them at the end of its cycle
}

type voteJSON struct {
	Role   song.Role `json:"role"`
	Weight int       `json:"weight"` // in percent; 0: it says nothing of the role
}

type partsResult struct {
	LoopBars int         `json:"loop_bars"`
	Key      string      `json:"key"`  // of the pitched parts, such as "F# minor"; "" where there is none
	Root     int         `json:"root"` // its pitch class, 0 is C; -1 where there is none
	Song     songJSON    `json:"song"`
	Heard    []heardJSON `json:"heard"`
	Told     []string    `json:"told"`
	Warnings []string    `json:"warnings"`
}

func partsJSON(r *recipes.Result) partsResult {
	out := partsResult{LoopBars: r.LoopBars, Root: -1, Song: songOf(r.Loop), Heard: []heardJSON{}, Told: full(r.Told), Warnings: full(r.Warnings)}
	if key, ok := listen.KeyOf(r.Loop); ok {
		out.Key, out.Root = key.String(), int(key.Tonic)
	}
	for i, h := range r.Heard {
		j := heardJSON{Confidence: h.Confidence, Evidence: []string{}, Votes: []voteJSON{}, At: full(h.At), Cycle: h.Cycle, Loops: full(loopNames(r, i)), Cycles: []int{}, Departs: []int{}, Turnaround: []int{}}
		if habit, ok := habitOf(r, h); ok {
			j.Usual, j.Departs, j.Turnaround = habit.Pattern, full(habit.Departs), full(habit.Turnaround())
		}
		for k, name := range j.Loops {
			j.Cycles = append(j.Cycles, 0)
			for _, c := range h.Cycles {
				if c.Loop == name {
					j.Cycles[k] = c.Bars
				}
			}
		}
		for _, e := range h.Evidence {
			j.Evidence, j.Votes = append(j.Evidence, e.Text), append(j.Votes, voteJSON{e.Says, e.Weight})
		}
		if i := r.Loop.Index(h.Part); i >= 0 {
			j.partJSON = partOf(r.Loop.Parts[i])
		}
		out.Heard = append(out.Heard, j)
	}
	return out
}
