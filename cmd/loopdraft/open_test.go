//go:build unix

package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"loopdraft/recipes"
	"loopdraft/smf/oracle"
)

// served is a running "loopdraft open" in a folder of its own.
type served struct {
	t                *testing.T
	address          string
	out, diagnostics log
	done             chan int
}

// serve starts "loopdraft open"; it ends with the test.
func serve(t *testing.T, args ...string) *served {
	t.Helper()
	s := &served{t: t, done: make(chan int, 1)}
	go func() {
		s.done <- run(append([]string{"open"}, args...), strings.NewReader(""), &s.out, &s.diagnostics, func(string) string { return "" })
	}()
	eventually(t, "the address", func() bool {
		select {
		case code := <-s.done:
			t.Fatalf("it ended with %d: %s", code, s.diagnostics.String())
		default:
		}
		return strings.Contains(s.out.String(), "\n")
	})
	s.address = strings.TrimSpace(s.out.String())
	t.Cleanup(s.end)
	return s
}

// end interrupts the program, as Ctrl-C does.
func (s *served) end() {
	s.t.Helper()
	if s.done == nil {
		return
	}
	if err := syscall.Kill(os.Getpid(), syscall.SIGINT); err != nil {
		s.t.Fatal(err)
	}
	select {
	case code := <-s.done:
		if code != exitDone {
			s.t.Errorf("got exit code %d after an interrupt, want %d", code, exitDone)
		}
	case <-time.After(30 * time.Second):
		s.t.Fatal("an interrupt does not end it")
	}
	s.done = nil
}

// get asks for something as a page of the program does.
func (s *served) get(path string) (int, string) {
	s.t.Helper()
	got, err := http.Get(s.address + path)
	if err != nil {
		s.t.Fatal(err)
	}
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	return got.StatusCode, string(data)
}

// post asks for something to be done, as the page of an origin.
func (s *served) post(origin, body string) (int, answer) {
	s.t.Helper()
	r, err := http.NewRequest(http.MethodPost, s.address+"act", strings.NewReader(body))
	if err != nil {
		s.t.Fatal(err)
	}
	if origin != "" {
		r.Header.Set("Origin", origin)
	}
	got, err := http.DefaultClient.Do(r)
	if err != nil {
		s.t.Fatal(err)
	}
	defer got.Body.Close()
	data, err := io.ReadAll(got.Body)
	if err != nil {
		s.t.Fatal(err)
	}
	var a answer
	if json.Unmarshal(data, &a) != nil {
		a.Text = string(data)
	}
	return got.StatusCode, a
}

func (s *served) origin() string {
	return regexp.MustCompile(`^http://[^/]+`).FindString(s.address)
}

// act asks for something to be done and returns what the program answers.
func (s *served) act(a action) answer {
	s.t.Helper()
	data, err := json.Marshal(a)
	if err != nil {
		s.t.Fatal(err)
	}
	_, got := s.post(s.origin(), string(data))
	return got
}

// state is what the program tells first to a page that opens.
func (s *served) state() pageState {
	s.t.Helper()
	got, err := http.Get(s.address + "events")
	if err != nil {
		s.t.Fatal(err)
	}
	defer got.Body.Close()
	line := make([]byte, 1<<16)
	n := 0
	for !bytes.Contains(line[:n], []byte("\n\n")) {
		k, err := got.Body.Read(line[n:])
		if n += k; err != nil && !bytes.Contains(line[:n], []byte("\n\n")) { // it may be told to rest right behind it
			s.t.Fatal(err)
		}
	}
	var state pageState
	if err := json.Unmarshal(bytes.TrimPrefix(line[:bytes.IndexByte(line[:n], '\n')], []byte("data: ")), &state); err != nil {
		s.t.Fatal(err)
	}
	return state
}

// inFolder puts a demo loop and a recipe into a folder of the test's own, which becomes the working directory.
func inFolder(t *testing.T, loop, recipe string) (dir string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(loopsDir(), loop))
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	put(t, dir, "loop.mid", string(data))
	if recipe != "" {
		put(t, dir, "mine.yaml", recipe)
	}
	t.Chdir(dir)
	return dir
}

// small is a recipe for the demo loop with a comment, which edits have to keep.
const small = `# mine
phrase: 4 bars
sections:
  - {name: intro, bars: 8, play: [beat]}  # sparse
  - name: drop
    bars: 16
moves:
  - mute: {part: hat, over: last 1 bar of drop}
`

func TestOpenAnswersOnlyThePageItServes(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	if !regexp.MustCompile(`^http://127\.0\.0\.1:\d+/[A-Za-z0-9_-]{22}/$`).MatchString(s.address) {
		t.Errorf("found the address %q", s.address)
	}
	host := strings.TrimPrefix(s.origin(), "http://")
	secret := strings.TrimPrefix(s.address, s.origin())
	for _, tt := range []struct {
		rule, method, path, host, origin string
		want                             int
	}{
		{"the page", "GET", secret, host, "", 200},
		{"the page, asked for by itself", "GET", secret, host, s.origin(), 200},
		{"no secret", "GET", "/", host, "", 404},
		{"no secret, for an action", "POST", "/act", host, s.origin(), 404},
		{"a wrong secret", "GET", "/" + strings.Repeat("A", 22) + "/", host, "", 404},
		{"a part of the secret", "GET", secret[:12] + "/", host, "", 404},
		{"a foreign host, as after DNS rebinding", "GET", secret, "example.org", "", 403},
		{"a foreign host with the port", "GET", secret, strings.Replace(host, "127.0.0.1", "example.org", 1), "", 403},
		{"the name of this machine", "GET", secret, strings.Replace(host, "127.0.0.1", "localhost", 1), "", 403},
		{"a foreign origin", "GET", secret + "events", host, "http://example.org", 403},
		{"an origin that is a file", "GET", secret + "draft/1", host, "null", 403},
		{"an action from a foreign origin", "POST", secret + "act", host, "http://example.org", 403},
		{"an action from nowhere", "POST", secret + "act", host, "", 405},
		{"an action that is none", "POST", secret + "act", host, s.origin(), 400},
		{"another method", "PUT", secret, host, s.origin(), 405},
		{"its head alone", "HEAD", secret, host, "", 200}, // RFC 9110, section 9.1: servers answer GET and HEAD
		{"the head of what has no end", "HEAD", secret + "events", host, "", 404},
		{"a draft that is not there", "GET", secret + "draft/999", host, "", 204},
		{"a file beside", "GET", secret + "../mine.yaml", host, "", 404},
		{"a file that is none", "GET", secret + "save/mine.yaml", host, "", 404},
	} {
		r, err := http.NewRequest(tt.method, s.origin()+tt.path, strings.NewReader("{"))
		if err != nil {
			t.Fatal(err)
		}
		r.Host = tt.host
		if tt.origin != "" {
			r.Header.Set("Origin", tt.origin)
		}
		got, err := http.DefaultTransport.RoundTrip(r)
		if err != nil {
			t.Fatal(err)
		}
		got.Body.Close()
		if allow := got.Header.Get("Allow"); (allow == "GET, HEAD") != (got.StatusCode == 405) { // RFC 9110, section 15.5.6
			t.Errorf("%s: got %d and allowed %q", tt.rule, got.StatusCode, allow)
		}
		if got.StatusCode != tt.want {
			t.Errorf("%s: got %d, want %d", tt.rule, got.StatusCode, tt.want)
		}
		if got.Header.Get("Referrer-Policy") != "no-referrer" || got.Header.Get("Cache-Control") != "no-store" || got.Header.Get("Content-Security-Policy") != "frame-ancestors 'none'" || got.Header.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: found the header %v", tt.rule, got.Header)
		}
	}
	if status, a := s.post(s.origin(), `{"do":"`+strings.Repeat("x", mostOfAct)+`"}`); status != 400 {
		t.Errorf("an action without end: got %d and %q", status, a.Text)
	}
	if status, a := s.post(s.origin(), `{"do":"take","by":1} {"do":"take","by":1}`); status != 400 || s.state().Take != 1 {
		t.Errorf("two actions in one: got %d and %q", status, a.Text)
	}
	if _, page := s.get(""); !strings.Contains(page, "connect-src 'self'; style-src 'sha256-") || !strings.Contains(page, "default-src 'none'") {
		t.Error("found a page without its policy")
	}
}

func TestOpenFollowsWhatIsSaved(t *testing.T) {
	dir := inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	first := s.state()
	if first.Recipe != "mine.yaml" || first.Builtin || len(first.Mistakes) > 0 {
		t.Fatalf("found %+v", first)
	}
	put(t, dir, "mine.yaml", strings.Replace(small, "16", "24", 1))
	eventually(t, "a draft of the recipe that was saved", func() bool { return s.state().Draft > first.Draft })
	second := s.state()
	put(t, dir, "mine.yaml", strings.Replace(small, "mute", "mutte", 1))
	eventually(t, "the mistake in it", func() bool { return len(s.state().Mistakes) > 0 })
	if got := s.state(); got.Draft != second.Draft || !strings.Contains(got.Mistakes[0], `mine.yaml:8:5: `) || !strings.Contains(got.Mistakes[0], `did you mean "mute"?`) || !strings.HasSuffix(got.Mistakes[0], "    ^") {
		t.Errorf("found %+v, want the draft before, and the mistake with its line and caret", got)
	}
	put(t, dir, "mine.yaml", strings.Replace(small, "16", "24", 1))
	eventually(t, "a draft of the recipe that was put right", func() bool { return s.state().Draft > second.Draft })
	third := s.state()

	loop, err := os.ReadFile("loop.mid")
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, "loop.mid", "RIFF")
	eventually(t, "what is wrong with the loop", func() bool { return len(s.state().Mistakes) > 0 })
	if got := s.state(); got.Draft != third.Draft || !strings.HasPrefix(got.Mistakes[0], "loop.mid: ") {
		t.Errorf("found %+v, want the draft before, and what is wrong", got)
	}
	put(t, dir, "loop.mid", string(loop))
	eventually(t, "a draft of the loop that was put right", func() bool { return s.state().Draft > third.Draft && len(s.state().Mistakes) == 0 })
}

func TestOpenShowsTheLoopUntilThereIsADraft(t *testing.T) {
	dir := inFolder(t, "harbour-lights.mid", "sections: 8 bars\n")
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	first := s.state()
	_, draft := s.get("draft/1")
	if len(first.Mistakes) == 0 || !strings.Contains(first.Mistakes[0], "mine.yaml:1:") || !strings.Contains(draft, `"name":"kick"`) {
		t.Errorf("found %+v and %.100q, want the mistake and the loop", first, draft)
	}
	if got := s.act(action{Do: "double", Draft: first.Draft}); !got.Failed {
		t.Errorf("found %+v, want nothing to write in", got)
	}
	put(t, dir, "mine.yaml", small)
	eventually(t, "a draft", func() bool { return s.state().Draft > first.Draft })
	put(t, dir, "mine.yaml", "moves: [")
	eventually(t, "the mistake", func() bool { return len(s.state().Mistakes) == 1 })
	for _, do := range []string{"bars", "add step", "set key"} {
		if got := s.act(action{Do: do, Draft: s.state().Draft, By: 1, Name: "mute"}); !got.Failed || got.Text != errBroken.Error() {
			t.Errorf("%s: found %+v, want %q", do, got, errBroken)
		}
	}
}

// file returns what a file in the working directory holds.
func file(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func TestOpenWritesInTheRecipe(t *testing.T) {
	dir := inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	was := []string{small}
	for _, tt := range []struct {
		rule     string
		a        action
		old, new string // in its text
	}{
		{"a part goes out of a phrase", action{Do: "part", Section: 1, Name: "kick", First: 5, Last: 8}, "    bars: 16\n", "    bars: 16\n    play: [all, kick to 4, kick from 9]\n"},
		{"a part comes in", action{Do: "part", Section: 0, Name: "hat", First: 5, Last: 8}, "play: [beat]", "play: [beat, hat from 5]"},
		{"a section is made longer", action{Do: "bars", Section: 0, By: 1}, "bars: 8,", "bars: 12,"},
		{"a section has another name", action{Do: "rename", Section: 1, Name: "peak"}, "name: drop", "name: peak"},
	} {
		before := file(t, "mine.yaml")
		tt.a.Draft = s.state().Draft
		if got := s.act(tt.a); got.Failed {
			t.Fatalf("%s: %s", tt.rule, got.Text)
		}
		text := file(t, "mine.yaml")
		if want := strings.Replace(before, tt.old, tt.new, 1); text != want {
			t.Errorf("%s: found\n%s\nwant\n%s", tt.rule, text, want)
		}
		was = append(was, text)
	}
	for i := len(was) - 2; i >= 0; i-- {
		if got := s.act(action{Do: "undo"}); got.Failed || file(t, "mine.yaml") != was[i] {
			t.Fatalf("taking change %d back: found %+v and\n%s", i+1, got, file(t, "mine.yaml"))
		}
	}
	if got := s.act(action{Do: "undo"}); !got.Failed || got.Text != "nothing to undo" {
		t.Errorf("found %+v, want nothing left to take back", got)
	}
	if got := s.act(action{Do: "redo"}); got.Failed || file(t, "mine.yaml") != was[1] {
		t.Errorf("made again: found %+v", got)
	}
	s.act(action{Do: "undo"})

	shown := s.state().Draft
	for rule, a := range map[string]action{
		"a draft that is not shown any more": {Do: "double", Draft: shown - 1},
		"a section that is not there":        {Do: "double", Draft: shown, Section: 2},
		"no section":                         {Do: "double", Draft: shown, Section: -1},
		"shorter than a bar":                 {Do: "bars", Draft: shown, By: -2},
		"shorter by more than there is":      {Do: "bars", Draft: shown, By: math.MinInt},
		"before the first":                   {Do: "move", Draft: shown, By: -1},
		"a part that is not there":           {Do: "part", Draft: shown, Name: "<b>", First: 1, Last: 4},
		"bars that are not there":            {Do: "part", Draft: shown, Name: "kick", First: 5, Last: 99},
		"bars before the first":              {Do: "part", Draft: shown, Name: "kick", First: -3, Last: 4},
		"a name that is none":                {Do: "rename", Draft: shown, Name: "\x00"},
		"an action that is none":             {Do: "erase", Draft: shown},
		"a choice that is not there":         {Do: "choice", Name: "form"},
		"a take that was not kept":           {Do: "switch"},
	} {
		if got := s.act(a); !got.Failed || got.Text == "" || file(t, "mine.yaml") != small || s.state().Draft != shown {
			t.Errorf("%s: found %+v, want it refused", rule, got)
		}
	}

	// A sentence that fits no more is a mistake of the recipe, which can be taken back.
	if got := s.act(action{Do: "remove", Draft: shown, Section: 1}); got.Failed {
		t.Fatal(got.Text)
	}
	if got := s.state(); got.Draft != shown || len(got.Mistakes) != 1 || !strings.Contains(got.Mistakes[0], "mine.yaml:") || !strings.Contains(got.Mistakes[0], "drop") {
		t.Errorf("found %+v, want the draft before and what the step misses", got)
	}
	if got := s.act(action{Do: "double", Draft: shown}); !got.Failed {
		t.Errorf("found %+v, want no more edits before it is put right", got)
	}
	if got := s.act(action{Do: "undo"}); got.Failed || file(t, "mine.yaml") != small || len(s.state().Mistakes) > 0 {
		t.Errorf("found %+v, want it taken back", got)
	}

	// What was written meanwhile is not overwritten.
	theirs := strings.Replace(small, "# mine", "# theirs", 1)
	if err := os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(theirs), 0o666); err != nil {
		t.Fatal(err)
	}
	if got := s.act(action{Do: "double", Draft: s.state().Draft}); !got.Failed || file(t, "mine.yaml") != theirs {
		t.Errorf("found %+v and\n%s\nwant what is on the disk to win", got, file(t, "mine.yaml"))
	}
}

// TestOpenChangesSectionsOfBuiltInRecipes: their forms have one length, which goes when one of them gets another.
func TestOpenChangesSectionsOfBuiltInRecipes(t *testing.T) {
	inFolder(t, "harbour-lights.mid", "")
	for _, info := range recipes.Builtins()[:oracle.Size(1, 5, 5)] {
		s := serve(t, "loop.mid", "--recipe", info.Name)
		s.act(action{Do: "name", Name: "my-" + info.Name})
		for _, a := range []action{{Do: "bars", By: 1}, {Do: "double", Section: 1}, {Do: "move", Section: 1, By: 1}, {Do: "bars", Section: 2, By: 1}} {
			before := s.state()
			a.Draft = before.Draft
			if got := s.act(a); got.Failed {
				t.Errorf("%s, %s: found %+v", info.Name, a.Do, got)
			}
			if got := s.state(); len(got.Mistakes) > 0 || got.Draft == before.Draft || !slices.Equal(got.Choices, before.Choices) {
				t.Errorf("%s, %s: found %+v, want a draft with the choices %q", info.Name, a.Do, got, before.Choices)
			}
		}
		s.end()
	}
}

func TestOpenWritesSteps(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	option := func(name string, texts ...string) pageOption { return pageOption{name, texts, false} }
	for _, tt := range []struct {
		rule     string
		a        action
		old, new string // in its text
	}{
		{"a step is added", action{Do: "add step", Step: 1, Name: "thin", Options: []pageOption{option("part", "hat"), option("keep", "50%"), option("by", "even"), option("over", "drop")}},
			"last 1 bar of drop}\n", "last 1 bar of drop}\n  - thin: {part: hat, keep: 50%, by: even, over: drop}\n"},
		{"an option is changed, one more given", action{Do: "set step", Step: 0, Options: []pageOption{option("over", "bar 9", "bar 24")}}, "over: last 1 bar of drop", "over: [bar 9, bar 24]"},
		{"one takes the place of another", action{Do: "set step", Step: 1, Options: []pageOption{option("keep", "beat 1"), option("by")}}, "keep: 50%, by: even, over: drop", "keep: beat 1, over: drop"},
		{"a step is moved", action{Do: "move step", Step: 1, By: -1}, "  - mute: {part: hat, over: [bar 9, bar 24]}\n  - thin: {part: hat, keep: beat 1, over: drop}\n", "  - thin: {part: hat, keep: beat 1, over: drop}\n  - mute: {part: hat, over: [bar 9, bar 24]}\n"},
		{"a step is removed", action{Do: "remove step", Step: 1}, "  - mute: {part: hat, over: [bar 9, bar 24]}\n", ""},
	} {
		before := file(t, "mine.yaml")
		tt.a.Draft = s.state().Draft
		if got := s.act(tt.a); got.Failed {
			t.Fatalf("%s: %s", tt.rule, got.Text)
		}
		if text, want := file(t, "mine.yaml"), strings.Replace(before, tt.old, tt.new, 1); text != want {
			t.Errorf("%s: found\n%s\nwant\n%s", tt.rule, text, want)
		}
		if got := s.act(action{Do: "undo"}); got.Failed || file(t, "mine.yaml") != before {
			t.Errorf("%s, taken back: found %+v and\n%s", tt.rule, got, file(t, "mine.yaml"))
		}
		s.act(action{Do: "redo"})
	}
	if _, got := s.get("steps"); got != `[{"move":"thin","options":[{"name":"part","texts":["hat"]},{"name":"keep","texts":["beat 1"]},{"name":"over","texts":["drop"]}]}]` {
		t.Errorf("found the steps %s", got)
	}
	text, draft := file(t, "mine.yaml"), s.state().Draft
	for _, tt := range []struct {
		rule string
		a    action
		want string
	}{
		{"a move that is none", action{Do: "add step", Name: "mutte"}, `found unknown move "mutte"; did you mean "mute"?`},
		{"a value that is none", action{Do: "set step", Options: []pageOption{option("keep", "beet 1")}}, "mine.yaml:"},
		{"an option that is none", action{Do: "set step", Options: []pageOption{option("keeep", "beat 1")}}, `did you mean "keep"?`},
		{"an option that is needed", action{Do: "set step", Options: []pageOption{option("part")}}, "part"},
		{"a step that is not there", action{Do: "remove step", Step: 9}, "found 9, want 0 to 0"},
		{"no step", action{Do: "set step", Step: -1, Options: []pageOption{option("keep", "beat 1")}}, "found -1, want 0 to 0"},
		{"an action that is none", action{Do: "leave step"}, `found unknown action "leave step"`},
	} {
		tt.a.Draft = draft
		if got := s.act(tt.a); !got.Failed || !strings.Contains(got.Text, tt.want) || file(t, "mine.yaml") != text {
			t.Errorf("%s: found %+v, want it refused by %q", tt.rule, got, tt.want)
		}
	}
	var moves []pageMove
	_, data := s.get("moves")
	if err := json.Unmarshal([]byte(data), &moves); err != nil || len(moves) != len(recipes.Catalogue()) {
		t.Errorf("found %d moves, %v", len(moves), err)
	}
}

func TestOpenGivesABuiltInRecipeAFile(t *testing.T) {
	dir := inFolder(t, "harbour-lights.mid", "")
	s := serve(t, "loop.mid")
	state := s.state()
	edit := action{Do: "bars", Draft: state.Draft, Section: 0, By: 1}
	if got := s.act(edit); !state.Builtin || !got.Failed || got.Name != "mine.yaml" {
		t.Fatalf("found %+v and %+v, want it to ask for a name", state, got)
	}
	put(t, dir, "mine.yaml", small)
	if got := s.act(edit); got.Name != "mine-2.yaml" {
		t.Errorf("found %+v, want a name that is free", got)
	}
	for _, name := range []string{"mine", "mine.yaml", "", ".yaml", "../x", "/tmp/x.yaml", "a/b", `a\b`, "a:b", ".hidden", "a\x1bb", ".."} {
		if got := s.act(action{Do: "name", Name: name}); !got.Failed || file(t, "mine.yaml") != small {
			t.Errorf("%q: found %+v, want it refused", name, got)
		}
	}
	if got := s.act(action{Do: "name", Name: "own"}); got.Failed {
		t.Fatal(got.Text)
	}
	text, _ := recipes.BuiltinText("club")
	if got := s.state(); file(t, "own.yaml") != string(text) || got.Builtin || len(got.Mistakes) > 0 {
		t.Errorf("found %+v, want the recipe in its file", got)
	}
	edit.Draft = s.state().Draft
	if got := s.act(edit); got.Failed || file(t, "own.yaml") == string(text) {
		t.Errorf("found %+v, want it written", got)
	}
	// The outro has a choice of its own, which goes with its energy; the other choices stay as they were.
	for _, want := range []string{"conga rests in bars 1 to 8 of outro", "conga plays in bars 1 to 8 of outro", "conga plays in bars 9 to 16 of outro"} {
		a := action{Do: "part", Draft: s.state().Draft, Section: 8, Name: "conga", First: 1, Last: 8}
		if strings.Contains(want, "9 to 16") {
			a.First, a.Last = 9, 16
		}
		if got := s.act(a); got.Failed || got.Text != want {
			t.Errorf("found %+v, want %q", got, want)
		}
		if got := s.state().Choices; !slices.Equal(got, state.Choices) {
			t.Errorf("%s: found the choices %q, want %q", want, got, state.Choices)
		}
	}
	if got := s.act(action{Do: "name", Name: "other"}); !got.Failed {
		t.Errorf("found %+v, want one file", got)
	}
}

// TestOpenRefusesToWriteWhatIsNoOrdinaryFile puts other things in the recipe's place while it is followed.
func TestOpenRefusesToWriteWhatIsNoOrdinaryFile(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	longer := func() answer { return s.act(action{Do: "bars", Draft: s.state().Draft, Section: 0, By: 1}) }
	put := func(what string, put func() error, want string) {
		t.Helper()
		if err := cmp.Or(os.RemoveAll("mine.yaml"), put()); err != nil {
			t.Fatal(err)
		}
		eventually(t, what, func() bool {
			got := s.state().Mistakes
			return len(got) == 1 && strings.Contains(got[0], want)
		})
		if got := longer(); !got.Failed || !strings.Contains(got.Text, want) {
			t.Errorf("%s: found %+v, want it to say %q", what, got, want)
		}
	}
	whole := func() {
		t.Helper()
		if err := cmp.Or(os.RemoveAll("mine.yaml"), os.WriteFile("mine.yaml", []byte(small), 0o666)); err != nil {
			t.Fatal(err)
		}
		eventually(t, "the recipe again", func() bool { return len(s.state().Mistakes) == 0 })
	}
	put("nothing", func() error { return nil }, "found no such file")
	whole()
	put("a folder", func() error { return os.Mkdir("mine.yaml", 0o777) }, "found a folder")
	whole()
	put("a pipe, which gives nothing", func() error { return syscall.Mkfifo("mine.yaml", 0o666) }, "found a pipe or a device, want a recipe file that can be followed")
	whole()
	put("a device, which gives no end", func() error { return os.Symlink("/dev/zero", "mine.yaml") }, "found a pipe or a device")
	whole()
	if err := os.Chmod("mine.yaml", 0o444); err != nil {
		t.Fatal(err)
	}
	if got := longer(); !got.Failed || !strings.Contains(got.Text, "mine.yaml may only be read") || file(t, "mine.yaml") != small {
		t.Errorf("found %+v, want a file that may only be read to stay as it is", got)
	}
}

// TestOpenEndsWhileItDrafts interrupts it while somebody holds what it drafts by.
func TestOpenEndsWhileItDrafts(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	text, _ := recipes.BuiltinText("club")
	var out, diagnostics log
	c := newConsole(strings.NewReader(""), &out, &diagnostics, func(string) string { return "" })
	s := &session{c: c, loops: loopFiles([]string{"loop.mid"}), recipe: "mine.yaml", choice: choice{take: 1}}
	until, stop := context.WithCancel(t.Context())
	done := make(chan error, 1)
	go func() { done <- s.serve(until, false) }()
	eventually(t, "the address", func() bool { return out.String() != "" })
	s.mu.Lock() // as while it drafts
	if err := os.WriteFile("mine.yaml", text, 0o666); err != nil {
		t.Fatal(err)
	}
	time.Sleep(2 * lookout) // it waits for the draft now
	stop()
	select {
	case err := <-done:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(10 * time.Second):
		t.Error("it does not end before the draft is made")
	}
	if err := s.writeRecipe([]byte(small)); err == nil || file(t, "mine.yaml") != string(text) {
		t.Errorf("found %v, want nothing to be written after its end", err)
	}
	s.mu.Unlock()
}

// TestOpenLetsPagesRest: a browser keeps six connections to one program, and each page that follows takes one.
func TestOpenLetsPagesRest(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	var pages []*bufio.Reader
	for range mostStreams + 2 {
		got, err := http.Get(s.address + "events")
		if err != nil {
			t.Fatal(err)
		}
		defer got.Body.Close()
		page := bufio.NewReader(got.Body)
		if line, err := page.ReadString('\n'); err != nil || !strings.HasPrefix(line, `data: {"draft":1,`) {
			t.Fatalf("found %q, %v", line, err)
		}
		page.ReadString('\n')
		pages = append(pages, page)
	}
	for i, page := range pages[:2] {
		if rest, err := io.ReadAll(page); err != nil || string(rest) != "event: rest\ndata:\n\n" {
			t.Errorf("page %d: found %q, %v, want it to rest", i+1, rest, err)
		}
	}
	s.act(action{Do: "take", By: 1})
	for i, page := range pages[2:] {
		if line, err := page.ReadString('\n'); err != nil || !strings.HasPrefix(line, `data: {"draft":2,`) {
			t.Errorf("page %d: found %q, %v, want it to follow", i+3, line, err)
		}
	}
}

// nameless is a recipe whose choices have no names.
const nameless = `phrase: 4 bars
sections:
  - {name: intro, bars: {one of: [8, 12, 16]}, play: [beat, {one of: [hat, clap]}]}
  - {name: drop, bars: 16}
moves:
  - one of:
      - mute: {part: hat, over: last 1 bar of drop}
      - mute: {part: clap, over: last 1 bar of drop}
`

func TestOpenStepsChoicesWithoutNames(t *testing.T) {
	inFolder(t, "harbour-lights.mid", nameless)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	first := s.state()
	names := func() (out []string) {
		for _, c := range s.state().Choices {
			name, _, _ := strings.Cut(c, "=")
			out = append(out, name)
		}
		return out
	}
	if got := names(); !slices.Equal(got, []string{"line 3", "line 3, choice 2", "line 6"}) {
		t.Fatalf("found choices %q", got)
	}
	if !slices.ContainsFunc([]string{"hat", "clap"}, func(part string) bool {
		return regexp.MustCompile(`^line 6, [12] of 2: \{mute: \{part: ` + part + `, over: last 1 bar of drop\}\}$`).MatchString(first.Ways[2])
	}) {
		t.Errorf("found %q, want what it takes", first.Ways[2])
	}
	for i, n := range []int{3, 2, 2} {
		seen := map[string]bool{}
		for range n {
			got := s.act(action{Do: "choice", Name: names()[i], By: 1})
			if got.Failed {
				t.Fatal(got.Text)
			}
			state := s.state()
			seen[state.Choices[i]] = true
			if got.Text != state.Ways[i] {
				t.Errorf("found %q told, want %q", got.Text, state.Ways[i])
			}
			for k := range state.Choices {
				if k != i && state.Choices[k] != first.Choices[k] {
					t.Errorf("found %q, want all but choice %d as in %q", state.Choices, i+1, first.Choices)
				}
			}
		}
		if len(seen) != n || s.state().Choices[i] != first.Choices[i] {
			t.Errorf("found %v, want all %d and round again", seen, n)
		}
	}
	// An edit keeps them.
	s.act(action{Do: "choice", Name: "line 3", By: 1})
	before := s.state()
	if got := s.act(action{Do: "set key", Draft: before.Draft, Options: []pageOption{{"seed", []string{"5"}, false}}}); got.Failed || !slices.Equal(s.state().Choices, before.Choices) {
		t.Errorf("found %+v and %q, want %q", got, s.state().Choices, before.Choices)
	}
	if got := file(t, "mine.yaml"); got != nameless+"seed: 5\n" {
		t.Errorf("found\n%s", got)
	}
}

func TestOpenWritesKeys(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	option := func(name string, texts ...string) pageOption { return pageOption{name, texts, false} }
	for _, tt := range []struct {
		rule     string
		a        action
		old, new string // in its text
	}{
		{"an energy", action{Do: "set section", Section: 0, Options: []pageOption{option("energy", "rising"), option("kind", "intro")}}, "play: [beat]}", "play: [beat], energy: rising, kind: intro}"},
		{"another", action{Do: "set section", Section: 0, Options: []pageOption{option("energy", "30%..60%", "40%..70%")}}, "energy: rising", "energy: [30%..60%, 40%..70%]"},
		{"none", action{Do: "set section", Section: 0, Options: []pageOption{option("energy"), option("kind")}}, ", energy: [30%..60%, 40%..70%], kind: intro}", "}"},
		{"silence", action{Do: "set section", Section: 0, Options: []pageOption{{"play", nil, true}}}, "play: [beat]", "play: []"},
		{"bars", action{Do: "set section", Section: 1, Options: []pageOption{option("bars", "24")}}, "bars: 16", "bars: 24"},
		{"a seed and a phrase", action{Do: "set key", Options: []pageOption{option("phrase", "8 bars"), option("seed", "3")}}, "phrase: 4 bars", "phrase: 8 bars"},
		{"a length", action{Do: "set key", Options: []pageOption{option("seed"), option("length", "32 bars")}}, "seed: 3", "length: 32 bars"},
	} {
		before := file(t, "mine.yaml")
		tt.a.Draft = s.state().Draft
		got := s.act(tt.a)
		want := strings.Replace(before, tt.old, tt.new, 1)
		if tt.rule == "a seed and a phrase" {
			want += "seed: 3\n"
		}
		if after := file(t, "mine.yaml"); got.Failed || after != want {
			t.Errorf("%s: found %+v and\n%s\nwant\n%s", tt.rule, got, after, want)
		}
	}
	before := file(t, "mine.yaml")
	for _, tt := range []struct {
		rule string
		a    action
		want string
	}{
		{"an energy that is none", action{Do: "set section", Section: 1, Options: []pageOption{option("energy", "7 dB under dropp")}}, "energy"},
		{"a kind that is none", action{Do: "set section", Section: 1, Options: []pageOption{option("kind", "dropp")}}, `did you mean "drop"?`},
		{"a section that is not there", action{Do: "set section", Section: 2, Options: []pageOption{option("kind", "drop")}}, "found no section of the recipe there"},
		{"a length that the sections do not have", action{Do: "set key", Options: []pageOption{option("length", "33 bars")}}, "33 bars"},
		{"a key that is none", action{Do: "set key", Options: []pageOption{option("moves", "x")}}, "found key moves, want one of length, "},
	} {
		tt.a.Draft = s.state().Draft
		if got := s.act(tt.a); !got.Failed || !strings.Contains(got.Text, tt.want) || file(t, "mine.yaml") != before {
			t.Errorf("%s: found %+v and\n%s", tt.rule, got, file(t, "mine.yaml"))
		}
	}
	var keys pageKeys
	if _, data := s.get("keys"); json.Unmarshal([]byte(data), &keys) != nil || len(keys.Sections) != 2 || keys.Section[0].Name != "energy" || keys.Section[1].Name != "kind" || keys.Recipe[0].Name != "length" {
		t.Errorf("found %+v", keys)
	}
	if want := []pageOption{option("name", "intro"), option("bars", "8"), {"play", []string{}, true}}; !reflect.DeepEqual(keys.Sections[0], want) {
		t.Errorf("found %+v, want %+v", keys.Sections[0], want)
	}
}

func TestOpenStepsTakesAndChoices(t *testing.T) {
	inFolder(t, "harbour-lights.mid", "")
	s := serve(t, "loop.mid")
	first := s.state()
	midi := func() string { _, data := s.get("save/midi"); return data }
	drafted := func(args ...string) string {
		t.Helper()
		var stderr strings.Builder
		if code := run(append([]string{"draft", "loop.mid", "-o", "want.mid", "--force"}, args...), strings.NewReader(""), io.Discard, &stderr, func(string) string { return "" }); code != exitDone {
			t.Fatal(stderr.String())
		}
		return file(t, "want.mid")
	}
	if midi() != drafted() {
		t.Error("found another draft than the one that draft makes")
	}
	s.act(action{Do: "keep"})
	for _, by := range []int{1, 1, -1} {
		s.act(action{Do: "take", By: by})
	}
	if got := s.state(); got.Take != 2 || got.Kept != first.Draft || midi() != drafted("--seed", "2") {
		t.Errorf("found %+v, want take 2 beside take 1", got)
	}
	s.act(action{Do: "switch"})
	if got := s.state(); got.Draft != first.Draft || got.Take != 1 || !strings.HasPrefix(got.KeptTake, "take 2, ") || midi() != drafted() {
		t.Errorf("found %+v, want the two changed over", got)
	}
	seen := map[string]bool{}
	for range 5 {
		if got := s.act(action{Do: "choice", Name: "form", By: 1}); got.Failed {
			t.Fatal(got.Text)
		}
		got := s.state()
		seen[got.Choices[0]] = true
		for i, c := range got.Choices[1:] {
			if c != first.Choices[1+i] {
				t.Errorf("found choices %q, want all but the form as in %q", got.Choices, first.Choices)
			}
		}
	}
	if len(seen) != 5 || s.state().Choices[0] != first.Choices[0] || midi() != drafted() {
		t.Errorf("found forms %v, want all five, and round again", seen)
	}
	s.act(action{Do: "choice", Name: "form", By: -1})
	if got := s.state().Choices[0]; got == first.Choices[0] {
		t.Errorf("found %s, want the form before", got)
	}
}

func TestOpenSaves(t *testing.T) {
	inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	for form, start := range map[string]string{"midi": "MThd", "split": "PK", "recipe": "", "picture": "<svg "} {
		got, err := http.Get(s.address + "save/" + form)
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(got.Body)
		got.Body.Close()
		if name := got.Header.Get("Content-Disposition"); err != nil || !strings.HasPrefix(string(data), start) || !strings.HasPrefix(name, "attachment; filename=loop-draft.") {
			t.Errorf("%s: found %q and %.20q", form, name, data)
		}
		if _, err := recipes.Parse("saved", data); form == "recipe" && err != nil {
			t.Error(err)
		}
		if form == "split" {
			z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
			if err != nil || len(z.File) < 2 {
				t.Errorf("found %v files, %v", z, err)
			}
		}
	}
}

func TestOpenLeavesNothingBehind(t *testing.T) {
	dir := inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	events, err := http.Get(s.address + "events") // somebody listens
	if err != nil {
		t.Fatal(err)
	}
	defer events.Body.Close()
	s.act(action{Do: "double", Draft: s.state().Draft, Section: 0})
	s.end()
	if _, err := io.ReadAll(events.Body); err != nil {
		t.Logf("whoever listens is told: %v", err)
	}
	if _, err := http.Get(s.address); err == nil {
		t.Error("found the page after the program has ended")
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 2 {
		t.Errorf("found %v, want the loop and the recipe", entries)
	}
	again := serve(t, "loop.mid", "--recipe", "mine.yaml")
	if again.address == s.address {
		t.Errorf("found the address %s again", s.address)
	}
	if got := again.state(); len(got.Mistakes) > 0 {
		t.Errorf("found %q", got.Mistakes)
	}
}

// TestOpenTheBrowser puts a program in the place of the one that opens addresses.
func TestOpenTheBrowser(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("xdg-open is how Linux opens an address")
	}
	dir := inFolder(t, "harbour-lights.mid", small)
	t.Setenv("PATH", dir)
	none := serve(t, "loop.mid", "--browser")
	eventually(t, "word that there is no browser", func() bool { return strings.Contains(none.diagnostics.String(), "found no browser to open") })
	none.end()
	if err := os.WriteFile(filepath.Join(dir, "xdg-open"), []byte("#!/bin/sh\necho \"$@\" > opened\n"), 0o777); err != nil {
		t.Fatal(err)
	}
	s := serve(t, "loop.mid", "--browser")
	eventually(t, "the address in the browser", func() bool {
		data, err := os.ReadFile("opened")
		return err == nil && string(data) == s.address+"\n"
	})
}

func TestOpenByManyAtOnce(t *testing.T) {
	dir := inFolder(t, "harbour-lights.mid", small)
	s := serve(t, "loop.mid", "--recipe", "mine.yaml")
	ctx, stop := context.WithCancel(t.Context())
	var listening, acting sync.WaitGroup
	for range 4 {
		listening.Go(func() {
			r, err := http.NewRequestWithContext(ctx, http.MethodGet, s.address+"events", nil)
			if err != nil {
				return
			}
			if got, err := http.DefaultClient.Do(r); err == nil {
				io.Copy(io.Discard, got.Body) // until it is told to stop
				got.Body.Close()
			}
		})
	}
	for n := range 4 {
		acting.Go(func() {
			for k := range 5 {
				draft := s.state().Draft
				switch (n + k) % 4 {
				case 0:
					s.act(action{Do: "part", Draft: draft, Section: 1, Name: "hat", First: 1, Last: 4})
				case 1:
					s.act(action{Do: "take", By: 1})
				case 2:
					s.act(action{Do: "undo"})
				default:
					os.WriteFile(filepath.Join(dir, "mine.yaml"), []byte(small), 0o666)
				}
				s.get("")
				s.get("save/midi")
			}
		})
	}
	acting.Wait()
	stop()
	listening.Wait()
	put(t, dir, "mine.yaml", small)
	before := s.state().Draft
	put(t, dir, "mine.yaml", "# last\n"+small)
	eventually(t, "the last draft", func() bool { got := s.state(); return got.Draft > before && len(got.Mistakes) == 0 })
}

func TestOpenWantsFiles(t *testing.T) {
	inFolder(t, "harbour-lights.mid", "")
	for _, tt := range []struct {
		args []string
		want string
		code int
	}{
		{[]string{"open", "-"}, "found -, want files", exitUsage},
		{[]string{"open", "loop.mid", "--recipe", "-"}, "found -, want files", exitUsage},
		{[]string{"open"}, "found nothing, want one MIDI file or more", exitUsage},
		{[]string{"open", "gone.mid"}, "gone.mid: no such file", exitFailure},
		{[]string{"open", "a=loop.mid", "--join"}, "found --join and a loop with a name", exitUsage},
	} {
		var out, diagnostics log
		if code := run(tt.args, strings.NewReader(""), &out, &diagnostics, func(string) string { return "" }); code != tt.code || !strings.Contains(diagnostics.String(), tt.want) || out.String() != "" {
			t.Errorf("%q: got exit code %d, %q and %q", tt.args, code, out.String(), diagnostics.String())
		}
	}
}
