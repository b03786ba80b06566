package main

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"

	"github.com/urfave/cli/v2"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/recipes/study"
	"loopdraft/smf"
	"loopdraft/smf/song"
	"loopdraft/smf/sound"
)

func studyCommand() command {
	return command{
		name:  "study",
		usage: "REFERENCE [flags]",
		brief: "learn from an arrangement: how it is built, as a recipe for another loop",
		about: `Reads an arrangement from a MIDI file and tells how it is built: its sections (from markers, else as they
are heard), what they are for and how sure that is, who plays in them, what prepares each change, what is
ridden, how loud it gets. With -o it is written as a recipe, which draft lays over another loop: parts that
the reference has no like of play where others of their job do, and roles that the loop lacks are played by
the nearest that it has.

A recording (WAV, FLAC, MP3) of one tempo can be a reference too: then the kick, the low end, the middle and
the top are told apart. Its tempo and first downbeat are found, or told with --bpm and --offset.`,
		flags: []cli.Flag{
			&cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write the recipe to `FILE`"},
			&cli.StringFlag{Name: "phrase", Usage: "count lines every `N` bars; otherwise 8, or 4 where the music says so"},
			&cli.StringFlag{Name: "bpm", Usage: "`N` beats a minute in a recording, 20 to 600, of the beats that --beats counts; otherwise as found"},
			&cli.StringFlag{Name: "offset", Usage: "the first downbeat of a recording is at `SECONDS`; otherwise as found"},
			&cli.StringFlag{Name: "beats", Usage: "`N` beats a bar in a recording, 1 to 16; otherwise 4"},
			&cli.BoolFlag{Name: "force", Usage: "replace an existing file", DisableDefaultText: true},
			&cli.BoolFlag{Name: "json", Usage: "print what was learned as JSON", DisableDefaultText: true},
		},
		min: 1, max: 1, what: "one MIDI file or recording",
		run: runStudy,
	}
}

// studyPlan is a study command with its flags read.
type studyPlan struct {
	phrase int
	sound  sound.Options
	flag   string // one that was given and is for recordings alone; "" for none
}

func planStudy(ctx *cli.Context) (studyPlan, error) {
	v := &values{ctx: ctx}
	p := studyPlan{phrase: v.count("phrase", maxBars, "bars")}
	p.sound.BeatsPerBar = v.count("beats", 16, "beats")
	if ctx.IsSet("bpm") {
		n, ok := smf.ParseDecimal(ctx.String("bpm"), 3)
		if p.sound.Bpm = float64(n) / 1000; !ok || p.sound.Bpm < 20 || p.sound.Bpm > 600 {
			v.wrong("bpm", "a tempo from 20 to 600 beats a minute, such as 126 or 126.5")
		}
	}
	if ctx.IsSet("offset") {
		n, ok := smf.ParseDecimal(ctx.String("offset"), 3)
		if !ok {
			v.wrong("offset", "seconds such as 1.25")
		}
		seconds := float64(n) / 1000
		p.sound.Offset = &seconds
	}
	for _, flag := range []string{"bpm", "offset", "beats"} {
		if ctx.IsSet(flag) {
			p.flag = flag
		}
	}
	return p, v.err
}

func runStudy(c *console, ctx *cli.Context) error {
	p, err := planStudy(ctx)
	if err != nil {
		return err
	}
	name, to := ctx.Args().First(), ctx.String("output")
	if to == stream && ctx.Bool("json") {
		return misuse("study", "found - as the recipe beside --json, want standard output once")
	}
	st, rules, src, err := c.study(name, p)
	if err != nil {
		return err
	}
	if to != "" {
		from := filepath.Base(name)
		if name == stream {
			from = ""
		}
		text := st.Recipe(from)
		if _, err := recipes.Parse("the recipe", text); err != nil { // it is too long
			return fmt.Errorf("%s: %w", src.name, err)
		}
		out := &outputs{sources: []source{src}, force: ctx.Bool("force")}
		out.add(to, text, false)
		if err := out.write(c); err != nil {
			return err
		}
	}
	w := c.out
	if to == stream {
		w = c.diagnostics
	}
	if ctx.Bool("json") {
		return c.writeJSON(w, studyOf(st, rules))
	}
	var b strings.Builder
	c.reportStudy(&b, st, rules)
	return c.write(w, b.String())
}

// study reads a reference and studies it; a song is also held against the rules of thumb.
func (c *console) study(name string, p studyPlan) (*study.Study, review.Verdict, source, error) {
	none := review.Verdict{}
	recording, src, err := c.recording(name)
	switch {
	case err != nil:
		return nil, none, src, err
	case recording != nil:
		defer recording.Close()
		h, err := sound.Listen(c.watched(recording, src), p.sound)
		if err != nil {
			return nil, none, src, fmt.Errorf("%s: %w", src.name, err)
		}
		st := study.OfSound(h, p.sound.BeatsPerBar, p.phrase)
		if p.sound.Bpm > 0 {
			st.TempoSure = 1
		}
		return st, none, src, nil
	case p.flag != "":
		return nil, none, src, misuse("study", "found --%s and a MIDI file, want it with a recording", p.flag)
	}
	inputs, sources, err := c.loops("study", []string{name})
	if err != nil {
		return nil, none, src, err
	}
	src = sources[0]
	c.progress.step("studying "+src.name, nil)
	// An empty recipe leaves the song as it is and hears its parts.
	r, err := recipes.Draft(inputs, &recipes.Recipe{}, recipes.Options{})
	if err != nil {
		return nil, none, src, err
	}
	if r.Song.Time() == nil {
		return nil, none, src, fmt.Errorf("%s: found no common bars (format 2 or SMPTE time), want a song in bars", src.name)
	}
	st, err := study.Of(r.Song, p.phrase)
	if err != nil {
		return nil, none, src, fmt.Errorf("%s: %w", src.name, err)
	}
	found, err := review.Review(r.ToReview(), review.Options{Bare: true})
	if err != nil {
		return nil, none, src, fmt.Errorf("%s: %w", src.name, err)
	}
	return st, found.Verdict, src, nil
}

// recording opens a file that is a recording, of which only the beginning is looked at; nil for any other.
func (c *console) recording(name string) (io.ReadCloser, source, error) {
	if name == stream {
		in := bufio.NewReaderSize(c.in, 1<<16)
		c.in = in
		if head, _ := in.Peek(sound.HeadBytes); sound.IsRecording(head) {
			return io.NopCloser(in), source{name: "standard input"}, nil
		}
		return nil, source{}, nil // whoever reads on meets an error again
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, source{}, nil // as above
	}
	info, err := f.Stat()
	head := make([]byte, sound.HeadBytes)
	if err == nil && info.Mode().IsRegular() {
		n, _ := io.ReadFull(f, head)
		if sound.IsRecording(head[:n]) {
			if _, err = f.Seek(0, io.SeekStart); err != nil {
				f.Close()
				return nil, source{}, fmt.Errorf("%s: %w", visible(name), bare(err))
			}
			return f, source{name: visible(name), info: info}, nil
		}
	}
	f.Close()
	return nil, source{}, nil
}

// watched passes a recording on and shows how much of it was heard.
func (c *console) watched(recording io.Reader, src source) io.Reader {
	r := &meter{r: recording}
	var share func() float64
	if src.info != nil && src.info.Size() > 0 {
		share = func() float64 { return float64(r.read.Load()) / float64(src.info.Size()) }
	}
	c.progress.step("hearing "+src.name, share)
	return r
}

// meter counts the bytes that are read through it.
type meter struct {
	r    io.Reader
	read atomic.Int64
}

func (m *meter) Read(p []byte) (int, error) {
	n, err := m.r.Read(p)
	m.read.Add(int64(n))
	return n, err
}

// reportStudy prints the sections as a table, then what goes on in each.
func (c *console) reportStudy(b *strings.Builder, st *study.Study, rules review.Verdict) {
	sure := ""
	if st.TempoSure < 1 {
		sure = " (heard, " + percentText(st.TempoSure) + " sure)"
	}
	fmt.Fprintf(b, "%s, %s, %s bpm%s, %s, phrases of %s\n\n", study.Bars(st.Bars), study.Clock(st.Seconds), study.Number(st.BPM), sure, st.Metre, study.Bars(st.Phrase))
	rows := [][]string{{"SECTION", "FROM", "BARS", "TIME", "SHARE", "KIND", "SURE", "ENERGY"}}
	for _, sec := range st.Sections {
		rows = append(rows, []string{line(sec.Ref), fmt.Sprint(sec.Bar), fmt.Sprint(sec.Bars), study.Clock(sec.Start), percentText(sec.Share),
			string(sec.Kind), percentText(sec.Sure), energyText(sec.OfFull, sec.DB) + courseText(sec)})
	}
	table(b, "", rows)
	wrapInto(b, "", "  ", "Energy: 100% is "+st.Full+".", c.width(c.out))
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
	if len(rules.Holds)+len(rules.Fails) > 0 {
		b.WriteByte('\n')
		wrapInto(b, "Holds: ", "  ", strings.Join(rules.Holds, "; "), c.width(c.out))
	}
	if len(rules.Fails) > 0 {
		wrapInto(b, "Does not hold: ", "  ", strings.Join(rules.Fails, "; "), c.width(c.out))
	}
	if len(st.Told) > 0 {
		b.WriteByte('\n')
		c.list(b, c.out, "Worth knowing", st.Told)
	}
}

// courseText tells whether a section rises or falls.
func courseText(sec study.Section) string {
	switch {
	case sec.Rises():
		return ", rising"
	case sec.Falls():
		return ", falling"
	}
	return ""
}

func percentText(share float64) string {
	return fmt.Sprintf("%d%%", (int(math.Round(1000*share))+5)/10)
}

// studyJSON is what was learned.
type studyJSON struct {
	Bars     int            `json:"bars"`
	Seconds  float64        `json:"seconds"`
	BPM      float64        `json:"bpm"`      // for most of the time
	Sure     float64        `json:"bpm_sure"` // of a tempo that was found in a recording, 0..1; else 1
	Metre    string         `json:"metre"`    // of most bars
	Phrase   int            `json:"phrase"`
	Sections []studySection `json:"sections"`
	Parts    []studyPart    `json:"parts"`
	Holds    []string       `json:"holds"` // rules of thumb that hold; none of a recording
	Fails    []string       `json:"fails"` // rules of thumb that do not
	Told     []string       `json:"told"`  // what a recipe does not tell
}

type studySection struct {
	Name    string      `json:"name"`   // that the recipe calls it by, numbered where several have it
	Marker  string      `json:"marker"` // what the song calls it; "" for nothing
	Kind    song.Kind   `json:"kind"`
	Sure    float64     `json:"sure"`  // of the kind, 0..1
	Signs   []string    `json:"signs"` // of the kind
	Found   bool        `json:"found"` // by ear, not from markers
	Bar     int         `json:"bar"`   // its first bar, from 1
	Bars    int         `json:"bars"`
	Start   float64     `json:"start"` // in seconds
	Seconds float64     `json:"seconds"`
	Share   float64     `json:"share"`   // of the bars, 0..1
	OfFull  float64     `json:"of_full"` // how loud its mean power is, as a share of the loudest phrase's
	DB      float64     `json:"db"`      // the same in dB
	Rise    float64     `json:"rise"`    // from the loudness of the first quarter to that of the last, as shares of the loudest bar's
	Play    []string    `json:"play"`    // line-up
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

func studyOf(st *study.Study, rules review.Verdict) studyJSON {
	out := studyJSON{Bars: st.Bars, Seconds: st.Seconds, BPM: rounded(st.BPM), Sure: rounded(st.TempoSure), Metre: st.Metre, Phrase: st.Phrase,
		Sections: []studySection{}, Parts: []studyPart{}, Holds: full(rules.Holds), Fails: full(rules.Fails), Told: full(st.Told)}
	for _, sec := range st.Sections {
		s := studySection{Name: sec.Ref, Marker: sec.Marker, Kind: sec.Kind, Sure: rounded(sec.Sure), Signs: full(sec.Signs), Found: sec.Found, Bar: sec.Bar, Bars: sec.Bars,
			Start: sec.Start, Seconds: sec.Seconds, Share: rounded(sec.Share), OfFull: rounded(sec.OfFull), DB: sec.DB, Rise: rounded(sec.Rise), Play: full(sec.Plays), Moves: []studyMove{}}
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
