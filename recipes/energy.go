package recipes

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"loopdraft/moves/option"
	"loopdraft/recipes/players"
	"loopdraft/smf"
	"loopdraft/smf/form"
	"loopdraft/smf/song"
)

// Energy says how loud a section is to be. The zero value leaves it open.
//
//	energy  = "rising" | "falling" | item | a list of items
//	item    = range ["to" range] | decibels ("under" | "over") SECTION [N]
//	range   = percent | decibels
//	percent = NUMBER "%" [".." NUMBER "%"]
//	decibels = NUMBER "dB" [".." NUMBER "dB"]
//
// 100 % and 0 dB are all parts of the loop in its loudest phrase; 10 dB less is half as loud. A single
// value means 1.5 dB either way. A range holds in each unit of the section, the stretch in which a
// line-up stays as it is; a list goes through the units and round again; "to" goes evenly from the first
// unit to the last. Under and over another section are measured against the mean of that one. Numbers
// have at most one decimal.
type Energy struct {
	course players.Course
	items  []energyItem
	texts  []string
	bad    error
}

// energyItem is an item of an energy.
type energyItem struct {
	first, last energyRange // in tenths of a percent, or of a dB over another section
	against     string      // the name of that section or its kind; "": shares of full
	nth         int         // which of them, from 1; 0: the one there is
	col         int         // of the name
}

type energyRange struct{ low, high int }

const wantEnergy = "an energy such as 52%..58%, -9 dB..-7 dB, 7 dB..9 dB under drop 1, 60%..70% to 75%..85%, rising or falling"

// The least and the most energy, in tenths of a percent, and the most dB between two sections.
const (
	leastShare   = 10
	mostShare    = 1500
	mostDecibels = 60
)

// either is what a single value means either way, in tenths of a dB.
const either = 15

// parseEnergy reads the texts of an energy, at least one. The error is a [*option.Mistake] with the place
// of the item and the column in it; the first of several.
func parseEnergy(texts ...string) (Energy, error) {
	e := Energy{texts: texts}
	fail := func(m *option.Mistake, item int) (Energy, error) {
		if m.Hint == "" {
			m.Hint = energyMeant(texts[item])
		}
		m.Item, m.Text = item, texts[item]
		return Energy{bad: m}, m
	}
	if len(texts) == 0 {
		m := &option.Mistake{Found: "nothing", Want: wantEnergy}
		return Energy{bad: m}, m
	}
	if len(texts) == 1 {
		switch texts[0] {
		case "rising":
			e.course = players.Rising
			return e, nil
		case "falling":
			e.course = players.Falling
			return e, nil
		}
	}
	for i, text := range texts {
		r := energyReader{text: text}
		item, m := r.item(len(texts) > 1)
		if m != nil {
			return fail(m, i)
		}
		if i > 0 && (item.against != e.items[0].against || item.nth != e.items[0].nth) {
			return fail(&option.Mistake{Col: max(item.col, 1), Found: text, Want: "all items of the list of full, or against one section"}, i)
		}
		e.items = append(e.items, item)
	}
	return e, nil
}

// energyMeant returns an energy that a text may mean in words that producers use besides; "" for none.
func energyMeant(text string) string {
	switch strings.ToLower(text) {
	case "rise", "rises", "build", "up":
		return "rising"
	case "fall", "falls", "down":
		return "falling"
	case "half":
		return "50%"
	case "full":
		return "100%"
	}
	meant := strings.NewReplacer(" below ", " under ", " above ", " over ", "db", "dB", "DB", "dB", "Db", "dB", " - ", "..", "percent", "%").Replace(text)
	if meant == text {
		return ""
	}
	if _, err := parseEnergy(meant); err != nil {
		return ""
	}
	return meant
}

// EnergyOf reads the texts of an energy, at least one. A mistake in them, an [option.Mistake], is kept and returned by
// [Draft].
func EnergyOf(texts ...string) Energy {
	e, _ := parseEnergy(texts...)
	return e
}

// IsZero tells whether the energy is left open.
func (e Energy) IsZero() bool { return e.texts == nil && e.bad == nil }

// Texts returns the items as they were written.
func (e Energy) Texts() []string { return e.texts }

// String returns the one item there is, or a list in brackets; "" for the zero value.
func (e Energy) String() string {
	if len(e.texts) == 1 {
		return e.texts[0]
	}
	if len(e.texts) == 0 {
		return ""
	}
	return "[" + strings.Join(e.texts, ", ") + "]"
}

// against returns the section that the energy is measured against, as it is named; "" for none.
func (e Energy) against() (name string, nth, col int) {
	if len(e.items) == 0 {
		return "", 0, 0
	}
	return e.items[0].against, e.items[0].nth, e.items[0].col
}

// unit returns the range of unit k of n, in tenths of a percent of full or of a dB over another section.
func (e Energy) unit(k, n int) (low, high int) {
	if len(e.items) == 0 {
		return 0, 0
	}
	it := e.items[k%len(e.items)]
	even := func(a, b int) int { return a + (b-a)*k/max(n-1, 1) }
	return even(it.first.low, it.last.low), even(it.first.high, it.last.high)
}

// energyReader reads an item from left to right.
type energyReader struct {
	text string
	at   int // in bytes
}

// fail makes a mistake of what stands at a place.
func (r *energyReader) fail(at int, want, hint string) *option.Mistake {
	found := r.text[at:]
	if cut := strings.IndexByte(found, ' '); cut > 0 {
		found = found[:cut]
	}
	return &option.Mistake{Col: utf8.RuneCountInString(r.text[:at]) + 1, Found: found, Want: want, Hint: hint}
}

func (r *energyReader) space() {
	for r.at < len(r.text) && r.text[r.at] == ' ' {
		r.at++
	}
}

// take steps over a text that stands next.
func (r *energyReader) take(text string) bool {
	if strings.HasPrefix(r.text[r.at:], text) {
		r.at += len(text)
		return true
	}
	return false
}

// energyValue is a number as it stands, in tenths.
type energyValue struct {
	at      int
	tenths  int
	percent bool
}

// value reads a number with its unit.
func (r *energyReader) value() (energyValue, *option.Mistake) {
	r.space()
	v := energyValue{at: r.at}
	minus := r.take("-")
	if !minus {
		r.take("+")
	}
	start := r.at
	for r.at < len(r.text) && (r.text[r.at] >= '0' && r.text[r.at] <= '9' || r.text[r.at] == '.' && !strings.HasPrefix(r.text[r.at:], "..")) {
		r.at++
	}
	tenths, ok := smf.ParseDecimal(r.text[start:r.at], 1)
	if !ok || tenths > 1_000_000 {
		return v, r.fail(v.at, wantEnergy, song.Nearest(r.text, []string{"rising", "falling"}))
	}
	v.tenths = int(tenths)
	if minus {
		v.tenths = -v.tenths
	}
	after := r.at
	switch r.space(); {
	case r.take("%"):
		v.percent = true
	case r.take("dB"):
	default:
		r.at = after
		hint := ""
		if t := v.tenths; t >= leastShare && t <= mostShare && strings.Trim(r.text, "0123456789.") == "" {
			hint = strings.ReplaceAll(r.text, "..", "%..") + "%"
		}
		return v, r.fail(v.at, "a unit behind the number, % or dB", hint)
	}
	return v, nil
}

// item reads an item; in a list there is no "to".
func (r *energyReader) item(inList bool) (energyItem, *option.Mistake) {
	var it energyItem
	first, second, m := r.values()
	if m != nil {
		return it, m
	}
	r.space()
	switch at := r.at; {
	case r.at == len(r.text):
		it.first, m = r.ofFull(first, second)
		it.last = it.first
		return it, m
	case r.take("under "), r.take("over "):
		return r.againstSection(first, second, strings.HasPrefix(r.text[at:], "under"))
	case !inList && r.take("to "):
		if it.first, m = r.ofFull(first, second); m != nil {
			return it, m
		}
		if first, second, m = r.values(); m != nil {
			return it, m
		}
		if it.last, m = r.ofFull(first, second); m != nil {
			return it, m
		}
	}
	if r.space(); r.at < len(r.text) {
		want := `the end, "to" and another range, or "under" or "over" and a section`
		if inList {
			want = `the end, or "under" or "over" and a section`
		}
		return it, r.fail(r.at, want, "")
	}
	return it, nil
}

// values reads one value or two.
func (r *energyReader) values() (first, second energyValue, m *option.Mistake) {
	if first, m = r.value(); m != nil {
		return first, second, m
	}
	second = energyValue{at: -1}
	after := r.at
	if r.space(); !r.take("..") {
		r.at = after
		return first, second, nil
	}
	if second, m = r.value(); m != nil {
		return first, second, m
	}
	if first.percent != second.percent {
		return first, second, r.fail(second.at, "the unit that the range begins with", "")
	}
	if first.tenths > second.tenths {
		a, b := strings.TrimSpace(r.text[first.at:second.at]), strings.TrimSpace(r.text[second.at:r.at])
		hint := r.text[:first.at] + b + ".." + strings.TrimSpace(strings.TrimSuffix(a, "..")) + r.text[r.at:]
		return first, second, r.fail(first.at, "the lower end of the range first", hint)
	}
	return first, second, nil
}

// ofFull makes a range of full of one value or two.
func (r *energyReader) ofFull(first, second energyValue) (energyRange, *option.Mistake) {
	share := func(v energyValue, more int) (int, *option.Mistake) {
		tenths := v.tenths
		if !v.percent {
			if tenths < -1000 || tenths > 1000 {
				return 0, r.fail(v.at, "1% to 150%, which is -66.4 dB to 5.8 dB", "")
			}
			tenths = (form.Held.Times(tenths) + 1).Share(form.Held) // 1: what was rounded down is up to it
		}
		if tenths < leastShare || tenths > mostShare {
			hint := ""
			if v.percent && -v.tenths >= leastShare && -v.tenths <= mostShare {
				hint = strings.Replace(r.text, "-", "", 1)
			}
			return 0, r.fail(v.at, "1% to 150%, which is -66.4 dB to 5.8 dB", hint)
		}
		return min(form.Held.At(tenths).Times(more).Share(form.Held), mostShare), nil
	}
	more := 0
	if second.at < 0 {
		second, more = first, either
	}
	low, m := share(first, -more)
	if m != nil {
		return energyRange{}, m
	}
	high, m := share(second, more)
	return energyRange{low, high}, m
}

// againstSection makes an item of decibels and reads the section they are measured against.
func (r *energyReader) againstSection(first, second energyValue, under bool) (energyItem, *option.Mistake) {
	var it energyItem
	low, high := first.tenths, second.tenths
	if second.at < 0 {
		low, high = first.tenths-either, first.tenths+either
	}
	for _, v := range []energyValue{first, second} {
		switch {
		case v.at < 0:
		case v.percent:
			return it, r.fail(v.at, "decibels against another section, such as 7 dB..9 dB under drop 1", "")
		case v.tenths < 0 || v.tenths > 10*mostDecibels:
			return it, r.fail(v.at, "0 dB to "+strconv.Itoa(mostDecibels)+" dB under or over a section", "")
		}
	}
	if under {
		low, high = -high, -low
	}
	it.first, it.last = energyRange{low, high}, energyRange{low, high}
	r.space()
	it.col = utf8.RuneCountInString(r.text[:r.at]) + 1
	words := strings.Fields(r.text[r.at:])
	switch n, ok := 0, false; {
	case len(words) == 0:
		return it, r.fail(r.at, "the name of a section", "")
	case len(words) == 2:
		if n, ok = digits(words[1]); !ok || n < 1 {
			return it, r.fail(r.at+strings.Index(r.text[r.at:], words[1]), "which of the sections, from 1, or the end", "")
		}
		it.nth = n
	case len(words) > 2:
		return it, r.fail(r.at+strings.LastIndex(r.text[r.at:], words[2]), "the end", "")
	}
	it.against = words[0]
	return it, nil
}

// Form says which texts are energies.
func (Energy) Form() option.Form {
	const percent, decibels = `[0-9]+(?:\.[0-9])? *%`, `[-+]?[0-9]+(?:\.[0-9])? *dB`
	either := `(?:[-+]?` + percent + `(?: *\.\. *[-+]?` + percent + `)?|` + decibels + `(?: *\.\. *` + decibels + `)?)`
	return option.Form{
		Name: "energy", Words: []string{"rising", "falling"},
		Pattern: ` *` + either + ` *(?: +to +` + either + ` *| +(?:under|over) +[^ ]+(?: +[0-9]+)? *)?`,
	}
}
