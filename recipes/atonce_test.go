package recipes_test

import (
	"bytes"
	"fmt"
	"sync"
	"testing"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf/oracle"
)

// TestDraftsMadeAtOnce drafts the same loops by the same recipes, reads, reviews and writes them out, many at a time:
// what comes of it is what comes of one alone, byte for byte. Nothing is kept between drafts that one could take from
// another; .ci/run has the race detector look for it too.
func TestDraftsMadeAtOnce(t *testing.T) {
	t.Parallel()
	made := func(in []recipes.Input, r *recipes.Recipe, o recipes.Options) ([]byte, error) {
		got, err := recipes.Draft(in, r, o)
		if err != nil {
			return nil, err
		}
		file, err := got.File.Encode()
		if err != nil {
			return nil, err
		}
		found, err := review.Review(got.ToReview(), review.Options{Bare: true})
		return fmt.Appendf(file, "%s\n%v\n%v", got.WriteRecipe(), got.Told, found.Findings), err
	}
	loops := demoInputs(t)
	// The same values of recipes and options go into every draft.
	type job struct {
		name   string
		loop   []recipes.Input
		recipe *recipes.Recipe
		o      recipes.Options
	}
	var jobs []job
	for _, name := range []string{"kick-bass", "breakwater", "seven-bells"}[:oracle.Size(1, 3, 3)] {
		for _, info := range recipes.Builtins()[:oracle.Size(2, len(recipes.Builtins()), len(recipes.Builtins()))] {
			r, _ := recipes.Builtin(info.Name)
			jobs = append(jobs, job{name + ", " + info.Name, loops[name], r, recipes.Options{Take: len(jobs) % 2}})
		}
	}
	each := oracle.Size(2, 3, 3)
	got := make([][]byte, each*len(jobs))
	var all sync.WaitGroup
	for i := range got {
		all.Go(func() {
			j := jobs[i%len(jobs)]
			b, err := made(j.loop, j.recipe, j.o)
			if err != nil {
				t.Error(err)
			}
			got[i] = b
		})
	}
	all.Wait()
	for i, j := range jobs {
		want, err := made(j.loop, j.recipe, j.o)
		if err != nil {
			t.Fatal(err)
		}
		for k := i; k < len(got); k += len(jobs) {
			if !bytes.Equal(got[k], want) {
				t.Errorf("%s: a draft made beside others is another", j.name)
			}
		}
	}
}
