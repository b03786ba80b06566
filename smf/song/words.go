package song

import (
	"slices"
	"strconv"
	"unicode"
)

// Role is the instrument a part plays the part of.
type Role string

// The roles. Unknown is the role of a part nothing is known about; Trigger is a sidechain source
// without a sound of its own.
const (
	RoleKick    Role = "kick"
	RoleSnare   Role = "snare"
	RoleClap    Role = "clap"
	RoleRim     Role = "rim"
	RoleHat     Role = "hat"
	RoleOpenHat Role = "open-hat"
	RoleShaker  Role = "shaker"
	RoleRide    Role = "ride"
	RoleCrash   Role = "crash"
	RoleTom     Role = "tom"
	RolePerc    Role = "perc"
	RoleBass    Role = "bass"
	RoleSub     Role = "sub"
	RoleLead    Role = "lead"
	RoleStab    Role = "stab"
	RoleChords  Role = "chords"
	RoleArp     Role = "arp"
	RolePad     Role = "pad"
	RoleStrings Role = "strings"
	RoleFX      Role = "fx"
	RoleVocal   Role = "vocal"
	RoleDrone   Role = "drone"
	RoleTrigger Role = "trigger"
	RoleUnknown Role = "unknown"
)

// Roles returns every role, in the order they are listed to people.
func Roles() []Role {
	return []Role{RoleKick, RoleSnare, RoleClap, RoleRim, RoleHat, RoleOpenHat, RoleShaker, RoleRide, RoleCrash, RoleTom, RolePerc, RoleBass, RoleSub,
		RoleLead, RoleStab, RoleChords, RoleArp, RolePad, RoleStrings, RoleFX, RoleVocal, RoleDrone, RoleTrigger, RoleUnknown}
}

// Job is what a part does in an arrangement; the jobs partition every loop. A trigger has none.
type Job string

// The jobs.
const (
	NoJob       Job = ""
	JobBeat     Job = "beat"
	JobBackbeat Job = "backbeat"
	JobTops     Job = "tops"
	JobPerc     Job = "perc"
	JobBass     Job = "bass"
	JobBed      Job = "bed"
	JobHook     Job = "hook"
	JobExtra    Job = "extra"
)

// Jobs returns every job, in the order they are listed to people.
func Jobs() []Job {
	return []Job{JobBeat, JobBackbeat, JobTops, JobPerc, JobBass, JobBed, JobHook, JobExtra}
}

// Kind is what a section is for.
type Kind string

// The kinds of section; NoKind where neither the name nor the recipe says one.
const (
	NoKind     Kind = ""
	KindIntro  Kind = "intro"
	KindGroove Kind = "groove"
	KindBreak  Kind = "break"
	KindBuild  Kind = "build"
	KindDrop   Kind = "drop"
	KindOutro  Kind = "outro"
)

// Kinds returns the kinds of section.
func Kinds() []Kind { return []Kind{KindIntro, KindGroove, KindBreak, KindBuild, KindDrop, KindOutro} }

// Groups returns the names of the groups of parts.
func Groups() []string { return []string{"all", "drums", "music", "low"} }

// InGroup tells whether a part belongs to the group: all, drums (beat, backbeat, tops, perc), music
// (bass, hook, bed, extra) or low (kick, bass, sub). A trigger is in none.
func (p Part) InGroup(group string) bool {
	if p.Role == RoleTrigger {
		return false
	}
	switch group {
	case "all":
		return true
	case "drums":
		return p.Job == JobBeat || p.Job == JobBackbeat || p.Job == JobTops || p.Job == JobPerc
	case "music":
		return p.Job == JobBass || p.Job == JobHook || p.Job == JobBed || p.Job == JobExtra
	case "low":
		return p.Role == RoleKick || p.Role == RoleBass || p.Role == RoleSub
	}
	return false
}

// Controller is what an automation writes: a control change 0..119, pitch bend or channel pressure.
type Controller int

// The controllers that are not control changes.
const (
	Bend     Controller = 128 // 14 bit, 0..16383, centre 8192
	Pressure Controller = 129 // channel pressure, 0..127
)

// NamedControllers lists the controllers that have a word.
func NamedControllers() []Controller {
	return []Controller{74, 71, 91, 93, 7, 11, 10, 1, Bend, Pressure}
}

// Word returns the name of a controller, or its number: MIDI 1.0 table 3, RP-021 and RP-023.
func (c Controller) Word() string {
	switch c {
	case 74:
		return "cutoff"
	case 71:
		return "resonance"
	case 91:
		return "reverb"
	case 93:
		return "chorus"
	case 7:
		return "volume"
	case 11:
		return "expression"
	case 10:
		return "pan"
	case 1:
		return "modulation"
	case Bend:
		return "bend"
	case Pressure:
		return "pressure"
	}
	return strconv.Itoa(int(c))
}

// Max returns the largest value of the controller.
func (c Controller) Max() int {
	if c == Bend {
		return 16383
	}
	return 127
}

// Of returns the controller an event sets and the value it sets it to; false for other events.
func (e Event) Of() (Controller, int, bool) {
	switch e.Kind() {
	case 0xB0:
		if e.Data1() >= 120 {
			return 0, 0, false
		}
		return Controller(e.Data1()), int(e.Data2()), true
	case 0xD0:
		return Pressure, int(e.Data1()), true
	case 0xE0:
		return Bend, int(e.Data1()) | int(e.Data2())<<7, true
	}
	return 0, 0, false
}

// Default returns the value a controller has before anything sets it, and false where none is
// known. Volume 100, pan 64, expression 127, pedals 64-67 and modulation 0, bend centre, pressure 0:
// General MIDI System Level 1 Developer Guidelines, 2nd revision, and MMA RP-015.
func (c Controller) Default() (int, bool) {
	switch c {
	case 7:
		return 100, true
	case 10:
		return 64, true
	case 11:
		return 127, true
	case 1, 64, 65, 66, 67, Pressure:
		return 0, true
	case Bend:
		return 8192, true
	}
	return 0, false
}

// RankOf orders the parts of a job for NAME N: hat, open-hat, shaker, ride; the other jobs in the
// order in which their roles are listed to people, but extra parts by their turn. Parts of one rank stay in song order.
func RankOf(r Role) int { return slices.Index(Roles(), r) }

// IsName tells whether a text may name a part or a section, but for the words that mean something else: letters of any
// script, digits 0 to 9 and hyphens, a letter first, none in upper case.
func IsName(text string) bool {
	for i, r := range text {
		switch {
		case unicode.IsLetter(r) && !unicode.IsUpper(r) && !unicode.IsTitle(r):
		case i > 0 && (r >= '0' && r <= '9' || r == '-'):
		default:
			return false
		}
	}
	return text != ""
}
