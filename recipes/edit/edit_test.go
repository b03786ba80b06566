package edit_test

import (
	"strings"
	"testing"

	"loopdraft/recipes/edit"

	"github.com/google/go-cmp/cmp"
)

// Rows are a text, an edit and the text after it; "|" at the end of a line stands for blanks that end it.
func TestEdits(t *testing.T) {
	const (
		block = `# head
sections:
  # the intro
  - name: intro   # first
    bars: 16
    play:
      - kick
      - hat from 9   # late
  # the drop
  - {name: drop, bars: 32}   # all
moves:
  - mute: {part: kick, over: last 1 bar of drop}
# end
`
		lines = `sections: [
    {name: intro, bars: 16},   # one
    {name: break, bars: 8},    # two
    {name: drop, bars: 32}     # three
  ]
`
	)
	for _, tt := range []struct {
		rule, text string
		e          edit.Edit
		want       string
	}{
		{"bars are those digits", block, edit.Bars{Section: 0, Bars: 24}, strings.Replace(block, "bars: 16", "bars: 24", 1)},
		{"quotes stay", "sections: [{name: 'a', bars: \"8\"}]", edit.Bars{Bars: 4}, "sections: [{name: 'a', bars: \"4\"}]"},
		{"a length goes with them", "length: 24 bars # sum\nsections: [{name: a, bars: 8}, {name: b, bars: 16}]\n", edit.Bars{Bars: 16}, "length: 32 bars # sum\nsections: [{name: a, bars: 16}, {name: b, bars: 16}]\n"},
		{"a length goes", "# head\nlength: 24 bars # sum\nphrase: 8 bars\n", edit.NoLength{}, "# head\nphrase: 8 bars\n"},
		{"a section that is like another gets its own bars", "sections: [{name: a, bars: 8}, {name: b, like: a}]", edit.Bars{Section: 1, Bars: 4}, "sections: [{name: a, bars: 8}, {name: b, like: a, bars: 4}]"},
		{"a section moves up with its lines", block, edit.MoveSection{Section: 1, To: 0}, `# head
sections:
  - {name: drop, bars: 32}   # all
  # the intro
  - name: intro   # first
    bars: 16
    play:
      - kick
      - hat from 9   # late
  # the drop
moves:
  - mute: {part: kick, over: last 1 bar of drop}
# end
`},
		{"in a list over lines too", lines, edit.MoveSection{Section: 2, To: 1}, `sections: [
    {name: intro, bars: 16},   # one
    {name: drop, bars: 32},
    {name: break, bars: 8},    # two
  ]
`},
		{"in one line", "sections: [{name: a, bars: 8}, {name: b, bars: 4}, {name: c, bars: 2}]", edit.MoveSection{Section: 0, To: 2}, "sections: [{name: b, bars: 4}, {name: c, bars: 2}, {name: a, bars: 8}]"},
		{"a section is doubled", block, edit.DoubleSection{Section: 0}, strings.Replace(block, "  # the drop\n", `  - name: intro   # first
    bars: 16
    play:
      - kick
      - hat from 9   # late
  # the drop
`, 1)},
		{"a section is removed with its lines", block, edit.RemoveSection{Section: 0}, `# head
sections:
  # the intro
  # the drop
  - {name: drop, bars: 32}   # all
moves:
  - mute: {part: kick, over: last 1 bar of drop}
# end
`},
		{"the last one too", "sections:\n- {name: a, bars: 8}\n- {name: b, bars: 4}", edit.RemoveSection{Section: 1}, "sections:\n- {name: a, bars: 8}"},
		{"the only one leaves a list", "sections:\n- {name: a, bars: 8}\n", edit.RemoveSection{}, "sections:\n []\n"},
		{"a list that begins in its line", "sections:\n  - one of:\n      - - {name: a, bars: 8}\n        - {name: b, bars: 8}\n      - []\n", edit.RemoveSection{}, "sections:\n  - one of:\n      - - {name: b, bars: 8}\n      - []\n"},
		{"an alternative by itself is emptied", "sections: [{one of: [{name: a, bars: 8}, {name: b, bars: 8}]}]", edit.RemoveSection{}, "sections: [{one of: [[], {name: b, bars: 8}]}]"},
		{"or becomes a list", "sections: [{one of: [{name: a, bars: 8}, {name: b, bars: 8}]}]", edit.DoubleSection{}, "sections: [{one of: [[{name: a, bars: 8}, {name: a, bars: 8}], {name: b, bars: 8}]}]"},
		{"an energy is added", "sections:\r\n- name: a\r\n  bars: 8\r\n", edit.Energy{Energy: []string{"52%..58%"}}, "sections:\r\n- name: a\r\n  bars: 8\r\n  energy: 52%..58%\r\n"},
		{"changed", "sections: [{name: a, bars: 8, energy: 'rising'}]", edit.Energy{Energy: []string{"-9 dB..-7 dB"}}, "sections: [{name: a, bars: 8, energy: '-9 dB..-7 dB'}]"},
		{"unit by unit", "sections: [{name: a, bars: 8, energy: [50%, 60%, 70%]}]", edit.Energy{Energy: []string{"50%", "65%", "70%"}}, "sections: [{name: a, bars: 8, energy: [50%, 65%, 70%]}]"},
		{"taken away", "sections:\n- name: a\n  energy: rising\n  bars: 8\n", edit.Energy{}, "sections:\n- name: a\n  bars: 8\n"},
		{"and who may be found for it", "sections:\n- name: a\n  bars: 8\n  energy: rising\n  add: [hat]\n", edit.Energy{}, "sections:\n- name: a\n  bars: 8\n"},
		{"a kind is added", "sections:\n- name: a # first\n  bars: 8\n", sectionKey(0, "kind", "drop"), "sections:\n- name: a # first\n  bars: 8\n  kind: drop\n"},
		{"and taken away", "sections:\n- name: a # first\n  bars: 8\n  kind: drop\n", sectionKey(0, "kind"), "sections:\n- name: a # first\n  bars: 8\n"},
		{"that is not there", "sections:\n- name: a\n  bars: 8\n", sectionKey(0, "kind"), "sections:\n- name: a\n  bars: 8\n"},
		{"silence", "sections: [{name: a, bars: 8}]", edit.SetSectionKey{Option: edit.Option{Name: "play", List: true}}, "sections: [{name: a, bars: 8, play: []}]"},
		{"a line-up of one instead", "sections: [{name: a, bars: 8, play: []}]", edit.SetSectionKey{Option: edit.Option{Name: "play", Texts: []string{"kick"}, List: true}}, "sections: [{name: a, bars: 8, play: [kick]}]"},
		{"an energy goes with who may be found for it", "sections:\n- name: a\n  bars: 8\n  energy: rising\n  add: [hat]\n", sectionKey(0, "energy"), "sections:\n- name: a\n  bars: 8\n"},
		{"the length goes with a section's", "length: 16 bars # all\nsections: [{name: a, bars: 8}, {name: b, bars: 8}]", sectionKey(1, "bars", "12"), "length: 20 bars # all\nsections: [{name: a, bars: 8}, {name: b, bars: 12}]"},
		{"the alternative in use", "sections: [{name: a, bars: 8}, {name: b, bars: {one of: [8, 16]}}]", sectionKey(1, "bars", "12"), "sections: [{name: a, bars: 8}, {name: b, bars: {one of: [12, 16]}}]"},
		{"a seed", "# mine\nseed: 1 # first\nsections: [{name: a, bars: 8}]\n", key("seed", "77"), "# mine\nseed: 77 # first\nsections: [{name: a, bars: 8}]\n"},
		{"a length is added", "seed: 1\r\n", key("length", "6m30s"), "seed: 1\r\nlength: 6m30s\r\n"},
		{"taken away", "length: 8 bars\nseed: 1\n", key("length"), "seed: 1\n"},
		{"the first key", "# mine", key("length", "192 bars"), "# mine\nlength: 192 bars\n"},
		{"behind the mark of the byte order", "\uFEFF", key("seed", "1"), "\uFEFFseed: 1\n"},
		{"in braces", "{seed: 1}", key("metre", "4/4"), "{seed: 1, metre: 4/4}"},
		{"other mistakes are none of its", "sections:\n- {name: a, bars: 8, pley: [x]}\n- {name: b, bars: 0}\n", edit.Energy{Energy: []string{"rising"}}, "sections:\n- {name: a, bars: 8, pley: [x], energy: rising}\n- {name: b, bars: 0}\n"},
		{"lengths of forms may be put right one by one", "length: 8 bars\nsections: [{one of: [{name: a, bars: 8}, {name: b, bars: 8}]}]\n", edit.Bars{Bars: 16}, "length: 16 bars\nsections: [{one of: [{name: a, bars: 16}, {name: b, bars: 8}]}]\n"},
		{"a step is added as the others are", block, edit.AddStep{At: 1, Move: "hit", Options: []edit.Option{{Name: "sound", Texts: []string{"crash"}}, {Name: "at", Texts: []string{"drop"}, List: true}}}, strings.Replace(block, "# end", "  - hit: {sound: crash, at: [drop]}\n# end", 1)},
		{"in a block", "moves:\n- mute:\n    part: kick\n", edit.AddStep{Move: "thin", Options: []edit.Option{{Name: "part", Texts: []string{"hat"}}, {Name: "keep", Texts: []string{"50%"}}}}, "moves:\n- thin:\n    part: hat\n    keep: 50%\n- mute:\n    part: kick\n"},
		{"in brackets", "moves: [{mute: {part: kick}}]", edit.AddStep{At: 1, Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"a b: c"}}}}, ""},
		{"in an empty list", "moves: []", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "moves: [{plain: {part: kick}}]"},
		{"in an empty recipe", "", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "moves:\n  - plain: {part: kick}\n"},
		{"of comments", "# nothing", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "# nothing\nmoves:\n  - plain: {part: kick}\n"},
		{"in braces", "{seed: 1}", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "{seed: 1, moves: [{plain: {part: kick}}]}"},
		{"beside other keys", "seed: 1 # chance\r\n", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "seed: 1 # chance\r\nmoves:\r\n  - plain: {part: kick}\r\n"},
		{"an option is changed", block, edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"hat"}}}, strings.Replace(block, "part: kick", "part: hat", 1)},
		{"added", block, edit.SetOption{Option: edit.Option{Name: "tails", Texts: []string{"ring"}}}, strings.Replace(block, "bar of drop}", "bar of drop, tails: ring}", 1)},
		{"taken away", block, edit.SetOption{Option: edit.Option{Name: "over"}}, strings.Replace(block, ", over: last 1 bar of drop", "", 1)},
		{"made a list", block, edit.SetOption{Option: edit.Option{Name: "over", Texts: []string{"intro", "drop"}}}, strings.Replace(block, "last 1 bar of drop", "[intro, drop]", 1)},
		{"a text over lines is one value", "moves:\n- mute:\n    part: >-\n      kick\n    over: last 1\n      bar\n", edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"hat"}}}, "moves:\n- mute:\n    part: hat\n    over: last 1\n      bar\n"},
		{"the alternative in use", "moves: [{mute: {part: {one of: [kick, hat]}}}]", edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"snare"}}}, "moves: [{mute: {part: {one of: [snare, hat]}}}]"},
		{"a step moves", "moves:\n- mute: {part: a}\n- mute: {part: b}", edit.MoveStep{Step: 1, To: 0}, "moves:\n- mute: {part: b}\n- mute: {part: a}"},
		{"and goes", "moves: [{mute: {part: a}}, {mute: {part: b}}]", edit.RemoveStep{Step: 0}, "moves: [{mute: {part: b}}]"},
		{"a key with its mark goes", "moves:\n- mute:\n    ? part\n    : kick\n    ? over\n    : a\n", edit.SetOption{Option: edit.Option{Name: "over"}}, "moves:\n- mute:\n    ? part\n    : kick\n"},
		{"a key without a value gets one", "sections:\n- name: a\n  bars:\n", edit.Bars{Bars: 4}, "sections:\n- name: a\n  bars: 4\n"},
		{"a list without one too", "moves: # none\n", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "moves: [{plain: {part: kick}}] # none\n"},
		{"line ends of old machines", "seed: 1\rphrase: 8 bars\r", edit.AddStep{Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "seed: 1\rphrase: 8 bars\rmoves:\r  - plain: {part: kick}\r"},
		{"in braces as the one beside it", "moves:\n- {mute: {part: kick}}\n", edit.AddStep{At: 1, Move: "plain", Options: []edit.Option{{Name: "part", Texts: []string{"kick"}}}}, "moves:\n- {mute: {part: kick}}\n- {plain: {part: kick}}\n"},
		{"an empty line is in a text", "moves:\n- mute:\n    part: |-\n      kick\n\n      snare\n    over: a\n", edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"hat"}}}, "moves:\n- mute:\n    part: hat\n    over: a\n"},
		{"a quote in double quotes", `moves: [{mute: {part: "k\"i", over: a}}]`, edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"hat"}}}, `moves: [{mute: {part: "hat", over: a}}]`},
		{"a quote in single quotes", `moves: [{mute: {part: 'k''i', over: a}}]`, edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"hat"}}}, `moves: [{mute: {part: 'hat', over: a}}]`},
		{"a mark of byte order is no column", "\uFEFFsections: [{name: a, bars: 8}]", edit.Bars{Bars: 4}, "\uFEFFsections: [{name: a, bars: 4}]"},
		{"columns are characters", "parts: {\"Ünïcödé ☃\": {role: pad}}\nsections: [{\"name\": 'a', bars: 8}] # ☃", edit.Bars{Bars: 4}, "parts: {\"Ünïcödé ☃\": {role: pad}}\nsections: [{\"name\": 'a', bars: 4}] # ☃"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(tt.text)}, tt.e)
			if err != nil && tt.want != "" {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, string(got)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestRenames(t *testing.T) {
	const head = "sections: [{name: intro, bars: 8}, {name: drop, bars: 8}, {name: break, bars: 8, energy: 7 dB under drop 1}, {name: drop, like: drop 1}]\n"
	for _, tt := range []struct {
		rule, text string
		e          edit.Rename
		want       string
	}{
		{"every sentence that names it", "sections: [{name: a, bars: 8}, {name: b, like: a, energy: 2 dB..4 dB over a}]\nmoves:\n- mute: {part: x, over: [last 1 bar of a, b, every section but a], except: 'bar 1 of a'}\n- hit: {sound: crash, at: end of a}\n",
			edit.Rename{Name: "verse"}, "sections: [{name: verse, bars: 8}, {name: b, like: verse, energy: 2 dB..4 dB over verse}]\nmoves:\n- mute: {part: x, over: [last 1 bar of verse, b, every section but verse], except: 'bar 1 of verse'}\n- hit: {sound: crash, at: end of verse}\n"},
		{"of two the other has no number to bear", head + "moves: [{mute: {part: x, over: drop 2}}, {mute: {part: x, over: drop 1}}]\n", edit.Rename{Section: 1, Name: "zenith"},
			"sections: [{name: intro, bars: 8}, {name: zenith, bars: 8, kind: drop}, {name: break, bars: 8, energy: 7 dB under zenith}, {name: drop, like: zenith}]\nmoves: [{mute: {part: x, over: drop}}, {mute: {part: x, over: zenith}}]\n"},
		{"what meant both becomes two", head + "moves:\n- mute: {part: x, over: last 2 bars of every drop}\n- mute: {part: x, over: [every section but drop, intro]}\n- hit: {sound: crash, at: [every drop, end]}\n", edit.Rename{Section: 3, Name: "outro"},
			"sections: [{name: intro, bars: 8}, {name: drop, bars: 8}, {name: break, bars: 8, energy: 7 dB under drop 1}, {name: outro, like: drop 1}]\nmoves:\n- mute: {part: x, over: [last 2 bars of every drop, last 2 bars of every outro]}\n- mute: {part: x, over: [every section but drop and outro, intro]}\n- hit: {sound: crash, at: [every drop, every outro, end]}\n"},
		{"a kind still means it", "sections: [{name: drop-a, bars: 8}]\nmoves: [{mute: {part: x, over: drop}}]", edit.Rename{Name: "zenith"},
			"sections: [{name: zenith, bars: 8, kind: drop}]\nmoves: [{mute: {part: x, over: drop}}]"},
		{"a number of the new name", "sections: [{name: drop, bars: 8}, {name: break, bars: 8}, {name: drop, bars: 8}]\nmoves: [{mute: {part: x, over: every drop}}, {mute: {part: x, over: break}}]", edit.Rename{Section: 2, Name: "break"},
			"sections: [{name: drop, bars: 8}, {name: break, bars: 8}, {name: break, bars: 8}]\nmoves: [{mute: {part: x, over: [every drop, break 2]}}, {mute: {part: x, over: break 1}}]"},
		{"a kind that becomes a name", "sections: [{name: drop-a, bars: 8}, {name: drop-b, bars: 8}]\nmoves: [{mute: {part: x, over: drop 2}}]", edit.Rename{Name: "drop"},
			"sections: [{name: drop, bars: 8}, {name: drop-b, bars: 8}]\nmoves: [{mute: {part: x, over: drop-b}}]"},
		{"a like knows what is before it alone", "sections: [{name: a, bars: 8}, {name: b, like: a}, {name: a, bars: 8}]", edit.Rename{Name: "verse"},
			"sections: [{name: verse, bars: 8}, {name: b, like: verse}, {name: a, bars: 8}]"},
		{"choices of a step", "sections: [{name: a, bars: 8}]\nmoves: [{mute: {part: x, over: {one of: [a, [last 1 bar of a, all]]}}}]", edit.Rename{Name: "verse"},
			"sections: [{name: verse, bars: 8}]\nmoves: [{mute: {part: x, over: {one of: [verse, [last 1 bar of verse, all]]}}}]"},
		{"all forms share their sentences", "sections: {one of: [[{name: a, bars: 8}], [{name: a, bars: 16}]]}\nmoves: [{mute: {part: x, over: a}}]", edit.Rename{Name: "verse"},
			"sections: {one of: [[{name: verse, bars: 8}], [{name: verse, bars: 16}]]}\nmoves: [{mute: {part: x, over: verse}}]"},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(tt.text)}, tt.e)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, string(got)); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestRefused(t *testing.T) {
	for _, tt := range []struct {
		rule, text string
		e          edit.Edit
		want       string
	}{
		{"a text that is no YAML", "sections: [", edit.Bars{Bars: 4}, "a.yaml:1: did not find expected node content\n    sections: ["},
		{"a section that is not there", "sections: [{name: a, bars: 8}]", edit.RemoveSection{Section: 1}, "a.yaml: sections: found 1, want 0 to 0"},
		{"an alias", "x: &a {name: a, bars: 8}\nsections: [*a]", edit.Bars{Bars: 4}, ""},
		{"an anchor", "sections: [&a {name: a, bars: 8}]", edit.Bars{Bars: 4}, "a.yaml:1:12: sections: found an anchor, want what is changed without one\n    sections: [&a {name: a, bars: 8}]\n               ^"},
		{"a value that the parser refuses", "sections: [{name: a, bars: 8}]", edit.Bars{Bars: 0}, "a.yaml:1:28: sections[1].bars: found 0, want 1 to 9999 bars\n    sections: [{name: a, bars: 0}]\n                               ^"},
		{"an energy", "sections: [{name: a, bars: 8}]", edit.Energy{Energy: []string{"half"}}, ""},
		{"the same by its key", "sections: [{name: a, bars: 8}]", sectionKey(0, "energy", "half"), ""},
		{"a kind that is none", "sections: [{name: a, bars: 8}]", sectionKey(0, "kind", "dropp"), ""},
		{"a name by its key", "sections: [{name: a, bars: 8}]", sectionKey(0, "name", "b"), ""},
		{"a key that is none", "sections: [{name: a, bars: 8}]", sectionKey(0, "x: y", "b"), ""},
		{"a key of the recipe that holds no text", "seed: 1", key("moves", "b"), ""},
		{"a seed that is none", "seed: 1", key("seed", "one"), ""},
		{"a length that the sections do not have", "sections: [{name: a, bars: 8}]", key("length", "9 bars"), ""},
		{"a key behind an anchor", "&a {seed: 1}", key("length", "9 bars"), ""},
		{"bars taken away that are needed", "sections: [{name: a, bars: 8}]", sectionKey(0, "bars"), ""},
		{"a name", "sections: [{name: a, bars: 8}]", edit.Rename{Name: "every"}, "a.yaml:1:19: sections: found \"every\", want a name of lower-case letters, digits and hyphens that is no word of the language\n    sections: [{name: a, bars: 8}]\n                      ^"},
		{"a move", "moves: []", edit.AddStep{Move: "mutte"}, ""},
		{"an option", "moves: [{mute: {part: kick}}]", edit.SetOption{Option: edit.Option{Name: "tails", Texts: []string{"rung"}}}, "a.yaml:1:36: moves[1].mute.tails: found \"rung\", want one of cut, ring; did you mean \"ring\"?\n    moves: [{mute: {part: kick, tails: rung}}]\n                                       ^"},
		{"an item that is a choice", "moves: [{mute: {part: [kick, {one of: [hat, clap]}]}}]", edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"kick"}, List: true}}, "a.yaml:1:30: found a choice (one of), want this change made by hand: the item plays in other takes\n    moves: [{mute: {part: [kick, {one of: [hat, clap]}]}}]\n                                 ^"},
		{"a move into a choice", "sections: [{one of: [[{name: a, bars: 8}, {name: b, bars: 8}], [{name: c, bars: 16}]]}, {name: d, bars: 8}]", edit.MoveSection{Section: 2, To: 1}, ""},
		{"a map that would need braces", "sections: [name: a]", edit.Bars{Bars: 4}, "a.yaml:1:19: found a text that cannot be changed in place, want this change made by hand\n    sections: [name: a]\n                      ^"},
		{"taking away what is needed", "moves: [{mute: {part: kick}}]", edit.SetOption{Option: edit.Option{Name: "part"}}, "a.yaml:1:10: moves[1].mute: found no option \"part\", want part: a part's name, a role, a job, a group or all, or a list of them, or X or Y for the first there is\n    moves: [{mute: {}}]\n             ^"},
		{"an energy that ends too early", "sections: [{name: a, bars: 8, energy: rising}]", edit.Energy{Energy: []string{"50% to"}}, ""},
	} {
		t.Run(tt.rule, func(t *testing.T) {
			got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(tt.text)}, tt.e)
			if err == nil {
				t.Fatalf("got %s", got)
			}
			if diff := cmp.Diff(tt.want, err.Error()); tt.want != "" && diff != "" {
				t.Error(diff)
			}
			if tt.want == "" {
				t.Log(err)
			}
		})
	}
}

// What is in use is what the draft took.
func TestTheAlternativeInUse(t *testing.T) {
	const text = "sections:\n  - one of: [{name: a, bars: 8}, [{name: b, bars: 8}, {name: c, bars: 8}]]\n  - {name: d, bars: {one of: [8, 16]}}\nmoves:\n  - one of: [{mute: {part: kick}}, {mute: {part: hat}}]\n"
	for _, tt := range []struct {
		taken    []int
		e        edit.Edit
		old, now string
	}{
		{[]int{1, 1, 1}, edit.Bars{Section: 1, Bars: 4}, "{name: c, bars: 8}", "{name: c, bars: 4}"},
		{[]int{1, 1, 1}, edit.Bars{Section: 2, Bars: 4}, "[8, 16]", "[8, 4]"},
		{[]int{0, 0, 1}, edit.Bars{Section: 1, Bars: 4}, "[8, 16]", "[4, 16]"},
		{[]int{0, 0, 1}, edit.SetOption{Option: edit.Option{Name: "part", Texts: []string{"clap"}}}, "hat", "clap"},
		{[]int{1, 0, 0}, edit.MoveSection{Section: 0, To: 1}, "[{name: b, bars: 8}, {name: c, bars: 8}]", "[{name: c, bars: 8}, {name: b, bars: 8}]"},
	} {
		got, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(text), Taken: tt.taken}, tt.e)
		if err != nil {
			t.Error(err)
			continue
		}
		if diff := cmp.Diff(strings.Replace(text, tt.old, tt.now, 1), string(got)); diff != "" {
			t.Errorf("%+v: %s", tt.e, diff)
		}
	}
}

func sectionKey(n int, name string, texts ...string) edit.Edit {
	return edit.SetSectionKey{Section: n, Option: edit.Option{Name: name, Texts: texts}}
}

func key(name string, texts ...string) edit.Edit {
	return edit.SetKey{Option: edit.Option{Name: name, Texts: texts}}
}
