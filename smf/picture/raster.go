package picture

import (
	"fmt"
	"image"
	"image/color"
	compose "image/draw"
	"image/png"
	"io"
	"math"

	"golang.org/x/image/font"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// mostPixels is the largest image that is made: 128 MiB of memory.
const mostPixels = 1 << 25

// writePNG writes a figure as PNG on a light background, two pixels for each of the figure's where
// that is not too large.
func writePNG(w io.Writer, f figure, t *typeface) error {
	scale := 2
	if f.pixels(scale) > mostPixels {
		scale = 1
	}
	if n := f.pixels(scale); n > mostPixels {
		return fmt.Errorf("found a picture of %d by %d pixels, want at most %d in all; an .svg has no limit", f.width/pixel, f.height/pixel, mostPixels)
	}
	r := raster{scale: float64(scale) / float64(pixel), letters: t}
	r.image = image.NewRGBA(image.Rect(0, 0, int(f.width/pixel)*scale, int(f.height/pixel)*scale))
	compose.Draw(r.image, r.image.Bounds(), source(paper), image.Point{}, compose.Src)
	for _, g := range f.groups {
		for _, m := range g.marks {
			if err := r.mark(m, scale); err != nil {
				return err
			}
		}
	}
	return png.Encode(w, r.image)
}

func (f figure) pixels(scale int) int64 {
	return int64(f.width/pixel) * int64(f.height/pixel) * int64(scale) * int64(scale)
}

// source is an ink on a light background.
func source(i ink) *image.Uniform {
	c := i.colour(false)
	return image.NewUniform(color.RGBA{c.R, c.G, c.B, 0xFF})
}

// raster is an image being drawn.
type raster struct {
	image   *image.RGBA
	scale   float64 // pixels of the image for a px
	letters *typeface
}

func (r *raster) mark(m mark, scale int) error {
	switch {
	case m.text != "":
		return r.text(m, scale)
	case m.width > 0:
		r.fill(m.ink, r.outline(m))
	default:
		r.fill(m.ink, r.areas(m.path))
	}
	return nil
}

func (r *raster) text(m mark, scale int) error {
	face, err := r.letters.face(m.font, scale)
	if err != nil {
		return err
	}
	d := font.Drawer{Dst: r.image, Src: source(m.ink), Face: face}
	text := r.letters.drawable(m.text, m.font)
	d.Dot = fixed.Point26_6{X: fixed.Int26_6(float64(m.at.x) * r.scale * 64), Y: fixed.Int26_6(float64(m.at.y) * r.scale * 64)}
	if m.end {
		d.Dot.X -= d.MeasureString(text)
	}
	d.DrawString(text)
	return nil
}

// spot is a place in the image.
type spot struct{ x, y float64 }

func (r *raster) spot(p point) spot { return spot{float64(p.x) * r.scale, float64(p.y) * r.scale} }

// areas are the polygons of a path.
func (r *raster) areas(path []step) [][]spot {
	var out [][]spot
	for _, s := range path {
		if !s.draw {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], r.spot(s.point))
	}
	return out
}

// outline is a rectangle for each stretch of a line, all turning the same way, so that where they
// overlap they add up.
func (r *raster) outline(m mark) [][]spot {
	var out [][]spot
	half := float64(m.width) * r.scale / 2
	dash := float64(m.dash) * r.scale
	along := 0.0 // since the line began
	for i, s := range m.path {
		if !s.draw {
			along = 0
			continue
		}
		a, b := r.spot(m.path[i-1].point), r.spot(s.point)
		length := math.Hypot(b.x-a.x, b.y-a.y)
		if length == 0 {
			continue
		}
		u := spot{(b.x - a.x) / length, (b.y - a.y) / length}
		for from := 0.0; from < length; {
			to, drawn := length, true
			if dash > 0 {
				n := math.Floor((along + from) / dash)
				to, drawn = min(length, max((n+1)*dash-along, from+0.01)), math.Mod(n, 2) == 0
			}
			if drawn {
				p, q := spot{a.x + u.x*from, a.y + u.y*from}, spot{a.x + u.x*to, a.y + u.y*to}
				n := spot{-u.y * half, u.x * half}
				out = append(out, []spot{{p.x + n.x, p.y + n.y}, {q.x + n.x, q.y + n.y}, {q.x - n.x, q.y - n.y}, {p.x - n.x, p.y - n.y}})
			}
			from = to
		}
		along += length
	}
	return out
}

// fill fills polygons. Only the box around them is worked on, so that a figure costs no more than its
// marks are large.
func (r *raster) fill(i ink, polygons [][]spot) {
	box := image.Rectangle{}
	for _, p := range polygons {
		for _, s := range p {
			x, y := int(math.Floor(s.x)), int(math.Floor(s.y))
			box = box.Union(image.Rect(x, y, x+1, y+1))
		}
	}
	box = box.Intersect(r.image.Bounds())
	if box.Empty() {
		return
	}
	v := vector.NewRasterizer(box.Dx(), box.Dy())
	for _, p := range polygons {
		for n, s := range p {
			x, y := float32(s.x-float64(box.Min.X)), float32(s.y-float64(box.Min.Y))
			if n == 0 {
				v.MoveTo(x, y)
			} else {
				v.LineTo(x, y)
			}
		}
		v.ClosePath()
	}
	v.Draw(r.image, box, source(i), image.Point{})
}
