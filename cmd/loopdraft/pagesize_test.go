package main

import (
	"io"
	"os"
	"strings"
	"testing"

	"loopdraft/smf"
	"loopdraft/smf/oracle"
	"loopdraft/smf/song"
)

// mostOfPage is how large the page of a draft of 192 bars may be, in bytes.
const mostOfPage = 400 << 10

// pageOf drafts a demo loop and returns its page and the draft.
func pageOf(t *testing.T, loop string) (html []byte, s song.Song) {
	t.Helper()
	inWorkFolder(t)
	var stderr strings.Builder
	args := []string{"draft", "testdata/loops/" + loop, "--choose", "form=2", "-o", "draft.mid", "--map", "draft.html"}
	if code := run(args, strings.NewReader(""), io.Discard, &stderr, func(string) string { return "" }); code != exitDone {
		t.Fatal(stderr.String())
	}
	html, err := os.ReadFile("draft.html")
	if err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile("draft.mid")
	if err != nil {
		t.Fatal(err)
	}
	f, err := smf.Decode(data)
	if err != nil {
		t.Fatal(err)
	}
	s, err = song.From(f)
	if err != nil {
		t.Fatal(err)
	}
	return html, s.WithSections(s.MarkedSections())
}

func TestPagesOfDraftsAreSmall(t *testing.T) {
	for _, loop := range []string{"harbour-lights.mid", "breakwater.mid", "seven-bells.mid", "one-channel.mid"}[:oracle.Size(1, 4, 4)] {
		t.Run(loop, func(t *testing.T) {
			html, s := pageOf(t, loop)
			t.Logf("%d bars, %d bytes", s.Bars(), len(html))
			if len(html) > mostOfPage {
				t.Errorf("found %d bytes, want at most %d", len(html), mostOfPage)
			}
		})
	}
}
