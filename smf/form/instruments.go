package form

import (
	"slices"

	"loopdraft/smf/listen"
	"loopdraft/smf/song"
)

// The figures of this file were measured once, on single notes of every General MIDI program, three seconds
// long (keys 48 to 72, of basses 28 to 48), and single hits of every percussion key, as FluidSynth 2.3.1
// plays them with the sound set TimGM6mb (Debian's timgm6mb-soundfont 1.3) without reverb and chorus.
// Programs that are neighbours and alike share a row, at about their mean. Pads and string ensembles, which come in
// slowly, have the level they are held at: songs in which they come in as slowly as measured are told no better.
// Played with Fluid R3 (Debian's fluid-soundfont-gm 3.1), whose cymbals and hats are louder, songs are told about
// as well; the mean of both sets did no better on either.

// rate is how fast a sound falls.
type rate uint8

const (
	holds  rate = iota
	slow        // a guitar, a bass
	medium      // a piano, a cymbal
	fast        // a plucked violin, a tom
	short       // what goes on in a hall: strings let go
	dead        // a drum
	damped      // a key let go
	rates
)

// falls are by how many dB a second each of the rates falls. Nothing writes to it.
var falls = [rates]float64{0, 10, 20, 40, 80, 200, 400}

// halvings returns how often a sound halves its power in a second.
func (r rate) halvings() float64 { return float64(falls[r] * (lb10 / 10)) }

// nepers returns by how many nepers of power a sound falls in a second.
func (r rate) nepers() float64 { return float64(falls[r] * (ln10 / 10)) }

// left returns the share of power that is left after some seconds.
func (r rate) left(seconds float64) float64 {
	if r == holds {
		return 1
	}
	if x := float64(r.halvings() * seconds); x < gone {
		return half(x)
	}
	return 0
}

// gone is the number of halvings after which nothing is left of a sound that a float64 tells from nothing beside the
// least that counts, which is 44 halvings weak.
const gone = 100

// bands are powers below 150 Hz, up to 2.5 kHz, and above, of one note; 1 is a held synth lead note.
type bands [3]float64

func (b bands) times(by float64) bands {
	return bands{float64(b[0] * by), float64(b[1] * by), float64(b[2] * by)}
}

// whole returns the powers times a factor in units, rounded.
func (b bands) whole(by float64) Powers {
	by = float64(by * float64(Held))
	return Powers{Power(float64(b[0]*by) + .5), Power(float64(b[1]*by) + .5), Power(float64(b[2]*by) + .5)}
}

func (b bands) sum() float64 { return b[0] + b[1] + b[2] }

// instrument is how a note sounds.
type instrument struct {
	power      bands // at the onset
	fall, ring rate  // from the onset on; from the end of the note on
	drum       bool  // the end of the note is no end
}

// instruments are those that a part plays.
type instruments struct {
	role  song.Role
	kit   bool
	byKey bool // in a kit: the keys are those of the General MIDI map
	piano bool // piano is meant where it is set: the song sets other programs too
}

func instrumentsOf(p *song.Part) instruments {
	in := instruments{role: p.Role}
	in.kit = p.Kit || p.Role == song.RoleUnknown && p.Channel == listen.PercussionChannel
	in.byKey = in.kit && (p.Role == song.RoleUnknown || slices.ContainsFunc(song.KeysUsed(p.Notes), func(key uint8) bool {
		role, ok := listen.PercussionRole(key)
		return ok && role == p.Role
	}))
	return in
}

// playing returns the instrument that plays a key while a program is set, 0 for none.
func (in instruments) playing(key, program uint8) instrument {
	switch {
	case in.kit && in.byKey:
		return drum(key)
	case in.kit:
		return drum(roleKey(in.role))
	case program == 0 && !in.piano:
		return pitched(roleProgram(in.role), key)
	}
	return pitched(program, key)
}

// roleProgram returns a General MIDI program for a role, 0 (piano) for one that says nothing. Common
// practice, no source.
func roleProgram(r song.Role) uint8 {
	switch r {
	case song.RoleBass, song.RoleSub:
		return 38 // synth bass
	case song.RoleLead, song.RoleArp:
		return 81 // saw lead
	case song.RoleStab:
		return 62 // synth brass
	case song.RoleChords:
		return 4 // electric piano
	case song.RolePad, song.RoleDrone:
		return 89 // warm pad
	case song.RoleStrings:
		return 48 // string ensemble
	case song.RoleVocal:
		return 53 // voice
	case song.RoleFX:
		return 97 // soundtrack
	}
	return 0
}

// pitched returns the instrument of a General MIDI program. The shares of low end and brightness depend on
// the key alone. Means over programs 0 to 111 as measured: low .68 at key 28, .55 at 36, .36 at 48, .03 at
// 60, then next to none; high .04 at 60, .08 at 72, .19 at 84, .38 at 96, next to none below.
func pitched(program, key uint8) instrument {
	row := programRow(program)
	low := min(max(float64(0.022*float64(62-int(key))), 0), 0.9)
	high := min(float64(0.04*64*half((132-float64(key))/12)), 1) // doubles with each octave, .04 at key 60
	power := fromDB(row.level)
	rest := float64(power * (1 - low))
	return instrument{power: bands{float64(power * low), float64(rest * (1 - high)), float64(rest * high)}, fall: row.fall, ring: row.ring}
}

// programs are neighbouring General MIDI programs that sound much alike.
type programs struct {
	last       uint8   // as in the file, 0..127
	level      float64 // at the onset, in dB of one synth lead note
	fall, ring rate
}

// programRow returns the level and rates of a program.
func programRow(program uint8) programs {
	rows := []programs{
		{3, -3, medium, damped}, // pianos
		{8, -2, slow, damped},   // electric pianos, harpsichord, clavinet, celesta
		{9, 0, fast, damped},    // glockenspiel
		{11, 1, slow, damped},   // music box, vibraphone
		{13, -2, fast, damped},  // marimba, xylophone
		{15, 0, medium, damped}, // tubular bells, dulcimer
		{23, -3, holds, damped}, // organs
		{26, -1, slow, damped},  // acoustic and jazz guitars
		{28, -3, medium, damped},
		{31, -3, holds, damped}, // distorted guitars
		{37, 0, slow, damped},   // basses
		{38, 3, medium, damped}, // synth bass 1
		{39, 1, slow, damped},   // synth bass 2
		{43, 0, holds, short},   // solo strings
		{44, -3, holds, short},  // tremolo
		{45, 2, fast, damped},   // pizzicato
		{46, 3, medium, damped}, // harp
		{47, 1, fast, damped},   // timpani
		{51, -4, holds, short},  // string ensembles
		{54, -2, holds, short},  // voices
		{55, 3, slow, damped},   // orchestra hit
		{58, -4, holds, damped}, // trumpet, trombone, tuba
		{59, -7, holds, damped}, // muted trumpet
		{60, 1, holds, damped},  // horn
		{61, -5, holds, damped}, // brass section
		{63, -1, holds, damped}, // synth brass
		{67, -4, holds, damped}, // saxophones
		{71, -2, holds, damped}, // other reeds
		{76, -2, holds, damped}, // flutes, blown bottle
		{79, 2, holds, damped},  // shakuhachi, whistle, ocarina
		{87, 0, holds, damped},  // synth leads
		{95, -4, holds, fast},   // synth pads
		{103, -2, slow, fast},   // synth effects
		{108, -1, medium, damped},
		{111, -2, holds, damped}, // bagpipe, fiddle, shanai
		{118, 2, fast, damped},   // percussive
		{127, -8, holds, fast},   // sound effects
	}
	return rows[slices.IndexFunc(rows, func(r programs) bool { return program <= r.last })]
}

// hit is how a drum sounds that is struck once.
type hit struct {
	energy    float64 // the whole, in dB of a second of one synth lead note
	fall      rate
	low, high float64 // shares below 150 Hz and above 2.5 kHz
}

// The first and the last key of the percussion map of General MIDI 2, which has that of General MIDI 1 in it.
const (
	firstDrum = 27
	lastDrum  = 87
)

// hitOf returns how a key of the percussion map sounds.
func hitOf(key uint8) hit {
	hits := [...]hit{ // from firstDrum on
		{-16, dead, 0.01, 0.1}, {-16, dead, 0, 0.74}, {-15, short, 0.06, 0.03}, {-12.5, short, 0.07, 0.04}, // 27 to 30
		{-23.5, dead, 0, 0.9}, {-28, dead, 0.01, 0.04}, {-26, dead, 0, 0.84}, {-18, short, 0, 0.97}, // 31 to 34
		{-8.5, dead, 0.95, 0.01}, {-9, dead, 0.94, 0.01}, {-19.5, dead, 0.01, 0.35}, {-9, dead, 0.55, 0.11}, // 35 to 38
		{-15.5, dead, 0, 0.22}, {-11, dead, 0.08, 0.16}, {-7, fast, 0.91, 0.01}, {-24, dead, 0, 0.94}, // 39 to 42
		{-7, fast, 0.86, 0.01}, {-22.5, dead, 0.01, 0.9}, {-7.5, fast, 0.78, 0.01}, {-23.5, fast, 0, 0.43}, // 43 to 46
		{-8.5, short, 0.64, 0.01}, {-9, short, 0.33, 0.01}, {-12, medium, 0, 0.77}, {-9, short, 0.22, 0.01}, // 47 to 50
		{-27, slow, 0, 0.9}, {-13, medium, 0, 0.2}, {-24.5, medium, 0, 0.56}, {-16.5, short, 0, 1}, // 51 to 54
		{-15.5, fast, 0, 0.83}, {-15, dead, 0, 0.08}, {-12.5, medium, 0, 0.79}, {-18.5, medium, 0, 0.9}, // 55 to 58
		{-28, medium, 0, 0.89}, {-17.5, dead, 0, 0.05}, {-13.5, dead, 0, 0}, {-18, dead, 0, 0.04}, // 59 to 62
		{-12, dead, 0.01, 0}, {-9, dead, 0.08, 0}, {-11, short, 0, 0.05}, {-9, short, 0.13, 0.01}, // 63 to 66
		{-17, dead, 0, 0.65}, {-15.5, dead, 0, 0.65}, {-17, dead, 0, 0.98}, {-21, dead, 0, 1}, // 67 to 70
		{-9, short, 0, 0.35}, {-4, fast, 0, 0.12}, {-16.5, dead, 0, 0.94}, {-17, fast, 0, 0.96}, // 71 to 74
		{-17, dead, 0, 0.25}, {-15, dead, 0, 0.05}, {-13.5, dead, 0, 0.04}, {-10, short, 0, 0.01}, // 75 to 78
		{-10, short, 0.01, 0}, {-27, dead, 0, 0.99}, {-16.5, fast, 0, 0.98}, {-18, dead, 0, 0.97}, // 79 to 82
		{-13, short, 0, 0.9}, {-12.5, fast, 0, 0.97}, {-27.5, dead, 0, 0.6}, {-14, dead, 0.3, 0.02}, // 83 to 86
		{-5, fast, 0.76, 0}, // 87
	}
	return hits[key-firstDrum]
}

// roleKey returns a key of the percussion map that sounds as a role does, 0 for one that says nothing.
func roleKey(r song.Role) uint8 {
	switch r {
	case song.RoleKick:
		return 36
	case song.RoleSnare:
		return 38
	case song.RoleClap:
		return 39
	case song.RoleRim:
		return 37
	case song.RoleTom:
		return 45
	case song.RoleHat:
		return 42
	case song.RoleOpenHat:
		return 46
	case song.RoleCrash:
		return 49
	case song.RoleRide:
		return 51
	case song.RoleShaker:
		return 82
	}
	return 0
}

// drum returns the instrument of a drum: that of a key of the percussion map, or, for keys that it has not, of
// percussion that is short and neither low nor bright.
func drum(key uint8) instrument {
	h := hit{-17, dead, 0.02, 0.5}
	if key >= firstDrum && key <= lastDrum {
		h = hitOf(key)
	}
	power := float64(fromDB(h.energy) * h.fall.nepers())
	return instrument{power: bands{float64(power * h.low), float64(power * (1 - h.low - h.high)), float64(power * h.high)}, fall: h.fall, drum: true}
}
