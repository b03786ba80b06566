package moves

import (
	"reflect"
	"slices"
	"strings"

	"loopdraft/smf/song"
)

// Catalogue is a list of moves in the order they are listed: [slices.Concat] joins several.
type Catalogue []Move

// All returns the moves of this package: by group, then as a producer meets them.
func All() Catalogue {
	return Catalogue{
		extendMove(), markMove(), muteMove(), soloMove(), copyMove(), plainMove(),
		doubleMove(), thinMove(), rollMove(), fillMove(), ghostMove(), stutterMove(), stretchMove(), reverseMove(), shiftMove(),
		swingMove(), humaniseMove(), varyMove(),
		transposeMove(), layerMove(), riseMove(), droneMove(),
		gateMove(), shapeMove(), echoMove(),
		rideMove(), duckMove(), tempoMove(),
		hitMove(), swellMove(),
		leadInMove(), freshenMove(), emphasiseMove(),
	}
}

// Names returns the names of the moves.
func (c Catalogue) Names() []string {
	var out []string
	for _, m := range c {
		out = append(out, m.Name())
	}
	return out
}

// Nearest returns the name of the move that is likely meant by a word that names none: what people say for it, else the
// name that is spelt most like it. "" if none is close.
func (c Catalogue) Nearest(word string) string {
	said := map[string]string{
		"volume": "shape", "level": "shape", "fade": "shape", "velocity": "shape", "crescendo": "shape",
		"filter": "ride", "cutoff": "ride", "automate": "ride", "automation": "ride", "sweep": "ride", "controller": "ride",
		"sidechain": "duck", "side-chain": "duck", "pump": "duck",
		"crash": "hit", "impact": "hit", "silence": "mute", "remove": "mute", "repeat": "extend", "octave": "layer", "marker": "mark",
	}[strings.ToLower(word)]
	if _, ok := c.Lookup(said); ok {
		return said
	}
	return song.Nearest(word, c.Names())
}

// Lookup returns the move of this name, and false if there is none.
func (c Catalogue) Lookup(name string) (Move, bool) {
	if i := slices.IndexFunc(c, func(m Move) bool { return m.Name() == name }); i >= 0 {
		return c[i], true
	}
	return Move{}, false
}

// Of returns the move that a step is of. For a step of a type that the catalogue does not have, it is a move
// without a description, whose options are left out by default.
func (c Catalogue) Of(step Step) Move {
	of := reflect.TypeOf(step)
	if m, ok := c.Lookup(step.Name()); ok && reflect.TypeOf(m.New()) == of {
		return m
	}
	return Move{New: func() Step { return reflect.New(of.Elem()).Interface().(Step) }}
}
