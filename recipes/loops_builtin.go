package recipes

import (
	"cmp"
	"fmt"

	"loopdraft/moves/lay"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// strongLoop is the energy, in tenths of a percent of the main loop's, from which another loop may play in a drop. Common
// practice, no source.
const strongLoop = 750

// shareOut lets the sections of a recipe for any loop play several. The main one is that with the most parts, of equals
// the one with the most energy, of those that have beat and bass, or as much of both as there is, and not little energy
// beside the others of them. Of the others those without a beat or with little energy play in breaks and builds, in turn;
// of the rest the first plays the second half of the second drop.
func (a *order) shareOut(l foundLoop, sections []sectionLoop) error {
	names := l.loopNames()
	full := make([]form.Power, len(l.loops))
	ground, loudest := 0, form.Power(0)
	for k := range l.loops {
		var err error
		if full[k], err = l.full(k); err != nil {
			return err
		}
		switch g := l.ground(k); {
		case g > ground:
			ground, loudest = g, full[k]
		case g == ground:
			loudest = max(loudest, full[k])
		}
	}
	main, most := -1, 0
	for k := range l.loops {
		most = max(most, l.parts(k))
		if l.ground(k) < ground || full[k].Share(loudest) < strongLoop {
			continue
		}
		if main < 0 || cmp.Or(cmp.Compare(l.parts(k), l.parts(main)), cmp.Compare(full[k], full[main])) > 0 {
			main = k
		}
	}
	switch text := names[main] + " is the main loop: "; {
	case l.parts(main) == most:
		a.tell(fmt.Sprintf("%sit has %d parts", text, most))
	case ground == 2:
		a.tell(text + "it has beat and bass, and most of the energy")
	default:
		a.tell(text + "it has most of the energy")
	}
	var quiet []int
	strong := -1
	for k := range l.loops {
		if k == main {
			continue
		}
		beat := l.has(song.JobBeat, k)
		switch share := full[k].Share(full[main]); {
		case !beat:
			quiet = append(quiet, k)
			a.tell(fmt.Sprintf("%s plays in breaks and builds: it has no beat", names[k]))
		case share < strongLoop:
			quiet = append(quiet, k)
			a.tell(fmt.Sprintf("%s plays in breaks and builds: it has %s of the energy of %s", names[k], percentText(share), names[main]))
		case strong < 0:
			strong = k
		default:
			a.tell(fmt.Sprintf("%s is not used: %s has the second half of the second drop", names[k], names[strong]))
		}
	}
	turn, drops := 0, []int{}
	for i, s := range a.r.Sections {
		sections[i] = sectionLoop{main, -1, -1}
		switch kind := s.kind(); {
		case (kind == song.KindBreak || kind == song.KindBuild) && len(quiet) > 0:
			sections[i].loop = quiet[turn]
			switch q := quiet[turn]; {
			case 2*l.parts(q) < l.parts(main):
				sections[i].over = main
				a.tell(fmt.Sprintf("%s has %d parts and %s has %d: it is laid over it", names[q], l.parts(q), names[main], l.parts(main)))
			case l.music(q) < 2 && l.music(main) > l.music(q):
				sections[i].over = main
				a.tell(fmt.Sprintf("%s has %s with a pitch outside the bass: it is laid over %s", names[q], countedParts(l.music(q)), names[main]))
			}
			if kind == song.KindBuild || i+1 < len(a.r.Sections) && a.r.Sections[i+1].kind() != song.KindBuild { // a break and its build play the same
				turn = (turn + 1) % len(quiet)
			}
		case kind == song.KindDrop:
			drops = append(drops, i)
		}
	}
	if n := len(drops); strong >= 0 && n > 0 {
		i := drops[min(1, n-1)]
		sections[i].late = strong
		a.tell(fmt.Sprintf("%s plays the second half of %s", names[strong], sectionTexts(a.r.Sections)[i]))
	}
	return nil
}

// has tells whether a part of a job plays in a loop.
func (l foundLoop) has(job song.Job, loop int) bool {
	for p, part := range l.song.Parts {
		if part.Job == job && l.plays(p, loop) {
			return true
		}
	}
	return false
}

// ground tells how much of beat and bass a loop has, from 0 to 2.
func (l foundLoop) ground(loop int) int {
	n := 0
	for _, job := range []song.Job{song.JobBeat, song.JobBass} {
		if l.has(job, loop) {
			n++
		}
	}
	return n
}

// music counts the parts with a pitch outside the bass that play in a loop. A break wants two.
func (l foundLoop) music(loop int) int {
	n := 0
	for p, part := range l.song.Parts {
		if (part.Job == song.JobHook || part.Job == song.JobBed || part.Job == song.JobExtra) && part.Pitched() && l.plays(p, loop) {
			n++
		}
	}
	return n
}

// countedParts says a number of parts under two.
func countedParts(n int) string {
	if n == 1 {
		return "one part"
	}
	return "no part"
}

// full returns the mean power of a loop in its loudest phrase.
func (l foundLoop) full(loop int) (form.Power, error) {
	layout := l.layout(laidLoop{})
	layout.Blocks, layout.Markers = []lay.Block{{Bars: 2 * l.loops[loop].Bars, RunOn: true, Loop: loop}}, false
	laid, _, err := lay.Lay(layout)
	if err != nil {
		return 0, err
	}
	e, err := form.EnergyOf(laid)
	if err != nil {
		return 0, err
	}
	return max(e.Full(form.FullPhrase), 1), nil
}

// late returns, by part, where it plays from another loop since that has the second half of a section; nil: nowhere.
func (l foundLoop) late(p plan) [][]lay.Play {
	var out [][]lay.Play
	bar := l.song.Time().BarTicks(1)
	for i, s := range p.loops {
		sec := p.sections[i]
		if s.late < 0 || sec.Bars < 2 {
			continue
		}
		if out == nil {
			out = make([][]lay.Play, len(l.song.Parts))
		}
		for part := range out {
			if l.plays(part, s.late) {
				half := song.Range{Start: song.Tick(sec.Bar-1+sec.Bars/2) * bar, End: song.Tick(sec.Bar-1+sec.Bars) * bar}
				out[part] = append(out[part], lay.Play{Range: half, Loop: s.late})
			}
		}
	}
	return out
}
