package where_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"loopdraft/moves/option"
	"loopdraft/moves/where"
	"loopdraft/smf/song"
)

// bandOf makes a song of parts such as "hat 1:hat/tops kick:kick/beat"; a trigger has no job.
func bandOf(parts string) song.Song {
	s := song.Blank(testPPQ, nil, nil, 8*1920)
	for _, field := range strings.Split(parts, ", ") {
		name, what, _ := strings.Cut(field, ":")
		role, job, _ := strings.Cut(what, "/")
		s.Parts = append(s.Parts, song.Part{Name: name, Role: song.Role(role), Job: song.Job(job)})
	}
	return s
}

func band() song.Song {
	return bandOf("kick:kick/beat, ride:ride/tops, hat 1:hat/tops, hat 2:hat/tops, oh:open-hat/tops, clap:clap/backbeat, " +
		"conga:perc/perc, crash:crash/perc, sub:sub/bass, bass:bass/bass, pad:pad/bed, stab:stab/hook, vox:vocal/extra, pump:trigger/")
}

func namesText(s song.Song, indices []int) string {
	var out []string
	for _, i := range indices {
		out = append(out, s.Parts[i].Name)
	}
	return strings.Join(out, ", ")
}

func TestPartsResolve(t *testing.T) {
	for _, row := range []struct{ rule, text, want string }{
		{"a part's name", "conga", "conga"},
		{"a numbered name", "hat 2", "hat 2"},
		{"a role is every part of it", "hat", "hat 1, hat 2"},
		{"an alias of a role", "hh", "hat 1, hat 2"},
		{"a part's own name comes before an alias", "oh", "oh"},
		{"a word that is role and job means the job", "bass", "sub, bass"},
		{"perc is the job", "perc", "conga, crash"},
		{"an alias of such a word means the job", "percussion", "conga, crash"},
		{"a job", "tops", "ride, hat 1, hat 2, oh"},
		{"the first of tops is a hat", "tops 1", "hat 1"},
		{"then open hats", "tops 3", "oh"},
		{"then rides", "tops 4", "ride"},
		{"a job with fewer parts is empty", "tops 5", ""},
		{"the first bass is the bass, not the sub", "bass 1", "bass"},
		{"the only one of a role has number 1", "kick 1", "kick"},
		{"the only one of a name has number 1", "conga 1", "conga"},
		{"all leaves out the trigger", "all", "kick, ride, hat 1, hat 2, oh, clap, conga, crash, sub, bass, pad, stab, vox"},
		{"beat is a job", "beat", "kick"},
		{"all but beat", "all but beat and music", "ride, hat 1, hat 2, oh, clap, conga, crash"},
		{"drums", "drums", "kick, ride, hat 1, hat 2, oh, clap, conga, crash"},
		{"music", "music", "sub, bass, pad, stab, vox"},
		{"low", "low", "kick, sub, bass"},
		{"a trigger by its role", "trigger", "pump"},
		{"a trigger by its name", "pump", "pump"},
		{"all but parts, roles, jobs and groups", "all but drums and sub and hook", "bass, pad, vox"},
		{"all but a numbered one", "all but music and tops 1", "kick, ride, hat 2, oh, clap, conga, crash"},
		{"the first that is there", "snare or clap or tom", "clap"},
		{"only the first that is there", "hat 1 or hat 2", "hat 1"},
		{"an empty job is not there", "tops 9 or hook", "stab"},
		{"all but, as a choice", "snare or all but drums and music", ""},
		{"none is there", "snare or tom if any", ""},
		{"a role that is not there", "snare if any", ""},
		{"a word nobody knows", "saxophone if any", ""},
		{"all but what is not there", "all but snare and drums if any", "sub, bass, pad, stab, vox"},
		{"a choice that ends in a job is never missed", "snare or tops 9", ""},
	} {
		parts, err := where.ParseParts(row.text)
		if err != nil {
			t.Errorf("%s: %v", row.rule, err)
			continue
		}
		s := band()
		got, err := parts.Resolve(s)
		if namesText(s, got) != row.want || err != nil {
			t.Errorf("%s: %q: got %q (%v), want %q", row.rule, row.text, namesText(s, got), err, row.want)
		}
		if again := where.PartsOf(parts.Texts()...); !again.Equal(parts) || parts.String() != row.text {
			t.Errorf("%s: %q is written %q", row.rule, row.text, parts)
		}
	}
	s := band()
	got, err := where.PartsOf("tops 1", "bass", "hat").Resolve(s)
	if want := "hat 1, hat 2, sub, bass"; namesText(s, got) != want || err != nil {
		t.Errorf("a list adds up, in song order, each part once: got %q (%v), want %q", namesText(s, got), err, want)
	}
	sure := bandOf("kick:kick/beat, pump:trigger/beat")
	if got, err := where.PartsOf("beat").Resolve(sure); namesText(sure, got) != "kick" || err != nil {
		t.Errorf("a trigger is in no job, whatever it was given: got %q, %v", namesText(sure, got), err)
	}
	for _, group := range song.Groups() {
		if got, err := where.PartsOf(group).Resolve(song.Song{}); got != nil || err != nil {
			t.Errorf("a group may be empty: %s: %v, %v", group, got, err)
		}
	}
	for _, job := range song.Jobs() {
		if got, err := where.PartsOf(string(job)).Resolve(song.Song{}); got != nil || err != nil {
			t.Errorf("a job may be empty: %s: %v, %v", job, got, err)
		}
	}
	if got, err := (where.Parts{}).Resolve(s); got != nil || err != nil {
		t.Errorf("left out is no part: %v, %v", got, err)
	}
}

// Extra parts are numbered by their turns, not by role or place; other jobs go by role.
func TestNumberedExtraPartsGoByTheirTurn(t *testing.T) {
	s := bandOf("riser:fx/extra, arp:arp/extra, lead:lead/extra, hat:hat/tops")
	for i, turn := range []int{3, 2, 1, 0} {
		s.Parts[i].Turn = turn
	}
	for _, row := range []struct{ text, want string }{
		{"extra 1", "lead"}, {"extra 2", "arp"}, {"extra 3", "riser"}, {"extra", "riser, arp, lead"}, {"tops 1", "hat"}, {"music 1", "lead"},
	} {
		got, err := where.PartsOf(row.text).Resolve(s)
		if namesText(s, got) != row.want || err != nil {
			t.Errorf("%s: got %s, %v, want %s", row.text, namesText(s, got), err, row.want)
		}
	}
}

func TestMissingParts(t *testing.T) {
	all := "one of kick, ride, hat 1, hat 2, oh, clap, conga, crash, sub, bass, pad, stab, vox, pump, or a role, job or group of theirs"
	for _, row := range []struct {
		rule, text  string
		col         int
		found, want string
		hint        string
	}{
		{"a misspelt name", "cnga", 1, "cnga", all, "conga"},
		{"a misspelt role", "vocla", 1, "vocla", all, "vocal"},
		{"a misspelt job", "backbaet", 1, "backbaet", all, "backbeat"},
		{"a role the loop lacks", "snare", 1, "snare", all, "snare if any"},
		{"an alias the loop lacks", "sd", 1, "sd", all, "sd if any"},
		{"a number that is not there", "hat 3", 1, "hat 3", "hat 1 to hat 2", ""},
		{"the only one has no second", "crash 2", 1, "crash 2", "crash, of which there is one", "crash"},
		{"none of a choice", "snare or tom", 1, "snare", all, "snare or tom if any"},
		{"an excluded one", "all but snare", 9, "snare", all, "all but snare if any"},
		{"everything", "everything", 1, "everything", all, "all"},
		{"what people call the open hat", "open", 1, "open", all, "open-hat"},
		{"and the hat, of which there are two", "closed", 1, "closed", all, "hat"},
		{"nothing close", "saxophone", 1, "saxophone", all, ""},
	} {
		_, err := where.PartsOf(row.text).Resolve(band())
		var e *option.Mistake
		if !errors.As(err, &e) || e.Col != row.col || e.Found != row.found || e.Want != row.want || e.Hint != row.hint || e.Text != row.text {
			t.Errorf("%s: %q: got %+v (%v)", row.rule, row.text, e, err)
		}
	}
	_, err := where.PartsOf("kick", "snare", "all but tom").Resolve(band())
	if got := mistakes(err); len(got) != 2 || got[0].Item != 1 || got[1].Item != 2 {
		t.Errorf("all mistakes of a list, in order: got %v", err)
	}
	if _, err := where.PartsOf("kick").Resolve(song.Song{}); err == nil {
		t.Error("a role in a song without parts was found")
	}
}

func TestPartTexts(t *testing.T) {
	for _, row := range []struct{ rule, text, hint string }{
		{"and makes a list", "snare and clap", "[snare, clap]"},
		{"a comma makes a list", "snare, clap 2", "[snare, clap 2]"},
		{"numbers of one name", "hat 1 and 2", "[hat 1, hat 2]"},
		{"except", "all except kick", "all but kick"},
		{"all of a group", "all drums", "drums"},
		{"every one of a role", "every hat", "hat"},
		{"a number sign", "tops #1", "tops 1"},
		{"if there", "snare if there", "snare if any"},
		{"if by itself", "snare if", ""},
		{"bars belong to line-ups", "hat from 9", "hat"},
		{"loops belong to line-ups", "lead 2 of b if any", "lead 2 if any"},
		{"upper case", "Kick", "kick"},
		{"a misspelt word", "snare orr clap", "or"},
		{"nothing close", "9", ""},
	} {
		_, err := where.ParseParts(row.text)
		var e *option.Mistake
		if !errors.As(err, &e) {
			t.Errorf("%s: %q: got %v, want a mistake", row.rule, row.text, err)
		} else if e.Hint != row.hint {
			t.Errorf("%s: %q: suggested %q, want %q (%v)", row.rule, row.text, e.Hint, row.hint, err)
		}
	}
	_, err := where.ParseParts("kick", "lead 2 of b")
	var e *option.Mistake
	if !errors.As(err, &e) || e.Item != 1 || e.Col != 8 || e.Found != "of" || e.Want != `no "of": a part is meant whichever loop it plays` || e.Hint != "lead 2" {
		t.Errorf("a part of a loop: got %+v", e)
	}
	if _, err := where.ParseParts(); err == nil {
		t.Error("an empty list of parts was taken")
	}
	if _, err := where.PartsOf("snare and clap").Resolve(band()); err == nil {
		t.Error("a literal that cannot be read was resolved")
	}
	var p where.Parts
	if err := p.UnmarshalTexts([]string{"kick", "snare or clap if any"}); err != nil || p.IsZero() || p.String() != "[kick, snare or clap if any]" {
		t.Errorf("a list: %q, %v", p, err)
	}
}

// Whatever the parts are called, each can be named so that no other is meant.
func TestPartText(t *testing.T) {
	s := band()
	want := strings.Split("kick, ride, hat 1, hat 2, oh, clap, conga, crash, sub, bass 1, pad, stab, vox, pump", ", ")
	for i := range s.Parts {
		got := where.PartText(s, i)
		if got != want[i] {
			t.Errorf("%s is called %q, want %q", s.Parts[i].Name, got, want[i])
		}
		if found, err := where.PartsOf(got).Resolve(s); err != nil || !slices.Equal(found, []int{i}) {
			t.Errorf("%q means %v (%v), want %d", got, found, err, i)
		}
	}
	odd := bandOf("hat:hat/tops, tick:hat/tops, loop-1:unknown/extra, Loud One:unknown/hook, x:trigger/, trigger:trigger/")
	for i, want := range []string{"hat 1", "tick", "loop-1", "unknown 2", "x", "trigger 2"} {
		got := where.PartText(odd, i)
		if found, err := where.PartsOf(got).Resolve(odd); err != nil || !slices.Equal(found, []int{i}) || got != want {
			t.Errorf("%s is called %q, which means %v (%v); want %q", odd.Parts[i].Name, got, found, err, want)
		}
	}
	if got := where.PartText(s, len(s.Parts)); got != "" {
		t.Errorf("no part is called %q", got)
	}
}

// NAME 1, NAME 2 and so on mean what each of these texts means alone.
func TestNumbered(t *testing.T) {
	odd := bandOf("hat:hat/tops, tops 2:hat/tops, hat 3:shaker/tops, loop-1:unknown/extra, lead 1:lead/hook, lead 2:pad/bed, vox:lead/extra")
	counted := 0
	for _, s := range []song.Song{band(), odd, {}} {
		words := []string{"kick", "", "no such", "kick or", "drums"}
		for _, r := range song.Roles() {
			words = append(words, string(r))
		}
		for _, j := range song.Jobs() {
			words = append(words, string(j))
		}
		for _, word := range words {
			var want []int
			for n := 1; ; n++ {
				parts, err := where.ParseParts(fmt.Sprintf("%s %d", word, n))
				if err != nil {
					break
				}
				if found, err := parts.Resolve(s); err != nil || len(found) != 1 {
					break
				} else {
					want = append(want, found...)
				}
			}
			if got := where.Numbered(s, word); !slices.Equal(got, want) {
				t.Errorf("%q with numbers means %v, want %v", word, got, want)
			}
			counted += len(want)
		}
	}
	if counted < 40 {
		t.Errorf("got %d parts with numbers, too few", counted)
	}
}

func ExampleParts_Resolve() {
	s := bandOf("kick:kick/beat, hat 1:hat/tops, hat 2:hat/tops, clap:clap/backbeat")
	for _, text := range []string{"snare or clap", "tops 1", "all but tops", "snare"} {
		found, err := where.PartsOf(text).Resolve(s)
		fmt.Println(found, err)
	}
	// Output:
	// [3] <nil>
	// [1] <nil>
	// [0 3] <nil>
	// [] found "snare", want one of kick, hat 1, hat 2, clap, or a role, job or group of theirs; did you mean "snare if any"?
}

func TestAPartWhoseJobChangedKeepsItsName(t *testing.T) {
	s := song.Song{Parts: []song.Part{{Name: "bass", Role: song.RoleBass, Job: song.JobHook}, {Name: "stab", Role: song.RoleStab, Job: song.JobBed}}}
	if got, err := where.PartsOf("bass").Resolve(s); err != nil || len(got) != 1 || got[0] != 0 {
		t.Errorf("no other is a bass: got %v, %v, want the part of the name", got, err)
	}
	s.Parts[1].Job = song.JobBass
	if got, err := where.PartsOf("bass").Resolve(s); err != nil || len(got) != 1 || got[0] != 1 {
		t.Errorf("another is the bass: got %v, %v, want that one", got, err)
	}
}
