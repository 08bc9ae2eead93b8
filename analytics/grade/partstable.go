package grade

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"skepwood/analytics/wood"
)

// partColumns are the columns a table of parts must have, in any order; more
// are ignored.
var partColumns = []string{
	"kit", "part", "count", "thick_in", "width_in", "length_in", "rough_thick_in", "rough_width_in", "rough_length_in",
	"zone", "faces", "glue_up", "usual_stock", "status", "source", "note",
}

// maxPartsTable bounds the size of a table in bytes and rows.
const (
	maxPartsTable = 1 << 20
	maxParts      = 1000
)

// ParseParts reads a table of parts in CSV with a heading of the columns kit,
// part, count, thick_in, width_in, length_in, rough_thick_in, rough_width_in,
// rough_length_in (inches with decimals), zone, faces, glue_up (yes or no),
// usual_stock, status, source and note. Faults are ErrOption, with Index the
// row below the heading.
func ParseParts(table []byte) ([]Part, error) {
	if len(table) > maxPartsTable {
		return nil, &Error{ErrOption, -1, "table", "is over 1 MiB", "leave out what is no part"}
	}
	r := csv.NewReader(bytes.NewReader(table))
	rows, err := r.ReadAll()
	if err != nil {
		return nil, &Error{ErrOption, -1, "table", "cannot be read: " + err.Error(), "write it as comma-separated values"}
	}
	if len(rows) < 2 || len(rows) > maxParts+1 {
		return nil, &Error{ErrOption, -1, "table", fmt.Sprintf("has %d rows", len(rows)), "give a heading and 1 to 1000 parts"}
	}
	place := map[string]int{}
	for _, c := range partColumns {
		i := slices.Index(rows[0], c)
		if i < 0 {
			return nil, &Error{ErrOption, -1, "table", "lacks the column " + c, "add it to the heading"}
		}
		place[c] = i
	}
	parts := make([]Part, 0, len(rows)-1)
	for i, row := range rows[1:] {
		p, err := parsePart(i, func(column string) string { return row[place[column]] })
		if err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	return parts, nil
}

// parsePart reads one row.
func parsePart(i int, cell func(column string) string) (Part, error) {
	var faults []error
	whole := func(column string) int {
		n, err := strconv.Atoi(cell(column))
		if err != nil {
			faults = append(faults, &Error{ErrOption, i, column, fmt.Sprintf("is %.40q", cell(column)), "give a whole number"})
		}
		return n
	}
	inches := func(column string) wood.Length {
		v, err := strconv.ParseFloat(cell(column), 64)
		if err == nil {
			var l wood.Length
			if l, err = wood.LengthOf(v, wood.Inch); err == nil {
				return l
			}
		}
		faults = append(faults, &Error{ErrOption, i, column, fmt.Sprintf("is %.40q", cell(column)), "give inches with decimals, such as 9.625"})
		return 0
	}
	p := Part{
		Kit: cell("kit"), Part: cell("part"), Count: whole("count"),
		Finished: Size{inches("thick_in"), inches("width_in"), inches("length_in")},
		Rough:    Size{inches("rough_thick_in"), inches("rough_width_in"), inches("rough_length_in")},
		Zone:     Zone(cell("zone")), Faces: whole("faces"), Glue: cell("glue_up") == "yes",
		Stock: cell("usual_stock"), Status: cell("status"), Source: cell("source"), Note: cell("note"),
	}
	if g := cell("glue_up"); g != "yes" && g != "no" {
		faults = append(faults, &Error{ErrOption, i, "glue_up", fmt.Sprintf("is %.40q", g), "give yes or no"})
	}
	if err := errors.Join(faults...); err != nil {
		return Part{}, err
	}
	return p, p.check(i)
}

// check refuses a part that cannot be; i is its place in its list.
func (p Part) check(i int) error {
	sides := []struct {
		field           string
		finished, rough wood.Length
	}{
		{"thickness", p.Finished.Thickness, p.Rough.Thickness},
		{"width", p.Finished.Width, p.Rough.Width},
		{"length", p.Finished.Length, p.Rough.Length},
	}
	for _, s := range sides {
		if err := checkSide(ErrOption, i, s.field, s.finished); err != nil {
			return err
		}
		if s.rough < s.finished || s.rough > wood.MaxLength {
			return &Error{ErrOption, i, "rough " + s.field, fmt.Sprintf("is %v for a finished %v", s.rough, s.finished), "give at least the finished size"}
		}
	}
	switch {
	case p.Zone != Inside && p.Zone != Outside:
		return &Error{ErrOption, i, "zone", fmt.Sprintf("is %.40q", string(p.Zone)), "use inside or outside"}
	case p.Faces < 0 || p.Faces > 2:
		return &Error{ErrOption, i, "faces", fmt.Sprintf("are %d", p.Faces), "give how many faces must be clear, 0 to 2"}
	case p.Count < 1:
		return &Error{ErrOption, i, "count", fmt.Sprintf("is %d", p.Count), "give how many the kit needs, 1 or more"}
	default:
		return nil
	}
}
