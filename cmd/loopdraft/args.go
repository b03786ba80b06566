package main

import (
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"loopdraft/smf/song"
)

// arrange checks a command line and brings it into the order the flag library reads: command,
// flags as --name=value, "--", names. The library by itself takes a flag that stands after a file
// name for a file name, and the last of repeated flags without a word.
func arrange(args []string, app *cli.App) ([]string, error) {
	if len(args) == 0 {
		return []string{program, "--help"}, nil
	}
	switch first := args[0]; {
	case first == "--help" || first == "-h":
		return []string{program, "--help"}, nil
	case first == "--version" || first == "--notices":
		return []string{program, first}, nil
	case first == "help":
		return arrangeHelp(args[1:], app)
	case first == completeCommand:
		return append([]string{program, first, "--"}, args[1:]...), nil
	case strings.HasPrefix(first, "-"):
		return nil, misuse("", "found flag %q before the command, want --help, --version, --notices or one of %s%s", first,
			listed(commandNames(app)), meant(song.Nearest(first, []string{"--help", "--version", "--notices"})))
	}
	cmd := app.Command(args[0])
	if cmd == nil {
		return nil, unknownCommand(args[0], app)
	}
	flags, names, err := split(cmd, args[1:])
	if err != nil {
		return nil, err
	}
	words := append([]string{program, cmd.Name}, flags...)
	return append(append(words, "--"), names...), nil
}

func arrangeHelp(args []string, app *cli.App) ([]string, error) {
	switch {
	case len(args) == 0 || args[0] == "--help" || args[0] == "-h":
		return []string{program, "--help"}, nil
	case app.Command(args[0]) == nil:
		return nil, unknownCommand(args[0], app)
	case len(args) > 1:
		return nil, misuse("", "help: found %d commands, want one at most", len(args))
	}
	return []string{program, args[0], "--help"}, nil
}

func unknownCommand(name string, app *cli.App) error {
	names := commandNames(app)
	return misuse("", "found unknown command %q, want one of %s%s", name, listed(names), meant(song.Nearest(name, names)))
}

// commandNames lists the commands that help shows.
func commandNames(app *cli.App) []string {
	var out []string
	for _, c := range app.Commands {
		if !c.Hidden {
			out = append(out, c.Name)
		}
	}
	return out
}

// split parts the flags of a command, each as --name=value, from its names. After "--" everything
// is a name.
func split(cmd *cli.Command, args []string) (flags, names []string, err error) {
	var seen []string
	for i := 0; i < len(args); i++ {
		arg := args[i]
		if arg == "--" {
			return flags, append(names, args[i+1:]...), nil
		}
		if arg == "-" || !strings.HasPrefix(arg, "-") {
			names = append(names, arg)
			continue
		}
		word, value, joined := strings.Cut(arg, "=")
		if word == "--help" || word == "-h" {
			return []string{"--help"}, nil, nil
		}
		flag := findFlag(cmd, word)
		if flag == nil {
			all := flagWords(cmd)
			return nil, nil, misuse(cmd.Name, "found unknown flag %q, want one of %s%s", word, listed(all), meant(nearestFlag(word, all)))
		}
		name := flag.Names()[0]
		if _, many := flag.(*cli.StringSliceFlag); slices.Contains(seen, name) && !many {
			return nil, nil, misuse(cmd.Name, "found %s twice, want it once", dashed(name))
		}
		seen = append(seen, name)
		switch {
		case !takesValue(flag):
			if joined {
				return nil, nil, misuse(cmd.Name, "found %q, want %s without a value", arg, dashed(name))
			}
			value = "true"
		case !joined:
			if i+1 == len(args) || looksLikeFlag(args[i+1]) {
				return nil, nil, misuse(cmd.Name, "found %s without a value, want %s", word, flagForm(flag))
			}
			i++
			value = args[i]
		}
		if value == "" {
			return nil, nil, misuse(cmd.Name, "found %s with an empty value, want %s", word, flagForm(flag))
		}
		flags = append(flags, dashed(name)+"="+value)
	}
	return flags, names, nil
}

// looksLikeFlag tells a flag from a value: "-" is a stream and "-3" a number that the flag itself
// will refuse. A file name that begins with a hyphen is written --flag=-name.
func looksLikeFlag(arg string) bool {
	return len(arg) > 1 && arg[0] == '-' && (arg[1] < '0' || arg[1] > '9')
}

func findFlag(cmd *cli.Command, word string) cli.Flag {
	for _, f := range cmd.Flags {
		for _, n := range f.Names() {
			if dashed(n) == word {
				return f
			}
		}
	}
	return nil
}

// flagWords lists a command's flags as they are typed.
func flagWords(cmd *cli.Command) []string {
	var out []string
	for _, f := range cmd.Flags {
		for _, n := range f.Names() {
			out = append(out, dashed(n))
		}
	}
	return append(out, "--help")
}

// nearestFlag finds the flag that was meant, also with the wrong number of hyphens.
func nearestFlag(word string, all []string) string {
	if bare := strings.TrimLeft(word, "-"); slices.Contains(all, dashed(bare)) {
		return dashed(bare)
	}
	return song.Nearest(word, all)
}

func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}

func takesValue(f cli.Flag) bool {
	d, ok := f.(cli.DocGenerationFlag)
	return ok && d.TakesValue()
}

// flagForm is a flag with the name of its value, as in "--bars N".
func flagForm(f cli.Flag) string {
	name := dashed(f.Names()[0])
	if s, ok := f.(*cli.StringFlag); ok {
		return name + " " + placeholder(s.Usage)
	}
	return name
}

// placeholder returns the word in back quotes of a flag's usage text, which help shows as its value.
func placeholder(usage string) string {
	if parts := strings.SplitN(usage, "`", 3); len(parts) == 3 {
		return parts[1]
	}
	return "VALUE"
}
