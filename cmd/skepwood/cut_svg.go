package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"skepwood/analytics/cut"
)

// fileWords are the characters of an instance's id that go into a file name.
var fileWords = regexp.MustCompile(`[^A-Za-z0-9_-]+`)

// drawer draws plans into a directory that is there. It tells instances of one name apart
// by their number in the file.
type drawer struct {
	dir  string
	seen map[string]bool
}

// mostName is how much of an instance's id a file name takes: file systems
// hold names of 255 bytes.
const mostName = 100

// name returns how the files of an instance begin. Some file systems do not
// tell a from A.
func (d *drawer) name(index int, id string) string {
	name := strings.Trim(fileWords.ReplaceAllString(id, "-"), "-")
	name = name[:min(len(name), mostName)]
	if name == "" {
		name = "instance"
	}
	if d.seen[strings.ToLower(name)] || name == "instance" {
		name = fmt.Sprintf("%s%d", name, index)
	}
	d.seen[strings.ToLower(name)] = true
	return name
}

// draw writes one SVG file for each board that the plan cuts.
func (d *drawer) draw(index int, in cut.Instance, plan cut.Plan) error {
	name := d.name(index, in.ID)
	boards := map[[2]int][]cut.Placement{}
	for _, p := range plan.Placements {
		key := [2]int{p.Board, p.Copy}
		boards[key] = append(boards[key], p)
	}
	for key, places := range boards {
		file := fmt.Sprintf("%s-board%d", name, in.Boards[key[0]].ID)
		if in.Boards[key[0]].Count > 1 {
			file += fmt.Sprintf("-%d", key[1])
		}
		if err := os.WriteFile(filepath.Join(d.dir, file+".svg"), []byte(boardSVG(in, key[0], places)), 0o666); err != nil {
			return err
		}
	}
	return nil
}

// boardSVG draws one board with its defects and parts. It reads without
// colour: through defects are solid, top ones hatched one way, bottom ones the
// other.
func boardSVG(in cut.Instance, board int, places []cut.Placement) string {
	b := in.Boards[board]
	scale := 960 / float64(b.Length)
	var s strings.Builder
	fmt.Fprintf(&s, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="-10 -30 %.1f %.1f" font-family="sans-serif">`+"\n",
		float64(b.Length)*scale+20, float64(b.Width)*scale+40)
	s.WriteString(`<rect x="-10" y="-30" width="100%" height="100%" fill="#fff"/>`)
	s.WriteString(`<defs>` + hatch("top", "M0 8L8 0") + hatch("bottom", "M0 0L8 8") + `</defs>` + "\n")
	fmt.Fprintf(&s, `<title>Board %d, %d x %d ticks</title>`+"\n", b.ID, b.Length, b.Width)
	fmt.Fprintf(&s, `<text x="0" y="-10" font-size="14">board %d: %d x %d, y from the top</text>`+"\n", b.ID, b.Length, b.Width)
	box := func(x, y, dx, dy int, look string) {
		fmt.Fprintf(&s, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" %s/>`+"\n",
			float64(x)*scale, float64(y)*scale, float64(dx)*scale, float64(dy)*scale, look)
	}
	box(0, 0, b.Length, b.Width, `fill="#eee" stroke="#000"`)
	for _, p := range places {
		part := in.Parts[p.Part]
		box(p.X, p.Y, part.Length, part.Width, `fill="#fff" stroke="#000" stroke-width="1.5"`)
		size := min(14, 0.8*float64(part.Width)*scale)
		fmt.Fprintf(&s, `<text x="%.1f" y="%.1f" font-size="%.1f" text-anchor="middle">%d</text>`+"\n",
			(float64(p.X)+float64(part.Length)/2)*scale, (float64(p.Y)+float64(part.Width)/2)*scale+size/3, size, part.ID)
	}
	for _, d := range b.Defects {
		look := `fill="#000"`
		if d.Face == cut.Top || d.Face == cut.Bottom {
			look = fmt.Sprintf(`fill="url(#%s)" stroke="#000" stroke-width="0.5"`, d.Face)
		}
		box(d.X, d.Y, d.DX, d.DY, look)
	}
	s.WriteString("</svg>\n")
	return s.String()
}

// hatch is a pattern of slanted lines.
func hatch(id, path string) string {
	return fmt.Sprintf(`<pattern id="%s" width="8" height="8" patternUnits="userSpaceOnUse"><path d="%s" stroke="#000"/></pattern>`, id, path)
}
