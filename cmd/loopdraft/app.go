package main

import (
	_ "embed"
	"runtime/debug"

	"github.com/urfave/cli/v2"
)

// command is one command of the program.
type command struct {
	name     string
	usage    string // what follows the name
	brief    string // one line for the list of commands
	about    string // paragraphs for its help
	flags    []cli.Flag
	min, max int // names (files, moves, recipes) it takes; max -1: any number
	what     string
	hidden   bool
	run      func(*console, *cli.Context) error
}

// commands returns the commands in the order help lists them.
func commands() []command {
	return []command{
		draftCommand(), openCommand(), partsCommand(), mapCommand(), reviewCommand(), studyCommand(), recipesCommand(), movesCommand(),
		completionCommand(), completionWords(),
	}
}

// newApp makes the program for the flag library, which parses what [arrange] has put in order,
// finds the command and prints help.
func newApp(c *console) *cli.App {
	app := &cli.App{
		Name:            program,
		HelpName:        program,
		Usage:           "turn a loop into a track of full length",
		UsageText:       program + " COMMAND FILE... [flags]\n" + program + " help COMMAND",
		Description:     "The loop is a Standard MIDI File. A recipe says, bar by bar, what plays and what happens;\nthe same loop, recipe and seed always give the same track.",
		HideHelpCommand: true,
		HideVersion:     true,
		Writer:          c.help,
		ErrWriter:       c.diagnostics,
		ExitErrHandler:  func(*cli.Context, error) {}, // the exit code is run's business
		OnUsageError:    asMisuse(""),
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "version", Usage: "print the version", DisableDefaultText: true},
			&cli.BoolFlag{Name: "notices", Usage: "print the licences of the program and of what is built into it", DisableDefaultText: true},
		},
		Action: func(ctx *cli.Context) error {
			if ctx.Bool("notices") {
				return c.write(c.out, notices)
			}
			return c.write(c.out, program+" "+version()+"\n")
		},
	}
	for _, cmd := range commands() {
		app.Commands = append(app.Commands, &cli.Command{
			Name:            cmd.name,
			Usage:           cmd.brief,
			UsageText:       program + " " + cmd.name + " " + cmd.usage,
			Description:     cmd.about,
			Flags:           cmd.flags,
			Hidden:          cmd.hidden,
			HideHelpCommand: true, // else a file named "help" or "h" would be one
			OnUsageError:    asMisuse(cmd.name),
			Action: func(ctx *cli.Context) error {
				if n := ctx.NArg(); n < cmd.min || cmd.max >= 0 && n > cmd.max {
					return misuse(cmd.name, "found %s, want %s", foundNames(ctx.Args().Slice()), cmd.what)
				}
				return cmd.run(c, ctx)
			},
		})
	}
	return app
}

func asMisuse(command string) cli.OnUsageErrorFunc {
	return func(_ *cli.Context, err error, _ bool) error { return misuse(command, "%s", err) }
}

// usageOf returns the usage of a command in one line.
func usageOf(name string) string {
	for _, c := range commands() {
		if c.name == name {
			return program + " " + name + " " + c.usage + "; " + program + " help " + name + " explains it"
		}
	}
	return program + " COMMAND"
}

func foundNames(names []string) string {
	if len(names) == 0 {
		return "nothing"
	}
	return visible(listed(names))
}

// notices are the licences that ask to go with a binary; the test of the same name writes them.
//
//go:embed notices.txt
var notices string

// version is the version the program was built as.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" {
		return info.Main.Version
	}
	return "(devel)"
}
