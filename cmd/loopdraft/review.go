package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

func reviewCommand() command {
	return command{
		name:  "review",
		usage: "FILE [OTHER] [flags]",
		brief: "hold an arrangement against rules of thumb, or beside another one",
		about: `Looks at any arrangement, a draft or what came back from a sequencer: where it stands still, which changes
nothing leads into, whether the drop is one, whether it can be mixed, what is broken, and whether it is done.
Each finding says where, what was measured and against which limit, and, where moves answer it, which: they
were tried. Sections are those of markers on bar lines; without them they are heard.

With --fix the answers are written as a recipe: "draft FILE --recipe ANSWERS" takes FILE as it is and answers
what was found. Of RECIPE the phrase and the rules under "review:" count, nothing else.

Two files are compared section by section: lengths, energy, parts, and what changed where.`,
		flags: []cli.Flag{
			&cli.StringFlag{Name: "recipe", Usage: "look by the rules of `RECIPE`, a built-in one or a file"},
			&cli.StringFlag{Name: "level", Usage: "list and answer findings from `LEVEL` up: " + listed(review.Levels()) + "; otherwise warn"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with status 3 when a finding of that level or above is left", DisableDefaultText: true},
			&cli.StringFlag{Name: "fix", Usage: "write the answers as a recipe to `FILE`"},
			&cli.BoolFlag{Name: "force", Usage: "replace an existing file", DisableDefaultText: true},
			&cli.BoolFlag{Name: "json", Usage: "print what was found as JSON", DisableDefaultText: true},
		},
		min: 1, max: 2, what: "one MIDI file, or two to compare",
		run: runReview,
	}
}

// reviewPlan is a review command with its flags read.
type reviewPlan struct {
	recipe string // "" for none
	level  review.Level
	fix    string // "" for none
	strict bool
	force  bool
	json   bool
}

func planReview(ctx *cli.Context) (reviewPlan, error) {
	p := reviewPlan{recipe: ctx.String("recipe"), level: review.Warn, fix: ctx.String("fix"), strict: ctx.Bool("strict"), force: ctx.Bool("force"), json: ctx.Bool("json")}
	if text := ctx.String("level"); text != "" {
		var err error
		if p.level, err = review.ParseLevel(text); err != nil {
			return p, misuse("review", "--level: %s%s", err, meant(song.Nearest(text, review.Levels())))
		}
	}
	if p.recipe == stream && ctx.Args().First() == stream {
		return p, misuse("review", "found - as more than one input, want standard input once")
	}
	if ctx.NArg() > 1 {
		for _, name := range []string{"recipe", "level", "strict", "fix", "force"} {
			if ctx.IsSet(name) {
				return p, misuse("review", "found --%s with two files, which are compared; want one file, or --json alone", name)
			}
		}
	}
	return p, nil
}

func runReview(c *console, ctx *cli.Context) error {
	p, err := planReview(ctx)
	if err != nil {
		return err
	}
	inputs, sources, err := c.loops("review", ctx.Args().Slice())
	if err != nil {
		return err
	}
	if len(inputs) > 1 {
		return c.compare(inputs, sources, p.json)
	}
	rules := &recipes.Recipe{}
	if p.recipe != "" {
		var src source
		if rules, src, err = c.recipe(p.recipe); err != nil {
			return err
		}
		sources = append(sources, src)
	}
	c.progress.step("reviewing "+sources[0].name, nil)
	in, err := asItIs(inputs[0])
	if err != nil {
		return fmt.Errorf("%s: %w", sources[0].name, err)
	}
	o := review.Options{Checks: rules.Checks(), Level: p.level}
	found, err := review.Review(in, o)
	if err != nil {
		return fmt.Errorf("%s: %w", sources[0].name, err)
	}
	report, told := c.out, ""
	if p.fix != "" {
		c.progress.step("trying answers for "+sources[0].name, nil)
		answered, _, err := review.Answers(in, o)
		if err != nil {
			return fmt.Errorf("%s: %w", sources[0].name, err)
		}
		out := &outputs{sources: sources, force: p.force}
		out.add(p.fix, rules.Answer(answered), false)
		if err := out.write(c); err != nil {
			return err
		}
		asked := 0
		for _, f := range found.Findings {
			if f.Level >= p.level {
				asked++
			}
		}
		told = fmt.Sprintf("%s: answers to %d of %s, each tried after the ones before it", shown(p.fix), len(answered), counted(asked, "finding"))
		if n := len(answered); n < asked {
			told += "; what is left has no answer, is gone with the others, or its answer would bring another finding"
		}
		told += fmt.Sprintf(". Draft %s by it, which is taken as it is.\n", sources[0].name)
		if p.fix == stream {
			report = c.diagnostics
		}
	}
	if p.json {
		err = c.writeJSON(report, found)
	} else {
		err = c.write(report, c.reviewText(found, p.level, c.width(report))+told)
	}
	if err == nil && p.strict && !found.Verdict.Done {
		return errNotDone
	}
	return err
}

// errNotDone is the end of a strict review that found something: its text is the report.
var errNotDone = errors.New("the review found something")

// asItIs hears the parts of a file that is taken as it is.
func asItIs(in recipes.Input) (review.Input, error) {
	r, err := recipes.Draft([]recipes.Input{in}, &recipes.Recipe{}, recipes.Options{})
	if err != nil {
		return review.Input{}, err
	}
	return r.ToReview(), nil
}

// reviewText writes what was found for a reader: findings from a level up, and how many there are below.
func (c *console) reviewText(r review.Result, least review.Level, width int) string {
	var b strings.Builder
	less := 0
	for _, f := range r.Findings {
		if f.Level < least {
			less++
			continue
		}
		c.writeFinding(&b, f, width)
	}
	for _, t := range r.Told {
		wrapInto(&b, "", "  ", whole(t), width)
	}
	if less > 0 {
		fmt.Fprintf(&b, "Not listed: %s below %s; --level note lists them.\n", counted(less, "finding"), least)
	}
	if b.Len() > 0 {
		b.WriteByte('\n')
	}
	wrapInto(&b, "Holds: ", "  ", strings.Join(r.Verdict.Holds, "; "), width) // the rules' own words
	if len(r.Verdict.Fails) > 0 {
		wrapInto(&b, "Does not hold: ", "  ", strings.Join(r.Verdict.Fails, "; "), width)
	}
	b.WriteByte('\n')
	wrapInto(&b, "", "", line(r.Verdict.Text), width)
	return b.String()
}

// writeFinding writes a finding, what was measured, and what answers it, a step a line to paste.
func (c *console) writeFinding(b *strings.Builder, f review.Finding, width int) {
	where := "bar " + strconv.Itoa(f.First)
	if f.Last > f.First {
		where = fmt.Sprintf("bars %d-%d", f.First, f.Last)
	}
	if f.Section != "" {
		where = f.Section + ", " + where
	}
	wrapInto(b, "", "", line(fmt.Sprintf("%s: %s, %s", f.Level, f.Rule, where)), width)
	wrapInto(b, "  ", "  ", line(f.Text), width)
	wrapInto(b, "  ", "  ", line(fmt.Sprintf("measured %s, limit %s %s", number(f.Found), number(f.Limit), f.Unit)), width)
	if texts := f.Answer.Texts(); len(texts) > 0 {
		b.WriteString("  answer:\n")
		for _, t := range texts {
			b.WriteString("    - " + line(t) + "\n")
		}
	}
	b.WriteByte('\n')
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// counted writes a number with its noun.
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return strconv.Itoa(n) + " " + noun + "s"
}
