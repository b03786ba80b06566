package picture

import (
	"fmt"
	"strconv"
	"strings"

	"loopdraft/smf/form"
)

// heardHeight is the height of the row of changes.
const heardHeight = 18 * pixel

// changeAt is a bar with which a phrase begins and in which something is heard to change or was prepared.
type changeAt struct {
	bar      int
	boundary bool // a stretch of its own begins
	heard    form.Bar
}

// changes returns the bars that are marked.
func (c *chart) changes() []changeAt {
	if c.Structure == nil {
		return nil
	}
	var out []changeAt
	boundaries := c.Structure.Boundaries
	for i, b := range c.Structure.Bars {
		boundary := len(boundaries) > 0 && boundaries[0] == i+1
		if boundary {
			boundaries = boundaries[1:]
		}
		if boundary || len(b.Changes)+len(b.Preparing) > 0 {
			out = append(out, changeAt{i + 1, boundary, b})
		}
	}
	return out
}

// heard draws the row of changes: a stroke where something changes, a tall one at a boundary, and a
// wedge up to the line where parts prepare it.
func (c *chart) heard() {
	marked := c.changes()
	if len(marked) == 0 {
		return
	}
	c.y += groupGap + heardHeight
	c.beside(c.add(""), strong, plain, c.y, changesLabel)
	for _, at := range marked {
		g := c.add(c.changeText(at), attr{"changes", strconv.Itoa(at.bar)})
		x := c.barX(at.bar)
		if len(at.heard.Preparing) > 0 {
			from := max(x-heardHeight*2/3, c.left)
			g.marks = append(g.marks, mark{ink: grey, path: []step{{point: point{from, c.y}}, {point{x, c.y - heardHeight*2/3}, true}, {point{x, c.y}, true}}})
		}
		top := c.y - heardHeight/2
		if at.boundary {
			top = c.y - heardHeight
		}
		if at.boundary || len(at.heard.Changes) > 0 {
			g.marks = append(g.marks, mark{ink: strong, width: 2 * pixel, path: stroke(nil, point{x, c.y}, point{x, top})})
		}
	}
}

// changeText says in words what changes with a bar.
func (c *chart) changeText(at changeAt) string {
	var items, kinds []string
	parts := map[string][]string{}
	for _, ch := range at.heard.Changes {
		if len(parts[ch.What]) == 0 {
			kinds = append(kinds, ch.What)
		}
		parts[ch.What] = append(parts[ch.What], c.names[ch.Part])
	}
	if at.boundary {
		items = append(items, "a stretch of its own begins")
	}
	for _, kind := range kinds {
		items = append(items, kind+": "+strings.Join(parts[kind], ", "))
	}
	var by []string
	for _, p := range at.heard.Preparing {
		by = append(by, c.names[p])
	}
	if len(by) > 0 {
		items = append(items, "prepared by "+strings.Join(by, ", "))
	}
	return fmt.Sprintf("bar %d, %s", at.bar, strings.Join(items, "; "))
}
