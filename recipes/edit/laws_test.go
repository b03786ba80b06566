package edit_test

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/recipes"
	"loopdraft/recipes/edit"
	"loopdraft/smf/oracle"

	"github.com/google/go-cmp/cmp"
)

type named struct{ name, text string }

// corpus returns recipes of mixed styles: those that come with the program, each written out for a loop, those of the
// README, each sentence of its table within a recipe, and some made by hand; with other line ends too.
func corpus(t testing.TB) []named {
	t.Helper()
	var out []named
	for _, info := range recipes.Builtins() {
		text, _ := recipes.BuiltinText(info.Name)
		out = append(out, named{info.Name, string(text)})
		r, _ := recipes.Builtin(info.Name)
		draft, err := recipes.Draft(demo(t), r, recipes.Options{})
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, named{info.Name + ", written out", string(draft.WriteRecipe())})
	}
	return append(out, short(t)...)
}

// short are the recipes that are not long.
func short(t testing.TB) []named {
	t.Helper()
	var out []named
	readme, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	for i, block := range strings.Split(string(readme), "```yaml\n")[1:] {
		text, _, _ := strings.Cut(block, "```")
		out = append(out, named{fmt.Sprintf("README %d", i+1), text})
	}
	_, table, _ := strings.Cut(string(readme), "<!-- sentences:")
	table, _, _ = strings.Cut(table, "<!-- end -->")
	for i, row := range strings.Split(strings.TrimSpace(table), "\n")[3:] {
		said, lines, _ := strings.Cut(strings.Trim(row, "| "), " | ")
		lines, _, _ = strings.Cut(lines, "`, where ")
		sections := "sections:   # " + said + "\n  - {name: intro, bars: 16}\n  - {name: break, bars: 16, play: [stab, pad]}\n  - {name: build, bars: 8}\n  - {name: drop, bars: 16}\n"
		moves := "\nmoves:\n- mute: {part: kick, over: last 1 bar of build}   # out\n"
		for _, line := range strings.Split(strings.Trim(lines, "`"), "` and `") {
			switch {
			case strings.HasPrefix(line, "--"):
			case strings.HasPrefix(line, "{name:"):
				sections += "  - " + line + "\n"
			default:
				moves += "- " + line + "\n"
			}
		}
		text := sections + moves
		switch i % 4 {
		case 1:
			text = strings.ReplaceAll(text, "\n", "\r\n")
		case 2:
			text = "\uFEFF" + strings.TrimSuffix(text, "\n")
		}
		out = append(out, named{said, text})
	}
	for i, text := range byHand() {
		out = append(out, named{fmt.Sprintf("by hand %d", i+1), text})
	}
	return out
}

// byHand are recipes in styles that are allowed and seldom.
func byHand() []string {
	return []string{
		"{sections: [{name: a, bars: 8}, {name: b, bars: 16, play: [kick, hat from 9]}], moves: [{mute: {part: kick, over: b}}, {thin: {part: hat, keep: 50%}}]}",
		"{\n  sections: [\n    {name: a, bars: 8},   # ä\n    {name: b, bars: 16,\n     play: [kick,   # low\n            hat from 9,\n           ]},\n  ],\n  moves: [\n    {mute: {part: kick,\n            over: b}}\n  ]\n}\n",
		"sections:\n- name: a\n  bars: 8\n- \n  name: b\n  bars: 16\n  play:\n  - kick\n\n  # between\n  - hat from 9\n\n# and\nmoves:\n- mute:\n    part:\n    - kick\n    - hat\n    over: b   #\ttabs\tin it\n- thin:\n    part: hat\n    keep: 50%",
		"\"sections\":\n  - \"name\": \"a\"\n    'bars': '8'\n  - \"name\": 'b'\n    \"bars\": \"16\"\n    'play': ['kick', \"hat from 9\"]\n\"moves\":\n  - 'mute': {'part': \"kick\", over: 'last 1 bar of b'}\n  - {\"thin\": {\"part\": 'hat', \"keep\": '50%'}}\n",
		"# Ünïcödé ☃\nparts: {stab: {role: stab, name: 'Ünïcödé ☃'}}   # ☃\nsections: [{name: a, bars: 8}, {name: b, bars: 16}]   # ☃ ☃\nmoves: [{mute: {part: kick, over: a}}, {mute: {part: hat, over: b}}]\n",
		"--- # a document\nlength: 24 bars\nsections:\n    -   name:   a\n        bars:   8\n    -   {name:  b,   bars:  16 }\nmoves:\n    -   mute:    {part:  kick ,  over: b }\n    -   thin:\n            part:   hat\n            keep:   50%\n...\n",
		"sections:\n  - name: >-\n      a\n    bars: 8\n    play:\n      - |-\n        kick\n      - hat\n        from\n        5\n  - name: b\n    bars: 16\nmoves:\n  - mute:\n      part: |-\n        kick\n      over: last 1 bar\n        of b\n  - mute: {part: hat}\n",
		"sections:\n  - one of:\n      - - {name: a, bars: 8}\n        - {name: b, bars: 16, play: [kick]}\n      - {name: a, bars: 24}\n    as: form\n  - {name: c, bars: {one of: [8, 16]}, play: {one of: [[kick], [hat]], as: who}}\nmoves:\n  - one of: [{mute: {part: kick, over: c}}, {mute: {part: hat, over: c}}]\n  - thin: {part: {one of: [hat, ride]}, keep: 50%}\n",
		"sections: {one of: [[{name: a, bars: 8}, {name: b, bars: 8}], [{name: a, bars: 16}]], as: form}\nmoves:\n- one of:\n  - - mute: {part: kick, over: a}\n    - mute: {part: hat, over: a}\n  - mute: {part: bass, over: a}\n",
		"seed: 3\r\n\r\nsections:\r\n  - {name: a, bars: 8}\r\n\r\n  - {name: b, bars: 16}   # b\r\n\r\n\r\nmoves:\r\n  - mute: {part: kick, over: a}\r\n\r\n  # late\r\n  - mute: {part: hat, over: b}",
		"sections:\n  - {name: a, bars: 8}\n  - {name: a, bars: 8, play: [kick]}\n  - {name: a, like: a 1}\n  - {name: b, bars: 8, energy: 3 dB under a 2}\nmoves:\n  - mute: {part: kick, over: [a 1, last 2 bars of every a, every section but a 2]}\n  - hit: {sound: crash, at: [a 3, end of b]}\n",
	}
}

// section is what an edit may change of a section.
type section struct {
	Name, Kind      string
	Bars            int
	Play, Energy    string
	Add, Loop, Over string
	Like            string
	RunOn           bool
	Least           int
	PlayIsLeftOut   bool
}

// model is what a recipe says, by what its parser makes of it.
type model struct {
	Length   string
	Sections []section
	Steps    []string
}

func modelOf(r *recipes.Recipe) model {
	m := model{Length: fmt.Sprint(r.Length.Texts())}
	for _, s := range r.Sections {
		m.Sections = append(m.Sections, section{s.Name, string(s.Kind), s.Bars, s.Play.String(), s.Energy.String(), s.Add.String(), s.Loop, s.Over, s.Like, s.RunOn, s.Least, s.Play.IsZero()})
	}
	for _, s := range r.Moves {
		m.Steps = append(m.Steps, stepText(s))
	}
	return m
}

func stepText(s recipes.StepSpec) string {
	text := s.Step.Name()
	for _, g := range option.ValuesOf(s.Step) {
		text += fmt.Sprintf(" %s=%q", g.Name, g.Texts)
	}
	return text
}

// kind is a kind of edit: with a number from 0 it makes one for a recipe, and changes the recipe itself likewise.
type kind struct {
	name  string
	made  func(n int, r *recipes.Recipe) edit.Edit
	alike func(n int, r *recipes.Recipe)
}

func kinds() []kind {
	sec := func(n int, r *recipes.Recipe) int { return n % max(len(r.Sections), 1) }
	step := func(n int, r *recipes.Recipe) int { return n % max(len(r.Moves), 1) }
	bars := func(r *recipes.Recipe, change func()) {
		sum := func() (n int) {
			for _, s := range r.Sections {
				n += s.Bars
			}
			return n
		}
		before := sum()
		change()
		if after := sum(); r.Length.Bars == before && after > 0 {
			r.Length.Bars = after
		}
	}
	return []kind{
		{"longer", func(n int, r *recipes.Recipe) edit.Edit {
			return edit.Bars{Section: sec(n, r), Bars: r.Sections[sec(n, r)].Bars + 8}
		}, func(n int, r *recipes.Recipe) { bars(r, func() { r.Sections[sec(n, r)].Bars += 8 }) }},
		{"moved", func(n int, r *recipes.Recipe) edit.Edit {
			return edit.MoveSection{Section: sec(n, r), To: sec(n+1+n%2, r)}
		}, func(n int, r *recipes.Recipe) {
			s := r.Sections[sec(n, r)]
			r.Sections = slices.Delete(slices.Clone(r.Sections), sec(n, r), sec(n, r)+1)
			at := (n + 1 + n%2) % (len(r.Sections) + 1)
			r.Sections = slices.Insert(r.Sections, at, s)
		}},
		{"doubled", func(n int, r *recipes.Recipe) edit.Edit { return edit.DoubleSection{Section: sec(n, r)} },
			func(n int, r *recipes.Recipe) {
				bars(r, func() { r.Sections = slices.Insert(slices.Clone(r.Sections), sec(n, r), r.Sections[sec(n, r)]) })
			}},
		{"removed", func(n int, r *recipes.Recipe) edit.Edit { return edit.RemoveSection{Section: sec(n, r)} },
			func(n int, r *recipes.Recipe) {
				bars(r, func() { r.Sections = slices.Delete(slices.Clone(r.Sections), sec(n, r), sec(n, r)+1) })
			}},
		{"energy", func(n int, r *recipes.Recipe) edit.Edit {
			return edit.Energy{Section: sec(n, r), Energy: [][]string{{"rising"}, {"52%..58%"}, {"-9 dB..-7 dB"}, {"80%", "70%"}}[n%4]}
		}, nil},
		{"section's phase", func(n int, r *recipes.Recipe) edit.Edit {
			return edit.SetSectionKey{Section: sec(n, r), Option: edit.Option{Name: "phase", Texts: []string{"run-on"}}}
		}, nil},
		{"renamed", func(n int, r *recipes.Recipe) edit.Edit { return edit.Rename{Section: sec(n, r), Name: "zenith"} }, nil},
		{"step added", func(n int, r *recipes.Recipe) edit.Edit {
			return edit.AddStep{At: n % (len(r.Moves) + 1), Move: "reverse", Options: []edit.Option{{Name: "part", Texts: []string{"kick", "hat"}}, {Name: "over", Texts: []string{"bars 1-2"}}}}
		}, func(n int, r *recipes.Recipe) {
			m, _ := recipes.Catalogue().Lookup("reverse")
			s := m.New()
			_ = m.Set(s, "part", []string{"kick", "hat"}, true)
			_ = m.Set(s, "over", []string{"bars 1-2"}, false)
			r.Moves = slices.Insert(slices.Clone(r.Moves), n%(len(r.Moves)+1), recipes.StepSpec{Step: s})
		}},
		{"step changed", func(n int, r *recipes.Recipe) edit.Edit {
			name, text := optionOf(r, step(n, r))
			return edit.SetOption{Step: step(n, r), Option: edit.Option{Name: name, Texts: []string{text}}}
		}, func(n int, r *recipes.Recipe) {
			name, text := optionOf(r, step(n, r))
			r.Moves = slices.Clone(r.Moves)
			s := &r.Moves[step(n, r)]
			m, _ := recipes.Catalogue().Lookup(s.Step.Name())
			s.Step = option.Copy(s.Step)
			_ = m.Set(s.Step, name, []string{text}, false)
		}},
		{"step moved", func(n int, r *recipes.Recipe) edit.Edit {
			return edit.MoveStep{Step: step(n, r), To: step(n+1+n%2, r)}
		}, func(n int, r *recipes.Recipe) {
			s := r.Moves[step(n, r)]
			r.Moves = slices.Delete(slices.Clone(r.Moves), step(n, r), step(n, r)+1)
			r.Moves = slices.Insert(r.Moves, (n+1+n%2)%(len(r.Moves)+1), s)
		}},
		{"step removed", func(n int, r *recipes.Recipe) edit.Edit { return edit.RemoveStep{Step: step(n, r)} },
			func(n int, r *recipes.Recipe) {
				r.Moves = slices.Delete(slices.Clone(r.Moves), step(n, r), step(n, r)+1)
			}},
	}
}

// optionOf returns an option of a step that takes any part, span or place, and a value for it.
func optionOf(r *recipes.Recipe, step int) (name, text string) {
	m, _ := recipes.Catalogue().Lookup(r.Moves[step].Step.Name())
	for _, try := range [][2]string{{"over", "bars 3-4"}, {"at", "3.1"}, {"part", "hat"}, {"seed", "7"}} {
		if _, ok := m.Option(try[0]); ok {
			return try[0], try[1]
		}
	}
	return "loud", "bars 5-6"
}

// needs tells whether an edit of a kind needs sections or steps that a recipe has not.
func lacks(k kind, r *recipes.Recipe) bool {
	switch {
	case k.name == "step added":
		return false
	case strings.HasPrefix(k.name, "step"):
		return len(r.Moves) == 0 || k.name == "step moved" && len(r.Moves) < 2
	}
	return len(r.Sections) == 0 || k.name == "moved" && len(r.Sections) < 2 || slices.ContainsFunc(r.Sections, func(s recipes.SectionSpec) bool { return s.Name == "zenith" })
}

// Each kind of edit on each recipe: what is not in the splices stays byte for byte, comments outside of them too; the new
// text says what the recipe says when it is changed as a value; and it drafts to the same bytes.
func TestEditsOfManyRecipes(t *testing.T) {
	all := corpus(t)
	if len(all) < 50 {
		t.Fatalf("got %d recipes, want 50", len(all))
	}
	loop := demo(t)
	every := oracle.Size(11, 5, 1)
	compared, draftsAlike := map[string]int{}, map[string]int{}
	for i, one := range all {
		before, err := recipes.Parse("a.yaml", []byte(one.text))
		if err != nil {
			t.Fatalf("%s: %v", one.name, err)
		}
		hangs := slices.ContainsFunc(before.Sections, func(s recipes.SectionSpec) bool { return s.Like != "" })
		chooses := strings.Contains(one.text, "one of")
		for _, k := range kinds() {
			for n := i; n < i+oracle.Size(1, 4, 8); n++ {
				if lacks(k, before) {
					continue
				}
				e := k.made(n, before)
				text, splices, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(one.text)}, e)
				if err != nil {
					if !mayRefuse(err) {
						t.Errorf("%s, %s %+v: %v", one.name, k.name, e, err)
					}
					continue
				}
				checkBytes(t, one.text, string(text), splices)
				if s := append(splices, edit.Splice{})[0]; k.name != "removed" && k.name != "moved" && s.To-s.From > 200 {
					t.Errorf("%s, %s %+v: %d bytes are replaced, %q", one.name, k.name, e, s.To-s.From, one.text[s.From:s.To])
				}
				after, err := recipes.Parse("a.yaml", text)
				if err != nil {
					if k.name != "moved" && k.name != "doubled" && k.name != "removed" && !chooses {
						t.Errorf("%s, %s %+v: %v\n%s", one.name, k.name, e, err, text)
					}
					continue
				}
				if k.alike == nil || hangs && !strings.HasPrefix(k.name, "step") {
					continue
				}
				want, _ := recipes.Parse("a.yaml", []byte(one.text))
				k.alike(n, want)
				if diff := cmp.Diff(modelOf(want), modelOf(after)); diff != "" {
					t.Errorf("%s, %s %+v: %s\n%s", one.name, k.name, e, diff, text)
				}
				if compared[k.name]++; chooses || compared[k.name]%every != 0 {
					continue
				}
				got, errGot := recipes.Draft(loop, after, recipes.Options{})
				wanted, errWant := recipes.Draft(loop, want, recipes.Options{})
				if errGot != nil || errWant != nil {
					if (errGot == nil) != (errWant == nil) {
						t.Errorf("%s, %s %+v: got %v, want %v", one.name, k.name, e, errGot, errWant)
					}
					continue
				}
				draftsAlike[k.name]++
				a, _ := got.File.Encode()
				b, _ := wanted.File.Encode()
				if !bytes.Equal(a, b) {
					t.Errorf("%s, %s %+v: drafts to other bytes", one.name, k.name, e)
				}
			}
		}
	}
	t.Log("compared", compared, "drafts", draftsAlike)
	for _, k := range kinds() {
		if k.alike != nil && (compared[k.name] < oracle.Size(35, 50, 50) || draftsAlike[k.name] == 0) {
			t.Errorf("%s: compared %d recipes and %d drafts", k.name, compared[k.name], draftsAlike[k.name])
		}
	}
}

// mayRefuse tells whether an edit may be refused: where it would leave or enter a choice.
func mayRefuse(err error) bool { return strings.Contains(err.Error(), "choice (one of)") }

// checkBytes holds what the splices say against the two texts, and what is outside of them against each other.
func checkBytes(t *testing.T, before, after string, splices []edit.Splice) {
	t.Helper()
	var b strings.Builder
	at := 0
	for _, s := range splices {
		if s.From < at {
			t.Fatalf("splices overlap: %v", splices)
		}
		b.WriteString(before[at:s.From] + string(s.Text))
		at = s.To
	}
	b.WriteString(before[at:])
	if b.String() != after {
		t.Errorf("splices say\n%q\ngot\n%q", b.String(), after)
	}
	bare := func(text string) bool { return strings.ContainsAny(strings.ReplaceAll(text, "\r\n", ""), "\r\n") }
	if strings.Contains(before, "\r\n") && !bare(before) && bare(after) {
		t.Errorf("line ends are mixed:\n%q", after)
	}
}

// A rename changes nothing but the name: the draft has the same notes.
func TestRenamesDraftTheSame(t *testing.T) {
	loop := demo(t)
	checked := 0
	for i, one := range corpus(t) {
		r, err := recipes.Parse("a.yaml", []byte(one.text))
		if err != nil || i%oracle.Size(5, 1, 1) != 0 || len(r.Sections) == 0 {
			continue
		}
		before, err := recipes.Draft(loop, r, recipes.Options{})
		if err != nil {
			continue
		}
		for n := range min(len(before.Song.Sections), oracle.Size(3, 20, 20)) {
			text, _, err := edit.Apply(edit.Source{File: "a.yaml", Text: []byte(one.text), Taken: before.Taken}, edit.Rename{Section: n, Name: "zenith"})
			if err != nil {
				if !mayRefuse(err) {
					t.Errorf("%s: %v", one.name, err)
				}
				continue
			}
			after, err := recipes.Parse("a.yaml", text)
			if err != nil {
				t.Errorf("%s: %v", one.name, err)
				continue
			}
			draft, err := recipes.Draft(loop, after, recipes.Options{Taken: before.Taken})
			if err != nil {
				t.Errorf("%s, %d: %v\n%s", one.name, n, err, text)
				continue
			}
			if draft.Song.Sections[n].Name != "zenith" {
				t.Errorf("%s: section %d is called %s", one.name, n, draft.Song.Sections[n].Name)
			}
			if draft.Song.Sections[n].Kind != before.Song.Sections[n].Kind {
				t.Errorf("%s: section %d has the kind %s, want %s", one.name, n, draft.Song.Sections[n].Kind, before.Song.Sections[n].Kind)
			}
			composite := regexp.MustCompile("lead-in|freshen|emphasise|mend").MatchString(one.text) // which choose by the seed of their texts
			if a, b := whereMoved(before), whereMoved(draft); a != b && !composite {
				t.Errorf("%s, rename of %d: %s", one.name, n, cmp.Diff(a, b))
			}
			for k := range before.Song.Sections {
				if a, b := barsPlayed(before, k), barsPlayed(draft, k); !cmp.Equal(a, b) {
					t.Errorf("%s, rename of %d: section %d: %s", one.name, n, k, cmp.Diff(a, b))
				}
			}
			checked++
		}
	}
	t.Log(checked, "renames")
	if checked < 20 {
		t.Errorf("checked %d", checked)
	}
}

// whereMoved tells where each step of a draft was at work that chooses nothing by chance.
func whereMoved(r *recipes.Result) string {
	var out strings.Builder
	for _, c := range r.Changes {
		if slices.Contains([]string{"mute", "hit", "ride", "roll", "shape", "plain", "layer", "drone"}, c.Move) {
			fmt.Fprintln(&out, c.Step, c.Move, c.Parts, c.Ranges)
		}
	}
	return out.String()
}

// A hundred edits by chance, some of them taken back or made again, and then all taken back: the first bytes are there.
func TestEditsAndUndos(t *testing.T) {
	all := corpus(t)
	for seed := range uint64(oracle.Size(1, 30, 200)) {
		rng := rand.New(rand.NewPCG(seed, 21))
		one := all[rng.IntN(len(all))]
		h := edit.NewHistory([]byte(one.text))
		texts, at := []string{one.text}, 0
		for done := 0; done < oracle.Size(20, 100, 100); {
			switch rng.IntN(4) {
			case 0:
				if h.Undo() != (at > 0) {
					t.Fatal("undo says another thing")
				}
				at = max(at-1, 0)
			case 1:
				if h.Redo() != (at+1 < len(texts)) {
					t.Fatal("redo says another thing")
				}
				at = min(at+1, len(texts)-1)
			default:
				r, err := recipes.Parse("a.yaml", h.Text())
				k := kinds()[rng.IntN(len(kinds()))]
				if err != nil || lacks(k, r) {
					if !h.Undo() {
						done++
						continue
					}
					at--
					break
				}
				text, _, err := edit.Apply(edit.Source{Text: h.Text()}, k.made(rng.IntN(1000), r))
				done++
				if err != nil || string(text) == texts[at] {
					break
				}
				h.Do(text)
				texts, at = append(texts[:at+1], string(text)), at+1
			}
			if string(h.Text()) != texts[at] {
				t.Fatalf("seed %d: got\n%s\nwant\n%s", seed, h.Text(), texts[at])
			}
		}
		for h.Undo() {
		}
		if string(h.Text()) != one.text {
			t.Errorf("seed %d: got\n%s\nwant\n%s", seed, h.Text(), one.text)
		}
	}
}

func TestAHistoryIsBounded(t *testing.T) {
	h := edit.NewHistory(nil)
	for i := range 40 {
		h.Do(bytes.Repeat([]byte{byte(i)}, 1<<20))
	}
	undone := 0
	for h.Undo() {
		undone++
	}
	if undone < 3 || undone > 4 {
		t.Errorf("got %d changes back, want the last 8 MiB of them", undone)
	}
}

// FuzzEdit edits any text: nothing panics, what is outside of the splices stays, and what could be read can be read.
func FuzzEdit(f *testing.F) {
	for i, one := range short(f) {
		f.Add([]byte(one.text), uint8(i), uint8(i/7), "rising")
	}
	f.Add([]byte("a: &a [1]\nsections: [*a, {name: a, bars: 8, <<: *a}]"), uint8(1), uint8(0), "x: y")
	f.Add([]byte("? sections\n: - ? name\n    : a\n    ? bars\n    : 8\n"), uint8(0), uint8(0), "'")
	f.Fuzz(func(t *testing.T, text []byte, what, n uint8, value string) {
		if len(text) > 1<<14 {
			return
		}
		i, to := int(n%16), int(n/16)
		e := []edit.Edit{
			edit.Bars{Section: i, Bars: to}, edit.MoveSection{Section: i, To: to}, edit.DoubleSection{Section: i}, edit.RemoveSection{Section: i},
			edit.Energy{Section: i, Energy: []string{value}}, edit.Energy{Section: i}, edit.Energy{Section: i, Energy: []string{value, "50%"}},
			edit.Rename{Section: i, Name: value}, edit.Rename{Section: i, Name: "zenith"},
			edit.AddStep{At: i, Move: "mute", Options: []edit.Option{{Name: "part", Texts: []string{value}}}}, edit.AddStep{At: i, Move: value},
			edit.SetOption{Step: i, Option: edit.Option{Name: "part", Texts: []string{value}}}, edit.SetOption{Step: i, Option: edit.Option{Name: value}},
			edit.MoveStep{Step: i, To: to}, edit.RemoveStep{Step: i}, edit.Play{Section: i, Part: value, First: 1, Last: 1},
			edit.SetKey{Option: edit.Option{Name: "length", Texts: []string{value}}}, edit.SetKey{Option: edit.Option{Name: value}},
			edit.SetSectionKey{Section: i, Option: edit.Option{Name: "play", Texts: []string{value}, List: true}}, edit.SetSectionKey{Section: i, Option: edit.Option{Name: "bars", Texts: []string{value}}},
			edit.SetSectionKey{Section: i, Option: edit.Option{Name: "play", List: true}}, edit.SetKey{Option: edit.Option{Name: "input", Texts: []string{value, "b"}}},
		}[what%22]
		after, splices, err := edit.Apply(edit.Source{File: "a.yaml", Text: text, Taken: []int{to}}, e)
		if err != nil {
			var all *recipes.Errors
			if !errors.As(err, &all) || len(all.List) == 0 {
				t.Fatalf("%T is no mistake of a recipe: %v", err, err)
			}
			return
		}
		checkBytes(t, string(text), string(after), splices)
		if _, err := recipes.Parse("a.yaml", text); err != nil {
			return
		}
		_, err = recipes.Parse("a.yaml", after)
		var all *recipes.Errors
		if errors.As(err, &all) {
			for _, m := range all.List {
				if m.Path == "" && m.Want == "" {
					t.Fatalf("%v\n%s", err, after)
				}
			}
		}
	})
}
