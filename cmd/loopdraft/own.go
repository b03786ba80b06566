package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"

	"loopdraft/recipes"
)

// ownEnding is what the files of the user's own recipes end in.
const ownEnding = ".yaml"

// ownFolder is where the user's own recipes stand; "" where the system knows no such place.
func ownFolder() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "loopdraft", "recipes")
}

// ownRecipes returns the names of the user's own recipes, in order. A built-in one of the same name comes first, so
// that it is not listed.
func ownRecipes() []string {
	folder := ownFolder()
	if folder == "" {
		return nil
	}
	entries, err := os.ReadDir(folder)
	if err != nil { // as a rule there is none
		return nil
	}
	var out []string
	for _, e := range entries {
		name, ok := strings.CutSuffix(e.Name(), ownEnding)
		if _, builtin := recipes.BuiltinText(name); ok && name != "" && isWord(name) && !builtin && !e.IsDir() {
			out = append(out, name)
		}
	}
	slices.Sort(out)
	return out
}

// ownRecipe returns the file of one of the user's own recipes; false if there is none of the name.
func ownRecipe(name string) (file string, ok bool) {
	if !slices.Contains(ownRecipes(), name) {
		return "", false
	}
	return filepath.Join(ownFolder(), name+ownEnding), true
}
