package main

import (
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/recipes"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// maxBars is the most bars a draft may be told to have.
const maxBars = 9999

// values reads the values of a command's flags. All numbers are decimal digits: the flag library
// would read 010 as 8 and take 0x10. The first mistake is kept.
type values struct {
	ctx *cli.Context
	err error
}

func (v *values) wrong(flag, want string) {
	if v.err == nil {
		v.err = misuse(v.ctx.Command.Name, "found --%s %s, want %s", flag, visible(v.ctx.String(flag)), want)
	}
}

// count reads a whole number from 1 to most; 0 if the flag is not there.
func (v *values) count(flag string, most int, unit string) int {
	if !v.ctx.IsSet(flag) {
		return 0
	}
	n, ok := smf.ParseDigits(v.ctx.String(flag))
	if !ok || n < 1 || n > uint64(most) {
		v.wrong(flag, "a whole number of "+unit+" from 1 to "+strconv.Itoa(most))
		return 0
	}
	return int(n)
}

// cutting reads how a draft is split, by part if the flag is not there.
func (v *values) cutting(flag string) song.Cutting {
	if !v.ctx.IsSet(flag) {
		return song.ByPart
	}
	by := song.Cutting(v.ctx.String(flag))
	if words := cuttingWords(); !slices.Contains(song.Cuttings(), by) {
		v.wrong(flag, or(words)+meant(song.Nearest(string(by), words)))
	}
	return by
}

// cuttingWords lists the values of --split-by.
func cuttingWords() []string {
	var out []string
	for _, by := range song.Cuttings() {
		out = append(out, string(by))
	}
	return out
}

// seed reads a seed; nil if the flag is not there.
func (v *values) seed(flag string) *uint64 {
	if !v.ctx.IsSet(flag) {
		return nil
	}
	n, ok := smf.ParseDigits(v.ctx.String(flag))
	if !ok {
		v.wrong(flag, "a whole number from 0 to 18446744073709551615")
		return nil
	}
	return &n
}

// choices reads alternatives such as break=2; nil if the flag is not there.
func (v *values) choices(flag string) []recipes.Choice {
	var out []recipes.Choice
	for _, text := range v.ctx.StringSlice(flag) {
		name, number, ok := strings.Cut(text, "=")
		n, whole := smf.ParseDigits(number)
		if !ok || !whole || name == "" || n < 1 || n > recipes.MaxAlternatives {
			if v.err == nil {
				v.err = misuse(v.ctx.Command.Name, "found --%s %s, want NAME=N such as break=2", flag, visible(text))
			}
			return nil
		}
		out = append(out, recipes.Choice{Name: name, N: int(n)})
	}
	return out
}

// bpm reads a tempo, quarter notes a minute, as thousandths; 0 if the flag is not there.
func (v *values) bpm(flag string) int64 {
	if !v.ctx.IsSet(flag) {
		return 0
	}
	n, ok := smf.ParseTempo(v.ctx.String(flag))
	if !ok {
		v.wrong(flag, "a tempo from 4 to 999 beats a minute, such as 126 or 126.5")
		return 0
	}
	return n
}

// metre reads a metre; the zero value if the flag is not there.
func (v *values) metre(flag string) smf.Metre {
	if !v.ctx.IsSet(flag) {
		return smf.Metre{}
	}
	m, ok := smf.ParseMetre(v.ctx.String(flag))
	if !ok {
		v.wrong(flag, "a metre such as 4/4 or 7/8: 1 to 255 beats, of a 1, 2, 4, 8, 16, 32 or 64th note")
		return smf.Metre{}
	}
	return m
}

// length reads a length; zeros if the flag is not there.
func (v *values) length(flag string) (bars int, micros int64) {
	if !v.ctx.IsSet(flag) {
		return 0, 0
	}
	bars, micros, err := recipes.ParseLength(v.ctx.String(flag))
	if err != nil || bars < 0 || bars > maxBars || bars == 0 && micros <= 0 {
		v.wrong(flag, "a length such as 6m30s, or 1 to 9999 bars")
		return 0, 0
	}
	return bars, micros
}
