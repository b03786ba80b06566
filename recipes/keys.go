package recipes

import (
	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf"
	"loopdraft/smf/song"
)

// Key describes a key of a recipe, of a part or of a section: parser and schema stand on it.
type Key struct {
	Name     string
	Doc      string
	Required bool
	List     bool               // a list of values may be given, also an empty one
	Form     func() option.Form // of a value, made when asked for; nil: it holds keys, a list of them or moves
}

// Keys returns the keys of a recipe in the order they are listed.
func Keys() []Key {
	return []Key{
		{Name: "length", Doc: "length of the track, such as 192 bars or 6m30s; left out, the sum of the sections, else the loop's", Form: where.Extent{}.Form},
		{Name: "phrase", Doc: "something is due to change this often; left out, 8 bars", Form: where.BarsForm},
		{Name: "seed", Doc: "seed of every choice; left out, 0", Form: option.Seed{}.Form},
		{Name: "loop", Doc: "length of the loop, such as 8 bars; left out, as found", Form: where.BarsForm},
		{Name: "bpm", Doc: "tempo of a loop that has none, in beats a minute, such as 126 or 127.5", Form: func() option.Form {
			return option.Form{Numbers: []option.Numbers{{Low: smf.SlowestTempo / 1000, High: smf.FastestTempo / 1000, Decimals: 3}}}
		}},
		{Name: "metre", Doc: "metre of a loop that has none, such as 4/4", Form: func() option.Form {
			return option.Form{Pattern: "0*(?:[1-9][0-9]?|1[0-9]{2}|2[0-4][0-9]|25[0-5])/0*(?:1|2|4|8|16|32|64)"}
		}},
		{Name: "input", Doc: "file names of the loops it was written for; left out, any", List: true, Form: anyText},
		{Name: "loops", Doc: "the loops by name, each a file beside the recipe, or {file: set.mid, bars: 9-16}, or {file: set.mid, marker: chorus}; left out, those that are given"},
		{Name: "substitutes", Doc: "nearest: where the loop lacks a role that is named, the nearest it has takes its place; or a map of roles and those that take their place, where the table is to be another"},
		{Name: "parts", Doc: "parts, each a name and what it is: only where what was found is not what is wanted"},
		{Name: "sections", Doc: "the sections in their order"},
		{Name: "moves", Doc: "the moves, carried out in this order after the sections"},
		{Name: "review", Doc: "rules of thumb that drafts are reviewed by, each with its options, or off; left out, all as they are"},
	}
}

// PartKeys returns the keys of an entry of "parts:" in the order they are listed.
func PartKeys() []Key {
	return []Key{
		{Name: "track", Doc: "the track it stands on, from 1", Form: numbersForm(1, 65535)},
		{Name: "name", Doc: "the name of that track", Form: anyText},
		{Name: "channel", Doc: "the channel it plays on, 1 to 16", Form: numbersForm(1, 16)},
		{Name: "port", Doc: "the port it plays on, 0 to 127", Form: numbersForm(0, 127)},
		{Name: "key", Doc: "the key it plays, 0 to 127, 60 is middle C", Form: numbersForm(0, 127)},
		{Name: "keys", Doc: "the keys it plays, such as [36, 38]", List: true, Form: numbersForm(0, 127)},
		{Name: "loop", Doc: "of several loops the one whose notes they are, beside a track, name, channel or key; left out, all", Form: loopNameForm},
		{Name: "at", Doc: "the beats of the loop that notes of it stand at, such as [1.1, 1.3]", List: true, Form: anyText},
		{Name: "role", Doc: "its role, such as stab", Form: func() option.Form { return likely(song.Roles()) }},
		{Name: "job", Doc: "its job, such as hook", Form: func() option.Form { return likely(song.Jobs()) }},
		{Name: "cycle", Doc: "after how many bars its pattern repeats, such as 2 bars, or of several loops {a: 2 bars, b: 4 bars}; left out, as found", Form: where.BarsForm},
		{Name: "home", Doc: "controllers and the values they rest at, such as {cutoff: 90}"},
		{Name: "mapped", Doc: "controllers that the instrument listens to, such as [cutoff, 71]", List: true, Form: option.ControllerName{}.Form},
		{Name: "tails", Doc: "whether its notes are cut or ring on where it is muted", Form: wordsForm(tailsWords())},
		{Name: "entry", Doc: "whether a note that rings where it comes in is struck again or it waits for the next", Form: wordsForm(entryWords())},
	}
}

// SectionKeys returns the keys of an entry of "sections:" in the order they are listed.
func SectionKeys() []Key {
	return []Key{
		{Name: "name", Doc: "its name, in lower-case letters, digits and hyphens", Required: true, Form: where.SectionNameForm},
		{Name: "kind", Doc: "what it is for; left out, as its name says", Form: wordsForm(kindWords())},
		{Name: "like", Doc: "an earlier section such as drop 1: what is left out here, but for the name, is as it is there", Form: where.SectionForm},
		{Name: "bars", Doc: "its length in bars; needed unless there is like", Form: numbersForm(1, song.MaxBars)},
		{Name: "play", Doc: "its line-up, such as [kick, hat from 9]: bars count inside the section; left out, all play, beside an energy nobody, [] is silence", List: true, Form: where.LineUp{}.Form},
		{Name: "energy", Doc: "how loud it is to be, such as 52%..58% of all parts, 7 dB..9 dB under drop 1, 60%..70% to 75%..85%, a list unit by unit, rising or falling: players are found for it", List: true, Form: Energy{}.Form},
		{Name: "add", Doc: "beside an energy: who may be found to play besides those in play, the most wanted first, such as [hook, bed, lead of b]; left out, as its kind has it", List: true, Form: addForm},
		{Name: "loop", Doc: "the loop that its parts play, such as b: parts that b does not have are silent; b over a lets those play on from a; left out, the first loop", Form: loopForm},
		{Name: "phase", Doc: "where the loop starts: counted back from the section's end (to-end, which counts when left out), or running on (run-on)", Form: wordsForm(phaseWords())},
		{Name: "least", Doc: "bars under which scaling does not take it; left out, 8", Form: numbersForm(1, song.MaxBars)},
	}
}

func keyNames(keys []Key) []string {
	out := make([]string, len(keys))
	for i, k := range keys {
		out[i] = k.Name
	}
	return out
}

func loopNameForm() option.Form {
	return option.Form{Pattern: "[A-Za-z0-9][A-Za-z0-9-]*", Numbers: []option.Numbers{{High: 1 << 53}}}
}

func loopForm() option.Form {
	return option.Form{Pattern: " *[A-Za-z0-9][A-Za-z0-9-]*(?: +over +[A-Za-z0-9][A-Za-z0-9-]*)? *", Numbers: []option.Numbers{{High: 1 << 53}}}
}

// addForm is the form of parts, and of a part of a loop.
func addForm() option.Form {
	form := where.Parts{}.Form()
	form.Pattern = "(?:" + form.Pattern + "|" + where.PartOfLoopPattern() + ")"
	return form
}

func tailsWords() []string { return []string{"cut", "ring"} }
func entryWords() []string { return []string{"restrike", "wait"} }
func phaseWords() []string { return []string{"to-end", "run-on"} }

func kindWords() []string { return texts(song.Kinds()) }

func texts[T ~string](words []T) []string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = string(w)
	}
	return out
}

func anyText() option.Form { return option.Form{Open: true} }

func likely[T ~string](words []T) option.Form { return option.Form{Open: true, Words: texts(words)} }

func wordsForm(words []string) func() option.Form {
	return func() option.Form { return option.Form{Words: words} }
}

func numbersForm(low int, high uint64) func() option.Form {
	return func() option.Form { return option.Form{Numbers: []option.Numbers{{Low: low, High: high}}} }
}
