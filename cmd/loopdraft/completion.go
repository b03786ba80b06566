package main

import (
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/moves/review"
	"loopdraft/recipes"
	"loopdraft/smf/song"
)

// completeCommand is the command that the shells' scripts ask for words.
const completeCommand = "complete-words"

func completionCommand() command {
	return command{
		name:  "completion",
		usage: "SHELL",
		brief: "print the completion script of a shell: " + listed(shells()),
		about: `Load it when the shell starts:
  bash   source <(loopdraft completion bash)
  zsh    source <(loopdraft completion zsh), after compinit
  fish   loopdraft completion fish | source`,
		min: 1, max: 1, what: "one of " + listed(shells()),
		run: runCompletion,
	}
}

func completionWords() command {
	return command{
		name:  completeCommand,
		usage: "WORD...",
		brief: "print the words that may stand in place of the last one, a line each; none: file names",
		min:   0, max: -1,
		hidden: true,
		run:    runCompleteWords,
	}
}

func shells() []string { return []string{"bash", "zsh", "fish"} }

func runCompletion(c *console, ctx *cli.Context) error {
	switch shell := ctx.Args().First(); shell {
	case "bash":
		return c.write(c.out, bashScript)
	case "zsh":
		return c.write(c.out, zshScript)
	case "fish":
		return c.write(c.out, fishScript)
	default:
		return misuse("completion", "found unknown shell %q, want one of %s%s", shell, listed(shells()), meant(song.Nearest(shell, shells())))
	}
}

// The scripts hand over the words up to the cursor, the last one perhaps empty. Where no word comes
// back, the shell completes file names.
const bashScript = `_loopdraft() {
    COMPREPLY=()
    local IFS=$'\n'
    COMPREPLY=($(loopdraft ` + completeCommand + ` "${COMP_WORDS[@]:1:COMP_CWORD}" 2>/dev/null))
}
complete -o bashdefault -o default -F _loopdraft loopdraft
`

const zshScript = `_loopdraft() {
    local -a found
    found=(${(f)"$(loopdraft ` + completeCommand + ` "${(@)words[2,CURRENT]}" 2>/dev/null)"})
    if (( ${#found} )); then
        compadd -- $found
    else
        _files
    fi
}
compdef _loopdraft loopdraft
`

const fishScript = `function __loopdraft_words
    set -l typed (commandline -opc) (commandline -ct)
    set -l found (loopdraft ` + completeCommand + ` $typed[2..-1] 2>/dev/null)
    if test (count $found) -gt 0
        printf '%s\n' $found
    else
        __fish_complete_path (commandline -ct)
    end
end
complete -c loopdraft -f -a '(__loopdraft_words)'
`

func runCompleteWords(c *console, ctx *cli.Context) error {
	words := candidates(ctx.App, ctx.Args().Slice())
	if len(words) == 0 {
		return nil
	}
	return c.write(c.out, strings.Join(words, "\n")+"\n")
}

// candidates lists the words that may stand in place of the last of the words typed so far.
func candidates(app *cli.App, typed []string) []string {
	if len(typed) <= 1 {
		return starting(typed, append(commandNames(app), "help", "--help", "--version", "--notices"))
	}
	if typed[0] == "help" {
		return starting(typed, commandNames(app))
	}
	cmd := app.Command(typed[0])
	if cmd == nil || slices.Contains(typed[1:len(typed)-1], "--") {
		return nil
	}
	if flag := findFlag(cmd, typed[len(typed)-2]); flag != nil && takesValue(flag) {
		return starting(typed, flagValues(flag))
	}
	if strings.HasPrefix(typed[len(typed)-1], "-") {
		return starting(typed, unusedFlags(cmd, typed[1:len(typed)-1]))
	}
	switch cmd.Name {
	case "moves":
		return starting(typed, moveNames())
	case "recipes":
		return starting(typed, recipeNames())
	case "completion":
		return starting(typed, shells())
	}
	return nil
}

// flagValues lists the values of a flag that are words; none for files and numbers.
func flagValues(f cli.Flag) []string {
	switch f.Names()[0] {
	case "recipe":
		return recipeNames()
	case "split-by":
		return cuttingWords()
	case "level":
		return review.Levels()
	}
	return nil
}

// recipeNames lists the recipes that have a name: the built-in ones, then the user's own.
func recipeNames() []string {
	var names []string
	for _, i := range recipes.Builtins() {
		names = append(names, i.Name)
	}
	return append(names, ownRecipes()...)
}

// unusedFlags lists the flags of a command that were not typed yet.
func unusedFlags(cmd *cli.Command, typed []string) []string {
	var out []string
	for _, f := range cmd.Flags {
		used := false
		for _, n := range f.Names() {
			for _, t := range typed {
				word, _, _ := strings.Cut(t, "=")
				used = used || word == dashed(n)
			}
		}
		if !used {
			out = append(out, dashed(f.Names()[0]))
		}
	}
	return append(out, "--help")
}

// starting keeps the words that begin like the last one typed.
func starting(typed, words []string) []string {
	last := ""
	if len(typed) > 0 {
		last = typed[len(typed)-1]
	}
	var out []string
	for _, w := range words {
		if strings.HasPrefix(w, last) {
			out = append(out, w)
		}
	}
	return out
}
