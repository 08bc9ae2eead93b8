package mark

// Grammar is everything Read knows, as data: with the algorithm in the package
// comment it is enough to read marks elsewhere, such as in a browser.
type Grammar struct {
	// Version changes whenever any table does.
	Version string `json:"version"`
	// MaxRunes and MaxReadings are the bounds of a reading.
	MaxRunes    int `json:"max_runes"`
	MaxReadings int `json:"max_readings"`
	// Fold turns typed characters into the 38 signs of the grammar.
	Fold []FoldRule `json:"fold"`
	// LookAlikes are pairs of signs that are mistaken for each other.
	LookAlikes []LookAlike `json:"look_alikes"`
	// Forms are the known writings, each with what it stands for.
	Forms []Form `json:"forms"`
	// Countries are the two-letter codes.
	Countries []Country `json:"countries"`
}

// FoldRule maps the code points First to Last. To is what each becomes;
// Shift, when not 0, is added to the code point instead.
type FoldRule struct {
	First rune   `json:"first"`
	Last  rune   `json:"last"`
	To    string `json:"to"`
	Shift int    `json:"shift,omitempty"`
	// Foreign is true for letters of another alphabet that look like a Latin one.
	Foreign bool `json:"foreign,omitempty"`
}

// LookAlike is a pair of signs that are mistaken for each other.
type LookAlike struct {
	A string `json:"a"`
	B string `json:"b"`
	// Edge is true when the pair is also named at the start or end of a number.
	Edge bool `json:"edge"`
}

// Form is one code with its writings.
type Form struct {
	Code Code `json:"code"`
	// Forms are writings in capitals without separators; # stands for one digit.
	Forms []string `json:"forms"`
	// Sets are "field=value" assignments the code makes.
	Sets []string `json:"sets"`
	// Takes is "", "next" or "rest": how many further tokens of the part belong to it.
	Takes string `json:"takes,omitempty"`
}

// Document returns the whole grammar.
func Document() Grammar { return document() }
