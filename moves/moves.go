package moves

import (
	"loopdraft/moves/option"
	"loopdraft/moves/remark"
	"loopdraft/moves/where"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Step is a move with its options filled in. Its exported fields are the options: a step of a
// recipe, a Go literal and a row of a test are the same thing. It is a pointer to a struct, so that options
// can be read into it.
type Step interface {
	// Name returns the name of the move, as a recipe has it.
	Name() string
	// Apply returns what the move makes of the song; it never writes to the one it gets, nor to env. Call it
	// through [Run], which finds the parts and ranges that the options name.
	Apply(env *Env, in song.Song) (Outcome, error)
}

// Target holds the options shared by every move that works on parts over spans. [Run] resolves
// them, so that Apply finds its parts and ranges in the Env.
type Target struct {
	Part   where.Parts `yaml:"part" doc:"the parts it works on" required:"true"`
	Over   where.Spans `yaml:"over" doc:"where it works; left out, over all of the song"`
	Except where.Spans `yaml:"except" doc:"what is cut out of over; what is left of a span that is cut is a span of its own"`
}

func (t *Target) target() *Target { return t }

// Chance holds the option shared by every move that chooses by chance.
type Chance struct {
	Seed option.Seed `yaml:"seed" doc:"seed of its choices; left out, it follows from the recipe's seed and the step"`
}

func (c *Chance) chance() *Chance { return c }

// The groups of moves, in the order they are listed.
const (
	Structure  = "structure"
	Rhythm     = "rhythm"
	Pitch      = "pitch"
	Dynamics   = "length, dynamics"
	Automation = "automation"
	Accents    = "accents"
	Composite  = "composite"
)

// Groups returns the groups of moves in the order they are listed.
func Groups() []string {
	return []string{Structure, Rhythm, Pitch, Dynamics, Automation, Accents, Composite}
}

// Example shows a move at work: tests run it, help and the reference print what it did.
type Example struct {
	Step     Step
	Before   string // a grid, see song.ParseGrid
	Sections string // sections laid over it, such as "intro 1, drop 2", with their bars; "" for none
	After    string // the grid it must give
	Steps    int    // steps a quarter of the grid After; 0: 4
}

// Composer is a move that stands for others: it looks at the song and says which steps answer it, and
// never touches a note itself. Its Apply is [InTurn].
type Composer interface {
	Step
	// Expand returns the steps it stands for, to be carried out in their order on the song it looked at.
	// They name parts and places one by one, and those that choose by chance carry their seed, so that
	// written down they do the same again. It writes neither to the song nor to env. Call it through
	// [Expand], which finds the parts and ranges that its options name.
	Expand(env *Env, in song.Song) (Expansion, error)
}

// Expansion is what a composite move stands for on a song.
type Expansion struct {
	Steps   []Step          // none: there is nothing to do
	Remarks []remark.Remark // on what it saw, each once, in order
	Nothing remark.Remark   // why there are no steps, where one of the remarks says it; otherwise nothing was left to do

	Done []Done    // what carrying out the steps comes to, where the move knows it from having tried them; nil: it does not
	Song song.Song // and the song then

	Heard form.Energy // of that song, or of one that it was made from, so that what is the same is not measured again; unset: none
}

// Done is a step that was carried out.
type Done struct {
	Step     Step
	Outcome  Outcome
	Whole    bool // its song is the whole one, and not a few bars of it
	Silences bool // as [Silences] tells
}
