package moves_test

import (
	"fmt"
	"testing"

	"loopdraft/moves"
	"loopdraft/moves/movetest"
	"loopdraft/smf/oracle"
)

// TestMovedNotesKeepThePromises runs the moves that give notes another place, key, length or level on
// songs nobody would write.
func TestMovedNotesKeepThePromises(t *testing.T) {
	steps := []moves.Step{
		transpose("all", "bars 2-3", 7), transpose("lead or bass if any", "last 2 beats of every 1 bar", -12),
		swing("all", "", 70*percent, "1/16"), swing("all", "1.2-3.3", 66*percent, "1/8"),
		anchored(humanise("all", "", 30, 30)), anchored(humanise("all", "every other 1 beat", 20, 10)), humanise("all", "1.3-2.4", 30, 0),
		gate("all", "", "1/32"), gate("all", "bars 2-3", "300%"), gate("all", "drop", "1/2"),
		shape("all", "drop", 20, 300, moves.Exp), shape("all", "every 1 bar", 100, 1, moves.SCurve),
		echo("all", "", "3/16", 4, 70, "cut"), echo("all", "", "1/32", 16, 100, "ring"), echo("all", "drop", "1/12", 3, 50, "cut"),
	}
	for seed := range uint64(oracle.Size(1, 8, 100)) {
		grid, setup := randomGrid(moves.NewRand(seed)), shaken(moves.NewRand(seed, 1))
		for i, step := range steps {
			t.Run(fmt.Sprintf("song %d step %d", seed, i), func(t *testing.T) {
				movetest.Check(tolerant{t}, movetest.Row{Step: step, Before: grid, Sections: "intro 2, drop 2", Setup: setup})
			})
		}
	}
}

func BenchmarkHumanise(b *testing.B) { benchmarkMove(b, humanise("hat", "every 1 bar", 5, 6)) }

func BenchmarkEcho(b *testing.B) { benchmarkMove(b, echo("hat", "", "3/16", 3, 60, "ring")) }
