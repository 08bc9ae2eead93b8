package moisture

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"skepwood/analytics/wood"
)

// somethingElseWord stands for wood that is none of the table.
const somethingElseWord = "else"

// leastWritten is the smallest share that WriteGuess spells out; less than a
// tenth of a percent goes to something else.
const leastWritten = 0.001

// ParseGuess reads a guess as a person writes it: species with their shares in
// percent, parted by commas or semicolons, such as "spruce_norway 60,
// pine_scots 30 %". Names are those wood.FindSpecies knows, and "else" for
// something else; what is missing to 100 is something else too. Shares come
// back likeliest first and sum to one. Empty text is no guess; what cannot be
// read, a species named twice and more than 100 % in all are ErrClue.
func ParseGuess(text string) ([]SpeciesShare, error) {
	parts := strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' })
	var out []SpeciesShare
	var total, rest float64
	for _, part := range parts {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		s, err := parseShare(part)
		if err != nil {
			return nil, err
		}
		total += s.P
		if s.ID == "" {
			rest += s.P
			continue
		}
		if slices.ContainsFunc(out, func(o SpeciesShare) bool { return o.ID == s.ID }) {
			return nil, fmt.Errorf("%w: %s is named twice: give each wood once", ErrClue, s.ID)
		}
		out = append(out, s)
	}
	switch {
	case len(out) == 0 && rest == 0:
		return nil, nil
	case total > 100.5: // shares rounded one by one may add up to a little more
		return nil, fmt.Errorf("%w: the shares add up to %g %%: give at most 100 %% in all", ErrClue, total)
	}
	rest += max(0, 100-total)
	total = max(total, 100)
	for i := range out {
		out[i].P /= total
	}
	slices.SortStableFunc(out, func(a, b SpeciesShare) int { return cmp.Compare(b.P, a.P) })
	if rest > 1e-9 {
		out = append(out, SpeciesShare{"", rest / total})
	}
	return out, nil
}

// parseShare reads one species with its share in percent.
func parseShare(part string) (SpeciesShare, error) {
	name, number := part, ""
	if i := strings.LastIndexAny(strings.TrimRight(part, " %\t"), " \t:="); i >= 0 {
		name, number = strings.Trim(part[:i], " \t:="), strings.TrimSpace(strings.TrimRight(part[i+1:], " %\t"))
	}
	p, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if err != nil || !(p >= 0 && p <= 100) {
		return SpeciesShare{}, fmt.Errorf("%w: %q has no share from 0 to 100: write it like spruce_norway 60", ErrClue, shorten(part))
	}
	if strings.EqualFold(name, somethingElseWord) {
		return SpeciesShare{"", p}, nil
	}
	s, err := wood.FindSpecies(name)
	if err != nil {
		return SpeciesShare{}, fmt.Errorf("%w: %q is no wood of the species table: use a name of the species page", ErrClue, shorten(name))
	}
	return SpeciesShare{s.ID, p}, nil
}

// WriteGuess writes shares as ParseGuess reads them, in percent rounded down to
// one decimal, likeliest first; at most most species are spelled out, the rest is something
// else.
func WriteGuess(shares []SpeciesShare, most int) string {
	sorted := slices.Clone(shares)
	slices.SortStableFunc(sorted, func(a, b SpeciesShare) int { return cmp.Compare(b.P, a.P) })
	var parts []string
	var written float64
	for _, s := range sorted {
		if s.ID == "" || len(parts) == most || s.P < leastWritten {
			continue
		}
		// Rounded down, so that what is written never adds up to more than all.
		tenths := math.Floor(1000*s.P + 1e-6)
		parts = append(parts, s.ID+" "+strconv.FormatFloat(tenths/10, 'f', -1, 64))
		written += tenths
	}
	if rest := 1000 - written; rest > 0.5 && len(shares) > 0 {
		parts = append(parts, somethingElseWord+" "+strconv.FormatFloat(rest/10, 'f', -1, 64))
	}
	return strings.Join(parts, "; ")
}
