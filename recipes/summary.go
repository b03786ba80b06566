package recipes

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// result sums a draft up.
func (m made) result(lined linedUp) *Result {
	a, s := m.order, m.steps
	a.remark(s.remarks...)
	for i, p := range s.env.Full.Parts {
		if len(p.Notes) > 0 && p.Role != song.RoleTrigger && len(s.song.Parts[i].Notes) == 0 {
			a.warn(fmt.Sprintf("%s never plays", p.Name))
		}
	}
	return &Result{
		Song: s.song, File: s.song.File(), Loop: m.loop.song, LoopBars: m.loop.bars, Loops: m.loop.loops, Heard: m.loop.report.Parts, Choices: a.taken.held, Ways: a.taken.ways, Taken: a.taken.all,
		Told: a.told, Warnings: a.warnings, Plan: m.laid.plan.lines, Changes: slices.Concat(lined.changes, s.changes), Todo: s.todo(),
		made: m,
	}
}

// heard is the energy of a song that the draft was made from; empty where none was measured.
func (m made) heard() form.Energy {
	if m.steps == nil {
		return form.Energy{}
	}
	return m.steps.env.Heard
}

// Energy measures the draft. full is the mean power of all parts of the loop in its loudest phrase, which its sections
// are told against; of a file that was not laid out it is that of the file. Errors are those of [form.EnergyOf].
func (r *Result) Energy() (e form.Energy, full form.Power, err error) {
	if e, err = r.made.heard().Again(r.Song); err != nil {
		return form.Energy{}, 0, err
	}
	of := e
	if r.made.laid.layout != nil {
		if of, err = r.made.steps.full.Again(r.made.steps.env.Full); err != nil {
			return form.Energy{}, 0, err
		}
	}
	return e, of.Full(form.FullPhrase), nil
}

// todo lists what is left to the producer.
func (s *stepping) todo() []string {
	var out []string
	for _, p := range s.song.Parts[len(s.env.Full.Parts):] {
		out = append(out, fmt.Sprintf("put a sound on the new track %s (channel %d)", p.Name, p.Channel+1))
	}
	for _, r := range s.env.Ridden {
		if r.Mapped {
			continue
		}
		line := fmt.Sprintf("map %s on %s, so that its ride is heard", controllerText(r.Controller), r.Part)
		if !slices.Contains(out, line) {
			out = append(out, line)
		}
	}
	return out
}

// controllerText names a controller with its number, as instruments list it.
func controllerText(id song.Controller) string {
	name := option.ControllerText(id)
	switch {
	case id == song.Bend || id == song.Pressure:
		return name
	case strings.Trim(name, "0123456789") == "":
		return "controller " + name
	}
	return fmt.Sprintf("%s (controller %d)", name, int(id))
}
