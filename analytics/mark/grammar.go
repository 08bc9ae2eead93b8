package mark

import "slices"

// Grammar is everything Read knows, as data: with the algorithm in the package
// comment it is enough to read marks elsewhere, such as in a browser.
type Grammar struct {
	// Version changes whenever any table does.
	Version string `json:"version"`
	// Algorithm is what Read does, in steps for whoever does it elsewhere.
	Algorithm []string `json:"algorithm"`
	// MaxRunes and MaxReadings are the bounds of a reading.
	MaxRunes    int `json:"max_runes"`
	MaxReadings int `json:"max_readings"`
	// Date is the pattern of a date, anchored at its first digit.
	Date string `json:"date"`
	// Fold turns typed characters into the signs of the grammar.
	Fold []FoldRule `json:"fold"`
	// LookAlikes are pairs of signs that are mistaken for each other.
	LookAlikes []LookAlike `json:"look_alikes"`
	// Forms are the known writings, each with what it stands for.
	Forms []Form `json:"forms"`
	// Countries are the two-letter codes.
	Countries []Country `json:"countries"`
}

// FoldRule maps the code points First to Last. When Shift is not 0 it is added
// to the code point, and the result is the sign; otherwise To is the sign. An
// empty To drops the character. A small letter in To is a letter of another
// alphabet that looks like that Latin capital; "~" is a mark that turns the
// direction of text.
type FoldRule struct {
	First rune   `json:"first"`
	Last  rune   `json:"last"`
	To    string `json:"to"`
	Shift int    `json:"shift,omitempty"`
}

// LookAlike is a pair of signs that are mistaken for each other.
type LookAlike struct {
	A string `json:"a"`
	B string `json:"b"`
	// Treatment is true when the pair counts only in a word of two letters held
	// against the codes of a mark, where HT, MT and MB are confused.
	Treatment bool `json:"treatment,omitempty"`
	// Edge is true when the pair is also named at the start or end of a number.
	Edge   bool   `json:"edge,omitempty"`
	Source string `json:"source"`
}

// Form is one code with its writings.
type Form struct {
	Code Code `json:"code"`
	// Forms are writings in capitals without separators; # stands for one
	// digit, @ for one letter.
	Forms []string `json:"forms"`
	// Sets are "field=value" assignments the code makes: _ is a space, the value
	// * is the writing as typed, yes sets a flag.
	Sets []string `json:"sets"`
	// Takes is "", "next" or "rest": how many further tokens of the part belong to it.
	Takes string `json:"takes,omitempty"`
}

// Document returns the whole grammar. The value is the caller's. Preservatives
// are not in it: reading needs only their codes, which are among the forms.
func Document() Grammar {
	t := tables()
	g := Grammar{
		Version: t.version, MaxRunes: MaxRunes, MaxReadings: MaxReadings, Date: datePattern,
		Algorithm: slices.Clone(t.algorithm), Fold: slices.Clone(t.fold), LookAlikes: slices.Clone(t.alike), Countries: Countries(),
	}
	for _, r := range t.rows {
		f := r.Form
		f.Forms, f.Sets = slices.Clone(f.Forms), slices.Clone(f.Sets)
		g.Forms = append(g.Forms, f)
	}
	return g
}
