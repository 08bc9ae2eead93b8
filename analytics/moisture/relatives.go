package moisture

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strings"
	"sync"

	"skepwood/analytics/wood"
)

//go:embed data/relatives.csv
var relativesCSV string

// How a species stands to the rows of a published table that speak for it.
const (
	// RelationOwn: the table has a row of its own.
	RelationOwn = "own"
	// RelationKin: rows of the same genus or trade group stand in.
	RelationKin = "kin"
	// RelationGroup: every softwood or every hardwood of the table stands in.
	RelationGroup = "group"
)

// relative says which rows of the resistance and of the air-drying table speak
// for a species. The choice of stand-ins is ours ("derived"): no source
// publishes one.
type relative struct {
	meterRows     []string
	meterRelation string
	airRows       []string
	airRelation   string
	group         wood.Group
}

var relatives = sync.OnceValues(func() (map[string]relative, error) { return parseRelatives(relativesCSV) })

// parseRelatives reads the table; errors name the line. Empty rows mean the
// whole group.
func parseRelatives(text string) (map[string]relative, error) {
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("relatives table: %w", err)
	}
	groups := make(map[string]wood.Group)
	for _, s := range wood.AllSpecies() {
		groups[s.ID] = s.Group
	}
	out := make(map[string]relative, len(records))
	for i, c := range records {
		if i == 0 {
			continue
		}
		group, known := groups[c[0]]
		if !known {
			return nil, fmt.Errorf("relatives table, line %d: species %q: %w", i+1, c[0], ErrSpecies)
		}
		out[c[0]] = relative{splitRows(c[1]), c[2], splitRows(c[3]), c[4], group}
	}
	return out, nil
}

func splitRows(cell string) []string {
	if cell == "" {
		return nil
	}
	return strings.Split(cell, "|")
}

// relativeOf returns the entry of a species id, and whether there is one.
func relativeOf(id string) (relative, bool) {
	all, _ := relatives() // compiled in, read through by a test
	r, ok := all[id]
	return r, ok
}
