package mark

import "slices"

// Preservative is one preservative, or one use category that stands for wood
// treated with some preservative.
type Preservative struct {
	// Kind is "preservative" or "use_category".
	Kind string `json:"kind"`
	// Code is the code in its usual writing, such as "CA-B" or "PCP".
	Code string `json:"code"`
	// Aliases are other writings of the code, capitals without separators.
	Aliases  []string `json:"aliases"`
	Name     string   `json:"name"`
	What     string   `json:"what"`
	WhereMet string   `json:"where_met"`
	// UseCategory is the AWPA range it is met in, or empty.
	UseCategory string `json:"use_category"`
	Clues       string `json:"clues"`
	Hazard      string `json:"hazard"`
	// Machining says what to wear and what never to burn.
	Machining string `json:"machining"`
	// Verdict is the proposed verdict word of the table; rules decide, not this.
	Verdict string `json:"verdict"`
	Status  string `json:"status"`
	Source  string `json:"source"`
}

// Preservatives returns the rows of kind preservative and use_category in the
// order of the table. The slice is the caller's.
func Preservatives() []Preservative {
	out := slices.Clone(tables().preserved)
	for i := range out {
		out[i].Aliases = slices.Clone(out[i].Aliases)
	}
	return out
}

// PreservativeByCode finds a row by its code or any alias, in any case and
// with or without spaces, hyphens and dots: "CA-B", "mca", "penta".
func PreservativeByCode(code string) (p Preservative, ok bool) {
	t := tables()
	i, ok := t.pres[squeeze(code)]
	if !ok {
		return Preservative{}, false
	}
	p = t.preserved[i]
	p.Aliases = slices.Clone(p.Aliases)
	return p, true
}
