package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// update rewrites the files of the scripts that "cmp stdout FILE" compares with; read the difference
// before it is kept.
var update = flag.Bool("update", false, "rewrite expected output in testdata/script")

func TestMain(m *testing.M) {
	debug.SetGCPercent(400) // the tests make many drafts and hold none for long
	testscript.Main(m, map[string]func(){"loopdraft": main})
}

// TestScripts runs the program as a user does. Besides the commands of package testscript there are
//
//	grid FILE OUT   makes a MIDI file, one track a part, of a step grid (see song.ParseGrid)
//	hex FILE OUT    makes a file of hex digits; what follows # in a line is a remark
//	draw FILE OUT   draws the notes of a MIDI file as a grid, a row per track and key
//	fails CODE ...  runs a command that must end with this exit code, print nothing on standard
//	                output, diagnostics without a dump on standard error, and leave all files as they were
//	dense N OUT     makes a MIDI file of one bar with N short notes of keys 0..127
//	repeat N TEXT FILE   makes a file of a line N times
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       *update,
		Setup: func(env *testscript.Env) error {
			loops, err := filepath.Abs(loopsDir())
			env.Setenv("LOOPS", loops)
			return err
		},
		Condition: func(name string) (bool, error) {
			switch name {
			case "root": // who may read everything
				return os.Geteuid() == 0, nil
			case "quick": // a first run, which does not ask for all
				return oracle.Size(1, 0, 0) == 1, nil
			}
			return false, fmt.Errorf("found unknown condition %q, want root or quick", name)
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"grid": gridToFile, "hex": hexToFile, "draw": fileToGrid, "fails": failsWith, "dense": denseBar, "repeat": repeatText, "thumps": thumpsToFile,
		},
	})
}

func loopsDir() string { return "../../testdata/loops" }

func wantArgs(ts *testscript.TestScript, neg bool, args []string, n int, usage string) {
	if neg || len(args) != n {
		ts.Fatalf("usage: %s", usage)
	}
}

func store(ts *testscript.TestScript, name string, data []byte) {
	ts.Check(os.WriteFile(ts.MkAbs(name), data, 0o666))
}

func gridToFile(ts *testscript.TestScript, neg bool, args []string) {
	wantArgs(ts, neg, args, 2, "grid FILE OUT")
	s, err := song.ParseGrid(ts.ReadFile(args[0]))
	ts.Check(err)
	e := s.Edit()
	for i, track := range s.Tracks {
		e.InsertMeta(i, 0, 0x03, []byte(track.Name))
	}
	b, err := e.Song().File().Encode()
	ts.Check(err)
	store(ts, args[1], b)
}

func hexToFile(ts *testscript.TestScript, neg bool, args []string) {
	wantArgs(ts, neg, args, 2, "hex FILE OUT")
	var digits strings.Builder
	for line := range strings.Lines(ts.ReadFile(args[0])) {
		line, _, _ = strings.Cut(line, "#")
		digits.WriteString(strings.Join(strings.Fields(line), ""))
	}
	b, err := hex.DecodeString(digits.String())
	ts.Check(err)
	store(ts, args[1], b)
}

func fileToGrid(ts *testscript.TestScript, neg bool, args []string) {
	wantArgs(ts, neg, args, 2, "draw FILE OUT")
	f, err := smf.Decode([]byte(ts.ReadFile(args[0])))
	ts.Check(err)
	s, err := song.From(f)
	ts.Check(err)
	for i := range s.Parts {
		s.Parts[i].Name = s.Tracks[s.Parts[i].Track].Name
	}
	store(ts, args[1], []byte(song.Grid(s)))
}

func denseBar(ts *testscript.TestScript, neg bool, args []string) {
	wantArgs(ts, neg, args, 2, "dense N OUT")
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	const ppq = 480
	var t smf.Track
	for i := range n {
		at := smf.Tick(i * 4 * ppq / n)
		t.Append(smf.Channel(at, 0x99, byte(i%128), 100))
		t.Append(smf.Channel(at, 0x89, byte(i%128), 64))
	}
	t.End = 4 * ppq
	b, err := (&smf.File{Format: 0, Division: ppq, Tracks: []smf.Track{t}}).Encode()
	ts.Check(err)
	store(ts, args[1], b)
}

func repeatText(ts *testscript.TestScript, neg bool, args []string) {
	wantArgs(ts, neg, args, 3, "repeat N TEXT FILE")
	n, err := strconv.Atoi(args[0])
	ts.Check(err)
	store(ts, args[2], []byte(strings.Repeat(args[1]+"\n", n)))
}

func failsWith(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: fails CODE COMMAND ...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	before := inventory(ts)
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	switch {
	case err == nil:
		ts.Fatalf("exit code 0, want %d", want)
	case !errors.As(err, &exit):
		ts.Fatalf("%s: %v", args[1], err)
	case exit.ExitCode() != want:
		ts.Fatalf("exit code %d, want %d\n%s", exit.ExitCode(), want, ts.ReadFile("stderr"))
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("found on standard output:\n%s", out)
	}
	if diff := badDiagnostics(ts.ReadFile("stderr")); diff != "" {
		ts.Fatalf("%s", diff)
	}
	if after := inventory(ts); after != before {
		ts.Fatalf("files before:\n%sfiles after:\n%s", before, after)
	}
}

// badDiagnostics says what is wrong with the text of a failure: it begins with the program's name,
// and each further line is another diagnostic, the usage, or an indented line of a recipe.
func badDiagnostics(text string) string {
	if text == "" {
		return "nothing on standard error"
	}
	for i, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		ok := strings.HasPrefix(line, "loopdraft: ") || i > 0 && (strings.HasPrefix(line, "    ") || strings.HasPrefix(line, "usage: "))
		if !ok || strings.Contains(line, "panic") || strings.Contains(line, "goroutine") || strings.Contains(line, "%!") {
			return "found on standard error: " + line
		}
	}
	return ""
}

// inventory lists every file of the script's folder with a sum of what is in it.
func inventory(ts *testscript.TestScript) string {
	var b strings.Builder
	ts.Check(filepath.WalkDir(ts.MkAbs("."), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		sum := [sha256.Size]byte{}
		if d.Type().IsRegular() {
			data, err := os.ReadFile(path)
			if err != nil && !errors.Is(err, fs.ErrPermission) {
				return err
			}
			sum = sha256.Sum256(data)
		}
		fmt.Fprintf(&b, "%s %s %x\n", path, d.Type(), sum[:6])
		return nil
	}))
	return b.String()
}

// thumpsToFile writes a recording of mono thumps on every beat of 4/4 at a tempo: "thumps FILE BPM BARS".
// Those of bar 9 to 16 of every 32 are left out, the first of a bar is stronger, and a hiss is on the off-beats.
func thumpsToFile(ts *testscript.TestScript, neg bool, args []string) {
	wantArgs(ts, neg, args, 3, "thumps FILE BPM BARS")
	bpm, err1 := strconv.ParseFloat(args[1], 64)
	bars, err2 := strconv.Atoi(args[2])
	if err1 != nil || err2 != nil {
		ts.Fatalf("found %q, want a tempo and bars", args[1:])
	}
	const rate = 22050
	beat := 60 / bpm * rate
	samples := make([]int16, int(beat*4*float64(bars)))
	noise := uint32(1)
	for b := range 4 * bars {
		if bar := b / 4 % 32; bar < 8 || bar >= 16 {
			strength := 9000.0
			if b%4 == 0 {
				strength = 14000
			}
			start := int(float64(b) * beat)
			for i := start; i < min(start+rate/5, len(samples)); i++ {
				t := float64(i-start) / rate
				samples[i] += int16(strength * math.Exp(-18*t) * math.Sin(2*math.Pi*(55*t+4*(1-math.Exp(-30*t)))))
			}
		}
		start := int((float64(b) + .5) * beat)
		for i := start; i < min(start+rate/40, len(samples)); i++ {
			noise = noise*1664525 + 1013904223
			samples[i] += int16(2000 * (float64(noise>>16)/65536 - .5))
		}
	}
	var out bytes.Buffer
	out.WriteString("RIFF")
	for _, v := range []any{uint32(36 + 2*len(samples)), []byte("WAVEfmt "), uint32(16), uint16(1), uint16(1), uint32(rate), uint32(2 * rate), uint16(2), uint16(16), []byte("data"), uint32(2 * len(samples)), samples} {
		ts.Check(binary.Write(&out, binary.LittleEndian, v))
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), out.Bytes(), 0o644))
}
