//go:build oracles

package moves

import (
	"testing"

	"loopdraft/moves/lay"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// What freshen does not try, since nobody would hear it, is not heard in any of its ways: of many parts a soft one does not
// matter, and neither does one that is thinned out.
func TestWhatFreshenLeavesUntriedIsNotHeard(t *testing.T) {
	loop, err := song.ParseGrid(`
		kick   x...x...x...x...|x...x...x...x...|x...x...x...x...|x...x...x...x.x.
		clap   ....o.......o...|....o.......o...|....o.......o...|....o.......o..o
		hat    ..o...o...o...o.|..o...o...o...o.|..o...o...o...o.|..o...o...o.o.o.
		ride   o.o.o.o.o.o.o.o.|o.o.o.o.o.o.o.o.|o.o.o.o.o.o.o.o.|o.o.o.o.o.o.o.o.
		perc   x..x..x....x..x.|x..x..x....x..x.|x..x..x....x..x.|x..x..x....x..x.
		bass   x-------x-------|x-------x-------|x-------x-------|x-------x---x---
		pad    o---------------|----------------|o---------------|----------------
		lead   o--o--o-o--o--o-|o--o--o-o--o----|o--o--o-o--o--o-|----o--o--o-----`)
	if err != nil {
		t.Fatal(err)
	}
	vain, tried, took := 0, 0, 0
	for seed := range uint64(24) {
		chance := NewRand(seed)
		in, _, err := lay.Lay(lay.Layout{Loop: loop, Bars: 4, Blocks: []lay.Block{{Bars: 32, RunOn: true}}})
		if err != nil {
			t.Fatal(err)
		}
		e := in.Edit()
		for part := range in.Parts { // levels move a little
			at := 1 + 4*chance.Intn(8)
			share := 80 + chance.Intn(40)
			e.MapIn(part, in.BarRange(at, at+3), func(n song.Note) (song.Note, bool) {
				n.Vel = uint8(min(int(n.Vel)*share/100, 127))
				return n, true
			})
		}
		in = e.Song()
		heard, err := form.EnergyOf(in)
		if err != nil {
			t.Fatal(err)
		}
		f := &Freshen{Every: 4}
		env := Env{Loop: loop, Bars: 4, Full: in, Lined: in, Heard: heard, Seed: seed}
		w := newFreshening(f, &env, in, 4)
		for line := 1; line < len(w.lines)-1; line++ {
			for _, change := range w.changes {
				first, last := w.lines[line].bar, w.lines[line+1].bar-1
				if change.before {
					first, last = w.lines[line-1].bar, first-1
				}
				for part, p := range in.Parts {
					on := Target{Part: where.PartsOf(p.Name), Over: where.SpansOf(where.BarsText(first, last))}
					ways := change.ways(on, p.Job)
					isVain := w.inVain(change, part, first, last, line, ways)
					for _, steps := range ways {
						trial, done, _ := w.bench.try(part, first, last, steps...)
						if !done || len(trial.touched()) != 1 {
							continue
						}
						changed := w.changed(line, &freshTrial{trial: trial, part: trial.touched()[0], track: trial.events()})
						switch tried++; {
						case isVain && changed:
							t.Errorf("seed %d, bar %d: %s with %s is heard as %T %+v", seed, w.lines[line].bar, change.name, p.Name, steps[0], steps[0])
						case isVain:
							vain++
						case changed:
							took++
						}
					}
				}
			}
		}
	}
	if vain < 200 || took < 50 {
		t.Errorf("of %d tries %d are left out and %d change something, too few", tried, vain, took)
	}
}
