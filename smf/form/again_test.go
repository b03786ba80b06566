package form_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

func sameEnergy(a, b form.Energy) bool {
	return slices.Equal(a.Bars, b.Bars) && slices.EqualFunc(a.Parts, b.Parts, func(x, y []form.Powers) bool { return slices.Equal(x, y) })
}

// What is measured again after each of many edits is what is measured from new.
func TestMeasuredAgainIsAsMeasuredFromNew(t *testing.T) {
	for seed := range uint64(30) {
		r := rand.New(rand.NewPCG(seed, 4))
		s := drawn(t, `
			kick   x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...
			crash  x...............|................|................|................|................|................
			bass   x---..x-..x-..x-|x---..x-..x-..x-|x---..x-..x-..x-|x---..x-..x-..x-|x---..x-..x-..x-|x---..x-..x-..x-
			chords x---------------|----------------|----------------|----------------|................|................
			pad    x---------------|----------------|----------------|----------------|----------------|................
			lead   ........x-------|----............|x---x---x---x---|................|................|x---------------`)
		was := energyOf(t, s)
		for range 25 {
			e := s.Edit()
			part, bar := r.IntN(len(s.Parts)), 1+r.IntN(s.Bars())
			what := ""
			switch r.IntN(8) {
			case 0, 1:
				what = "notes placed"
				for range 1 + r.IntN(4) {
					at := s.Time().BarStart(bar) + song.Tick(r.IntN(384))
					e.Place(part, song.Note{Start: at, End: at + 1 + song.Tick(r.IntN(1500)), Key: uint8(r.IntN(128)), Vel: uint8(1 + r.IntN(127))})
				}
			case 2:
				what = "bars cut"
				e.Cut(part, []song.Range{s.BarRange(bar, min(bar+r.IntN(3), s.Bars()))}, r.IntN(2) == 0)
			case 3:
				what = "other velocities"
				e.Map(part, func(n song.Note) (song.Note, bool) {
					if s.Time().BarOf(n.Start) == bar {
						n.Vel = uint8(1 + r.IntN(127))
					}
					return n, r.IntN(40) > 0
				})
			case 4:
				what = "volume, expression or pedal set"
				e.Insert(s.Parts[part].Track, smf.Channel(s.Time().BarStart(bar)+100, 0xB0|s.Parts[part].Channel, []byte{7, 11, 64}[r.IntN(3)], byte(r.IntN(128))))
			case 5:
				what = "a program set"
				e.Insert(s.Parts[part].Track, smf.Channel(s.Time().BarStart(bar), 0xC0|s.Parts[part].Channel, byte(r.IntN(128)), 0))
			case 6:
				what = "a part more"
				p := e.NewPart(song.Part{Name: fmt.Sprintf("more-%d", r.Int()), Role: song.RoleLead})
				e.Place(p, song.Note{Start: s.Time().BarStart(bar), End: s.End, Key: 70, Vel: 90})
			case 7:
				what = "another tempo"
				if r.IntN(4) == 0 {
					e.InsertMeta(0, s.Time().BarStart(bar), 0x51, []byte{6, byte(r.IntN(256)), 0})
				}
			}
			next := e.Song()
			again, err := was.Again(next)
			if err != nil {
				t.Fatal(err)
			}
			if want := energyOf(t, next); !sameEnergy(again, want) {
				t.Fatalf("seed %d, %s at bar %d of %s:\ngot  %v\nwant %v\n%s", seed, what, bar, s.Parts[part].Name, again.Parts, want.Parts, song.Grid(next))
			}
			checkEnergy(t, next, again)
			s, was = next, again
		}
	}
}

// A part that loses its place is not taken for another one.
func TestMeasuredAgainWithPartsGone(t *testing.T) {
	s := drawn(t, `
		kick x...x...
		hat  x.x.x.x.
		lead x-------`)
	was := energyOf(t, s)
	s.Parts = []song.Part{s.Parts[2], s.Parts[0]}
	got, err := was.Again(s)
	if err != nil || !sameEnergy(got, energyOf(t, s)) {
		t.Errorf("got %v (%v), want %v", got.Parts, err, energyOf(t, s).Parts)
	}
}

// The parts of real loops measured one by one, the others silent, are together what the loop is.
func TestPartsMeasuredOneByOne(t *testing.T) {
	for _, loop := range oracle.CutLoops(t) {
		s := songIn(t, loop.Bytes)
		together, sum := energyOf(t, s), make([]form.Powers, s.Bars())
		for i := range s.Parts {
			alone := s
			alone.Parts = slices.Clone(s.Parts)
			for k := range alone.Parts {
				if k != i {
					alone.Parts[k].Notes = nil
				}
			}
			for b, bar := range energyOf(t, alone).Bars {
				sum[b] = sum[b].Plus(bar)
			}
		}
		if !slices.Equal(sum, together.Bars) {
			t.Errorf("%s: one by one %v, together %v", loop.Name, sum, together.Bars)
		}
	}
}

// A table is what the parts are in the second of two passes; what rings over the end of the loop is in its first bar.
func TestTable(t *testing.T) {
	s := drawn(t, `
		crash ........x.......|................|........x.......|................
		lead  x---x---x---x---|................|x---x---x---x---|................
		kick  x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x...`)
	table, err := form.TableOf(s, []int{2, 2, 1})
	if err != nil {
		t.Fatal(err)
	}
	e := energyOf(t, s)
	for bar := range 4 {
		for part, cycle := range []int{2, 2, 1} {
			if got, want := table.At(part, bar), e.Parts[part][cycle+bar%cycle]; got != want {
				t.Errorf("part %d, bar %d: got %v, want %v", part, bar, got, want)
			}
		}
	}
	if table.At(0, 1).Sum().Silent() {
		t.Error("the crash does not ring into the next bar")
	}
	if got, want := table.Full(4, 1), table.At(0, 0).Plus(table.At(1, 0)).Plus(table.At(2, 0)).Sum(); got != want {
		t.Errorf("got a full power of %d, want that of the first bar, %d", got, want)
	}
}

// Of ten leads that are alike one is 10 dB under all, half as loud: on the limit, and within it on every processor.
func TestGoldenFullOnALimit(t *testing.T) {
	grid := "lead x---x---x---x---|x---x---x---x---"
	for i := range 9 {
		grid += fmt.Sprintf("\nlead-%d x---x---x---x---|................", i+2)
	}
	e := energyOf(t, drawn(t, grid))
	full := e.Full(1)
	if full != e.Bars[0].Sum() {
		t.Errorf("got %d as full, want the first bar, %d", full, e.Bars[0].Sum())
	}
	if got := e.Parts[0][0].Sum().Share(full); got != 500 {
		t.Errorf("got %d tenths of a percent, want 500", got)
	}
	if got, want := e.Full(8), e.Mean(1, 2).Sum(); got != want {
		t.Errorf("a phrase longer than the song: got %d, want %d", got, want)
	}
	if got, want := energyOf(t, drawn(t, "lead x---|x---|x---|x---\nkick ....|....|....|x..x")).Full(3), form.Power(0); got <= want {
		t.Errorf("got %d", got)
	}
}

// TestGoldenEnergies holds the powers of the demo loops, in units: the same on every processor. Each line has the sums
// of a part over all bars, by band, and its share of the loop's loudest phrase of 4 bars.
func TestGoldenEnergies(t *testing.T) {
	files, err := filepath.Glob("../../testdata/loops/*.mid")
	if err != nil || len(files) == 0 {
		t.Fatalf("found no loops (%v)", err)
	}
	var out strings.Builder
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		s := songIn(t, data)
		e := energyOf(t, s)
		fmt.Fprintf(&out, "%s: full %d\n", filepath.Base(path), e.Full(4))
		for i, p := range s.Parts {
			var sum form.Powers
			for _, bar := range e.Parts[i] {
				sum = sum.Plus(bar)
			}
			share := form.Mean(e.Parts[i]).Sum().Share(e.Full(4))
			fmt.Fprintf(&out, "  %-12s %d %d %d, %d.%d %%\n", p.Name, sum[0], sum[1], sum[2], share/10, share%10)
		}
	}
	const golden = "testdata/energies.txt"
	if os.Getenv("UPDATE") != "" {
		if err := os.WriteFile(golden, []byte(out.String()), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if out.String() != string(want) {
		t.Errorf("got\n%s\nwant, from %s,\n%s", out.String(), golden, want)
	}
}
