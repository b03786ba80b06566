package recipes_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"loopdraft/recipes"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// drafts keeps what several tests make of the same loops by the same built-in recipes. Nobody changes a draft.
var drafts struct {
	sync.Mutex
	made map[string]*drafted
}

// drafted is a draft, and how it is heard by somebody who has the file alone, without its markers.
type drafted struct {
	once      sync.Once
	got       *recipes.Result
	err       error
	heardOnce sync.Once
	heard     song.Song
	structure form.Structure
}

// draftedBuiltin drafts a loop, which goes by a name of its own, by a built-in recipe with nothing asked for beside it.
func draftedBuiltin(t *testing.T, loop string, inputs []recipes.Input, name string) *drafted {
	t.Helper()
	key := fmt.Sprintf("%s (%d), %s", strings.TrimSuffix(loop, ".mid"), len(inputs), name)
	drafts.Lock()
	if drafts.made == nil {
		drafts.made = map[string]*drafted{}
	}
	d := drafts.made[key]
	if d == nil {
		d = &drafted{}
		drafts.made[key] = d
	}
	drafts.Unlock()
	d.once.Do(func() {
		r, _ := recipes.Builtin(name)
		d.got, d.err = recipes.Draft(inputs, r, recipes.Options{})
	})
	if d.err != nil {
		t.Fatal(d.err)
	}
	return d
}

// heardAgain hears the structure of the draft's file.
func (d *drafted) heardAgain(t *testing.T) (song.Song, form.Structure) {
	t.Helper()
	d.heardOnce.Do(func() {
		d.heard = heardAgain(t, d.got.File)
		d.structure, d.err = form.StructureOf(d.heard, 0)
	})
	if d.err != nil {
		t.Fatal(d.err)
	}
	return d.heard, d.structure
}
