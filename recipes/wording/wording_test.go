package wording_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strconv"
	"strings"
	"testing"

	"loopdraft/moves/remark"
	"loopdraft/recipes/wording"
	"loopdraft/smf/song"
)

// kinds returns the kinds that package remark declares.
func kinds(t *testing.T) []remark.Kind {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), "../../moves/remark/remark.go", nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	var out []remark.Kind
	ast.Inspect(f, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if id, ok := spec.Type.(*ast.Ident); ok && id.Name == "Kind" {
			text, err := strconv.Unquote(spec.Values[0].(*ast.BasicLit).Value)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, remark.Kind(text))
		}
		return true
	})
	return out
}

func TestEveryKindHasAText(t *testing.T) {
	all := kinds(t)
	if len(all) < 50 {
		t.Fatalf("found %d kinds, want those of the package", len(all))
	}
	for _, k := range all {
		r := remark.Remark{
			Kind: k, Move: "shape", Parts: []string{"kick", "hat"}, Sentence: "bar 3", Found: "x", Within: "drop", Unit: "bar",
			Bar: 3, Beat: 2, Numbers: []int{8, 9}, Controller: song.Controller(74), Text: "own words",
		}
		text := wording.Text(r)
		if text == string(k) || text == "" || strings.ContainsAny(text, "{}") {
			t.Errorf("%s: got the text %q", k, text)
		}
	}
}

func TestTexts(t *testing.T) {
	for _, row := range []struct {
		r    remark.Remark
		want string
	}{
		{remark.Remark{Kind: remark.NothingPlays, Parts: []string{"kick", "hat", "bass"}}, "nothing plays there: no note of kick, hat and bass in the span"},
		{remark.Remark{Kind: remark.NothingPlays}, "nothing plays there"},
		{remark.Remark{Kind: remark.SpanClipped, Sentence: "bars 1-3", Found: "1-3", Within: "{found}", Unit: "bar", Numbers: []int{1}}, "bars 1-3: found 1-3, but {found} has only 1 bar; clipped"},
		{remark.Remark{Kind: remark.SpanClipped, Sentence: "bar 9", Found: "9", Within: "drop", Unit: "bar", Numbers: []int{0}}, "bar 9: found 9, but drop has only 0 bars; clipped"},
		{remark.Remark{Kind: remark.NothingPrepares, Bar: 9}, "lead-in: nothing the loop has prepares bar 9"},
		{remark.Remark{Kind: remark.Own, Text: "put a {sound} on it"}, "put a {sound} on it"},
		{remark.Remark{Kind: "a kind of somebody else's"}, "a kind of somebody else's"},
	} {
		if got := wording.Text(row.r); got != row.want {
			t.Errorf("got  %s\nwant %s", got, row.want)
		}
	}
}
