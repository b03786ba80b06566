package recipes

import (
	"fmt"
	"slices"
	"strings"

	"loopdraft/moves/option"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// finish sums up.
func (d *drafter) finish() {
	res := d.res
	res.Song, res.File = d.in, d.in.File()
	d.tell(d.env.Told...)
	res.Changes = append(res.Changes, d.env.Changes...)
	for i, p := range d.env.Full.Parts {
		if len(p.Notes) > 0 && p.Role != song.Trigger && len(d.in.Parts[i].Notes) == 0 {
			d.warn(fmt.Sprintf("%s never plays", p.Name))
		}
	}
	d.todo()
}

// Energy measures the draft. full is the mean power of all parts of the loop in its loudest phrase, which its sections
// are told against; of a file that was not laid out it is that of the file. Errors are those of [form.EnergyOf].
func (r *Result) Energy() (e form.Energy, full form.Power, err error) {
	if e, err = form.EnergyOf(r.Song); err != nil {
		return form.Energy{}, 0, err
	}
	of := e
	if d := r.draft; d != nil && d.laid {
		if of, err = form.EnergyOf(d.env.Full); err != nil {
			return form.Energy{}, 0, err
		}
	}
	return e, of.Full(form.FullPhrase), nil
}

// todo lists what is left to the producer.
func (d *drafter) todo() {
	for _, p := range d.in.Parts[len(d.env.Full.Parts):] {
		d.res.Todo = append(d.res.Todo, fmt.Sprintf("put a sound on the new track %s (channel %d)", p.Name, p.Channel+1))
	}
	for _, r := range d.env.Ridden {
		if r.Mapped {
			continue
		}
		line := fmt.Sprintf("map %s on %s, so that its ride is heard", controllerText(r.Controller), r.Part)
		if !slices.Contains(d.res.Todo, line) {
			d.res.Todo = append(d.res.Todo, line)
		}
	}
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
