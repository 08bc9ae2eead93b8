package wood

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"unicode"
)

// ErrSpecies is matched by every error about a name that is not one species;
// the error is a *SpeciesError.
var ErrSpecies = errors.New("species not found")

// SpeciesError says why a name is not one species, and which might be meant.
type SpeciesError struct {
	// Query is the name as typed, shortened if it was very long.
	Query string
	// Reason says what is wrong.
	Reason string
	// Candidates are common names that might be meant, likeliest first.
	Candidates []string
}

// Error returns the name, the reason and what might be meant.
func (e *SpeciesError) Error() string {
	msg := fmt.Sprintf("species %q: %s", e.Query, e.Reason)
	if len(e.Candidates) > 0 {
		msg += "; did you mean " + strings.Join(e.Candidates, ", ") + "?"
	}
	return msg
}

// Is reports whether target is ErrSpecies.
func (e *SpeciesError) Is(target error) bool { return target == ErrSpecies }

const (
	maxSpeciesQuery = 100
	maxCandidates   = 6
)

// speciesNames is every name that a species answers to, folded, beside its
// index in the table.
type speciesName struct {
	folded string
	words  []string
	index  int
}

var speciesNames = sync.OnceValue(func() []speciesName {
	var names []speciesName
	for i, s := range AllSpecies() {
		for _, n := range namesOf(s) {
			f := foldName(n)
			names = append(names, speciesName{f, strings.Fields(f), i})
		}
	}
	return names
})

// namesOf returns what s may be called: its id, its common name with and
// without what stands in brackets, the bracketed name itself, and each of its
// scientific names, with and without the common one.
func namesOf(s Species) []string {
	names := []string{s.ID, s.CommonName, s.CommonName + " " + s.ScientificName}
	if outer, rest, ok := strings.Cut(s.CommonName, "("); ok {
		inner, after, _ := strings.Cut(rest, ")")
		names = append(names, outer+after)
		// A bracket that qualifies ("hard") gives a name with the last word of
		// the outer one; a bracket that is a name stands by itself too.
		words := strings.Fields(outer + after)
		if len(words) > 0 && !strings.Contains(inner, words[len(words)-1]) {
			names = append(names, inner+" "+words[len(words)-1])
		}
		if strings.Contains(inner, " ") {
			names = append(names, inner)
		}
	}
	names = append(names, strings.Split(s.CommonName, "/")...)
	names = append(names, strings.Split(s.ScientificName, ",")...)
	return names
}

// foldName makes two ways of writing a name equal: lower case, every sign a
// space, "spp" and "ssp" gone, "grey" for "gray", no doubled spaces.
func foldName(s string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(s) {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			b.WriteRune(r)
		} else if r != '\'' && r != '’' {
			b.WriteByte(' ')
		}
	}
	words := slices.DeleteFunc(strings.Fields(b.String()), func(w string) bool {
		return w == "spp" || w == "ssp" || w == "wood" || w == "group" || w == "the"
	})
	return strings.Join(words, " ")
}

// FindSpecies returns the species that a person means by name: an id, a common
// or a scientific name, in any case, with or without hyphens, in any order of
// words ("pine, eastern white"), or with words left out as long as only one
// species answers. Where several do, or none, the error is a *SpeciesError
// with the likeliest candidates: it never guesses over a misspelling, because
// a wrong species silently skews everything after it.
func FindSpecies(name string) (Species, error) {
	if len(name) > maxSpeciesQuery {
		return Species{}, &SpeciesError{Query: shorten(name), Reason: "the name is more than 100 bytes long"}
	}
	folded := foldName(name)
	if folded == "" {
		return Species{}, &SpeciesError{Query: shorten(name), Reason: "no name is written"}
	}
	all := AllSpecies()
	hits := matchSpecies(folded)
	switch len(hits) {
	case 1:
		return all[hits[0]], nil
	case 0:
		return Species{}, &SpeciesError{
			Query: shorten(name), Reason: "no species in the table has this name", Candidates: similarSpecies(folded),
		}
	}
	e := &SpeciesError{Query: shorten(name), Reason: fmt.Sprintf("%d species answer to this name", len(hits))}
	for _, i := range hits[:min(len(hits), maxCandidates)] {
		e.Candidates = append(e.Candidates, all[i].CommonName)
	}
	return Species{}, e
}

// matchSpecies tries ever looser readings of the name and returns the species
// of the first that fits any: the same text, the same words, the words among
// others.
func matchSpecies(folded string) []int {
	words := strings.Fields(folded)
	sorted := slices.Sorted(slices.Values(words))
	for _, fits := range []func(n speciesName) bool{
		func(n speciesName) bool { return n.folded == folded },
		func(n speciesName) bool { return slices.Equal(slices.Sorted(slices.Values(n.words)), sorted) },
		func(n speciesName) bool {
			return !slices.ContainsFunc(words, func(w string) bool { return !slices.Contains(n.words, w) })
		},
	} {
		var hits []int
		for _, n := range speciesNames() {
			if fits(n) && !slices.Contains(hits, n.index) {
				hits = append(hits, n.index)
			}
		}
		if len(hits) > 0 {
			return hits
		}
	}
	return nil
}

// similarSpecies returns common names of species one of whose names is within
// a few letters of the folded one, or shares a word that is, nearest first.
func similarSpecies(folded string) []string {
	type near struct{ index, distance int }
	var found []near
	for i := range AllSpecies() {
		best := -1
		for _, n := range speciesNames() {
			if n.index != i {
				continue
			}
			if d, ok := nameDistance(folded, n); ok && (best < 0 || d < best) {
				best = d
			}
		}
		if best >= 0 {
			found = append(found, near{i, best})
		}
	}
	slices.SortStableFunc(found, func(a, b near) int { return a.distance - b.distance })
	all := AllSpecies()
	var names []string
	for _, f := range found[:min(len(found), maxCandidates)] {
		names = append(names, all[f.index].CommonName)
	}
	return names
}

// nameDistance counts the letters to change between the query and a name, as
// wholes or else word by word; far names are not ok.
func nameDistance(folded string, n speciesName) (int, bool) {
	if d := editDistance(folded, n.folded); d <= 1+len(folded)/5 {
		return d, true
	}
	best, ok := 0, false
	for _, q := range strings.Fields(folded) {
		for _, w := range n.words {
			if d := editDistance(q, w); len(q) > 3 && d <= len(q)/4 && (!ok || d < best) {
				best, ok = d, true
			}
		}
	}
	// A shared word says less than a whole name that is nearly right.
	return 10 + best, ok
}

// editDistance is the number of letters to insert, delete or replace between a
// and b (Levenshtein 1966), by the row-wise dynamic programme.
func editDistance(a, b string) int {
	x, y := []rune(a), []rune(b)
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := diagonal
			if x[i] != y[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(y)]
}
