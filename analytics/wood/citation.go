package wood

import (
	_ "embed"
	"encoding/csv"
	"regexp"
	"slices"
	"strings"
	"sync"
)

//go:embed data/citations.csv
var citationsCSV string

var citations = sync.OnceValue(func() map[string]string {
	rows, err := csv.NewReader(strings.NewReader(citationsCSV)).ReadAll()
	if err != nil || len(rows) == 0 {
		return nil
	}
	m := make(map[string]string, len(rows))
	for _, row := range rows[1:] {
		m[row[0]] = row[1]
	}
	return m
})

var citationKey = regexp.MustCompile(`\[(\d+)\]`)

// Citation returns the full citation of a key such as "7" that stands in
// brackets in a source, and whether there is one.
func Citation(key string) (string, bool) {
	c, ok := citations()[key]
	return c, ok
}

// Citations returns the full citations of every key in brackets in source, in
// their order, each once.
func Citations(source string) []string {
	var out []string
	for _, m := range citationKey.FindAllStringSubmatch(source, -1) {
		if c, ok := Citation(m[1]); ok && !slices.Contains(out, c) {
			out = append(out, c)
		}
	}
	return out
}
