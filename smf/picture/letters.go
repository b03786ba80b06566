package picture

import (
	"strings"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// typeface measures and draws texts.
type typeface struct {
	regular, bold *sfnt.Font
	store         sfnt.Buffer
	faces         map[faceKey]font.Face
}

type faceKey struct {
	style style
	scale int
}

func newTypeface() (*typeface, error) {
	regular, err := opentype.Parse(goregular.TTF)
	if err != nil {
		return nil, err
	}
	heavy, err := opentype.Parse(gobold.TTF)
	if err != nil {
		return nil, err
	}
	return &typeface{regular: regular, bold: heavy, faces: map[faceKey]font.Face{}}, nil
}

func (t *typeface) font(s style) *sfnt.Font {
	if s.heavy() {
		return t.bold
	}
	return t.regular
}

// face returns the letters of a style, so many pixels for each of the figure's.
func (t *typeface) face(s style, scale int) (font.Face, error) {
	key := faceKey{s, scale}
	if f, ok := t.faces[key]; ok {
		return f, nil
	}
	f, err := opentype.NewFace(t.font(s), &opentype.FaceOptions{Size: float64(s.size()/pixel) * float64(scale), DPI: 72})
	if err == nil {
		t.faces[key] = f
	}
	return f, err
}

// has tells whether there is a letter for a character.
func (t *typeface) has(r rune, s style) bool {
	i, err := t.font(s).GlyphIndex(&t.store, r)
	return err == nil && i != 0
}

// drawable puts a question mark for each character that there is no letter for; marks on letters go.
func (t *typeface) drawable(text string, s style) string {
	return strings.Map(func(r rune) rune {
		switch {
		case t.has(r, s):
			return r
		case cells(r) == 0:
			return -1
		}
		return '?'
	}, text)
}

// width returns the room a text needs. Readers of an SVG set it in a font of their own: there is a
// tenth to spare, and a character without a letter is taken to be as wide as it is high.
func (t *typeface) width(text string, s style) px {
	size := s.size()
	w := px(0)
	for _, r := range text {
		i, err := t.font(s).GlyphIndex(&t.store, r)
		if err != nil || i == 0 {
			w += size * px(min(cells(r), 1))
			continue
		}
		a, err := t.font(s).GlyphAdvance(&t.store, i, fixed.I(int(size)), font.HintingNone)
		if err != nil {
			a = fixed.I(int(size))
		}
		w += px(a.Round())
	}
	return w * 11 / 10
}

// fit shortens a text to the room there is; it is empty where there is room for next to nothing.
func (t *typeface) fit(text string, s style, room px) string {
	for n := width(text); n > 2; n-- {
		if text = cut(text, n, "…"); t.width(text, s) <= room {
			return text
		}
	}
	return ""
}
