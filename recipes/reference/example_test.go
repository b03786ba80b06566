package reference_test

import (
	"encoding/json"
	"fmt"

	"loopdraft/moves"
	"loopdraft/recipes/reference"
)

func ExampleSchema() {
	var s struct {
		Title    string
		Required []string
	}
	err := json.Unmarshal(reference.Schema(), &s)
	fmt.Println(s.Title, s.Required, err)
	// Output: loopdraft recipe [] <nil>
}

func ExampleOptionText() {
	thin, _ := moves.All().Lookup("thin")
	keep, _ := thin.Option("keep")
	fmt.Println(reference.OptionText(keep))
	// Output: share of the onsets that stays, or the beats of each bar on which they stay; a percentage from 0.01% to 100%, or beats such as beat 1 or beats 1 and 3 (required)
}
