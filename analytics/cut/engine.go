package cut

// An engine knows one family of patterns.
type engine interface {
	// prepare sets the gains, by item, for the pricing that follows.
	prepare(gain []float64)
	// worker returns a pricer; several may work at once between two
	// preparations.
	worker() pricer
	// lister offers the patterns of a kind for listing at the given gains, at
	// least those that gain no less than least; nil where the family cannot
	// list.
	lister(kind int, gain []float64, least float64) *boardLister
}

// A pricer answers, for one kind of board at the prepared gains, what the best
// pattern gains and what it is.
type pricer interface {
	best(kind int) (float64, []bit)
}

// newEngine returns the engine for the problem's pattern.
func newEngine(p *problem) engine {
	switch p.in.Pattern {
	case Rip3, Crosscut3:
		return newSegmentEngine(p)
	case Guillotine:
		return newFreeEngine(p)
	default:
		return newStripEngine(p)
	}
}
