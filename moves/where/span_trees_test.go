//go:build oracles

package where

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/smf/oracle"
)

// The grammar once more, as data: it is written down from the language's description, knows nothing
// of the parser, and serves to list every parse tree of a sentence and to make sentences.

// rule is a piece of the grammar.
type rule struct {
	kind string // word, N, NAME, PART, WHO, POS, NOTE, seq, alt, opt, rep, ref
	text string
	of   []*rule
}

type bnf map[string]*rule

func lit(words string) *rule {
	var seq []*rule
	for _, w := range strings.Fields(words) {
		switch w {
		case "N", "NAME", "PART", "WHO", "POS", "NOTE":
			seq = append(seq, &rule{kind: w})
		default:
			if name, ok := strings.CutPrefix(w, "<"); ok {
				seq = append(seq, &rule{kind: "ref", text: strings.TrimSuffix(name, ">")})
				continue
			}
			seq = append(seq, &rule{kind: "word", text: w})
		}
	}
	return &rule{kind: "seq", of: seq}
}

func alt(rules ...*rule) *rule { return &rule{kind: "alt", of: rules} }
func seq(rules ...*rule) *rule { return &rule{kind: "seq", of: rules} }
func opt(r *rule) *rule        { return &rule{kind: "opt", of: []*rule{r}} }
func rep(r *rule) *rule        { return &rule{kind: "rep", of: []*rule{r}} }

func language() bnf {
	ofSpan := opt(lit("of <span>"))
	name := seq(lit("NAME"), opt(lit("N")))
	but := opt(seq(lit("but"), name, rep(seq(lit("and"), name))))
	units := alt(lit("bar"), lit("bars"), lit("beat"), lit("beats"))
	part := seq(lit("PART"), opt(lit("N")))
	butParts := opt(seq(lit("but"), part, rep(seq(lit("and"), part))))
	item := alt(part, seq(lit("all"), butParts))
	bars := seq(opt(lit("loop")), alt(lit("bar N"), lit("bars N - N")))
	return bnf{
		"span": alt(lit("all"), seq(bars, ofSpan), lit("<portion> of <span>"),
			seq(lit("beat N"), opt(lit("- N")), lit("of <span>")), lit("POS - POS"),
			lit("<section>"), lit("from <place> to <place>"),
			seq(alt(lit("first"), lit("last")), lit("<length>"), ofSpan),
			lit("<length> before <place>"), seq(lit("<length> after"), alt(lit("<span>"), lit("<edge>"))),
			seq(lit("every"), opt(lit("other")), lit("<length>"), ofSpan)),
		"section": seq(alt(name, lit("every NAME"), lit("every section")), but),
		"edge":    alt(lit("start of <span>"), lit("end of <span>"), lit("POS"), lit("end")),
		"place":   alt(lit("<span>"), lit("<edge>")),
		"length":  alt(seq(opt(lit("N")), units), lit("NOTE")),
		"parts":   seq(item, rep(seq(lit("or"), item)), opt(lit("if any"))),
		"portion": alt(seq(alt(lit("first"), lit("last")), alt(lit("half"), lit("third"), lit("quarter"))), lit("second half")),
		"item": alt(
			seq(alt(seq(lit("<who>"), opt(lit("<loop>"))), seq(lit("all"), butParts)), opt(lit("if any")), opt(lit("<turn>")), opt(lit("<when>"))),
			seq(lit("same"), opt(lit("<when>")))),
		"who":   alt(seq(lit("WHO"), opt(lit("N"))), lit("same N")),
		"loop":  lit("of NAME"),
		"turn":  alt(lit("in turn"), lit("out in turn")),
		"when":  alt(lit("to <point>"), lit("in <portion>"), seq(lit("from <point>"), opt(lit("to <point>")))),
		"point": alt(lit("N"), lit("POS")),
	}
}

// tree is a reading of the words up to end.
type tree struct {
	end  int
	text string
}

// trees lists every reading of the words from at on.
func (g bnf) trees(r *rule, words []string, at int) []tree {
	one := func(ok bool) []tree {
		if !ok {
			return nil
		}
		return []tree{{at + 1, words[at]}}
	}
	in := at < len(words)
	switch r.kind {
	case "word":
		return one(in && words[at] == r.text)
	case "N":
		return one(in && strings.Trim(words[at], "0123456789") == "")
	case "POS":
		return one(in && strings.Contains(words[at], "."))
	case "NOTE":
		return one(in && strings.Contains(words[at], "/"))
	case "NAME":
		return one(in && words[at][0] >= 'a' && words[at][0] <= 'z' && !slices.Contains(reservedInTest(), words[at]))
	case "PART": // the jobs are words of the line-up; "beat" is one of them
		return one(in && (words[at] == "beat" || len(g.trees(&rule{kind: "NAME"}, words, at)) > 0))
	case "WHO": // the part that is called same has a number
		return one(in && words[at] != "same" && len(g.trees(&rule{kind: "PART"}, words, at)) > 0)
	case "ref":
		var out []tree
		for _, t := range g.trees(g[r.text], words, at) {
			out = append(out, tree{t.end, "(" + r.text + " " + t.text + ")"})
		}
		return out
	case "alt":
		var out []tree
		for _, a := range r.of {
			out = append(out, g.trees(a, words, at)...)
		}
		return out
	case "opt":
		return append([]tree{{at, ""}}, g.trees(r.of[0], words, at)...)
	case "rep":
		out := []tree{{at, ""}}
		for _, first := range g.trees(r.of[0], words, at) {
			for _, rest := range g.trees(r, words, first.end) {
				out = append(out, tree{rest.end, joinReadings(first.text, rest.text)})
			}
		}
		return out
	}
	out := []tree{{at, ""}}
	for _, part := range r.of {
		var longer []tree
		for _, before := range out {
			for _, t := range g.trees(part, words, before.end) {
				longer = append(longer, tree{t.end, joinReadings(before.text, t.text)})
			}
		}
		out = longer
	}
	return out
}

func joinReadings(a, b string) string { return strings.TrimSpace(a + " " + b) }

func reservedInTest() []string {
	return strings.Fields("all every other section bar bars beat beats first last of before after from to start end but and or if any")
}

// namesInTest are the words of the language that are names where the grammar awaits no word.
func namesInTest() []string {
	return strings.Fields("same loop second half third quarter in out turn")
}

func oneOf(rng *rand.Rand, words []string) string { return words[rng.IntN(len(words))] }

// whole lists the readings of a whole sentence by a rule.
func (g bnf) whole(name string, words []string) []string {
	var out []string
	for _, t := range g.trees(g[name], words, 0) {
		if t.end == len(words) {
			out = append(out, "("+name+" "+t.text+")")
		}
	}
	return out
}

// make writes a sentence by a rule; deep rules choose their first, shortest alternative.
func (g bnf) make(r *rule, depth int, rng *rand.Rand) []string {
	switch r.kind {
	case "word":
		return []string{r.text}
	case "N":
		return []string{fmt.Sprint(9)} // N-N must not fall
	case "POS":
		return []string{fmt.Sprintf("%d.%d", 1+depth, 1+rng.IntN(4))}
	case "NOTE":
		return []string{[]string{"1/16", "3/8"}[rng.IntN(2)]}
	case "NAME":
		return []string{oneOf(rng, append(namesInTest(), "intro", "drop", "build-up"))}
	case "PART":
		return []string{oneOf(rng, append(namesInTest(), "hat", "tops", "beat"))}
	case "WHO":
		return []string{oneOf(rng, append(namesInTest()[1:], "hat", "tops", "beat"))}
	case "ref":
		return g.make(g[r.text], depth-1, rng)
	case "alt":
		if depth <= 0 {
			return g.make(r.of[0], depth, rng)
		}
		return g.make(r.of[rng.IntN(len(r.of))], depth, rng)
	case "opt", "rep":
		if rng.IntN(2) == 0 {
			return nil
		}
	}
	var out []string
	for _, part := range r.of {
		out = append(out, g.make(part, depth, rng)...)
	}
	return out
}

// bracketSpan writes what the parser read in the brackets that trees writes.
func bracketSpan(s spanNode) string {
	of := func(s spanNode) string {
		if s == nil {
			return ""
		}
		return " of " + bracketSpan(s)
	}
	text := ""
	switch s := s.(type) {
	case allSpan:
		text = "all"
	case countedSpan:
		head := strings.TrimSuffix(s.text(), ofText(s.of))
		text = strings.ReplaceAll(head, "-", " - ") + of(s.of)
	case posSpan:
		text = s.from.text() + " - " + s.to.text()
	case sectionSpan:
		text = "(section " + s.text() + ")"
	case fromSpan:
		text = "from " + bracketPlace(s.from) + " to " + bracketPlace(s.to)
	case outerSpan:
		text = map[bool]string{false: "first ", true: "last "}[s.last] + bracketLength(s.length) + of(s.of)
	case portionSpan:
		text = "(portion " + s.portion.text() + ")" + of(s.of)
	case besideSpan:
		text = bracketLength(s.length) + " before " + bracketPlace(s.place)
		if s.after {
			inner := strings.TrimSuffix(strings.TrimPrefix(bracketPlace(s.place), "(place "), ")")
			text = bracketLength(s.length) + " after " + inner
		}
	case everySpan:
		text = map[bool]string{false: "every ", true: "every other "}[s.other] + bracketLength(s.length) + of(s.of)
	}
	return "(span " + text + ")"
}

func bracketLength(l Length) string { return "(length " + l.text() + ")" }

func bracketPlace(p place) string {
	switch p.edge {
	case startOfEdge:
		return "(place (edge start of " + bracketSpan(p.span) + "))"
	case endOfEdge:
		return "(place (edge end of " + bracketSpan(p.span) + "))"
	case posEdge, endEdge:
		return "(place (edge " + p.text() + "))"
	}
	return "(place " + bracketSpan(p.span) + ")"
}

// bracketItem writes what the parser read of an item of a line-up in the brackets that trees writes.
func bracketItem(it lineItem) string {
	text := "same"
	switch {
	case it.same:
	case it.item.all:
		text = it.item.text()
	default:
		text = "(who " + it.item.text() + ")"
	}
	if it.loop.name != "" {
		text += " (loop of " + it.loop.name + ")"
	}
	text += ifAnyText(it.ifAny)
	if it.turn != atOnce {
		text += " (turn" + it.turn.text() + ")"
	}
	var when []string
	if (it.portion != portion{}) {
		when = append(when, "in (portion "+it.portion.text()+")")
	}
	if it.from.bar > 0 {
		when = append(when, "from (point "+it.from.pointText()+")")
	}
	if it.to.bar > 0 {
		when = append(when, "to (point "+it.to.pointText()+")")
	}
	if len(when) > 0 {
		text += " (when " + strings.Join(when, " ") + ")"
	}
	return "(item " + text + ")"
}

// spaced splits a sentence into the words of the grammar.
func spaced(text string) []string {
	var out []string
	for _, w := range splitWords(text) {
		if w.kind != endOfText {
			out = append(out, w.text)
		}
	}
	return out
}

// Sentences made by the grammar have one tree each, and the parser finds that tree.
func TestEverySentenceReadsOneWay(t *testing.T) {
	g := language()
	rng := rand.New(rand.NewPCG(7, 7))
	seen := map[string]bool{}
	many := oracle.Size(6000, 30_000, 30_000)
	for range many {
		name := []string{"span", "place", "length", "parts", "item"}[rng.IntN(5)]
		words := g.make(g[name], 4, rng)
		sentence := strings.Join(words, " ")
		if len(words) > 24 || seen[name+sentence] {
			continue
		}
		seen[name+sentence] = true
		if all := g.whole(name, words); len(all) != 1 {
			t.Fatalf("%s %q reads %d ways:\n%s", name, sentence, len(all), strings.Join(all, "\n"))
		}
		texts, tree, err := readByParser(name, sentence)
		if risingNumbers(err) {
			continue
		}
		if err != nil {
			t.Fatalf("%s %q: %v", name, sentence, err)
		}
		all := g.whole(name, spaced(texts))
		if len(all) != 1 || tree != "" && all[0] != tree {
			t.Fatalf("%s %q: the grammar reads\n%s\nthe parser\n%s", name, texts, strings.Join(all, "\n"), tree)
		}
	}
	if len(seen) < many/6 {
		t.Errorf("only %d different sentences", len(seen))
	}
}

// risingNumbers tells whether a sentence was refused for what the grammar does not say: that the
// second number of a range is not before the first.
func risingNumbers(err error) bool {
	e, ok := err.(*option.Mistake)
	return ok && slices.ContainsFunc([]string{"a place after", "a number from 9", "a bar from", "a beat from"},
		func(want string) bool { return strings.HasPrefix(e.Want, want) })
}

func readByParser(name, sentence string) (text, tree string, err error) {
	switch name {
	case "span":
		var s Spans
		err := s.UnmarshalTexts([]string{sentence})
		if err != nil {
			return "", "", err
		}
		return s.String(), bracketSpan(s.items[0]), nil
	case "place":
		var p Places
		err := p.UnmarshalTexts([]string{sentence})
		if err != nil {
			return "", "", err
		}
		return p.String(), bracketPlace(p.items[0]), nil
	case "length":
		l, err := parseLength(sentence)
		return l.String(), bracketLength(l), err
	case "parts":
		p, err := ParseParts(sentence)
		return p.String(), "", err
	}
	l, err := ParseLineUp(sentence)
	if err != nil {
		return "", "", err
	}
	return strings.Trim(l.String(), "[]"), bracketItem(l.items[0]), nil
}

// Whatever words stand in whatever order: the parser takes a sentence exactly if the grammar has a
// tree for it, and never has it two. A first run takes one in three.
func TestParserAgreesWithGrammar(t *testing.T) {
	few := oracle.Size(11, 1, 1)
	g := language()
	words := append(append(reservedInTest(), namesInTest()...), "drop", "9", "17.3", "1/16", "-")
	check := func(sentence []string) {
		for _, name := range []string{"span", "place", "length", "parts", "item"} {
			trees := len(g.whole(name, sentence))
			_, _, err := readByParser(name, strings.Join(sentence, " "))
			if trees > 1 || trees == 1 != (err == nil) && !risingNumbers(err) {
				t.Fatalf("%s %q: %d trees, the parser says %v", name, sentence, trees, err)
			}
		}
	}
	for i, a := range words {
		check([]string{a})
		for j, b := range words {
			if (i+j)%few != 0 {
				continue
			}
			check([]string{a, b})
			for _, c := range []string{"drop", "9", "bar", "of", "-", "any", "17.3", "half", "turn"} {
				check([]string{a, b, c})
			}
		}
	}
	// These are valid sentences with one word changed, put in or taken out.
	rng := rand.New(rand.NewPCG(3, 5))
	for range 3000 / few {
		name := []string{"span", "place", "parts", "item"}[rng.IntN(4)]
		sentence := g.make(g[name], 3, rng)
		if len(sentence) == 0 || len(sentence) > 12 {
			continue
		}
		i := rng.IntN(len(sentence))
		w := words[rng.IntN(len(words))]
		switch rng.IntN(3) {
		case 0:
			sentence[i] = w
		case 1:
			sentence = slices.Insert(sentence, i, w)
		default:
			sentence = slices.Delete(sentence, i, i+1)
		}
		check(sentence)
	}
}

// The list of trees is able to see an ambiguity: let a place be followed by "of", and "2 bars before
// bar 3 of drop" reads two ways.
func TestTreesSeeAmbiguity(t *testing.T) {
	g := language()
	g["span"] = alt(g["span"], lit("<length> before <place> of <span>"))
	if n := len(g.whole("span", strings.Fields("2 bars before bar 3 of drop"))); n != 2 {
		t.Errorf("an ambiguous grammar gives %d trees, want 2", n)
	}
}
