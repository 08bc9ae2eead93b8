package charts

// Fate is one row of Fates: amounts of wood in any one unit, none negative.
type Fate struct {
	Label, Note                  string
	Inside, Outside, Hold, Never float64
	// NotOurs is wood that is not ours to take.
	NotOurs float64
	// Lost broke in taking it apart.
	Lost float64
}

// Fates shows what became of each source's wood as shares of a bar.
type Fates struct {
	// Title is the heading; "" means "What became of the wood".
	Title string
	// Unit of the amounts, for the words: "board feet".
	Unit string
	// Rows are drawn in the order given.
	Rows []Fate
}
