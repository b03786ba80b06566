package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"

	"loopdraft/smf/picture"
	"loopdraft/smf/song"
)

// pictureEndings are the endings of the pictures there are.
func pictureEndings() []string { return []string{".svg", ".png", ".html"} }

// checkPicture refuses the name of a picture, given by a flag, that says no format; "" is no name.
func checkPicture(command, flag, name string) error {
	ending := strings.ToLower(filepath.Ext(name))
	for _, e := range pictureEndings() {
		if name == "" || ending == e {
			return nil
		}
	}
	return misuse(command, "found %s %s, want a name that ends in %s", flag, visible(name), or(pictureEndings()))
}

// drawPicture draws a song in the format that a file's name says.
func drawPicture(name string, s song.Song, chart picture.Chart) ([]byte, error) {
	draw := picture.SVG
	switch strings.ToLower(filepath.Ext(name)) {
	case ".png":
		draw = picture.PNG
	case ".html":
		draw = picture.HTML
	}
	var b bytes.Buffer
	if err := draw(&b, s, chart); err != nil {
		return nil, fmt.Errorf("%s: %w", visible(name), err)
	}
	return b.Bytes(), nil
}

// title is what stands above the picture of a file: its name without folder and ending; nothing for
// standard input.
func title(name string) string {
	if name == stream {
		return ""
	}
	base := filepath.Base(name)
	return strings.TrimSuffix(base, filepath.Ext(base))
}

// or joins words of which one is wanted.
func or(words []string) string {
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}
