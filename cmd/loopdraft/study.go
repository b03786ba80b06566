package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf/song"
)

func studyCommand() command {
	return command{
		name:  "study",
		usage: "REFERENCE [flags]",
		brief: "learn from an arrangement: how it is built, as a recipe for another loop",
		about: `Reads an arrangement from a MIDI file and tells how it is built: its sections (from markers, else as they
are heard), what they are for and how sure that is, who plays in them, what prepares each change, what is
ridden, how loud it gets. With -o it is written as a recipe of roles, which draft lays over another loop:
roles that the loop lacks are played by the nearest that it has.`,
		flags: []cli.Flag{
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write the recipe to `FILE`"},
			&cli.StringFlag{Name: "phrase", Usage: "count lines every `N` bars; otherwise 8, or 4 where the music says so"},
			&cli.BoolFlag{Name: "force", Usage: "replace an existing file", DisableDefaultText: true},
			&cli.BoolFlag{Name: "json", Usage: "print what was learned as JSON", DisableDefaultText: true},
		},
		min: 1, max: 1, what: "one MIDI file",
		run: runStudy,
	}
}

func runStudy(c *console, ctx *cli.Context) error {
	v := &values{ctx: ctx}
	phrase := v.count("phrase", maxBars, "bars")
	if v.err != nil {
		return v.err
	}
	name, to := ctx.Args().First(), ctx.String("output")
	if to == stream && ctx.Bool("json") {
		return misuse("study", "found - as the recipe beside --json, want standard output once")
	}
	st, src, err := c.study(name, phrase)
	if err != nil {
		return err
	}
	if to != "" {
		from := filepath.Base(name)
		if name == stream {
			from = ""
		}
		out := &outputs{sources: []source{src}, force: ctx.Bool("force")}
		out.add(to, st.Recipe(from), false)
		if err := out.write(c); err != nil {
			return err
		}
	}
	w := c.out
	if to == stream {
		w = c.diagnostics
	}
	if ctx.Bool("json") {
		return writeJSON(w, studyOf(st))
	}
	var b strings.Builder
	c.reportStudy(&b, st)
	return write(w, b.String())
}

// study reads a reference and studies it.
func (c *console) study(name string, phrase int) (*study.Study, source, error) {
	inputs, sources, err := c.loops("study", []string{name})
	if err != nil {
		return nil, source{}, err
	}
	// An empty recipe leaves the song as it is and hears its parts.
	r, err := recipes.Draft(inputs, &recipes.Recipe{}, recipes.Options{})
	if err != nil {
		return nil, source{}, err
	}
	if r.Song.Time() == nil {
		return nil, source{}, fmt.Errorf("%s: found no common bars (format 2 or SMPTE time), want a song in bars", sources[0].name)
	}
	st, err := study.Of(r.Song, phrase)
	if err != nil {
		return nil, source{}, fmt.Errorf("%s: %w", sources[0].name, err)
	}
	return st, sources[0], nil
}

// reportStudy prints the sections as a table, then what goes on in each.
func (c *console) reportStudy(b *strings.Builder, st *study.Study) {
	fmt.Fprintf(b, "%s, %s, %s bpm, %s, phrases of %s\n\n", study.Bars(st.Bars), study.Clock(st.Seconds), study.Number(st.BPM), st.Metre, study.Bars(st.Phrase))
	rows := [][]string{{"SECTION", "FROM", "BARS", "TIME", "SHARE", "KIND", "SURE", "ENERGY"}}
	for _, sec := range st.Sections {
		rows = append(rows, []string{printable(sec.Ref), fmt.Sprint(sec.Bar), fmt.Sprint(sec.Bars), study.Clock(sec.Start), percentText(sec.Share),
			string(sec.Kind), percentText(sec.Sure), energyText(sec)})
	}
	table(b, "", rows)
	b.WriteByte('\n')
	for _, sec := range st.Sections {
		line := sec.Ref + ": "
		if len(sec.Plays) == 0 {
			line += "nothing plays"
		} else {
			line += strings.ReplaceAll(strings.Join(sec.Plays, ", "), " if any", "")
		}
		if heard := sec.Heard(); len(heard) > 0 {
			line += "; " + strings.Join(heard, ", ")
		}
		wrapInto(b, "", "  ", printable(line), c.width(c.out))
	}
	if len(st.Told) > 0 {
		b.WriteByte('\n')
		c.list(b, c.out, "Not told by the recipe", st.Told)
	}
}

func energyText(sec study.Section) string {
	text := percentText(sec.Energy)
	switch {
	case sec.Rises():
		text += ", rising"
	case sec.Falls():
		text += ", falling"
	}
	return text
}

func percentText(share float64) string { return fmt.Sprintf("%.0f%%", 100*share) }

// studyJSON is what was learned.
type studyJSON struct {
	Bars     int            `json:"bars"`
	Seconds  float64        `json:"seconds"`
	BPM      float64        `json:"bpm"`   // at the start
	Metre    string         `json:"metre"` // at the start
	Phrase   int            `json:"phrase"`
	Sections []studySection `json:"sections"`
	Parts    []studyPart    `json:"parts"`
	Told     []string       `json:"told"` // what a recipe does not tell
}

type studySection struct {
	Name    string      `json:"name"` // that the recipe calls it by, numbered where several have it
	Kind    song.Kind   `json:"kind"`
	Sure    float64     `json:"sure"`  // of the kind, 0..1
	Signs   []string    `json:"signs"` // of the kind
	Found   bool        `json:"found"` // by ear, not from markers
	Bar     int         `json:"bar"`   // its first bar, from 1
	Bars    int         `json:"bars"`
	Start   float64     `json:"start"` // in seconds
	Seconds float64     `json:"seconds"`
	Share   float64     `json:"share"`  // of the bars, 0..1
	Energy  float64     `json:"energy"` // mean loudness of its bars as a share of the loudest bar's, 0..1
	Rise    float64     `json:"rise"`   // of it, from the first quarter to the last
	Play    []string    `json:"play"`   // line-up
	Moves   []studyMove `json:"moves"`
}

type studyMove struct {
	Heard   string            `json:"heard"`
	Move    string            `json:"move"`
	Options map[string]string `json:"options"`
}

type studyPart struct {
	Word    string `json:"word"`    // that the recipe calls it by
	Name    string `json:"name"`    // in the file
	Playing []bool `json:"playing"` // for each bar
}

func studyOf(st *study.Study) studyJSON {
	out := studyJSON{Bars: st.Bars, Seconds: st.Seconds, BPM: rounded(st.BPM), Metre: st.Metre, Phrase: st.Phrase,
		Sections: []studySection{}, Parts: []studyPart{}, Told: full(st.Told)}
	for _, sec := range st.Sections {
		s := studySection{Name: sec.Ref, Kind: sec.Kind, Sure: rounded(sec.Sure), Signs: full(sec.Signs), Found: sec.Found, Bar: sec.Bar, Bars: sec.Bars,
			Start: sec.Start, Seconds: sec.Seconds, Share: rounded(sec.Share), Energy: rounded(sec.Energy), Rise: rounded(sec.Rise), Play: full(sec.Plays), Moves: []studyMove{}}
		for _, m := range sec.Moves {
			options := map[string]string{}
			for _, o := range m.Options {
				options[o.Name] = o.Value
			}
			s.Moves = append(s.Moves, studyMove{m.Heard, m.Name, options})
		}
		out.Sections = append(out.Sections, s)
	}
	for _, l := range st.Lines {
		out.Parts = append(out.Parts, studyPart{l.Word, l.Name, full(l.Playing)})
	}
	return out
}
