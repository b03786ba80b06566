//go:build oracles

package recipes

import (
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"loopdraft/moves"
	"loopdraft/moves/review"
	"loopdraft/smf"
)

// phases adds up what each phase of a draft takes.
type phases struct {
	names []string
	of    map[string]*phase
}

type phase struct {
	time          time.Duration
	bytes, allocs uint64
}

// add runs a phase, or a part of one.
func (p *phases) add(name string, run func()) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	run()
	took := phase{time: time.Since(start)}
	runtime.ReadMemStats(&after)
	took.bytes, took.allocs = after.TotalAlloc-before.TotalAlloc, after.Mallocs-before.Mallocs
	if p.of[name] == nil {
		p.names = append(p.names, name)
		p.of[name] = &phase{}
	}
	sum := p.of[name]
	sum.time, sum.bytes, sum.allocs = sum.time+took.time, sum.bytes+took.bytes, sum.allocs+took.allocs
}

// table returns the phases as a table, each with its share of the whole time.
func (p *phases) table(runs int) string {
	var whole phase
	for _, name := range p.names {
		whole.time += p.of[name].time
		whole.bytes += p.of[name].bytes
		whole.allocs += p.of[name].allocs
	}
	var out strings.Builder
	row := func(name string, ph phase) {
		fmt.Fprintf(&out, "\n| %s | %.1f | %.0f %% | %.2f | %d |", name, ph.time.Seconds()*1e3/float64(runs), 100*ph.time.Seconds()/whole.time.Seconds(), float64(ph.bytes)/1e6/float64(runs), int(ph.allocs)/runs)
	}
	out.WriteString("\n| phase | ms | share | MB allocated | allocations |\n|---|---|---|---|---|")
	for _, name := range p.names {
		row(name, *p.of[name])
	}
	row("whole", whole)
	return out.String()
}

// BenchmarkPhases prints what each phase of a draft takes: of the demo loop of eleven parts to 192 bars by club, with the
// recipe read and the draft reviewed and encoded, in a warm process.
func BenchmarkPhases(b *testing.B) {
	must := func(err error) {
		if err != nil {
			b.Fatal(err)
		}
	}
	data, err := os.ReadFile("../testdata/loops/harbour-lights.mid")
	must(err)
	file, err := smf.Decode(data)
	must(err)
	in := []Input{{Name: "harbour-lights.mid", File: file}}
	p := phases{of: map[string]*phase{}}
	for b.Loop() {
		var r *Recipe
		p.add("recipe", func() { r, _ = Builtin("club") })
		var m made
		var t *Takes
		p.add("hearing", func() { t, err = NewTakes(in, r, Options{}) })
		must(err)
		p.add("choices", func() {
			m = made{order: t.order.forTake(1), loop: t.loop}
			err = m.order.finishHearing(&m.loop)
		})
		must(err)
		p.add("laying out", func() { m.laid, err = m.order.layOut(m.loop) })
		must(err)
		var lined linedUp
		p.add("players", func() { lined, err = m.order.lineUp(m.loop, m.laid) })
		must(err)
		p.add("steps", func() {
			m.laid, m.plays, m.found = lined.laid, lined.plays, lined.found
			m.steps = newStepping(m.order, m.loop, m.laid, lined)
			m.steps.begin(lined)
		})
		for i, spec := range m.steps.r.Moves {
			name := "steps"
			switch spec.Step.(type) {
			case *review.Mend:
				name = "mend"
			case moves.Composer:
				name = "other composites"
			}
			p.add(name, func() { m.steps.step(i, spec) })
		}
		must(m.order.err())
		var got *Result
		p.add("finishing", func() {
			m.steps.checkEnergies(lined.found)
			got = m.result(lined)
		})
		p.add("review", func() {
			_, _, err := got.Energy()
			must(err)
			_, err = review.Review(got.ToReview(), review.Options{Checks: r.Checks(), Level: review.Warn, Bare: true})
			must(err)
		})
		p.add("encoding", func() { _, err = got.File.Encode() })
		must(err)
	}
	fmt.Println(p.table(b.N)) // a log of a benchmark is cut after ten lines
}
